package standsquare.preview

import java.io.IOException
import java.net.InetSocketAddress
import java.net.Socket
import kotlin.concurrent.thread
import standsquare.view.Act
import standsquare.view.ReaderLink

/**
 * In place of the phone's radio: a socket to the emulated reader. It carries
 * bytes and tells when the link comes and goes, and knows nothing of numbers.
 */
class Radio(private val reader: InetSocketAddress, private val send: (Act) -> Unit) : AutoCloseable {
    @Volatile private var running = true
    @Volatile private var socket: Socket? = null
    private val worker = thread(name = "reader-radio", isDaemon = true) { run() }

    private fun run() {
        var had = false
        while (running) {
            try {
                Socket().use { link ->
                    socket = link
                    link.connect(reader, PATIENCE_MS)
                    had = true
                    send(Act.ReaderLink(ReaderLink.CONNECTED, NAME))
                    listen(link)
                }
            } catch (_: IOException) {
                // Gone or not there yet: looked for again below.
            }
            socket = null
            if (!running) return
            if (had) send(Act.ReaderLink(ReaderLink.LOST, NAME))
            had = false
            try {
                Thread.sleep(AGAIN_MS)
            } catch (_: InterruptedException) {
                return
            }
        }
    }

    private fun listen(link: Socket) {
        val buffer = ByteArray(256)
        val input = link.getInputStream()
        while (running) {
            val count = input.read(buffer)
            if (count < 0) return
            send(Act.ReaderBytes(buffer.copyOf(count)))
        }
    }

    override fun close() {
        running = false
        socket?.close()
        worker.interrupt()
        worker.join(1_000)
    }

    private companion object {
        const val NAME = "Emulated reader"
        const val PATIENCE_MS = 2_000
        const val AGAIN_MS = 300L
    }
}

/** Tells the emulated reader what happens to it: one command a line, one answer a line. */
class ReaderControl(private val address: InetSocketAddress) {
    /** Says it and gives the answer; a fault where the reader does not take it. */
    fun say(command: String): String = Socket().use { link ->
        link.connect(address, 2_000)
        link.soTimeout = 5_000
        link.getOutputStream().write("$command\n".toByteArray())
        val answer = link.getInputStream().bufferedReader().readLine().orEmpty()
        if (!answer.startsWith("ok")) throw IOException("the reader said '$answer' to '$command'")
        answer
    }
}
