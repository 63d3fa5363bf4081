package standsquare.device

import android.net.ConnectivityManager
import android.net.ConnectivityManager.NetworkCallback
import android.net.Network

/**
 * Tells when the phone has another network than before: then what waits for the office is
 * tried again at once. Needs ACCESS_NETWORK_STATE.
 *
 * [watch] and [leave] are the system's; tests give their own.
 */
class NetworkWatch(
    private val watch: (NetworkCallback) -> Unit,
    private val leave: (NetworkCallback) -> Unit,
    private val changed: () -> Unit,
) : AutoCloseable {
    /** On this phone; one without the service has nothing to watch. */
    constructor(manager: ConnectivityManager?, changed: () -> Unit) : this(
        { manager?.registerDefaultNetworkCallback(it) },
        { manager?.unregisterNetworkCallback(it) },
        changed,
    )

    private val callback = object : NetworkCallback() {
        override fun onAvailable(network: Network) = changed()
    }
    private var open = false

    /** Watches from now on. */
    fun open() {
        if (open) return
        open = true
        watch(callback)
    }

    override fun close() {
        if (!open) return
        open = false
        leave(callback)
    }
}
