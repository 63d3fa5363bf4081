package standsquare.gateway

import java.util.concurrent.ConcurrentHashMap
import java.util.concurrent.Executors
import java.util.concurrent.Future
import java.util.concurrent.RejectedExecutionException
import java.util.concurrent.ScheduledFuture
import java.util.concurrent.TimeUnit
import standsquare.view.Act
import standsquare.view.Effect

/**
 * What the core has under way: requests to the office, several at a time, each of which can
 * be given up, and the moment at which it wants to be woken. When, what and how often is the
 * core's.
 *
 * @param ask carries one request; interrupted when it is given up.
 * @param tell takes the answer back.
 * @param wake lets the core look again.
 */
internal class Requests(
    private val ask: (Effect.AskOffice) -> Act,
    private val tell: (Act) -> Unit,
    private val wake: () -> Unit,
) : AutoCloseable {
    private val threads = Executors.newCachedThreadPool { Thread(it, "standsquare-office").apply { isDaemon = true } }
    private val timer = Executors.newSingleThreadScheduledExecutor { Thread(it, "standsquare-timer").apply { isDaemon = true } }
    private val underWay = ConcurrentHashMap<String, Future<*>>()
    private var next: ScheduledFuture<*>? = null

    /** Sends it; the answer is told whenever it comes. */
    fun send(asked: Effect.AskOffice) {
        try {
            val sent = threads.submit {
                val answer = ask(asked)
                // Given up meanwhile: nobody waits for it.
                if (!Thread.interrupted()) tell(answer)
                underWay.remove(asked.request)
            }
            underWay[asked.request] = sent
            // It may have been quicker than this line.
            if (sent.isDone) underWay.remove(asked.request)
        } catch (_: RejectedExecutionException) {
            // Closed meanwhile.
        }
    }

    /** Nobody waits for this one any more. */
    fun drop(request: String) {
        underWay.remove(request)?.cancel(true)
    }

    /** Wakes the core at [atMs]; the newest time counts. */
    @Synchronized
    fun wakeAt(atMs: Long, nowMs: Long) {
        next?.cancel(false)
        next = try {
            timer.schedule(wake, (atMs - nowMs).coerceAtLeast(0), TimeUnit.MILLISECONDS)
        } catch (_: RejectedExecutionException) {
            null
        }
    }

    override fun close() {
        timer.shutdownNow()
        threads.shutdownNow()
    }
}
