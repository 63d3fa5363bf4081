package standsquare.device

import android.Manifest
import android.content.Context
import android.content.pm.PackageManager
import android.os.Build

/** What the radio needs leave for. */
object Permissions {
    /** The permissions of this Android level; up to Android 11 a scan counts as asking for the place. */
    fun needed(level: Int = Build.VERSION.SDK_INT): List<String> =
        if (level >= Build.VERSION_CODES.S) listOf(Manifest.permission.BLUETOOTH_SCAN, Manifest.permission.BLUETOOTH_CONNECT)
        else listOf(Manifest.permission.ACCESS_FINE_LOCATION)

    /** Those that the person has not given yet: ask for them before connecting. */
    fun lacking(context: Context): List<String> =
        needed().filter { context.checkSelfPermission(it) != PackageManager.PERMISSION_GRANTED }
}
