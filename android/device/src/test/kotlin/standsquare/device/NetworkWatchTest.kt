package standsquare.device

import android.net.ConnectivityManager
import android.net.ConnectivityManager.NetworkCallback
import org.junit.Assert.assertEquals
import org.junit.Test
import org.mockito.ArgumentCaptor
import org.mockito.Mockito.times
import org.mockito.Mockito.verify

/** The framework's own network callback, mocked: another network is told, and only while it is watched. */
class NetworkWatchTest {
    @Test
    fun anotherNetworkIsTold() {
        val manager = mocked<ConnectivityManager>()
        var told = 0
        val watch = NetworkWatch(manager) { told += 1 }
        watch.open()
        watch.open()
        val callback = ArgumentCaptor.forClass(NetworkCallback::class.java)
        verify(manager, times(1)).registerDefaultNetworkCallback(callback.capture())
        callback.value.onAvailable(mocked())
        assertEquals(1, told)
        watch.close()
        watch.close()
        verify(manager, times(1)).unregisterNetworkCallback(callback.value)
    }
}
