package standsquare.device

import android.bluetooth.BluetoothDevice
import android.bluetooth.BluetoothGatt
import android.bluetooth.BluetoothGattCharacteristic
import android.bluetooth.BluetoothGattDescriptor
import android.bluetooth.BluetoothGattService
import android.bluetooth.BluetoothProfile
import android.content.Context
import java.util.UUID
import org.junit.Assert.assertEquals
import org.junit.Test
import org.mockito.ArgumentMatchers.any
import org.mockito.ArgumentMatchers.anyBoolean
import org.mockito.ArgumentMatchers.anyInt
import org.mockito.Mockito.`when`
import org.mockito.Mockito.mock
import org.mockito.Mockito.verify

/** The carrier over a framework that is mocked: no radio, only the order of its calls. */
class BleCarrierTest {
    private val told = mutableListOf<String>()
    private val line = object : Line {
        override fun connected(name: String) { told += "connected $name" }
        override fun bytes(bytes: ByteArray) { told += "bytes ${bytes.joinToString(" ")}" }
        override fun lost(reason: String) { told += "lost: $reason" }
    }
    private val serial = SerialService(UUID(1, 1), UUID(1, 2))
    private val carrier = BleCarrier(mock(Context::class.java), serial, line, level = 30)
    private val notifies = mock(BluetoothGattCharacteristic::class.java)
    private val switch = mock(BluetoothGattDescriptor::class.java)

    private fun gatt(): BluetoothGatt {
        val gatt = mock(BluetoothGatt::class.java)
        val device = mock(BluetoothDevice::class.java)
        val service = mock(BluetoothGattService::class.java)
        `when`(gatt.discoverServices()).thenReturn(true)
        `when`(gatt.getService(serial.service)).thenReturn(service)
        `when`(service.getCharacteristic(serial.notifies)).thenReturn(notifies)
        `when`(notifies.uuid).thenReturn(serial.notifies)
        `when`(notifies.getDescriptor(SerialService.CLIENT_CONFIGURATION)).thenReturn(switch)
        `when`(gatt.setCharacteristicNotification(notifies, true)).thenReturn(true)
        `when`(switch.setValue(any(ByteArray::class.java))).thenReturn(true)
        `when`(gatt.writeDescriptor(switch)).thenReturn(true)
        `when`(gatt.device).thenReturn(device)
        `when`(device.name).thenReturn("Wand")
        return gatt
    }

    private fun connect(gatt: BluetoothGatt) {
        val device = mock(BluetoothDevice::class.java)
        `when`(device.connectGatt(any(), anyBoolean(), any(), anyInt())).thenReturn(gatt)
        carrier.connect(device)
    }

    @Test
    fun theLinkIsToldOnceBytesCanCome() {
        val gatt = gatt()
        connect(gatt)
        carrier.onConnectionStateChange(gatt, BluetoothGatt.GATT_SUCCESS, BluetoothProfile.STATE_CONNECTED)
        carrier.onServicesDiscovered(gatt, BluetoothGatt.GATT_SUCCESS)
        assertEquals(emptyList<String>(), told)
        carrier.onDescriptorWrite(gatt, switch, BluetoothGatt.GATT_SUCCESS)
        val buffer = byteArrayOf(2, 57)
        carrier.onCharacteristicChanged(gatt, notifies, buffer)
        assertEquals(listOf("connected Wand", "bytes 2 57"), told)
    }

    @Test
    fun aDeviceWithoutTheLineIsLetGo() {
        val gatt = gatt()
        `when`(gatt.getService(serial.service)).thenReturn(null)
        connect(gatt)
        carrier.onServicesDiscovered(gatt, BluetoothGatt.GATT_SUCCESS)
        verify(gatt).close()
        assertEquals(listOf("lost: the device has no such serial line"), told)
    }

    @Test
    fun anOldLinksLateGoodbyeDoesNotEndTheNewOne() {
        val (old, new) = gatt() to gatt()
        connect(old)
        connect(new)
        carrier.onConnectionStateChange(old, 19, BluetoothProfile.STATE_DISCONNECTED)
        assertEquals(emptyList<String>(), told)
        carrier.onConnectionStateChange(new, 8, BluetoothProfile.STATE_DISCONNECTED)
        assertEquals(listOf("lost: disconnected, status 8"), told)
    }

    @Test
    fun bytesOfAnotherCharacteristicAreNotTheReaders() {
        val other = mock(BluetoothGattCharacteristic::class.java)
        `when`(other.uuid).thenReturn(UUID(9, 9))
        carrier.onCharacteristicChanged(gatt(), other, byteArrayOf(1))
        assertEquals(emptyList<String>(), told)
    }
}
