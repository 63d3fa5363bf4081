package standsquare.device

import android.content.Context
import android.content.pm.PackageManager
import org.junit.Assert.assertEquals
import org.junit.Test
import org.mockito.Mockito.`when`

class PermissionsTest {
    private val place = "android.permission.ACCESS_FINE_LOCATION"
    private val scan = "android.permission.BLUETOOTH_SCAN"
    private val connect = "android.permission.BLUETOOTH_CONNECT"

    /** Android 12 (level 31) split the radio's permissions off the place's. */
    @Test
    fun whatIsAskedForFollowsTheLevel() {
        for (level in 26..30) assertEquals(listOf(place), Permissions.needed(level))
        for (level in 31..35) assertEquals(listOf(scan, connect), Permissions.needed(level))
        assertEquals(emptyList<String>(), Permissions.wished(32))
        assertEquals(listOf("android.permission.POST_NOTIFICATIONS"), Permissions.wished(33))
    }

    @Test
    fun whatWasGivenIsNotAskedForAgain() {
        val context = mocked<Context>()
        `when`(context.checkSelfPermission(place)).thenReturn(PackageManager.PERMISSION_DENIED)
        `when`(context.checkSelfPermission(scan)).thenReturn(PackageManager.PERMISSION_GRANTED)
        `when`(context.checkSelfPermission(connect)).thenReturn(PackageManager.PERMISSION_DENIED)
        assertEquals(listOf(place), Permissions.lacking(context, 30))
        assertEquals(listOf(connect), Permissions.lacking(context, 31))
        // A reader out of the system's own list needs no leave to know the place.
        assertEquals(listOf(true, false), listOf(30, 31).map { Permissions.mayConnect(context, it) })
    }
}
