package standsquare.device

import android.Manifest
import android.content.Context
import android.content.pm.PackageManager
import android.os.Build

/** What the radio and the camera need leave for. */
object Permissions {
    /** The permissions of this Android level; up to Android 11 a scan counts as asking for the place. */
    fun needed(level: Int = Build.VERSION.SDK_INT): List<String> =
        if (level >= Build.VERSION_CODES.S) listOf(Manifest.permission.BLUETOOTH_SCAN, Manifest.permission.BLUETOOTH_CONNECT)
        else listOf(Manifest.permission.ACCESS_FINE_LOCATION)

    /** What connecting alone needs: up to Android 11 nothing that a person is asked for, where the system's own list found the reader. */
    fun toConnect(level: Int = Build.VERSION.SDK_INT): List<String> =
        if (level >= Build.VERSION_CODES.S) listOf(Manifest.permission.BLUETOOTH_CONNECT) else emptyList()

    /** Asked for as well, and nothing stops without it: from Android 13 on, showing that the reader is held in the background. */
    fun wished(level: Int = Build.VERSION.SDK_INT): List<String> =
        if (level >= Build.VERSION_CODES.TIRAMISU) listOf(Manifest.permission.POST_NOTIFICATIONS) else emptyList()

    /** Those that the person has not given yet: ask for them before connecting. */
    fun lacking(context: Context, level: Int = Build.VERSION.SDK_INT): List<String> =
        needed(level).filterNot { given(context, it) }

    /** Whether a reader may be connected to. */
    fun mayConnect(context: Context, level: Int = Build.VERSION.SDK_INT): Boolean = toConnect(level).all { given(context, it) }

    /** Whether the camera may be used: asked for when it is first wanted, never before. */
    fun maySee(context: Context): Boolean = given(context, SEE)

    /** What that needs. */
    const val SEE: String = Manifest.permission.CAMERA

    private fun given(context: Context, permission: String) =
        context.checkSelfPermission(permission) == PackageManager.PERMISSION_GRANTED
}
