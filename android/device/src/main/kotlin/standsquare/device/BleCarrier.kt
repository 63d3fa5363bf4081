package standsquare.device

import android.annotation.SuppressLint
import android.bluetooth.BluetoothDevice
import android.bluetooth.BluetoothGatt
import android.bluetooth.BluetoothGattCallback
import android.bluetooth.BluetoothGattCharacteristic
import android.bluetooth.BluetoothGattDescriptor
import android.bluetooth.BluetoothProfile
import android.content.Context
import android.os.Build

/**
 * Carries a reader's bytes over Bluetooth Low Energy to a [Line]. It reads
 * nothing in them: where a number begins and ends is the core's business.
 *
 * The framework calls back on threads of its own; the line must bear that.
 * [Permissions.lacking] must have been empty before [connect].
 */
@SuppressLint("MissingPermission")
class BleCarrier(
    private val context: Context,
    private val service: SerialService,
    private val line: Line,
    private val level: Int = Build.VERSION.SDK_INT,
) : BluetoothGattCallback(), AutoCloseable {
    @Volatile private var gatt: BluetoothGatt? = null

    /** Connects to this device; a link that stood before is let go. */
    fun connect(device: BluetoothDevice) {
        close()
        gatt = device.connectGatt(context, false, this, BluetoothDevice.TRANSPORT_LE)
    }

    override fun onConnectionStateChange(gatt: BluetoothGatt, status: Int, newState: Int) {
        when (newState) {
            BluetoothProfile.STATE_CONNECTED -> if (!gatt.discoverServices()) drop(gatt, "the services cannot be asked for")
            BluetoothProfile.STATE_DISCONNECTED -> drop(gatt, "disconnected, status $status")
        }
    }

    override fun onServicesDiscovered(gatt: BluetoothGatt, status: Int) {
        if (status != BluetoothGatt.GATT_SUCCESS) return drop(gatt, "services not found, status $status")
        val notifies = gatt.getService(service.service)?.getCharacteristic(service.notifies)
            ?: return drop(gatt, "the device has no such serial line")
        if (!gatt.setCharacteristicNotification(notifies, true)) return drop(gatt, "notifications are refused")
        val switch = notifies.getDescriptor(SerialService.CLIENT_CONFIGURATION)
            ?: return drop(gatt, "notifications cannot be switched on")
        if (!switchOn(gatt, switch)) drop(gatt, "notifications cannot be switched on")
    }

    override fun onDescriptorWrite(gatt: BluetoothGatt, descriptor: BluetoothGattDescriptor, status: Int) {
        // Only now can bytes come: told earlier, a number scanned at once would be lost silently.
        if (status == BluetoothGatt.GATT_SUCCESS) line.connected(gatt.device?.name.orEmpty())
        else drop(gatt, "notifications not switched on, status $status")
    }

    override fun onCharacteristicChanged(gatt: BluetoothGatt, characteristic: BluetoothGattCharacteristic, value: ByteArray) =
        take(characteristic, value)

    /** How phones before Android 13 bring the bytes; newer ones call the method above. */
    @Deprecated("Called by the framework on phones before Android 13")
    @Suppress("DEPRECATION", "OVERRIDE_DEPRECATION")
    override fun onCharacteristicChanged(gatt: BluetoothGatt, characteristic: BluetoothGattCharacteristic) {
        characteristic.value?.let { take(characteristic, it) }
    }

    private fun take(characteristic: BluetoothGattCharacteristic, value: ByteArray) {
        // The framework may use its buffer again.
        if (characteristic.uuid == service.notifies && value.isNotEmpty()) line.bytes(value.copyOf())
    }

    @Suppress("DEPRECATION")
    private fun switchOn(gatt: BluetoothGatt, switch: BluetoothGattDescriptor): Boolean {
        val on = BluetoothGattDescriptor.ENABLE_NOTIFICATION_VALUE
        if (level >= Build.VERSION_CODES.TIRAMISU)
            return gatt.writeDescriptor(switch, on) == android.bluetooth.BluetoothStatusCodes.SUCCESS
        return switch.setValue(on) && gatt.writeDescriptor(switch)
    }

    private fun drop(gatt: BluetoothGatt, reason: String) {
        // An old link's late goodbye must not end the new one.
        val current = this.gatt
        gatt.close()
        if (current != null && current !== gatt) return
        this.gatt = null
        line.lost(reason)
    }

    /** Lets the link go; the line is not told, since whoever closes knows. */
    override fun close() {
        val old = gatt ?: return
        gatt = null
        old.disconnect()
        old.close()
    }
}
