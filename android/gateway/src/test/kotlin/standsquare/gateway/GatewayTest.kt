package standsquare.gateway

import java.io.File
import java.util.concurrent.CountDownLatch
import java.util.concurrent.TimeUnit
import kotlin.io.path.createTempDirectory
import org.junit.After
import org.junit.Assert.assertEquals
import org.junit.Assert.assertNotEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.state.PhoneState
import standsquare.view.Act
import standsquare.view.Effect
import standsquare.view.PhoneFault

private class Fixed : Platform {
    override fun now() = Moment(1_796_000_000_000, 60)
    override fun entropy() = ByteArray(32) { 7 }
    override fun tilt() = Tilt(1, 2)
    override fun perform(effect: Effect, gateway: Gateway) = Unit
    override fun ask(asked: Effect.AskOffice): Act = Act.OfficeUnreachable(asked.request, "no office here")
}

class GatewayTest {
    private val dir: File = createTempDirectory("gateway").toFile()

    @After
    fun tidy() {
        dir.deleteRecursively()
    }

    private fun settled(gateway: Gateway): PhoneState {
        runCatching { gateway.answer { } }
        return gateway.state.value
    }

    @Test
    fun nothingWaitsForTheRecordToOpen() {
        val may = CountDownLatch(1)
        val gateway = Gateway(dir.path, Fixed()) { may.await(); ByteArray(32) }
        gateway.use {
            // The secret, and so the opening, is held up on the core's own thread; this one goes on.
            assertEquals(PhoneState.Opening, gateway.state.value)
            may.countDown()
            assertTrue(settled(gateway) is PhoneState.Showing)
        }
    }

    @Test
    fun theCoreIsCalledOnOneThreadThatIsNotTheCallers() {
        Gateway(dir.path, Fixed()) { ByteArray(32) }.use { gateway ->
            val threads = List(5) { gateway.answer { Thread.currentThread() } }.toSet()
            assertEquals(1, threads.size)
            assertNotEquals(Thread.currentThread(), threads.single())
        }
    }

    @Test
    fun anotherPhonesSecretIsToldAndTheRightOneOpensAgain() {
        Gateway(dir.path, Fixed()) { ByteArray(32) { 1 } }.use { settled(it) }
        var secret = ByteArray(32) { 2 }
        Gateway(dir.path, Fixed()) { secret }.use { gateway ->
            val state = settled(gateway)
            assertTrue("$state", state is PhoneState.Broken && state.fault is PhoneFault.OtherPhone)
            secret = ByteArray(32) { 1 }
            gateway.open()
            assertTrue(settled(gateway) is PhoneState.Showing)
        }
    }

    @Test
    fun anActOnAnOlderViewChangesNothing() {
        Gateway(dir.path, Fixed()) { ByteArray(32) }.use { gateway ->
            val before = settled(gateway) as PhoneState.Showing
            gateway.send(Act.StartSession, seen = before.view.revision - 1)
            assertEquals(before.view, (settled(gateway) as PhoneState.Showing).view)
        }
    }

    @Test
    fun whatIsSentBeforeClosingIsDone() {
        val done = CountDownLatch(1)
        val gateway = Gateway(dir.path, Fixed()) { ByteArray(32) }
        gateway.ask({ it.view() }) { if (it.isSuccess) done.countDown() }
        gateway.close()
        assertTrue(done.await(0, TimeUnit.SECONDS))
        gateway.send(Act.Tick) // and afterwards nothing breaks
    }
}
