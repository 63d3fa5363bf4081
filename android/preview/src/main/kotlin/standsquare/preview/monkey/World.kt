package standsquare.preview.monkey

import java.util.concurrent.CompletableFuture
import java.util.concurrent.TimeUnit
import java.util.concurrent.atomic.AtomicInteger
import standsquare.gateway.Gateway
import standsquare.gateway.Moment
import standsquare.gateway.Platform
import standsquare.gateway.Tilt
import standsquare.preview.Office
import standsquare.view.Act
import standsquare.view.Effect

/** The phone's clock, sensor and network as the dice have them: nothing of it is the machine's. */
class World(private val seed: Long, private val office: Office) : Platform {
    /** Unix milliseconds. */
    @Volatile var clock = BEGIN

    /** The act under way. */
    @Volatile var act = 0

    /** How the phone lies. */
    @Volatile var lies = Tilt(0, 0)

    private val asked = AtomicInteger()

    override fun now() = Moment(clock, OFFSET_MIN)

    override fun entropy(): ByteArray = Dice(seed xor (act.toLong() shl 24) xor asked.incrementAndGet().toLong()).bytes(32)

    override fun tilt() = lies

    override fun perform(effect: Effect, gateway: Gateway) {
        if (effect is Effect.AskOwner) owner(effect.keep)?.let { gateway.send(it) }
    }

    override val ownerCan = true

    private val dice = Dice(seed xor OWNER)
    private var kept: ByteArray? = null

    /** The finger is mostly the owner's; sometimes none, and sometimes the phone knows another one since. */
    private fun owner(keep: ByteArray): Act? {
        if (dice.oneIn(5)) return null
        if (dice.oneIn(5)) kept = null else if (keep.isNotEmpty()) kept = keep
        return kept?.let(Act::OwnerUnlock) ?: Act.OwnerGone
    }

    override val timers = false

    override val inTurn = true

    /** Nowhere: what comes back when is not for dice that must fall the same again. */
    override fun packetsTo(address: String): String = ""

    override fun ask(asked: Effect.AskOffice): Act = office.ask(asked)

    private companion object {
        /** 25 November 2026, 09:00 in Hollin Field. */
        const val BEGIN = 1_795_593_600_000
        const val OFFSET_MIN = 60

        /** So that the finger's dice are others than the hand's. */
        const val OWNER = 0x0f17_6e12L
    }
}

/** Waits until all that was sent is done, the effects and what they sent back too, and gives the answer. */
fun <T> Gateway.settled(question: (standsquare.core.Phone) -> T): T {
    val answer = CompletableFuture<T>()
    whenQuiet { ask(question) { it.fold(answer::complete, answer::completeExceptionally) } }
    return answer.get(PATIENCE_S, TimeUnit.SECONDS)
}

/** Longer than a slow machine takes for any act. */
private const val PATIENCE_S = 60L
