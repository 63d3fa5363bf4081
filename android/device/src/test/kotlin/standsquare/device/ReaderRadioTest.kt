package standsquare.device

import android.bluetooth.BluetoothDevice
import org.junit.Assert.assertEquals
import org.junit.Test
import org.mockito.Mockito.`when`

/** What the session asks of a radio, over a mocked adapter and carriers that only remember. */
class ReaderRadioTest {
    private val told = HeardTold()
    private var on = true
    private var ports = listOf<Pair<String, String>>()
    private var heard: ((String, String, Int) -> Unit)? = null
    private val phone = object : ReaderRadio.Phone {
        override fun look(heard: (String, String, Int) -> Unit) { this@ReaderRadioTest.heard = heard }
        override fun lookNoMore() { heard = null }
        override fun ports() = ports
        override fun device(address: String) = if (!on || address.length != 17) null
        else mocked<BluetoothDevice>().also { `when`(it.address).thenReturn(address) }
    }
    private val done = mutableListOf<String>()
    private val lines = mutableListOf<Line>()
    private var allowed = true
    private var attached = listOf<Keyboards.Keyboard>()
    private val keys = KeyCapture { told.bytes(it) }

    private fun carrier(way: String): (Line) -> ReaderRadio.Carrier = { line ->
        lines += line
        object : ReaderRadio.Carrier {
            override fun connect(device: BluetoothDevice) { done += "connect $way ${device.address}" }
            override fun close() { done += "close $way" }
        }
    }

    private val radio = ReaderRadio(phone, { attached }, told, carrier("ble"), carrier("serial"), keys, { allowed }, { allowed })

    private val a = Wanted("ble-C0:11:22:33:44:55", Way.BLE)
    private val b = Wanted("serial-C0:66:77:88:99:AA", Way.SERIAL)

    @Test
    fun theWantedReaderIsConnectedToOnceHoweverOftenItIsSaid() {
        repeat(3) { radio.follow(a, look = false) }
        repeat(3) { radio.tick() }
        assertEquals(listOf("connect ble C0:11:22:33:44:55"), done)
        assertEquals(listOf("LOOKING ${a.reader}"), told.told)
        lines[0].connected("Wand")
        lines[0].battery(60)
        lines[0].bytes("99".toByteArray())
        lines[0].lost("gone")
        assertEquals(
            listOf("LOOKING ${a.reader}", "CONNECTED ${a.reader} Wand", "battery ${a.reader} 60", "bytes 99", "LOST ${a.reader}"),
            told.told,
        )
    }

    @Test
    fun anotherReaderTakesItsPlaceAndTheOldOneIsNotHeardAnyMore() {
        radio.follow(a, look = false)
        radio.follow(b, look = false)
        assertEquals(listOf("connect ble C0:11:22:33:44:55", "close ble", "connect serial C0:66:77:88:99:AA"), done)
        told.told.clear()
        lines[0].bytes("9".toByteArray())
        lines[0].lost("late")
        assertEquals(emptyList<String>(), told.told)
        radio.follow(null, look = false)
        assertEquals("close serial", done.last())
    }

    @Test
    fun whatCannotBeginYetBeginsAsSoonAsItMay() {
        allowed = false
        radio.follow(a, look = true)
        radio.tick()
        assertEquals(emptyList<String>(), done)
        assertEquals("nobody gave leave to scan", null, heard)
        allowed = true
        on = false
        radio.tick()
        assertEquals(emptyList<String>(), done)
        on = true
        radio.tick()
        assertEquals(listOf("connect ble C0:11:22:33:44:55"), done)
    }

    @Test
    fun anAddressThatIsNoneIsNeverConnectedTo() {
        radio.follow(Wanted("ble-nowhere", Way.BLE), look = false)
        radio.tick()
        assertEquals(emptyList<String>(), done)
    }

    @Test
    fun portsAndKeyboardsAreToldWhileReadersAreLookedFor() {
        ports = listOf("C0:66:77:88:99:AA" to "Stick")
        attached = listOf(Keyboards.Keyboard("d1", "Wedge"))
        radio.tick()
        assertEquals("nobody looks", emptyList<String>(), told.told)
        radio.follow(null, look = true)
        radio.tick()
        assertEquals(listOf("seen keys-d1 Wedge -", "seen ${b.reader} Stick -"), told.told)
        radio.follow(null, look = false)
        radio.tick()
        assertEquals(2, told.told.size)
    }

    @Test
    fun aKeyboardIsListenedToAndNoOther() {
        radio.follow(Wanted("keys-d1", Way.KEYS), look = false)
        assertEquals(listOf("LOST keys-d1"), told.told)
        attached = listOf(Keyboards.Keyboard("d1", "Wedge"))
        repeat(2) { radio.tick() }
        assertEquals(listOf("LOST keys-d1", "CONNECTED keys-d1 Wedge"), told.told)
        assertEquals("d1", keys.keyboard)
        radio.follow(a, look = false)
        assertEquals(null, keys.keyboard)
    }

    @Test
    fun whatAScanHearsIsToldUntilTheLookEnds() {
        radio.follow(null, look = true)
        radio.tick()
        checkNotNull(heard)("C0:11:22:33:44:55", "Wand", -61)
        assertEquals(listOf("seen ${a.reader} Wand -61"), told.told)
        radio.follow(null, look = false)
        assertEquals(null, heard)
    }
}
