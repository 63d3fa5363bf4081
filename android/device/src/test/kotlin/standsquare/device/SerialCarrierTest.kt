package standsquare.device

import android.bluetooth.BluetoothDevice
import android.bluetooth.BluetoothSocket
import java.io.IOException
import java.io.InputStream
import java.util.concurrent.LinkedBlockingQueue
import java.util.concurrent.TimeUnit
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import org.mockito.Mockito.`when`
import org.mockito.Mockito.verify

/** The classic port over mocked sockets: what each try meets is written down beforehand. */
class SerialCarrierTest {
    private val line = HeardLine()
    private val device = mocked<BluetoothDevice>()
    private val tries = LinkedBlockingQueue<Boolean>()
    private val carrier = SerialCarrier(line) { tries.poll(20, TimeUnit.SECONDS) == true }

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

    private fun socket(input: InputStream?): BluetoothSocket = mocked<BluetoothSocket>().also {
        if (input == null) `when`(it.connect()).thenThrow(IOException("no answer")) else `when`(it.inputStream).thenReturn(input)
    }

    private fun awaited(vararg expected: String) {
        val end = System.nanoTime() + TimeUnit.SECONDS.toNanos(20)
        while (line.told.size < expected.size && System.nanoTime() < end) Thread.yield()
        assertEquals(expected.toList(), line.told.toList())
    }

    @Test
    fun bytesComeAsTheyWereCutAndTheLinkIsMadeAgain() {
        `when`(device.name).thenReturn("Stick")
        val first = socket(stream("0369", "99", fault = true))
        val second = socket(stream("7"))
        `when`(device.createRfcommSocketToServiceRecord(Ids.SERIAL_PORT)).thenReturn(first, second)
        carrier.connect(device)
        tries.add(true)
        tries.add(false)
        awaited(
            "connected Stick", "bytes 48 51 54 57", "bytes 57 57", "lost: link gone",
            "connected Stick", "bytes 55", "lost: the port was closed",
        )
        verify(first).close()
        verify(second).close()
    }

    @Test
    fun aReaderThatCannotPairIsTakenWithout() {
        `when`(device.name).thenReturn("Stick")
        val refused = socket(null)
        val plain = socket(stream("1"))
        `when`(device.createRfcommSocketToServiceRecord(Ids.SERIAL_PORT)).thenReturn(refused)
        `when`(device.createInsecureRfcommSocketToServiceRecord(Ids.SERIAL_PORT)).thenReturn(plain)
        carrier.connect(device)
        tries.add(false)
        awaited("connected Stick", "bytes 49", "lost: the port was closed")
        verify(refused).close()
    }

    @Test
    fun aReaderThatIsNotThereIsLookedForWithoutAWord() {
        `when`(device.name).thenReturn("Stick")
        val nobody = socket(null)
        val there = socket(stream("1"))
        `when`(device.createRfcommSocketToServiceRecord(Ids.SERIAL_PORT)).thenReturn(nobody, nobody, there)
        `when`(device.createInsecureRfcommSocketToServiceRecord(Ids.SERIAL_PORT)).thenReturn(nobody)
        carrier.connect(device)
        repeat(2) { tries.add(true) }
        tries.add(false)
        awaited("connected Stick", "bytes 49", "lost: the port was closed")
    }

    @Test
    fun closingEndsAReadThatWaitsAndTellsNothing() {
        val closed = java.util.concurrent.CountDownLatch(1)
        val reading = java.util.concurrent.CountDownLatch(1)
        val waiting = socket(object : InputStream() {
            override fun read() = -1
            override fun read(into: ByteArray): Int {
                reading.countDown()
                closed.await()
                throw IOException("closed")
            }
        })
        `when`(waiting.close()).then { closed.countDown() }
        `when`(device.createRfcommSocketToServiceRecord(Ids.SERIAL_PORT)).thenReturn(waiting)
        carrier.connect(device)
        assertTrue(reading.await(20, TimeUnit.SECONDS))
        carrier.close()
        assertTrue(closed.await(20, TimeUnit.SECONDS))
        assertEquals(listOf("connected "), line.told.toList())
    }
}
