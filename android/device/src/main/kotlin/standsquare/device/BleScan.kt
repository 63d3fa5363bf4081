package standsquare.device

import android.annotation.SuppressLint
import android.bluetooth.BluetoothDevice
import android.bluetooth.le.BluetoothLeScanner
import android.bluetooth.le.ScanCallback
import android.bluetooth.le.ScanFilter
import android.bluetooth.le.ScanResult
import android.bluetooth.le.ScanSettings
import android.os.ParcelUuid
import java.util.UUID

/**
 * Looks for readers by their service. [scanner] gives null where the radio is off.
 * [Permissions.lacking] must have been empty before [start].
 */
@SuppressLint("MissingPermission")
class BleScan(
    private val scanner: () -> BluetoothLeScanner?,
    private val service: UUID,
    private val heard: (device: BluetoothDevice, name: String, dbm: Int) -> Unit,
) : ScanCallback(), AutoCloseable {
    private var running: BluetoothLeScanner? = null

    /** Begins to look; nothing where it looks already, or the radio is off. */
    @Synchronized
    fun start() {
        if (running != null) return
        val scanner = scanner() ?: return
        val filter = ScanFilter.Builder().setServiceUuid(ParcelUuid(service)).build()
        // Only while the list of readers is on the screen, so it may cost.
        val settings = ScanSettings.Builder().setScanMode(ScanSettings.SCAN_MODE_LOW_LATENCY).build()
        scanner.startScan(listOf(filter), settings, this)
        running = scanner
    }

    override fun onScanResult(callbackType: Int, result: ScanResult) = tell(result)

    override fun onBatchScanResults(results: List<ScanResult>) = results.forEach(::tell)

    /** The next [start] tries again. */
    @Synchronized
    override fun onScanFailed(errorCode: Int) {
        running = null
    }

    private fun tell(result: ScanResult) {
        val device = result.device ?: return
        heard(device, result.scanRecord?.deviceName ?: device.name.orEmpty(), result.rssi)
    }

    /** Looks no more. */
    @Synchronized
    override fun close() {
        running?.stopScan(this)
        running = null
    }
}
