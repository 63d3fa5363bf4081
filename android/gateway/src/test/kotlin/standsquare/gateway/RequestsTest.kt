package standsquare.gateway

import java.util.concurrent.CountDownLatch
import java.util.concurrent.LinkedBlockingQueue
import java.util.concurrent.TimeUnit
import org.junit.Assert.assertEquals
import org.junit.Assert.assertNotNull
import org.junit.Assert.assertNull
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.view.Act
import standsquare.view.Effect

/** Several requests at a time, each of which can be given up; the newest time to wake counts. */
class RequestsTest {
    private val told = LinkedBlockingQueue<Act>()
    private val woken = LinkedBlockingQueue<Long>()

    private fun asked(request: String) = Effect.AskOffice(request, "/v1/frames", byteArrayOf(1), "")

    private fun answer(request: String) = Act.OfficeAnswer(request, 200u, byteArrayOf())

    private fun requests(ask: (Effect.AskOffice) -> Act) = Requests(ask, { told.add(it) }, { woken.add(System.nanoTime()) })

    @Test
    fun aRivalDoesNotWaitForTheOneThatHangs() {
        val may = CountDownLatch(1)
        requests { if (it.request == "frames-1") may.await(); answer(it.request) }.use {
            it.send(asked("frames-1"))
            it.send(asked("frames-2"))
            assertEquals(answer("frames-2").request, (told.poll(10, TimeUnit.SECONDS) as Act.OfficeAnswer).request)
            may.countDown()
            assertEquals("frames-1", (told.poll(10, TimeUnit.SECONDS) as Act.OfficeAnswer).request)
        }
    }

    @Test
    fun oneThatIsGivenUpIsInterruptedAndTellsNothing() {
        val begun = CountDownLatch(1)
        val interrupted = CountDownLatch(1)
        requests {
            begun.countDown()
            try {
                CountDownLatch(1).await()
                answer(it.request)
            } catch (_: InterruptedException) {
                interrupted.countDown()
                Thread.currentThread().interrupt()
                Act.OfficeUnreachable(it.request, "given up")
            }
        }.use {
            it.send(asked("frames-1"))
            assertTrue(begun.await(10, TimeUnit.SECONDS))
            it.drop("frames-1")
            assertTrue(interrupted.await(10, TimeUnit.SECONDS))
        }
        assertNull(told.poll())
    }

    @Test
    fun theNewestTimeToWakeCounts() {
        requests { answer(it.request) }.use {
            it.wakeAt(60_000, 0)
            it.wakeAt(5, 0)
            assertNotNull(woken.poll(10, TimeUnit.SECONDS))
            // A time that is over already is now.
            it.wakeAt(0, 99)
            assertNotNull(woken.poll(10, TimeUnit.SECONDS))
        }
    }
}
