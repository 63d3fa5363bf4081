package standsquare.device

import android.bluetooth.BluetoothDevice
import android.bluetooth.BluetoothGatt
import android.bluetooth.BluetoothGattCharacteristic
import android.bluetooth.BluetoothGattDescriptor
import android.bluetooth.BluetoothGattService
import android.bluetooth.BluetoothProfile
import android.bluetooth.BluetoothStatusCodes
import java.util.UUID
import org.junit.Assert.assertEquals
import org.junit.Test
import org.mockito.ArgumentMatchers.any
import org.mockito.ArgumentMatchers.anyInt
import org.mockito.ArgumentMatchers.eq
import org.mockito.Mockito.`when`
import org.mockito.Mockito.inOrder
import org.mockito.Mockito.never
import org.mockito.Mockito.times
import org.mockito.Mockito.verify

/** The carrier over a framework that is mocked: no radio, only the order of its calls. */
class BleCarrierTest {
    private val line = HeardLine()
    private val told = line.told
    private val carrier = BleCarrier(mocked(), Ids.UART, line, level = 30)
    private val switch = mocked<BluetoothGattDescriptor>()
    private val device = mocked<BluetoothDevice>()

    /** Which of the two characteristics notifies differs from page to page: both are tried. */
    private fun characteristic(id: UUID, properties: Int): BluetoothGattCharacteristic = mocked<BluetoothGattCharacteristic>().also {
        `when`(it.uuid).thenReturn(id)
        `when`(it.properties).thenReturn(properties)
        `when`(it.getDescriptor(Ids.CLIENT_CONFIGURATION)).thenReturn(switch)
    }
    private val second = UUID(1, 2)
    private val third = UUID(1, 3)
    private val written = characteristic(second, BluetoothGattCharacteristic.PROPERTY_WRITE)
    private val notifies = characteristic(third, BluetoothGattCharacteristic.PROPERTY_NOTIFY)

    private fun gatt(characteristics: List<BluetoothGattCharacteristic> = listOf(written, notifies)): BluetoothGatt {
        val gatt = mocked<BluetoothGatt>()
        val service = mocked<BluetoothGattService>()
        `when`(gatt.requestMtu(anyInt())).thenReturn(true)
        `when`(gatt.discoverServices()).thenReturn(true)
        `when`(gatt.getService(Ids.UART)).thenReturn(service)
        `when`(service.characteristics).thenReturn(characteristics)
        `when`(gatt.setCharacteristicNotification(any(), eq(true))).thenReturn(true)
        `when`(switch.setValue(any(ByteArray::class.java))).thenReturn(true)
        `when`(gatt.writeDescriptor(switch)).thenReturn(true)
        `when`(gatt.device).thenReturn(device)
        `when`(device.name).thenReturn("Wand")
        return gatt
    }

    private fun connect(gatt: BluetoothGatt, then: BluetoothGatt? = null) {
        `when`(device.connectGatt(any(), eq(false), any(), anyInt())).thenReturn(gatt)
        `when`(device.connectGatt(any(), eq(true), any(), anyInt())).thenReturn(then ?: mocked<BluetoothGatt>())
        carrier.connect(device)
    }

    /** The whole way to a link that stands. */
    private fun up(gatt: BluetoothGatt) {
        carrier.onConnectionStateChange(gatt, BluetoothGatt.GATT_SUCCESS, BluetoothProfile.STATE_CONNECTED)
        carrier.onMtuChanged(gatt, 185, BluetoothGatt.GATT_SUCCESS)
        carrier.onServicesDiscovered(gatt, BluetoothGatt.GATT_SUCCESS)
        carrier.onDescriptorWrite(gatt, switch, BluetoothGatt.GATT_SUCCESS)
    }

    @Test
    fun theLinkIsToldOnceBytesCanCome() {
        val gatt = gatt()
        connect(gatt)
        carrier.onConnectionStateChange(gatt, BluetoothGatt.GATT_SUCCESS, BluetoothProfile.STATE_CONNECTED)
        carrier.onMtuChanged(gatt, 185, BluetoothGatt.GATT_SUCCESS)
        carrier.onServicesDiscovered(gatt, BluetoothGatt.GATT_SUCCESS)
        assertEquals(emptyList<String>(), told)
        carrier.onDescriptorWrite(gatt, switch, BluetoothGatt.GATT_SUCCESS)
        val buffer = byteArrayOf(2, 57)
        carrier.onCharacteristicChanged(gatt, notifies, buffer)
        assertEquals(listOf("connected Wand", "bytes 2 57"), told)
    }

    @Test
    fun oneThingAtATimeIsAskedOfTheLink() {
        val gatt = gatt()
        connect(gatt)
        up(gatt)
        val order = inOrder(gatt)
        order.verify(gatt).requestMtu(185)
        order.verify(gatt).discoverServices()
        order.verify(gatt).setCharacteristicNotification(notifies, true)
        order.verify(gatt).writeDescriptor(switch)
        // Another talk about the packets' length later on begins nothing anew.
        carrier.onMtuChanged(gatt, 100, BluetoothGatt.GATT_SUCCESS)
        verify(gatt, times(1)).discoverServices()
    }

    @Test
    fun whatNotifiesIsFoundByItsPropertyWhicheverItIs() {
        val swapped = listOf(characteristic(second, BluetoothGattCharacteristic.PROPERTY_INDICATE), characteristic(third, BluetoothGattCharacteristic.PROPERTY_WRITE))
        val gatt = gatt(swapped)
        connect(gatt)
        up(gatt)
        verify(switch).setValue(BluetoothGattDescriptor.ENABLE_INDICATION_VALUE)
        carrier.onCharacteristicChanged(gatt, swapped[0], byteArrayOf(1))
        carrier.onCharacteristicChanged(gatt, swapped[1], byteArrayOf(9))
        assertEquals(listOf("connected Wand", "bytes 1"), told)
    }

    @Test
    fun shortPacketsWillDoWhereLongOnesAreRefused() {
        val gatt = gatt()
        `when`(gatt.requestMtu(anyInt())).thenReturn(false)
        connect(gatt)
        carrier.onConnectionStateChange(gatt, BluetoothGatt.GATT_SUCCESS, BluetoothProfile.STATE_CONNECTED)
        verify(gatt).discoverServices()
    }

    @Test
    fun theWayOfAndroid13() {
        val newer = BleCarrier(mocked(), Ids.UART, line, level = 33)
        val gatt = gatt()
        `when`(gatt.writeDescriptor(switch, BluetoothGattDescriptor.ENABLE_NOTIFICATION_VALUE)).thenReturn(BluetoothStatusCodes.SUCCESS)
        `when`(device.connectGatt(any(), eq(false), any(), anyInt())).thenReturn(gatt)
        newer.connect(device)
        newer.onConnectionStateChange(gatt, BluetoothGatt.GATT_SUCCESS, BluetoothProfile.STATE_CONNECTED)
        newer.onMtuChanged(gatt, 185, BluetoothGatt.GATT_SUCCESS)
        newer.onServicesDiscovered(gatt, BluetoothGatt.GATT_SUCCESS)
        newer.onDescriptorWrite(gatt, switch, BluetoothGatt.GATT_SUCCESS)
        verify(gatt, never()).writeDescriptor(switch)
        assertEquals(listOf("connected Wand"), told)
    }

    @Test
    fun theBatteryIsReadOnceTheLinkStands() {
        val gatt = gatt()
        val battery = mocked<BluetoothGattService>()
        val level = characteristic(Ids.BATTERY_LEVEL, BluetoothGattCharacteristic.PROPERTY_READ)
        `when`(gatt.getService(Ids.BATTERY)).thenReturn(battery)
        `when`(battery.getCharacteristic(Ids.BATTERY_LEVEL)).thenReturn(level)
        connect(gatt)
        up(gatt)
        verify(gatt).readCharacteristic(level)
        carrier.onCharacteristicRead(gatt, level, byteArrayOf(83), BluetoothGatt.GATT_SUCCESS)
        assertEquals(listOf("connected Wand", "battery 83"), told)
    }

    @Test
    fun aDeviceWithoutTheLineIsLetGo() {
        val gatt = gatt()
        `when`(gatt.getService(Ids.UART)).thenReturn(null)
        connect(gatt)
        carrier.onServicesDiscovered(gatt, BluetoothGatt.GATT_SUCCESS)
        verify(gatt).close()
        assertEquals(listOf("lost: the device has no such serial line"), told)
    }

    @Test
    fun aLostLinkIsMadeAgainByItself() {
        val (first, again) = gatt() to gatt()
        connect(first, again)
        up(first)
        carrier.onConnectionStateChange(first, 8, BluetoothProfile.STATE_DISCONNECTED)
        verify(first).close()
        // In the background now: as soon as the reader is there, however long that takes.
        verify(device).connectGatt(any(), eq(true), eq(carrier), eq(BluetoothDevice.TRANSPORT_LE))
        up(again)
        carrier.onCharacteristicChanged(again, notifies, byteArrayOf(7))
        assertEquals(listOf("connected Wand", "lost: disconnected, status 8", "connected Wand", "bytes 7"), told)
    }

    @Test
    fun anOldLinksLateGoodbyeDoesNotEndTheNewOne() {
        val (old, new) = gatt() to gatt()
        connect(old)
        connect(new)
        carrier.onConnectionStateChange(old, 19, BluetoothProfile.STATE_DISCONNECTED)
        carrier.onCharacteristicChanged(old, notifies, byteArrayOf(1))
        assertEquals(emptyList<String>(), told)
        carrier.onConnectionStateChange(new, 8, BluetoothProfile.STATE_DISCONNECTED)
        assertEquals(listOf("lost: disconnected, status 8"), told)
    }

    @Test
    fun whoClosesIsNotTold() {
        val gatt = gatt()
        connect(gatt)
        up(gatt)
        told.clear()
        carrier.close()
        carrier.onConnectionStateChange(gatt, 0, BluetoothProfile.STATE_DISCONNECTED)
        assertEquals(emptyList<String>(), told)
        verify(device, never()).connectGatt(any(), eq(true), any(), anyInt())
    }
}
