package standsquare.device

import android.net.ConnectivityManager.NetworkCallback
import org.junit.Assert.assertEquals
import org.junit.Test

/** The framework's own network callback: another network is told, and only while it is watched. */
class NetworkWatchTest {
    @Test
    fun anotherNetworkIsTold() {
        val watched = mutableListOf<NetworkCallback>()
        val left = mutableListOf<NetworkCallback>()
        var told = 0
        val watch = NetworkWatch(watched::add, left::add) { told += 1 }
        watch.open()
        watch.open()
        assertEquals(1, watched.size)
        watched.single().onAvailable(mocked())
        assertEquals(1, told)
        watch.close()
        watch.close()
        assertEquals(watched, left)
    }
}
