package standsquare.preview

import org.junit.Assert.assertEquals
import org.junit.Assert.assertThrows
import org.junit.Assert.assertTrue
import org.junit.Test

class ArgumentsTest {
    private val whole = arrayOf("--data", "d", "--office", "http://127.0.0.1:1/", "--reader-data", "127.0.0.1:2", "--reader-control", "127.0.0.1:3")

    @Test
    fun aWholeLineIsRead() {
        val read = Arguments.of(whole)
        assertEquals("http://127.0.0.1:1", read.office.toString())
        assertEquals(2 to 3, read.readerData.port to read.readerControl.port)
        assertEquals(null, read.pictures)
        assertEquals("p", Arguments.of(whole + arrayOf("--pictures", "p")).pictures?.path)
    }

    @Test
    fun aFaultSaysWhatToDo() {
        val faulty = mapOf(
            arrayOf("--data") to "--data needs a value",
            arrayOf("--dta", "d") to "'--dta' is not known",
            whole.copyOf(6).requireNoNulls() to "--reader-control is missing",
            whole.copyOf(7).requireNoNulls() + "127.0.0.1" to "--reader-control is HOST:PORT, not '127.0.0.1'",
            whole.copyOf(7).requireNoNulls() + "127.0.0.1:99999" to "--reader-control is HOST:PORT",
        )
        for ((args, says) in faulty) {
            val fault = assertThrows(IllegalArgumentException::class.java) { Arguments.of(args) }
            assertTrue("${fault.message} should say $says", fault.message.orEmpty().startsWith(says))
        }
    }
}
