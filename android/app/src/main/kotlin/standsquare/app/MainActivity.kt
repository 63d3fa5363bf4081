package standsquare.app

import android.os.Bundle
import androidx.activity.ComponentActivity
import androidx.activity.compose.setContent
import androidx.compose.runtime.collectAsState
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.remember
import androidx.compose.runtime.setValue
import java.io.File
import java.security.SecureRandom
import java.util.TimeZone
import standsquare.device.DeviceSecret
import standsquare.device.TiltSensor
import standsquare.gateway.Gateway
import standsquare.gateway.Moment
import standsquare.gateway.Platform
import standsquare.gateway.Tilt
import standsquare.screens.frame.Looks
import standsquare.screens.frame.PhoneGlass
import standsquare.screens.look.BrightSun
import standsquare.screens.look.Dark
import standsquare.state.PhoneEvent
import standsquare.view.Act
import standsquare.view.Effect

/** The screens on a real phone. A first draft that has not been built yet: see ../README.md. */
class MainActivity : ComponentActivity(), Platform {
    private val random = SecureRandom()
    private val sensor by lazy { TiltSensor(this) }
    private val gateway by lazy {
        Gateway(File(filesDir, "record").apply { mkdirs() }.path, this) { DeviceSecret(File(filesDir, "device-secret")).get() }
    }

    override fun onCreate(saved: Bundle?) {
        super.onCreate(saved)
        val typeface = packagedTypeface(this)
        setContent {
            val state by gateway.state.collectAsState()
            var looks by remember { mutableStateOf(Looks()) }
            PhoneGlass(state, looks, typeface, onEvent = { event ->
                when (event) {
                    is PhoneEvent.Do -> gateway.send(event.act, event.seen)
                    is PhoneEvent.TryAgain -> gateway.open()
                    is PhoneEvent.ChangeTheme -> looks = looks.copy(palette = if (looks.palette === BrightSun) Dark else BrightSun)
                    is PhoneEvent.ChooseLanguage -> Unit
                }
            })
        }
    }

    override fun onResume() {
        super.onResume()
        sensor.open()
    }

    override fun onPause() {
        sensor.close()
        super.onPause()
    }

    override fun onDestroy() {
        gateway.close()
        super.onDestroy()
    }

    override fun now(): Moment {
        val now = System.currentTimeMillis()
        return Moment(now, TimeZone.getDefault().getOffset(now) / 60_000)
    }

    override fun entropy(): ByteArray = ByteArray(32).also(random::nextBytes)

    override fun tilt(): Tilt = sensor.mdeg.let { (x, y) -> Tilt(x, y) }

    override fun perform(effect: Effect, gateway: Gateway) {
        // Neither an office's address nor a share sheet is there yet: the core is told so
        // and keeps everything.
        if (effect is Effect.AskOffice) gateway.send(Act.OfficeUnreachable(effect.request, "no office is set up in this build"))
    }
}
