package standsquare.gateway

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

    /** The phone's tilt now. */
    fun tilt(): Tilt

    /**
     * Does what the core asks: a sound, a request, a share. Called one after
     * another on a thread of its own, so that a slow office never holds up an act.
     */
    fun perform(effect: Effect, gateway: Gateway)
}
