package standsquare.app

import android.bluetooth.BluetoothManager
import android.companion.CompanionDeviceManager
import android.content.Intent
import android.content.res.Configuration
import android.hardware.biometrics.BiometricManager
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
import standsquare.device.BatteryWatch
import standsquare.device.Cues
import standsquare.device.DeviceSecret
import standsquare.device.CompanionPairing
import standsquare.device.Ids
import standsquare.device.KeyCapture
import standsquare.device.Keyboards
import standsquare.device.NetworkWatch
import standsquare.device.OfficeLink
import standsquare.device.OfficeReply
import standsquare.device.OwnerUnlock
import standsquare.device.Permissions
import standsquare.device.ReaderRadio
import standsquare.device.ReaderService
import standsquare.device.SharedFiles
import standsquare.device.TiltSensor
import standsquare.device.TwoKeyCapture
import standsquare.device.Unlocked
import standsquare.device.Wanted
import standsquare.device.Way
import standsquare.gateway.Gateway
import standsquare.gateway.Moment
import standsquare.gateway.Platform
import standsquare.gateway.Tilt
import standsquare.screens.frame.Looks
import standsquare.screens.frame.PhoneGlass
import standsquare.screens.frame.Theme
import standsquare.screens.words.Language
import standsquare.screens.words.Words
import standsquare.state.PhoneEvent
import standsquare.state.PhoneState
import standsquare.view.Act
import standsquare.view.Cue
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
    private val battery by lazy { BatteryWatch(this) { percent, charging -> gateway.battery(percent, charging) } }
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
        battery.open()
        val typeface = packagedTypeface(this)
        setContent {
            val state by gateway.state.collectAsState()
            var looks by remember { mutableStateOf(keptLooks()) }
            PhoneGlass(state, looks, typeface, onEvent = { event ->
                when (event) {
                    is PhoneEvent.Do -> gateway.send(event.act, event.seen)
                    is PhoneEvent.TryAgain -> gateway.open()
                    else -> looks = keep(looks.after(event, isDark()))
                }
            }, camera = camera)
        }
    }

    private val camera by lazy { PhoneCamera(this, SEEING) }

    override fun onRequestPermissionsResult(request: Int, asked: Array<String>, answers: IntArray) {
        super.onRequestPermissionsResult(request, asked, answers)
        if (request == SEEING) camera.answered()
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
        val theme = Theme.of(choices.getString("palette", null)) ?: Theme.SUN
        return Looks(
            palette = theme.palette(isDark()),
            language = choices.getString("language", null)?.let(Language::of) ?: Language.first(preferred),
            theme = theme,
            sounds = choices.getBoolean("sounds", true),
            buzzes = choices.getBoolean("buzzes", true),
        )
    }

    private fun isDark() =
        resources.configuration.uiMode and Configuration.UI_MODE_NIGHT_MASK == Configuration.UI_MODE_NIGHT_YES

    private fun keep(looks: Looks): Looks {
        choices.edit().putString("palette", looks.theme.code).putString("language", looks.language.code)
            .putBoolean("sounds", looks.sounds).putBoolean("buzzes", looks.buzzes).apply()
        return looks
    }

    override fun onResume() {
        super.onResume()
        sensor.open()
        camera.look()
        gateway.cameToFront()
    }

    override fun onPause() {
        sensor.close()
        camera.leave()
        super.onPause()
    }

    override fun onDestroy() {
        second.removeCallbacks(tick)
        network.close()
        battery.close()
        radio.close()
        cues.close()
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

    override fun perform(effect: Effect, gateway: Gateway) {
        val looks = keptLooks()
        when (effect) {
            is Effect.Play -> cues.tell(cueOf(effect.cue), looks.sounds, looks.buzzes)
            is Effect.Share -> share(effect.name, effect.bytes)
            is Effect.Print -> share(effect.name, pdf(this, effect.sheet, Words.of(looks.language)))
            is Effect.AskOwner -> runOnUiThread { askOwner(Words.of(looks.language).say(effect.why), effect.keep) }
            else -> Unit // the gateway's own
        }
    }

    override val ownerCan get() = OwnerUnlock.can(getSystemService(BiometricManager::class.java))

    private val owner by lazy {
        OwnerUnlock(File(filesDir, "owner-unlock"), OwnerUnlock.dialogue(this, getString(android.R.string.cancel), mainExecutor))
    }

    /** The system's dialogue; what the key store gives goes straight to the core. */
    private fun askOwner(why: String, keep: ByteArray) = owner.get(why, keep) {
        when (it) {
            is Unlocked.Given -> gateway.send(Act.OwnerUnlock(it.secret))
            is Unlocked.Gone -> gateway.send(Act.OwnerGone)
            is Unlocked.Left -> Unit
        }
    }

    override fun ask(asked: Effect.AskOffice): Act = when (val reply = office.ask(asked.address, asked.path, asked.body)) {
        is OfficeReply.Answered -> Act.OfficeAnswer(asked.request, reply.status.toUShort(), reply.body)
        is OfficeReply.Unreachable -> Act.OfficeUnreachable(asked.request, reply.reason)
    }

    private val office = OfficeLink()

    private val cues by lazy { Cues(this) }

    private fun cueOf(cue: Cue) = when (cue) {
        Cue.CHIP_MATCHES -> Cues.Cue.MATCHES
        Cue.CHIP_DIFFERS -> Cues.Cue.DIFFERS
        Cue.REFUSED -> Cues.Cue.REFUSED
        Cue.DONE -> Cues.Cue.DONE
    }

    private fun share(name: String, bytes: ByteArray) {
        val sheet = SharedFiles.offer(this, "$packageName.shared", name, bytes)
        runOnUiThread { startActivity(sheet) }
    }

    private companion object {
        const val PICKED = 1
        const val SEEING = 2
    }
}
