package standsquare.device

import com.sun.net.httpserver.HttpServer
import java.net.InetAddress
import java.net.InetSocketAddress
import org.junit.After
import org.junit.Assert.assertArrayEquals
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test

/** The carrier to the office, over a real socket on this machine. */
class OfficeLinkTest {
    private var posted = byteArrayOf()
    private val server = HttpServer.create(InetSocketAddress(InetAddress.getLoopbackAddress(), 0), 0).apply {
        createContext("/v1/enrol") { exchange ->
            posted = exchange.requestBody.readBytes()
            val refused = posted.isEmpty()
            val body = if (refused) "no".toByteArray() else byteArrayOf(1, 2, 3)
            exchange.sendResponseHeaders(if (refused) 403 else 200, body.size.toLong())
            exchange.responseBody.use { it.write(body) }
        }
        createContext("/v1/roster") { exchange ->
            exchange.responseHeaders.add("Location", "/v1/enrol")
            exchange.sendResponseHeaders(307, -1)
            exchange.close()
        }
        start()
    }
    private val address = "http://127.0.0.1:${server.address.port}"

    private fun ask(path: String, body: ByteArray, to: String = address) =
        OfficeLink().ask(to, path, body)

    @After
    fun stop() = server.stop(0)

    @Test
    fun bodiesAreCarriedAsTheyAre() {
        val answer = ask("/v1/enrol", byteArrayOf(9, 8)) as OfficeReply.Answered
        assertArrayEquals(byteArrayOf(9, 8), posted)
        assertEquals(200, answer.status)
        assertArrayEquals(byteArrayOf(1, 2, 3), answer.body)
    }

    @Test
    fun aLongBodyIsCarriedWhole() {
        val long = ByteArray(22_001) { (it * 31).toByte() }
        assertEquals(200, (ask("/v1/enrol", long) as OfficeReply.Answered).status)
        assertArrayEquals(long, posted)
    }

    @Test
    fun aRefusalIsAnAnswerToo() {
        val answer = ask("/v1/enrol", byteArrayOf()) as OfficeReply.Answered
        assertEquals(403, answer.status)
        assertEquals("no", answer.body.decodeToString())
    }

    @Test
    fun nothingIsSentOnToAnotherPlace() {
        assertEquals(307, (ask("/v1/roster", byteArrayOf(1)) as OfficeReply.Answered).status)
        assertEquals(0, posted.size)
    }

    @Test
    fun withoutAnOfficeTheCoreIsToldSo() {
        assertTrue(ask("/v1/enrol", byteArrayOf(1), to = "") is OfficeReply.Unreachable)
        server.stop(0)
        assertTrue(ask("/v1/enrol", byteArrayOf(1)) is OfficeReply.Unreachable)
    }
}
