package standsquare.preview

import org.junit.Assert.assertEquals
import org.junit.Assert.assertThrows
import org.junit.Assert.assertTrue
import org.junit.Test

class ArgumentsTest {
    private val whole = arrayOf("--data", "d", "--office", "http://127.0.0.1:1/", "--reader", "wand,Long wand,127.0.0.1:2,127.0.0.1:3")

    @Test
    fun aWholeLineIsRead() {
        val read = Arguments.of(whole)
        assertEquals("http://127.0.0.1:1", read.office.toString())
        val reader = read.readers.single()
        assertEquals("wand" to "Long wand", reader.id to reader.name)
        assertEquals(2 to 3, reader.data.port to reader.control.port)
        assertEquals(2, Arguments.of(whole + arrayOf("--reader", "b,,127.0.0.1:4,127.0.0.1:5")).readers.size)
        assertEquals(null, read.pictures)
        assertEquals("p", Arguments.of(whole + arrayOf("--pictures", "p")).pictures?.path)
    }

    @Test
    fun aFaultSaysWhatToDo() {
        val faulty = mapOf(
            arrayOf("--data") to "--data needs a value",
            arrayOf("--dta", "d") to "'--dta' is not known",
            whole.copyOf(4).requireNoNulls() to "--reader is missing",
            whole.copyOf(5).requireNoNulls() + "a,b,127.0.0.1:2" to "--reader is ID,NAME,HOST:PORT,HOST:PORT, not",
            whole.copyOf(5).requireNoNulls() + "a,b,127.0.0.1:2,127.0.0.1" to "--reader is HOST:PORT, not '127.0.0.1'",
            whole.copyOf(5).requireNoNulls() + "a,b,127.0.0.1:99999,127.0.0.1:3" to "--reader is HOST:PORT",
        )
        for ((args, says) in faulty) {
            val fault = assertThrows(IllegalArgumentException::class.java) { Arguments.of(args) }
            assertTrue("${fault.message} should say $says", fault.message.orEmpty().startsWith(says))
        }
    }
}
