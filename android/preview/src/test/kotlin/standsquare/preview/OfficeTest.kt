package standsquare.preview

import com.sun.net.httpserver.HttpServer
import java.net.InetAddress
import java.net.InetSocketAddress
import java.net.URI
import org.junit.After
import org.junit.Assert.assertArrayEquals
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.view.Act
import standsquare.view.Effect

/** The carrier to the office, over a real socket on this machine. */
class OfficeTest {
    private var posted = byteArrayOf()
    private val server = HttpServer.create(InetSocketAddress(InetAddress.getLoopbackAddress(), 0), 0).apply {
        createContext("/v1/frames") { exchange ->
            posted = exchange.requestBody.readBytes()
            val body = byteArrayOf(1, 2, 3)
            exchange.sendResponseHeaders(202, body.size.toLong())
            exchange.responseBody.use { it.write(body) }
        }
        start()
    }
    private val office = Office(URI("http://127.0.0.1:${server.address.port}"))
    private val asked = Effect.AskOffice("frames-3", "/v1/frames", byteArrayOf(9, 8), "")

    @After
    fun stop() = server.stop(0)

    @Test
    fun bodiesAreCarriedAsTheyAre() {
        val answer = office.ask(asked) as Act.OfficeAnswer
        assertArrayEquals(byteArrayOf(9, 8), posted)
        assertEquals("frames-3", answer.request)
        assertEquals(202, answer.status.toInt())
        assertArrayEquals(byteArrayOf(1, 2, 3), answer.body)
    }

    @Test
    fun withoutANetworkTheCoreIsToldSo() {
        office.network = false
        assertTrue(office.ask(asked) is Act.OfficeUnreachable)
        office.network = true
        server.stop(0)
        assertTrue(office.ask(asked) is Act.OfficeUnreachable)
    }
}
