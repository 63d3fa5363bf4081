package standsquare.gateway

import standsquare.view.Act
import standsquare.view.Effect

/** The phone's tilt as its sensor gives it, thousandths of a degree. */
data class Tilt(val xMdeg: Int, val yMdeg: Int)

/** The moment, as the platform's clock shows it. */
data class Moment(val atMs: Long, val offsetMin: Int)

/**
 * What the core is not allowed to get for itself. Tests give fixed answers;
 * every method may be called from the gateway's own threads.
 */
interface Platform {
    /** Now. */
    fun now(): Moment

    /** 32 fresh bytes from the platform's secure source. */
    fun entropy(): ByteArray

    /** Whether the core is woken when it asks; a replay brings its own time. */
    val timers: Boolean get() = true

    /** Whether requests are carried one after another, after the effects before them: for dice that must fall the same again. */
    val inTurn: Boolean get() = false

    /** Where packets for the office of this address go (empty: the office this build was given); empty where they go nowhere. */
    fun packetsTo(address: String): String = address

    /** The phone's tilt now. */
    fun tilt(): Tilt

    /** Whether this phone has biometrics that somebody enrolled and that can guard a secret. */
    val ownerCan: Boolean get() = false

    /**
     * Makes a sound, offers a file, or asks the owner for their biometrics, as the core asks.
     * Called one after another on a thread of its own; what the key store answers is sent as
     * an act, whenever that is.
     */
    fun perform(effect: Effect, gateway: Gateway)

    /**
     * Carries a request to the office over a connection of its own and gives the act that
     * tells what came of it. Called on a thread of its own, several at a time; the thread
     * is interrupted when the request is given up.
     */
    fun ask(asked: Effect.AskOffice): Act
}
