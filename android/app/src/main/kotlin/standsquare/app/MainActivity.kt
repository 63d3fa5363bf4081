package standsquare.app

import android.bluetooth.BluetoothManager
import android.companion.CompanionDeviceManager
import android.content.Intent
import android.hardware.input.InputManager
import android.net.ConnectivityManager
import android.os.Bundle
import android.os.Handler
import android.os.Looper
import android.view.KeyEvent
import androidx.activity.ComponentActivity
import androidx.activity.compose.setContent
import androidx.compose.runtime.collectAsState
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.remember
import androidx.compose.runtime.setValue
import androidx.lifecycle.lifecycleScope
import java.io.File
import java.security.SecureRandom
import java.util.TimeZone
import kotlinx.coroutines.launch
import standsquare.device.DeviceSecret
import standsquare.device.CompanionPairing
import standsquare.device.Ids
import standsquare.device.KeyCapture
import standsquare.device.Keyboards
import standsquare.device.NetworkWatch
import standsquare.device.Permissions
import standsquare.device.ReaderRadio
import standsquare.device.ReaderService
import standsquare.device.TiltSensor
import standsquare.device.TwoKeyCapture
import standsquare.device.Wanted
import standsquare.device.Way
import standsquare.gateway.Gateway
import standsquare.gateway.Moment
import standsquare.gateway.Platform
import standsquare.gateway.Tilt
import standsquare.screens.frame.Looks
import standsquare.screens.frame.PhoneGlass
import standsquare.screens.look.BrightSun
import standsquare.screens.look.Dark
import standsquare.screens.words.Language
import standsquare.state.PhoneEvent
import standsquare.state.PhoneState
import standsquare.view.Act
import standsquare.view.Effect
import standsquare.view.ReaderBadge
import standsquare.view.ReaderLink
import standsquare.view.TwoKeys

/** The screens on a real phone. A first draft that has not been built yet: see ../README.md. */
class MainActivity : ComponentActivity(), Platform {
    private val random = SecureRandom()
    private val sensor by lazy { TiltSensor(this) }
    private val gateway by lazy {
        Gateway(File(filesDir, "record").apply { mkdirs() }.path, this) { DeviceSecret(File(filesDir, "device-secret")).get() }
    }

    private val readings = Readings { gateway.send(it) }
    private val keys = KeyCapture { gateway.send(Act.ReaderBytes(it)) }
    private val radio by lazy {
        ReaderRadio.of(
            this, getSystemService(BluetoothManager::class.java)?.adapter,
            Keyboards(getSystemService(InputManager::class.java)::getInputDeviceIds), keys, readings,
        )
    }
    private val network by lazy {
        NetworkWatch(getSystemService(ConnectivityManager::class.java)) { gateway.networkChanged() }
    }
    private val second = Handler(Looper.getMainLooper())

    /** Once a second while the app is there: time for the core, and for the radio what could not begin before. */
    private val tick = object : Runnable {
        override fun run() {
            gateway.tick()
            radio.tick()
            second.postDelayed(this, 1_000)
        }
    }

    override fun onCreate(saved: Bundle?) {
        super.onCreate(saved)
        val lacking = Permissions.lacking(this) + Permissions.wished()
        if (lacking.isNotEmpty()) requestPermissions(lacking.toTypedArray(), 0)
        lifecycleScope.launch {
            gateway.state.collect { if (it is PhoneState.Showing) follow(it.view.reader) }
        }
        tick.run()
        network.open()
        val typeface = packagedTypeface(this)
        setContent {
            val state by gateway.state.collectAsState()
            var looks by remember { mutableStateOf(keptLooks()) }
            PhoneGlass(state, looks, typeface, onEvent = { event ->
                when (event) {
                    is PhoneEvent.Do -> gateway.send(event.act, event.seen)
                    is PhoneEvent.TryAgain -> gateway.open()
                    is PhoneEvent.ChangeTheme ->
                        looks = keep(looks.copy(palette = if (looks.palette === BrightSun) Dark else BrightSun))
                    is PhoneEvent.ChooseLanguage ->
                        looks = keep(looks.copy(language = Language.of(event.code) ?: looks.language))
                }
            })
        }
    }

    /** The radio does what the view asks of it; a link that stands keeps the process. */
    private fun follow(badge: ReaderBadge) {
        radio.follow(badge.wanted?.let { Wanted(it.reader, Way.valueOf(it.carrier.name)) }, badge.look)
        // Without leave to scan, the system's own list finds readers and needs none.
        if (badge.look && !asked && Permissions.lacking(this).isNotEmpty()) companion.ask()
        asked = badge.look
        if (badge.link == ReaderLink.CONNECTED && !held) {
            held = true
            startForegroundService(ReaderService.intent(this, getString(R.string.reader_linked), android.R.drawable.stat_sys_data_bluetooth))
        }
    }

    private var held = false

    private val companion by lazy {
        CompanionPairing(
            getSystemService(CompanionDeviceManager::class.java), Ids.UART,
            show = { startIntentSenderForResult(it, PICKED, null, 0, 0, 0) },
            chosen = { address, name, way -> readings.seen(ReaderRadio.id(way, address), name, way, null) },
            failed = { /* Nothing was picked: the list on the screen is as it was. */ },
        )
    }
    private var asked = false

    @Deprecated("The system's list of devices answers so")
    override fun onActivityResult(request: Int, result: Int, data: Intent?) {
        super.onActivityResult(request, result, data)
        if (request == PICKED) companion.result(data)
    }

    /** Before any field: a reader that types needs no focus. */
    override fun dispatchKeyEvent(event: KeyEvent): Boolean =
        keys.take(event) || clicker.take(event) || super.dispatchKeyEvent(event)

    private val clicker = TwoKeyCapture { up -> gateway.press(if (up) TwoKeys.FIRST else TwoKeys.SECOND) }

    private val choices by lazy { getSharedPreferences("looks", MODE_PRIVATE) }

    /** The person's choice, or the phone's first language that there are words for. */
    private fun keptLooks(): Looks {
        val locales = resources.configuration.locales
        val preferred = (0 until locales.size()).map { locales[it].toLanguageTag() }
        return Looks(
            palette = if (choices.getString("palette", null) == Dark.name) Dark else BrightSun,
            language = choices.getString("language", null)?.let(Language::of) ?: Language.first(preferred),
        )
    }

    private fun keep(looks: Looks): Looks {
        choices.edit().putString("palette", looks.palette.name).putString("language", looks.language.code).apply()
        return looks
    }

    override fun onResume() {
        super.onResume()
        sensor.open()
        gateway.networkChanged()
    }

    override fun onPause() {
        sensor.close()
        super.onPause()
    }

    override fun onDestroy() {
        second.removeCallbacks(tick)
        network.close()
        radio.close()
        stopService(Intent(this, ReaderService::class.java))
        gateway.close()
        super.onDestroy()
    }

    override fun now(): Moment {
        val now = System.currentTimeMillis()
        return Moment(now, TimeZone.getDefault().getOffset(now) / 60_000)
    }

    override fun entropy(): ByteArray = ByteArray(32).also(random::nextBytes)

    override fun tilt(): Tilt = sensor.mdeg.let { (x, y) -> Tilt(x, y) }

    override fun perform(effect: Effect, gateway: Gateway) = Unit // no share sheet is there yet

    // No office's address is there yet: the core is told so and keeps everything.
    override fun ask(asked: Effect.AskOffice): Act = Act.OfficeUnreachable(asked.request, "no office is set up in this build")

    private companion object {
        const val PICKED = 1
    }
}
