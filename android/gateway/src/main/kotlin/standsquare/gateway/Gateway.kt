package standsquare.gateway

import java.util.concurrent.ExecutorService
import java.util.concurrent.Executors
import java.util.concurrent.RejectedExecutionException
import java.util.concurrent.TimeUnit
import java.util.concurrent.atomic.AtomicBoolean
import kotlinx.coroutines.flow.MutableStateFlow
import kotlinx.coroutines.flow.StateFlow
import kotlinx.coroutines.flow.asStateFlow
import standsquare.core.Phone
import standsquare.state.PhoneState
import standsquare.view.Act
import standsquare.view.Answer
import standsquare.view.Effect
import standsquare.view.PhoneFault
import standsquare.view.Screen
import standsquare.view.Stamp
import standsquare.view.TwoKeys
import standsquare.view.View

/**
 * The one owner of the core. It opens the record and does every act on one
 * thread of its own, never on the one that draws: the first frame shows
 * [PhoneState.Opening] and waits for nothing.
 *
 * It decides nothing. It puts the moment, fresh randomness and, where the act is
 * a reading of the level, the phone's tilt into what it hands on.
 *
 * @param dir the folder of the record.
 * @param secret this phone's 32 secret bytes; asked for on the core's thread.
 */
class Gateway(
    private val dir: String,
    private val platform: Platform,
    private val secret: () -> ByteArray,
) : AutoCloseable {
    private val core = thread("standsquare-core")
    private val effects = thread("standsquare-effects")
    private val requests = Requests(platform::ask, { send(it) }, ::tick)
    private val packets = Packets { send(Act.PacketCame(it)) }
    private val shown = MutableStateFlow<PhoneState>(PhoneState.Opening)
    private val tickWaits = AtomicBoolean(false)
    private val closed = AtomicBoolean(false)

    // Touched on the core's thread only.
    private var phone: Phone? = null
    private var view: View? = null

    /** What there is to draw. */
    val state: StateFlow<PhoneState> = shown.asStateFlow()

    init {
        open()
    }

    /** Opens the record, or tries again after a fault. */
    fun open() = on(core) {
        if (phone != null) return@on
        guarded {
            val opened = Phone.open(dir, secret(), stamp())
            phone = opened
            show(if (platform.ownerCan) opened.apply(Act.OwnerCan(true), 0, stamp()).view else opened.view())
        }
    }

    /**
     * Does one act. [seen] is the revision of the view it was made on; an act of
     * the world may be sent with any.
     */
    fun send(act: Act, seen: Long = 0) = on(core) {
        val phone = phone ?: return@on
        guarded {
            val answer = phone.apply(filledIn(act), seen, stamp())
            show(answer.view)
            perform(answer)
        }
    }

    /**
     * One of the two keys (a clicker's, or the volume keys) was pressed; false where the
     * view listens to none, so that the key does whatever else it does.
     */
    fun press(key: TwoKeys): Boolean {
        val view = (state.value as? PhoneState.Showing)?.view
        if ((view?.screen as? Screen.Placing)?.placing?.keys == null) return false
        send(Act.PressKey(key), view.revision)
        return true
    }

    /** Time passes. While one tick waits its turn, another changes nothing. */
    fun tick() {
        if (!tickWaits.compareAndSet(false, true)) return
        on(core) {
            tickWaits.set(false)
            val phone = phone ?: return@on
            guarded {
                val answer = phone.apply(Act.Tick, 0, stamp())
                show(answer.view)
                perform(answer)
            }
        }
    }

    /** The network came back or changed. */
    fun networkChanged() = send(Act.NetworkChanged)

    /** The app came to the foreground: somebody may have been enrolled, or the network have changed, meanwhile. */
    fun cameToFront() {
        send(Act.OwnerCan(platform.ownerCan))
        networkChanged()
    }

    /** What is left in the phone's own battery changed, or whether it is being charged. */
    fun battery(percent: Int, charging: Boolean) = send(Act.Battery(percent.coerceIn(0, 100).toUByte(), charging))

    /** Asks the core something that is no act, such as for a file of the return; the answer comes on its thread. */
    fun <T> ask(question: (Phone) -> T, answer: (Result<T>) -> Unit) = on(core) {
        val phone = phone
        answer(if (phone == null) Result.failure(IllegalStateException("the record is not open")) else runCatching { question(phone) })
    }

    /** Calls [done] once all that was sent until now is done, its effects and what they sent back included: for who plays the finger and must know. */
    fun whenQuiet(done: () -> Unit) = on(core) { on(effects) { on(core, done) } }

    /** Lets what was sent be done, then lets go of the record. */
    override fun close() {
        if (!closed.compareAndSet(false, true)) return
        requests.close()
        packets.close()
        core.execute {
            phone?.close()
            phone = null
        }
        for (one in listOf(core, effects)) {
            one.shutdown()
            one.awaitTermination(10, TimeUnit.SECONDS)
        }
    }

    private fun on(where: ExecutorService, what: () -> Unit) {
        try {
            if (!closed.get() || where !== core) where.execute(what)
        } catch (_: RejectedExecutionException) {
            // Closed meanwhile: whoever sent this has nobody left to show the answer to.
        }
    }

    private fun stamp(): Stamp {
        val now = platform.now()
        return Stamp(now.atMs, now.offsetMin, platform.entropy())
    }

    private fun filledIn(act: Act): Act = when (act) {
        is Act.LevelReading -> platform.tilt().let { Act.LevelReading(it.xMdeg, it.yMdeg) }
        else -> act
    }

    private fun show(view: View) {
        this.view = view
        shown.value = PhoneState.Showing(view, platform.now().atMs)
    }

    private fun perform(answer: Answer) {
        for (effect in answer.effects) when (effect) {
            is Effect.AskOffice -> if (platform.inTurn) on(effects) { send(platform.ask(effect)) } else requests.send(effect)
            is Effect.SendPackets -> packets.send(effect.packets, platform.packetsTo(effect.address))
            is Effect.DropRequest -> requests.drop(effect.request)
            is Effect.WakeAt -> if (platform.timers) requests.wakeAt(effect.atMs, platform.now().atMs)
            is Effect.Play, is Effect.Share, is Effect.Print, is Effect.AskOwner -> on(effects) { platform.perform(effect, this) }
        }
    }

    private inline fun guarded(what: () -> Unit) = try {
        what()
    } catch (fault: PhoneFault) {
        broken(fault)
    } catch (fault: Exception) {
        broken(PhoneFault.Internal(fault.toString()))
    }

    private fun broken(fault: PhoneFault) {
        // The core holds nothing that is not in its record: opening it again starts from there.
        phone?.close()
        phone = null
        shown.value = PhoneState.Broken(fault, view)
    }
}

private fun thread(name: String): ExecutorService =
    Executors.newSingleThreadExecutor { Thread(it, name).apply { isDaemon = true } }
