package standsquare.device

import android.annotation.SuppressLint
import android.bluetooth.BluetoothAdapter
import android.bluetooth.BluetoothDevice
import android.content.Context

/**
 * Does what the session asks of a radio: carries the bytes of the reader that is
 * wanted, whatever carries them, connects again by itself, and tells which readers
 * there are while they are looked for. Which reader, and when, is the session's to
 * say; what the bytes mean is the core's.
 *
 * A reader is known by what carries it and its address: the same reader over
 * another way sends in another form, perhaps.
 */
@SuppressLint("MissingPermission")
class ReaderRadio(
    private val phone: Phone,
    private val keyboards: () -> List<Keyboards.Keyboard>,
    private val told: Told,
    private val ble: (Line) -> Carrier,
    private val serial: (Line) -> Carrier,
    private val keys: KeyCapture,
    private val mayConnect: () -> Boolean,
    private val mayScan: () -> Boolean,
) : AutoCloseable {
    /** What carries one reader's bytes and connects again by itself. */
    interface Carrier : AutoCloseable {
        /** Connects to this device. */
        fun connect(device: BluetoothDevice)
    }

    /** The phone's radio, as far as it is used here: the framework's class itself cannot be played in a test. */
    interface Phone {
        /** Begins to look for readers by their service; nothing where it looks already. */
        fun look(heard: (address: String, name: String, dbm: Int) -> Unit)

        /** Looks no more. */
        fun lookNoMore()

        /** The device with this address; null where the radio is off or that is no address. */
        fun device(address: String): BluetoothDevice?

        /** Address and name of every serial port that the phone is bonded to. */
        fun ports(): List<Pair<String, String>>
    }

    @Volatile private var wanted: Wanted? = null
    private var looking = false
    private var carrier: Carrier? = null

    /** Whether the wanted keyboard is attached, once that was told. */
    private var attached: Boolean? = null

    /** Follows the session's wish. The same wish again changes nothing and tells nothing, so it may follow every view. */
    @Synchronized
    fun follow(wanted: Wanted?, look: Boolean) {
        looking = look
        if (!look) phone.lookNoMore()
        if (wanted == this.wanted) return
        letGo()
        this.wanted = wanted ?: return
        if (wanted.way == Way.KEYS) {
            keys.keyboard = address(wanted)
            attached = null
        } else told.link(wanted.reader, Link.LOOKING, "")
        tick()
    }

    /** To be called about once a second: begins what could not begin before (no leave yet, the radio off), and tells who is near. */
    @Synchronized
    fun tick() {
        val wanted = wanted
        if (wanted?.way == Way.KEYS) keyboard(wanted)
        else if (wanted != null && carrier == null && mayConnect()) connect(wanted)
        if (looking) look()
    }

    /** A keyboard needs no connecting: it is there or not. */
    private fun keyboard(wanted: Wanted) {
        val there = keyboards().firstOrNull { it.descriptor == address(wanted) }
        if (attached == (there != null)) return
        attached = there != null
        told.link(wanted.reader, if (there == null) Link.LOST else Link.CONNECTED, there?.name.orEmpty())
    }

    private fun connect(wanted: Wanted) {
        val device = phone.device(address(wanted)) ?: return
        val line = LineOf(wanted)
        carrier = (if (wanted.way == Way.BLE) ble(line) else serial(line)).also { it.connect(device) }
    }

    private fun address(wanted: Wanted) = wanted.reader.substringAfter('-')

    /** Tells of every reader that can be had, again and again: the session forgets what it no longer hears of. */
    private fun look() {
        for (keyboard in keyboards()) told.seen(id(Way.KEYS, keyboard.descriptor), keyboard.name, Way.KEYS, null)
        if (mayScan()) phone.look { address, name, dbm -> told.seen(id(Way.BLE, address), name, Way.BLE, dbm) }
        if (!mayConnect()) return
        for ((address, name) in phone.ports()) told.seen(id(Way.SERIAL, address), name, Way.SERIAL, null)
    }

    private fun letGo() {
        carrier?.close()
        carrier = null
        keys.keyboard = null
        attached = null
        wanted = null
    }

    @Synchronized
    override fun close() {
        looking = false
        phone.lookNoMore()
        letGo()
    }

    /** Tells of one reader's link, and of nothing once another one is wanted. */
    private inner class LineOf(private val of: Wanted) : Line {
        private fun stillWanted() = wanted == of

        override fun connected(name: String) { if (stillWanted()) told.link(of.reader, Link.CONNECTED, name) }

        override fun bytes(bytes: ByteArray) { if (stillWanted()) told.bytes(bytes) }

        override fun battery(percent: Int) { if (stillWanted()) told.battery(of.reader, percent) }

        override fun lost(reason: String) { if (stillWanted()) told.link(of.reader, Link.LOST, "") }
    }

    companion object {
        /** What the session knows a reader by. */
        fun id(way: Way, address: String) = "${way.name.lowercase()}-$address"

        /** The radio of this phone. */
        fun of(context: Context, adapter: BluetoothAdapter?, keyboards: Keyboards, keys: KeyCapture, told: Told) = ReaderRadio(
            Adapter(adapter), keyboards::attached, told,
            ble = { line ->
                val carrier = BleCarrier(context, Ids.UART, line)
                object : Carrier, AutoCloseable by carrier { override fun connect(device: BluetoothDevice) = carrier.connect(device) }
            },
            serial = { line ->
                val carrier = SerialCarrier(line)
                object : Carrier, AutoCloseable by carrier { override fun connect(device: BluetoothDevice) = carrier.connect(device) }
            },
            keys = keys,
            mayConnect = { Permissions.mayConnect(context) },
            mayScan = { Permissions.lacking(context).isEmpty() },
        )
    }
}

/** The framework's adapter. */
@SuppressLint("MissingPermission")
private class Adapter(private val adapter: BluetoothAdapter?) : ReaderRadio.Phone {
    private var scan: BleScan? = null

    override fun look(heard: (String, String, Int) -> Unit) {
        val scan = scan ?: BleScan({ adapter?.bluetoothLeScanner }, Ids.UART) { device, name, dbm -> heard(device.address, name, dbm) }
        this.scan = scan
        scan.start()
    }

    override fun lookNoMore() {
        scan?.close()
    }

    override fun device(address: String): BluetoothDevice? =
        adapter?.takeIf { it.isEnabled && BluetoothAdapter.checkBluetoothAddress(address) }?.getRemoteDevice(address)

    override fun ports(): List<Pair<String, String>> = adapter?.bondedDevices.orEmpty()
        .filter { device -> device.uuids.orEmpty().any { it.uuid == Ids.SERIAL_PORT } }
        .map { it.address to it.name.orEmpty() }
}
