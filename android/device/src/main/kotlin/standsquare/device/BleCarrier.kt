package standsquare.device

import android.annotation.SuppressLint
import android.bluetooth.BluetoothDevice
import android.bluetooth.BluetoothGatt
import android.bluetooth.BluetoothGattCallback
import android.bluetooth.BluetoothGattCharacteristic
import android.bluetooth.BluetoothGattDescriptor
import android.bluetooth.BluetoothProfile
import android.bluetooth.BluetoothStatusCodes
import android.content.Context
import android.os.Build
import java.util.UUID

/**
 * Carries a reader's bytes over Bluetooth Low Energy to a [Line]. It reads
 * nothing in them: where a number begins and ends is the core's business.
 *
 * The framework does one thing at a time on a link, so each step begins in the
 * answer to the one before: connect, longer packets, services, notifications,
 * battery. It calls back on threads of its own; the line must bear that.
 * [Permissions.lacking] must have been empty before [connect].
 */
@SuppressLint("MissingPermission")
class BleCarrier(
    private val context: Context,
    private val service: UUID,
    private val line: Line,
    private val level: Int = Build.VERSION.SDK_INT,
) : BluetoothGattCallback(), AutoCloseable {
    private var device: BluetoothDevice? = null
    private var gatt: BluetoothGatt? = null
    private var notifies: BluetoothGattCharacteristic? = null

    /** Connects to this device, and again whenever the link is gone; a link that stood before is let go. */
    @Synchronized
    fun connect(device: BluetoothDevice) {
        close()
        this.device = device
        // Directly the first time, which is fast where it is near.
        gatt = device.connectGatt(context, false, this, BluetoothDevice.TRANSPORT_LE)
    }

    @Synchronized
    override fun onConnectionStateChange(gatt: BluetoothGatt, status: Int, newState: Int) {
        when (newState) {
            BluetoothProfile.STATE_CONNECTED ->
                // A phone that refuses longer packets goes on with the short ones.
                if (!gatt.requestMtu(MTU)) discover(gatt)
            BluetoothProfile.STATE_DISCONNECTED -> drop(gatt, "disconnected, status $status")
        }
    }

    @Synchronized
    override fun onMtuChanged(gatt: BluetoothGatt, mtu: Int, status: Int) {
        // A reader may ask for it as well, in the middle of everything.
        if (gatt === this.gatt && notifies == null) discover(gatt)
    }

    private fun discover(gatt: BluetoothGatt) {
        if (!gatt.discoverServices()) drop(gatt, "the services cannot be asked for")
    }

    @Synchronized
    override fun onServicesDiscovered(gatt: BluetoothGatt, status: Int) {
        if (status != BluetoothGatt.GATT_SUCCESS) return drop(gatt, "services not found, status $status")
        val found = gatt.getService(service)?.characteristics.orEmpty().firstOrNull { it.properties and NOTIFYING != 0 }
            ?: return drop(gatt, "the device has no such serial line")
        notifies = found
        if (!gatt.setCharacteristicNotification(found, true)) return drop(gatt, "notifications are refused")
        val switch = found.getDescriptor(Ids.CLIENT_CONFIGURATION)
            ?: return drop(gatt, "notifications cannot be switched on")
        if (!switchOn(gatt, switch, found)) drop(gatt, "notifications cannot be switched on")
    }

    @Synchronized
    override fun onDescriptorWrite(gatt: BluetoothGatt, descriptor: BluetoothGattDescriptor, status: Int) {
        if (status != BluetoothGatt.GATT_SUCCESS) return drop(gatt, "notifications not switched on, status $status")
        // Only now can bytes come: told earlier, a number scanned at once would be lost silently.
        line.connected(gatt.device?.name.orEmpty())
        gatt.getService(Ids.BATTERY)?.getCharacteristic(Ids.BATTERY_LEVEL)?.let(gatt::readCharacteristic)
    }

    override fun onCharacteristicRead(gatt: BluetoothGatt, characteristic: BluetoothGattCharacteristic, value: ByteArray, status: Int) {
        if (status == BluetoothGatt.GATT_SUCCESS) battery(characteristic, value)
    }

    /** How phones before Android 13 bring what was read; newer ones call the method above. */
    @Deprecated("Called by the framework on phones before Android 13")
    @Suppress("DEPRECATION", "OVERRIDE_DEPRECATION")
    override fun onCharacteristicRead(gatt: BluetoothGatt, characteristic: BluetoothGattCharacteristic, status: Int) {
        if (status == BluetoothGatt.GATT_SUCCESS) characteristic.value?.let { battery(characteristic, it) }
    }

    private fun battery(characteristic: BluetoothGattCharacteristic, value: ByteArray) {
        if (characteristic.uuid == Ids.BATTERY_LEVEL && value.isNotEmpty()) line.battery(value[0].toInt() and 0xFF)
    }

    override fun onCharacteristicChanged(gatt: BluetoothGatt, characteristic: BluetoothGattCharacteristic, value: ByteArray) =
        take(gatt, characteristic, value)

    /** How phones before Android 13 bring the bytes; newer ones call the method above. */
    @Deprecated("Called by the framework on phones before Android 13")
    @Suppress("DEPRECATION", "OVERRIDE_DEPRECATION")
    override fun onCharacteristicChanged(gatt: BluetoothGatt, characteristic: BluetoothGattCharacteristic) {
        characteristic.value?.let { take(gatt, characteristic, it) }
    }

    @Synchronized
    private fun take(gatt: BluetoothGatt, characteristic: BluetoothGattCharacteristic, value: ByteArray) {
        if (gatt !== this.gatt || characteristic.uuid != notifies?.uuid || value.isEmpty()) return
        // The framework may use its buffer again.
        line.bytes(value.copyOf())
    }

    @Suppress("DEPRECATION")
    private fun switchOn(gatt: BluetoothGatt, switch: BluetoothGattDescriptor, of: BluetoothGattCharacteristic): Boolean {
        val on = if (of.properties and BluetoothGattCharacteristic.PROPERTY_NOTIFY != 0) BluetoothGattDescriptor.ENABLE_NOTIFICATION_VALUE
        else BluetoothGattDescriptor.ENABLE_INDICATION_VALUE
        if (level >= Build.VERSION_CODES.TIRAMISU) return gatt.writeDescriptor(switch, on) == BluetoothStatusCodes.SUCCESS
        return switch.setValue(on) && gatt.writeDescriptor(switch)
    }

    private fun drop(gatt: BluetoothGatt, reason: String) {
        // An old link's late goodbye must not end the new one.
        val current = this.gatt
        gatt.close()
        if (current !== gatt) return
        notifies = null
        line.lost(reason)
        // In the background from now on: the system connects as soon as it is there, however long that takes.
        this.gatt = device?.connectGatt(context, true, this, BluetoothDevice.TRANSPORT_LE)
    }

    /** Lets the link go and looks no more; the line is not told, since whoever closes knows. */
    @Synchronized
    override fun close() {
        device = null
        notifies = null
        val old = gatt ?: return
        gatt = null
        old.disconnect()
        old.close()
    }

    private companion object {
        /** A whole frame in one packet: 30 bytes and 3 of the protocol's. Own choice, no source; 517 is the most there is. */
        const val MTU = 185

        const val NOTIFYING = BluetoothGattCharacteristic.PROPERTY_NOTIFY or BluetoothGattCharacteristic.PROPERTY_INDICATE
    }
}
