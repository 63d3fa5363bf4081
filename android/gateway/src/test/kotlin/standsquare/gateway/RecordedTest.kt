package standsquare.gateway

import java.io.File
import java.util.concurrent.CompletableFuture
import java.util.concurrent.TimeUnit
import kotlin.io.path.createTempDirectory
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.core.readRecording
import standsquare.state.PhoneState
import standsquare.view.Act
import standsquare.view.Effect

internal val recorded = File(checkNotNull(System.getProperty("standsquare.root")) { "run by Maven" }, "tests/recorded")

/** Gives the moments and the randomness of a recording, one after another. */
internal class Replayed(private val stamps: List<standsquare.view.Stamp>) : Platform {
    var n = 0

    /** Milliseconds after the recorded moment. */
    @Volatile var later = 0L
    override fun now() = stamps[n].let { Moment(it.atMs + later, it.offsetMin) }
    override fun entropy(): ByteArray = stamps[n].entropy
    override fun tilt() = tilt
    @Volatile var tilt = Tilt(0, 0)
    override fun perform(effect: Effect, gateway: Gateway) = Unit
    override val timers = false
    override fun ask(asked: Effect.AskOffice): Act {
        java.util.concurrent.CountDownLatch(1).await() // the recording holds the answers
        return Act.OfficeUnreachable(asked.request, "")
    }
}

/** The same acts through the gateway come to the same bytes as in every other language. */
class RecordedTest {
    private fun replay(name: String): String {
        val recording = readRecording(File(recorded, "$name.json").readText())
        val dir = createTempDirectory("gateway").toFile()
        val platform = Replayed(listOf(recording.opened) + recording.steps.map { it.stamp })
        try {
            Gateway(dir.path, platform) { recording.deviceSecret }.use { gateway ->
                gateway.answer { it.view() }
                for ((n, step) in recording.steps.withIndex()) {
                    val seen = (gateway.state.value as PhoneState.Showing).view.revision
                    platform.n = n + 1
                    (step.act as? Act.LevelReading)?.let { platform.tilt = Tilt(it.xMdeg, it.yMdeg) }
                    gateway.send(step.act, seen)
                    gateway.answer { } // the core's thread has done it
                }
                return gateway.answer { it.sessionJson() }
            }
        } finally {
            dir.deleteRecursively()
        }
    }

    @Test
    fun everyRecordedSessionComesToTheSameBytes() {
        val names = checkNotNull(recorded.listFiles()).map { it.name }
            .filter { it.endsWith(".json") && !it.endsWith(".session.json") }.map { it.removeSuffix(".json") }
        assertTrue("there are recordings", names.isNotEmpty())
        for (name in names) assertEquals(name, File(recorded, "$name.session.json").readText(), replay(name))
    }
}

/** Asks on the core's thread and waits. */
internal fun <T> Gateway.answer(question: (standsquare.core.Phone) -> T): T {
    val answer = CompletableFuture<T>()
    ask(question) { it.fold(answer::complete, answer::completeExceptionally) }
    return answer.get(60, TimeUnit.SECONDS)
}
