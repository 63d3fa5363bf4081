package standsquare.gateway

import java.net.DatagramPacket
import java.net.DatagramSocket
import java.net.InetAddress
import java.util.concurrent.LinkedBlockingQueue
import java.util.concurrent.TimeUnit
import org.junit.After
import org.junit.Assert.assertArrayEquals
import org.junit.Assert.assertEquals
import org.junit.Test

/** Packets there and back, over real sockets on this machine. */
class PacketsTest {
    private val office = DatagramSocket(0, InetAddress.getLoopbackAddress()).apply { soTimeout = 10_000 }
    private val heard = LinkedBlockingQueue<ByteArray>()
    private val packets = Packets { heard.add(it) }
    private val address = "http://127.0.0.1:${office.localPort}"

    @After
    fun stop() {
        packets.close()
        office.close()
    }

    private fun arrived(): DatagramPacket = DatagramPacket(ByteArray(2_048), 2_048).also(office::receive)

    private fun DatagramPacket.bytes() = data.copyOf(length)

    @Test
    fun eachGoesByItselfAsItIsAndWhatComesBackIsTold() {
        packets.send(listOf(byteArrayOf(1, 2), ByteArray(1_200) { 7 }), address)
        val first = arrived()
        assertArrayEquals(byteArrayOf(1, 2), first.bytes())
        assertEquals(1_200, arrived().length)
        office.send(DatagramPacket(byteArrayOf(9), 1, first.socketAddress))
        assertArrayEquals(byteArrayOf(9), heard.poll(10, TimeUnit.SECONDS))
        // The same place hears the next ones.
        packets.send(listOf(byteArrayOf(3)), address)
        assertEquals(first.socketAddress, arrived().socketAddress)
    }

    @Test
    fun whatCannotBeSentIsLostAndTheNextOneIsNot() {
        packets.send(listOf(byteArrayOf(1)), "")
        packets.send(listOf(byteArrayOf(1)), "no address at all")
        packets.send(listOf(byteArrayOf(1)), "https://office.invalid")
        packets.send(listOf(byteArrayOf(1)), "http://127.0.0.1:70000")
        // Longer than any network takes.
        packets.send(listOf(ByteArray(70_000)), address)
        packets.send(listOf(byteArrayOf(5)), address)
        assertArrayEquals(byteArrayOf(5), arrived().bytes())
    }

    @Test
    fun afterItIsClosedNothingGoes() {
        packets.close()
        packets.send(listOf(byteArrayOf(1)), address)
        assertEquals(null, heard.poll())
    }
}
