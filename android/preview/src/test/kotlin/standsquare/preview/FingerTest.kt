package standsquare.preview

import org.junit.Assert.assertArrayEquals
import org.junit.Assert.assertEquals
import org.junit.Test
import standsquare.view.Act

/** The desk's key store says yes, nothing, or gone. */
class FingerTest {
    private val said = mutableListOf<Act>()
    private val finger = Finger(said::add)
    private val nothing = ByteArray(0)

    @Test
    fun itGivesUpWhatItWasGivenToItsOwnerOnly() {
        val secret = ByteArray(32) { 7 }
        finger.asked(secret)
        finger.asked(nothing)
        assertEquals(2, said.size)
        for (act in said) assertArrayEquals(secret, (act as Act.OwnerUnlock).secret)
        finger.whose.value = Finger.Whose.UNKNOWN
        finger.asked(nothing)
        assertEquals("nothing is said", 2, said.size)
    }

    @Test
    fun anotherFingerThrowsItAway() {
        finger.asked(ByteArray(32))
        finger.enrolAnother()
        finger.asked(nothing)
        assertEquals(Act.OwnerGone, said.last())
    }
}
