package standsquare.device

import android.bluetooth.BluetoothAdapter
import android.bluetooth.BluetoothDevice
import android.bluetooth.le.BluetoothLeScanner
import android.bluetooth.le.ScanCallback
import android.bluetooth.le.ScanResult
import android.os.ParcelUuid
import org.junit.Assert.assertEquals
import org.junit.Test
import org.mockito.ArgumentMatchers.any
import org.mockito.ArgumentMatchers.anyList
import org.mockito.ArgumentMatchers.anyString
import org.mockito.Mockito.`when`
import org.mockito.Mockito.mockConstruction
import org.mockito.Mockito.mockStatic
import org.mockito.Mockito.never
import org.mockito.Mockito.times
import org.mockito.Mockito.verify

/** What the session asks of a radio, over a mocked adapter and carriers that only remember. */
class ReaderRadioTest {
    private val told = HeardTold()
    private val adapter = mocked<BluetoothAdapter>()
    private val scanner = mocked<BluetoothLeScanner>()
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

    private val radio = ReaderRadio(adapter, { attached }, told, carrier("ble"), carrier("serial"), keys, { allowed }, { allowed })

    private val a = Wanted("ble-C0:11:22:33:44:55", Way.BLE)
    private val b = Wanted("serial-C0:66:77:88:99:AA", Way.SERIAL)

    /** The framework's own check of an address is Java and runs; its devices are made here. */
    private fun withAdapter(block: () -> Unit) = mockStatic(BluetoothAdapter::class.java).use { statics ->
        statics.`when`<Boolean> { BluetoothAdapter.checkBluetoothAddress(anyString()) }.then { (it.arguments[0] as String).length == 17 }
        `when`(adapter.isEnabled).thenReturn(true)
        `when`(adapter.bluetoothLeScanner).thenReturn(scanner)
        `when`(adapter.getRemoteDevice(anyString())).then { call ->
            mocked<BluetoothDevice>().also { `when`(it.address).thenReturn(call.arguments[0] as String) }
        }
        block()
    }

    @Test
    fun theWantedReaderIsConnectedToOnceHoweverOftenItIsSaid() = withAdapter {
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
    fun anotherReaderTakesItsPlaceAndTheOldOneIsNotHeardAnyMore() = withAdapter {
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
    fun whatCannotBeginYetBeginsAsSoonAsItMay() = withAdapter {
        allowed = false
        radio.follow(a, look = true)
        radio.tick()
        assertEquals(emptyList<String>(), done)
        verify(scanner, never()).startScan(anyList(), any(), any(ScanCallback::class.java))
        allowed = true
        `when`(adapter.isEnabled).thenReturn(false)
        radio.tick()
        assertEquals(emptyList<String>(), done)
        `when`(adapter.isEnabled).thenReturn(true)
        radio.tick()
        assertEquals(listOf("connect ble C0:11:22:33:44:55"), done)
    }

    @Test
    fun anAddressThatIsNoneIsNeverConnectedTo() = withAdapter {
        radio.follow(Wanted("ble-nowhere", Way.BLE), look = false)
        radio.tick()
        assertEquals(emptyList<String>(), done)
    }

    @Test
    fun portsAndKeyboardsAreToldWhileReadersAreLookedFor() = withAdapter {
        val port = mocked<BluetoothDevice>()
        val headphones = mocked<BluetoothDevice>()
        `when`(port.address).thenReturn("C0:66:77:88:99:AA")
        `when`(port.name).thenReturn("Stick")
        `when`(port.uuids).thenReturn(arrayOf(ParcelUuid(Ids.SERIAL_PORT)))
        `when`(headphones.uuids).thenReturn(null)
        `when`(adapter.bondedDevices).thenReturn(linkedSetOf(port, headphones))
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
    fun aKeyboardIsListenedToAndNoOther() = withAdapter {
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
    fun aScanTellsEveryReaderAndStopsWithTheLook() = withAdapter {
        mockConstruction(android.bluetooth.le.ScanFilter.Builder::class.java, org.mockito.Mockito.withSettings().defaultAnswer(org.mockito.Answers.RETURNS_SELF)).use {
            mockConstruction(android.bluetooth.le.ScanSettings.Builder::class.java, org.mockito.Mockito.withSettings().defaultAnswer(org.mockito.Answers.RETURNS_SELF)).use {
                val heard = mutableListOf<String>()
                val scan = BleScan({ scanner }, Ids.UART) { device, name, dbm -> heard += "${device.address} $name $dbm" }
                repeat(2) { scan.start() }
                verify(scanner, times(1)).startScan(anyList(), any(), any(ScanCallback::class.java))
                val result = mocked<ScanResult>()
                val device = mocked<BluetoothDevice>()
                `when`(device.address).thenReturn("C0:11:22:33:44:55")
                `when`(device.name).thenReturn("Wand")
                `when`(result.device).thenReturn(device)
                `when`(result.rssi).thenReturn(-61)
                scan.onScanResult(1, result)
                scan.onBatchScanResults(listOf(result))
                assertEquals(List(2) { "C0:11:22:33:44:55 Wand -61" }, heard)
                // One that failed is begun again; then it is ended.
                scan.onScanFailed(2)
                scan.start()
                verify(scanner, times(2)).startScan(anyList(), any(), any(ScanCallback::class.java))
                scan.close()
                verify(scanner).stopScan(scan)
            }
        }
    }
}
