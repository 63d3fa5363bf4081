package standsquare.device

import android.bluetooth.BluetoothDevice
import java.io.IOException
import java.io.InputStream
import java.util.concurrent.LinkedBlockingQueue
import java.util.concurrent.TimeUnit
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import org.mockito.Mockito.`when`

/** The classic port over sockets that are played: what each try meets is written down beforehand. */
class SerialCarrierTest {
    private val line = HeardLine()
    private val device = mocked<BluetoothDevice>()
    private val tries = LinkedBlockingQueue<Boolean>()
    private val secure = ArrayDeque<Played>()
    private val plain = ArrayDeque<Played>()
    private val carrier = SerialCarrier(line, { tries.poll(20, TimeUnit.SECONDS) == true }) { _, paired ->
        (if (paired) secure else plain).removeFirst()
    }

    /** A port that gives what is written down, or no answer. */
    private class Played(private val from: InputStream?) : SerialCarrier.Port {
        @Volatile var closed = false
        var onClose: () -> Unit = {}
        override fun connect() { if (from == null) throw IOException("no answer") }
        override val input get() = checkNotNull(from)
        override fun close() { closed = true; onClose() }
    }

    /** A stream of these pieces and then its end, or a fault. */
    private fun stream(vararg pieces: String, fault: Boolean = false) = object : InputStream() {
        private val left = pieces.toMutableList()
        override fun read() = -1
        override fun read(into: ByteArray): Int {
            val piece = left.removeFirstOrNull()?.toByteArray() ?: if (fault) throw IOException("link gone") else return -1
            piece.copyInto(into)
            return piece.size
        }
    }

    private fun awaited(vararg expected: String) {
        val end = System.nanoTime() + TimeUnit.SECONDS.toNanos(20)
        while (line.told.size < expected.size && System.nanoTime() < end) Thread.yield()
        assertEquals(expected.toList(), line.told.toList())
    }

    @Test
    fun bytesComeAsTheyWereCutAndTheLinkIsMadeAgain() {
        `when`(device.name).thenReturn("Stick")
        val first = Played(stream("0369", "99", fault = true))
        val second = Played(stream("7"))
        secure += listOf(first, second)
        carrier.connect(device)
        tries.add(true)
        tries.add(false)
        awaited(
            "connected Stick", "bytes 48 51 54 57", "bytes 57 57", "lost: link gone",
            "connected Stick", "bytes 55", "lost: the port was closed",
        )
        assertTrue(first.closed && second.closed)
    }

    @Test
    fun aReaderThatCannotPairIsTakenWithout() {
        `when`(device.name).thenReturn("Stick")
        val refused = Played(null)
        secure += refused
        plain += Played(stream("1"))
        carrier.connect(device)
        tries.add(false)
        awaited("connected Stick", "bytes 49", "lost: the port was closed")
        assertTrue(refused.closed)
    }

    @Test
    fun aReaderThatIsNotThereIsLookedForWithoutAWord() {
        `when`(device.name).thenReturn("Stick")
        secure += listOf(Played(null), Played(null), Played(stream("1")))
        plain += listOf(Played(null), Played(null))
        carrier.connect(device)
        repeat(2) { tries.add(true) }
        tries.add(false)
        awaited("connected Stick", "bytes 49", "lost: the port was closed")
    }

    @Test
    fun closingEndsAReadThatWaitsAndTellsNothing() {
        val closed = java.util.concurrent.CountDownLatch(1)
        val reading = java.util.concurrent.CountDownLatch(1)
        val waiting = Played(object : InputStream() {
            override fun read() = -1
            override fun read(into: ByteArray): Int {
                reading.countDown()
                closed.await()
                throw IOException("closed")
            }
        })
        waiting.onClose = closed::countDown
        secure += waiting
        carrier.connect(device)
        assertTrue(reading.await(20, TimeUnit.SECONDS))
        carrier.close()
        assertTrue(closed.await(20, TimeUnit.SECONDS))
        assertEquals(listOf("connected "), line.told.toList())
    }
}
