package standsquare.preview.monkey

import org.junit.Assert.assertEquals
import org.junit.Assert.assertThrows
import org.junit.Test

/** What the monkey holds the return against. */
class SignedTest {
    private val head = "mark,league,day,venue,session,number,dog,chip,outcome,signed_by"
    private val between = "\"demo, not official\",Larkmere,2026-11-30,Hollin Field,2f01,,,,bite: handler,"

    private fun dog(by: String) = "\"demo, not official\",Larkmere,2026-11-30,Hollin Field,2f01,1,Pip,999000000112233,category,\"$by\""

    private fun csv(vararg rows: String) = (listOf(head) + rows).joinToString("\r\n", postfix = "\r\n")

    @Test
    fun whatHappenedBetweenTwoDogsIsNoDog() {
        assertEquals(1, rowsAnsweredFor(csv(dog("Ottoline Marsh; Bram Tolley"), between)))
    }

    @Test
    fun aDogThatOneAnswersForIsFound() {
        assertThrows(MonkeyFound::class.java) { rowsAnsweredFor(csv(between, dog("Ottoline Marsh"))) }
    }
}
