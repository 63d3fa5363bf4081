package standsquare.device

import org.junit.Assert.assertEquals
import org.junit.Test

class PermissionsTest {
    /** Android 12 (level 31) split the radio's permissions off the place's. */
    @Test
    fun whatIsAskedForFollowsTheLevel() {
        assertEquals(listOf("android.permission.ACCESS_FINE_LOCATION"), Permissions.needed(30))
        assertEquals(listOf("android.permission.BLUETOOTH_SCAN", "android.permission.BLUETOOTH_CONNECT"), Permissions.needed(31))
    }
}
