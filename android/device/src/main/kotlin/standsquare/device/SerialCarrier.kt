package standsquare.device

import android.annotation.SuppressLint
import android.bluetooth.BluetoothDevice
import android.bluetooth.BluetoothSocket
import java.io.Closeable
import java.io.IOException
import java.io.InputStream
import kotlin.concurrent.thread

/**
 * Carries a reader's bytes over a classic serial port to a [Line], on a thread of
 * its own: the framework's calls wait. It reads nothing in the bytes.
 *
 * [again] waits before another try and gives whether to try at all; a test plays it.
 */
@SuppressLint("MissingPermission")
class SerialCarrier(
    private val line: Line,
    private val again: () -> Boolean = { Thread.sleep(AGAIN_MS); true },
    private val port: (device: BluetoothDevice, secure: Boolean) -> Port = ::ofFramework,
) : AutoCloseable {
    private var run: Run? = null

    /** Connects to this device, and again whenever the link is gone; a link that stood before is let go. */
    @Synchronized
    fun connect(device: BluetoothDevice) {
        close()
        run = Run(device)
    }

    /** Lets the link go and looks no more; the line is not told, since whoever closes knows. */
    @Synchronized
    override fun close() {
        run?.end()
        run = null
    }

    /** One device, until it is let go. */
    private inner class Run(private val device: BluetoothDevice) {
        @Volatile private var running = true
        @Volatile private var socket: Port? = null
        private val worker = thread(name = "reader-serial", isDaemon = true) {
            try {
                do carry() while (running && again())
            } catch (_: InterruptedException) {
                // Let go while it waited.
            }
        }

        fun end() {
            running = false
            // A read that waits ends only with its socket.
            socket?.close()
            worker.interrupt()
        }

        private fun carry() {
            var stood = false
            try {
                open(device).use { open ->
                    socket = open
                    if (!running) return
                    stood = true
                    line.connected(device.name.orEmpty())
                    val buffer = ByteArray(256)
                    while (running) {
                        val count = open.input.read(buffer)
                        if (count < 0) break
                        if (count > 0 && running) line.bytes(buffer.copyOf(count))
                    }
                }
                if (running) line.lost("the port was closed")
            } catch (fault: IOException) {
                // A reader that is not there is looked for again without a word each time.
                if (running && stood) line.lost(fault.message.orEmpty())
            } finally {
                socket = null
            }
        }
    }

    /** Some readers cannot pair and take the link without; the other way is tried first. */
    private fun open(device: BluetoothDevice): Port {
        val secure = port(device, true)
        try {
            return secure.apply { connect() }
        } catch (_: IOException) {
            secure.close()
        }
        val plain = port(device, false)
        try {
            return plain.apply { connect() }
        } catch (fault: IOException) {
            plain.close()
            throw fault
        }
    }

    /** A socket of the framework, as far as it is used here: the class itself cannot be played in a test. */
    interface Port : Closeable {
        /** Connects, and waits until it stands. */
        fun connect()

        /** What comes. */
        val input: InputStream
    }

    private class SocketPort(private val socket: BluetoothSocket) : Port {
        override fun connect() = socket.connect()
        override val input: InputStream get() = socket.inputStream
        override fun close() = socket.close()
    }

    companion object {
        /** Own choice, no source: a reader that is switched on again is found within a breath. */
        private const val AGAIN_MS = 2_000L

        private fun ofFramework(device: BluetoothDevice, secure: Boolean): Port = SocketPort(
            if (secure) device.createRfcommSocketToServiceRecord(Ids.SERIAL_PORT)
            else device.createInsecureRfcommSocketToServiceRecord(Ids.SERIAL_PORT),
        )
    }
}
