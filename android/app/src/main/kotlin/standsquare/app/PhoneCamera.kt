package standsquare.app

import android.app.Activity
import androidx.compose.runtime.Composable
import androidx.compose.runtime.DisposableEffect
import androidx.compose.runtime.remember
import androidx.compose.runtime.rememberUpdatedState
import androidx.compose.ui.Modifier
import androidx.compose.ui.viewinterop.AndroidView
import standsquare.device.CodeCamera as Camera
import standsquare.device.CodeFinder
import standsquare.device.CodeReader
import standsquare.device.Permissions
import standsquare.screens.frame.CodeCamera
import standsquare.screens.frame.Sight

/** The camera of this phone in the screens' place for it. */
class PhoneCamera(private val activity: Activity, private val asking: Int) : CodeCamera {
    private var finder: CodeFinder? = null

    /** The person is being asked: that the camera may not be used yet is no trouble. */
    private var isAsking = false

    /** The app goes to the back. */
    fun leave() {
        finder?.leave()
    }

    /** It comes to the front. */
    fun look() {
        finder?.look()
    }

    /** The person has answered whether it may be used. */
    fun answered() {
        isAsking = false
        look()
    }

    @Composable
    override fun Picture(light: Boolean, tell: (Sight) -> Unit, read: (String) -> Unit, modifier: Modifier) {
        val told = rememberUpdatedState(tell)
        val heard = rememberUpdatedState(read)
        val camera = remember {
            val reader = CodeReader { text -> activity.runOnUiThread { heard.value(text) } }
            Camera(activity, reader) { sight -> activity.runOnUiThread { told.value(standing(Sight.valueOf(sight.name))) } }
        }
        DisposableEffect(camera) {
            // Once for each time that it is opened on the glass: what was answered is found by looking again.
            if (!Permissions.maySee(activity)) {
                isAsking = true
                activity.requestPermissions(arrayOf(Permissions.SEE), asking)
            }
            onDispose {
                finder = null
                camera.close()
            }
        }
        AndroidView({ CodeFinder(it, camera).also { made -> finder = made } }, modifier, update = { camera.light(light) })
    }

    private fun standing(sight: Sight) = if (sight == Sight.DENIED && isAsking) Sight.STARTING else sight
}
