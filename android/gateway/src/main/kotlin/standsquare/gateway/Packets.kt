package standsquare.gateway

import java.io.IOException
import java.net.DatagramPacket
import java.net.DatagramSocket
import java.net.InetSocketAddress
import java.net.SocketTimeoutException
import java.net.URI
import java.util.concurrent.Executors
import java.util.concurrent.RejectedExecutionException

/**
 * Carries packets to the office, each by itself, and whatever comes back. Which, when and how
 * often is the core's, and so is what they mean; one that cannot be carried is a lost one.
 *
 * @param tell takes a packet that came back.
 */
internal class Packets(private val tell: (ByteArray) -> Unit) : AutoCloseable {
    /** Looking a host's name up may take its time: nobody waits for it here. */
    private val thread = Executors.newSingleThreadExecutor { Thread(it, "standsquare-packets").apply { isDaemon = true } }

    @Volatile private var socket: DatagramSocket? = null

    /** Sends these to the host and port of an address such as `https://office.larkmere.example`. */
    fun send(packets: List<ByteArray>, address: String) = try {
        thread.execute {
            try {
                val to = place(address) ?: return@execute
                // Bound to no network: after a change of it the next packet takes the new one.
                val from = open()
                for (packet in packets) from.send(DatagramPacket(packet, packet.size, to))
            } catch (_: IOException) {
                shut()
            }
        }
    } catch (_: RejectedExecutionException) {
        // Closed meanwhile.
    }

    private fun open(): DatagramSocket {
        socket?.takeUnless { it.isClosed }?.let { return it }
        val opened = DatagramSocket()
        opened.soTimeout = SILENT_MS
        socket = opened
        Thread({ hear(opened) }, "standsquare-packets-back").apply { isDaemon = true }.start()
        return opened
    }

    private fun hear(from: DatagramSocket) {
        val room = ByteArray(LONGEST)
        try {
            while (true) {
                val packet = DatagramPacket(room, room.size)
                from.receive(packet)
                tell(room.copyOf(packet.length))
            }
        } catch (_: SocketTimeoutException) {
            // Nothing is under way any more.
        } catch (_: IOException) {
            // Closed, or the network is gone: the next packet opens another one.
        }
        from.close()
    }

    private fun shut() {
        socket?.close()
        socket = null
    }

    override fun close() {
        thread.shutdownNow()
        shut()
    }

    private companion object {
        /** Longest packet, bytes: beyond the core's own 1,200 nothing is for it. */
        const val LONGEST = 2_048

        /** How long a socket stays open with nothing heard. Own choice, no source. */
        const val SILENT_MS = 60_000

        const val MOST_PORT = 65_535

        fun place(address: String): InetSocketAddress? {
            val uri = runCatching { URI(address) }.getOrNull() ?: return null
            val host = uri.host ?: return null
            val usual = if (uri.scheme == "http") 80 else 443
            val port = if (uri.port < 0) usual else uri.port
            if (port > MOST_PORT) return null
            return InetSocketAddress(host, port).takeUnless { it.isUnresolved }
        }
    }
}
