package standsquare.app

import standsquare.device.Link
import standsquare.device.Told
import standsquare.device.Way
import standsquare.view.Act
import standsquare.view.ReaderCarrier
import standsquare.view.ReaderLink

/** What the device layer tells of readers, as acts of the world. */
class Readings(private val send: (Act) -> Unit) : Told {
    override fun seen(reader: String, name: String, way: Way, dbm: Int?) =
        send(Act.ReaderSeen(reader, name, ReaderCarrier.valueOf(way.name), dbm))

    override fun link(reader: String, link: Link, name: String) =
        send(Act.ReaderLink(ReaderLink.valueOf(link.name), name, reader))

    override fun bytes(bytes: ByteArray) = send(Act.ReaderBytes(bytes))

    override fun battery(reader: String, percent: Int) = send(Act.ReaderBattery(reader, percent.toUByte()))
}
