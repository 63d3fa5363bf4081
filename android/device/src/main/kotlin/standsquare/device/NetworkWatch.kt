package standsquare.device

import android.net.ConnectivityManager
import android.net.Network

/**
 * Tells when the phone has another network than before: then what waits for the office is
 * tried again at once. Needs ACCESS_NETWORK_STATE.
 */
class NetworkWatch(private val manager: ConnectivityManager?, private val changed: () -> Unit) : AutoCloseable {
    private val callback = object : ConnectivityManager.NetworkCallback() {
        override fun onAvailable(network: Network) = changed()
    }
    private var open = false

    /** Watches from now on. */
    fun open() {
        if (open || manager == null) return
        open = true
        manager.registerDefaultNetworkCallback(callback)
    }

    override fun close() {
        if (!open) return
        open = false
        manager?.unregisterNetworkCallback(callback)
    }
}
