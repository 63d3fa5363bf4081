package standsquare.device

import android.bluetooth.BluetoothDevice
import android.bluetooth.le.ScanFilter
import android.companion.AssociationInfo
import android.companion.AssociationRequest
import android.companion.BluetoothDeviceFilter
import android.companion.BluetoothLeDeviceFilter
import android.companion.CompanionDeviceManager
import android.content.Intent
import android.content.IntentSender
import android.os.Build
import android.os.Handler
import android.os.ParcelUuid
import java.util.UUID

/**
 * The system's own list of devices, which needs no leave to know the place: it
 * finds readers by their service or as serial ports, and the person picks one.
 * What was picked is told as [chosen]; [show] starts the system's list.
 */
class CompanionPairing(
    private val manager: CompanionDeviceManager,
    private val service: UUID,
    private val show: (IntentSender) -> Unit,
    private val chosen: (address: String, name: String, way: Way) -> Unit,
    private val failed: (reason: String) -> Unit,
    private val level: Int = Build.VERSION.SDK_INT,
) : CompanionDeviceManager.Callback() {
    /** Asks the system to look. */
    @Suppress("DEPRECATION")
    fun ask(handler: Handler? = null) = manager.associate(request(), this, handler)

    private fun request(): AssociationRequest = AssociationRequest.Builder()
        .addDeviceFilter(BluetoothLeDeviceFilter.Builder().setScanFilter(ScanFilter.Builder().setServiceUuid(ParcelUuid(service)).build()).build())
        .addDeviceFilter(BluetoothDeviceFilter.Builder().addServiceUuid(ParcelUuid(Ids.SERIAL_PORT), null).build())
        .build()

    /** Up to Android 12. */
    @Deprecated("Called by the framework on phones before Android 13")
    override fun onDeviceFound(intentSender: IntentSender) = show(intentSender)

    /** From Android 13 on. */
    override fun onAssociationPending(intentSender: IntentSender) = show(intentSender)

    /** From Android 13 on the answer comes here as well as with the list's own result. */
    override fun onAssociationCreated(info: AssociationInfo) {
        val address = info.deviceMacAddress?.toString() ?: return
        chosen(address.uppercase(), info.displayName?.toString().orEmpty(), Way.BLE)
    }

    override fun onFailure(error: CharSequence?) = failed(error?.toString().orEmpty())

    /** The list's result, as the activity gets it. */
    @Suppress("DEPRECATION")
    fun result(data: Intent?) {
        // From Android 13 on it holds no device; the association was told already.
        if (level >= Build.VERSION_CODES.TIRAMISU) return
        val picked: Any? = data?.getParcelableExtra(CompanionDeviceManager.EXTRA_DEVICE)
        when (picked) {
            is android.bluetooth.le.ScanResult -> picked.device?.let { tell(it, Way.BLE) }
            is BluetoothDevice -> tell(picked, if (picked.type == BluetoothDevice.DEVICE_TYPE_LE) Way.BLE else Way.SERIAL)
        }
    }

    @android.annotation.SuppressLint("MissingPermission")
    private fun tell(device: BluetoothDevice, way: Way) = chosen(device.address, device.name.orEmpty(), way)
}
