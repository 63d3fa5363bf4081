package standsquare.device

import org.mockito.Mockito

/** What a carrier told, in order. */
class HeardLine : Line {
    val told = java.util.Collections.synchronizedList(mutableListOf<String>())
    override fun connected(name: String) { told += "connected $name" }
    override fun bytes(bytes: ByteArray) { told += "bytes ${bytes.joinToString(" ")}" }
    override fun battery(percent: Int) { told += "battery $percent" }
    override fun lost(reason: String) { told += "lost: $reason" }
}

/** What the device layer told of readers, in order. */
class HeardTold : Told {
    val told = java.util.Collections.synchronizedList(mutableListOf<String>())
    override fun seen(reader: String, name: String, way: Way, dbm: Int?) { told += "seen $reader $name ${dbm ?: "-"}" }
    override fun link(reader: String, link: Link, name: String) { told += "$link $reader $name".trim() }
    override fun bytes(bytes: ByteArray) { told += "bytes ${bytes.decodeToString()}" }
    override fun battery(reader: String, percent: Int) { told += "battery $reader $percent" }
}

/** A mock of a class of the framework. */
inline fun <reified T : Any> mocked(): T = Mockito.mock(T::class.java)
