package standsquare.device

import java.util.UUID

/** What carries a reader's bytes. */
enum class Way { BLE, SERIAL, KEYS }

/** A reader that is to be used: what the session knows it by, and what carries its bytes. */
data class Wanted(val reader: String, val way: Way)

/** How the link to a reader stands. */
enum class Link { LOOKING, CONNECTED, LOST }

/** What the device layer tells of readers. It may be called on any thread. */
interface Told {
    /** A reader is near, attached, or known to the phone. [dbm] is its signal's strength, where there is one. */
    fun seen(reader: String, name: String, way: Way, dbm: Int?)

    /** How the link to the wanted reader stands. */
    fun link(reader: String, link: Link, name: String)

    /** Bytes of the wanted reader. */
    fun bytes(bytes: ByteArray)

    /** What is left in a reader's battery, percent. */
    fun battery(reader: String, percent: Int)
}

/** Ids of Bluetooth that do not change. */
object Ids {
    /**
     * The service by which readers are looked for: the serial-port-like one of a
     * maker of radio chips, which most small readers have. Its two characteristics
     * are told apart by their properties: published pages disagree on which notifies.
     */
    val UART: UUID = UUID.fromString("6e400001-b5a3-f393-e0a9-e50e24dcca9e")

    /** The classic serial port. */
    val SERIAL_PORT: UUID = UUID.fromString("00001101-0000-1000-8000-00805f9b34fb")

    /** The descriptor that switches notifications on (Bluetooth Core Specification, vol 3 part G, 3.3.3.3). */
    val CLIENT_CONFIGURATION: UUID = UUID.fromString("00002902-0000-1000-8000-00805f9b34fb")

    /** The battery service and its level (Bluetooth SIG's assigned numbers; from memory). */
    val BATTERY: UUID = UUID.fromString("0000180f-0000-1000-8000-00805f9b34fb")
    val BATTERY_LEVEL: UUID = UUID.fromString("00002a19-0000-1000-8000-00805f9b34fb")
}
