package standsquare.preview

import java.io.File
import java.io.IOException
import java.security.SecureRandom
import java.time.ZoneId
import java.util.Timer
import kotlin.concurrent.fixedRateTimer
import kotlinx.coroutines.CoroutineScope
import kotlinx.coroutines.Dispatchers
import kotlinx.coroutines.flow.MutableStateFlow
import kotlinx.coroutines.launch
import standsquare.gateway.Gateway
import standsquare.gateway.Moment
import standsquare.gateway.Platform
import standsquare.gateway.Tilt
import standsquare.screens.words.Language
import standsquare.screens.words.Words
import standsquare.state.PhoneState
import standsquare.view.Act
import standsquare.view.Cue
import standsquare.view.Effect

/** A phone on a desk: the gateway, and stand-ins for radio, sensor, network and share sheet. */
class Desk(arguments: Arguments) : Platform, AutoCloseable {
    private val folder = DataFolder(arguments.data)
    private val random = SecureRandom()

    /** The office. */
    val office = Office(arguments.office)

    /** Says to each reader, by its id, what happens to it. */
    val readers: Map<String, ReaderControl> = arguments.readers.associate { it.id to ReaderControl(it.control) }

    /** Names of the readers, by id, in order. */
    val readerNames: Map<String, String> = arguments.readers.associate { it.id to it.name }

    /** How the phone lies. */
    val tilt = MutableStateFlow(Tilt(420, -130))

    /** How far the phone's clock is ahead of the machine's, ms: a walk taps faster than a person can, and the core takes no tap so early. */
    val ahead = java.util.concurrent.atomic.AtomicLong()

    /** The last cue: a phone makes a sound or a buzz. */
    val cue = MutableStateFlow<Cue?>(null)

    /** Whose finger is on the phone, and what its key store keeps for it. */
    val finger = Finger { gateway.send(it) }

    /** The camera, and what is held before it. */
    val camera = HeldCamera()

    /** What went wrong in this stand-in world, in words. */
    val trouble = MutableStateFlow<String?>(null)

    /** The core. */
    val gateway = Gateway(folder.record.path, this, folder::secret)

    private val radio = Radio(arguments.readers, { !readers.getValue(it.id).away }) { gateway.send(it) }
    private val following = CoroutineScope(Dispatchers.IO).launch {
        gateway.state.collect {
            if (it !is PhoneState.Showing) return@collect
            radio.follow(it.view.reader)
            camera.follow(it.view)
        }
    }
    private val ticks: Timer = fixedRateTimer("ticks", daemon = true, period = 1_000) { gateway.tick() }

    /** Fetches the roster where the phone has none. */
    fun firstRoster() {
        val showing = gateway.state.value as? PhoneState.Showing ?: return
        if (showing.view.league.isNotEmpty()) return
        try {
            gateway.send(Act.LoadRoster(office.roster()), showing.view.revision)
        } catch (fault: IOException) {
            trouble.value = "The roster could not be fetched: ${fault.message}"
        }
    }

    override fun now(): Moment {
        val now = System.currentTimeMillis() + ahead.get()
        val offset = ZoneId.systemDefault().rules.getOffset(java.time.Instant.ofEpochMilli(now))
        return Moment(now, offset.totalSeconds / 60)
    }

    override fun entropy(): ByteArray = ByteArray(32).also(random::nextBytes)

    override fun tilt(): Tilt = tilt.value

    override fun perform(effect: Effect, gateway: Gateway) {
        when (effect) {
            is Effect.Play -> cue.value = effect.cue
            is Effect.Share -> share(effect.name, effect.bytes)
            is Effect.Print -> share(effect.name, pdf(effect.sheet, Words.of(language)))
            is Effect.AskOwner -> finger.asked(effect.keep)
            else -> Unit // the gateway's own
        }
    }

    override val ownerCan = true

    private fun share(name: String, bytes: ByteArray) = File(folder.shared, File(name).name).writeBytes(bytes)

    /** In what sheets are printed. */
    @Volatile var language = Language.ENGLISH

    override fun ask(asked: Effect.AskOffice): Act = office.ask(asked)

    override fun packetsTo(address: String): String = office.packetsTo(address)

    /** Turns the phone's network on or off. */
    fun network(on: Boolean) {
        office.network = on
        gateway.networkChanged()
    }

    override fun close() {
        ticks.cancel()
        following.cancel()
        radio.close()
        gateway.close()
    }
}
