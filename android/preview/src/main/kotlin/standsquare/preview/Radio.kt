package standsquare.preview

import java.io.IOException
import java.net.InetSocketAddress
import java.net.Socket
import kotlin.concurrent.thread
import standsquare.view.Act
import standsquare.view.ReaderBadge
import standsquare.view.ReaderCarrier
import standsquare.view.ReaderLink

/** An emulated reader: where its bytes come from, and where it is told what happens to it. */
data class EmulatedReader(val id: String, val name: String, val data: InetSocketAddress, val control: InetSocketAddress)

/**
 * In place of the phone's radio: sockets to the emulated readers. It does what the
 * view asks of a radio: connects to the reader that is wanted, again and again
 * whenever the link is gone, and tells which readers are near while it is to look.
 * It carries bytes and knows nothing of numbers.
 */
class Radio(private val readers: List<EmulatedReader>, private val near: (EmulatedReader) -> Boolean, private val send: (Act) -> Unit) : AutoCloseable {
    private val change = Object()
    @Volatile private var running = true
    @Volatile private var wanted: EmulatedReader? = null
    @Volatile private var look = false
    @Volatile private var socket: Socket? = null
    private val worker = thread(name = "reader-radio", isDaemon = true) { run() }
    private val looker = thread(name = "reader-look", isDaemon = true) { lookAround() }

    /** Does what the view asks for. */
    fun follow(badge: ReaderBadge) {
        val next = readers.firstOrNull { it.id == badge.wanted?.reader }
        synchronized(change) {
            // What is told draws the view anew, and that comes here again: only a change wakes anybody.
            if (look == badge.look && next == wanted) return
            look = badge.look
            if (next != wanted) {
                wanted = next
                socket?.close()
            }
            change.notifyAll()
        }
    }

    private fun pause(ms: Long) = synchronized(change) { change.wait(ms) }

    private fun run() {
        try {
            while (running) {
                val reader = wanted
                if (reader == null) pause(0) else carry(reader)
            }
        } catch (_: InterruptedException) {
            // The preview is being closed.
        }
    }

    /** Looks for this reader until it is there, and carries its bytes until the link is gone. */
    private fun carry(reader: EmulatedReader) {
        fun tell(link: ReaderLink) = send(Act.ReaderLink(link, reader.name, reader.id))
        tell(ReaderLink.LOOKING)
        while (running && wanted == reader) {
            var had = false
            try {
                Socket().use { link ->
                    link.connect(reader.data, PATIENCE_MS)
                    synchronized(change) {
                        if (wanted != reader) return
                        socket = link
                    }
                    had = true
                    tell(ReaderLink.CONNECTED)
                    listen(link)
                }
            } catch (_: IOException) {
                // Gone, or not there yet: looked for again below.
            }
            socket = null
            if (!running || wanted != reader) return
            if (had) tell(ReaderLink.LOST)
            pause(AGAIN_MS)
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

    private fun lookAround() {
        try {
            while (running) {
                if (look) for ((n, reader) in readers.withIndex()) {
                    if (!near(reader)) continue
                    send(Act.ReaderSeen(reader.id, reader.name, ReaderCarrier.BLE, STRENGTHS[n % STRENGTHS.size]))
                    // One of them tells of its battery, as some do.
                    if (n == 1) send(Act.ReaderBattery(reader.id, BATTERY))
                }
                pause(if (look) LOOK_MS else 0)
            }
        } catch (_: InterruptedException) {
            // The preview is being closed.
        }
    }

    override fun close() {
        running = false
        synchronized(change) {
            socket?.close()
            change.notifyAll()
        }
        for (one in listOf(worker, looker)) {
            one.interrupt()
            one.join(1_000)
        }
    }

    private companion object {
        const val PATIENCE_MS = 2_000
        const val AGAIN_MS = 300L
        const val LOOK_MS = 1_000L
        val STRENGTHS = listOf(-58, -76, -88)
        val BATTERY: UByte = 83u
    }
}

/** Tells an emulated reader what happens to it: one command a line, one answer a line. */
class ReaderControl(private val address: InetSocketAddress) {
    /** Taken away, or its battery is empty. */
    @Volatile var away = false
        private set

    /** Says it and gives the answer; a fault where the reader does not take it. */
    fun say(command: String): String = Socket().use { link ->
        link.connect(address, 2_000)
        link.soTimeout = 5_000
        link.getOutputStream().write("$command\n".toByteArray())
        val answer = link.getInputStream().bufferedReader().readLine().orEmpty()
        if (!answer.startsWith("ok")) throw IOException("the reader said '$answer' to '$command'")
        if (command == "vanish") away = true
        if (command == "return") away = false
        answer
    }
}
