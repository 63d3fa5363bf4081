@file:OptIn(ExperimentalTestApi::class, InternalTestApi::class)

package standsquare.screens

import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.geometry.Size
import androidx.compose.ui.semantics.SemanticsActions
import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.InternalTestApi
import androidx.compose.ui.test.SkikoComposeUiTest
import androidx.compose.ui.test.TouchInjectionScope
import androidx.compose.ui.test.onNodeWithTag
import androidx.compose.ui.test.onRoot
import androidx.compose.ui.test.performClick
import androidx.compose.ui.test.performSemanticsAction
import androidx.compose.ui.test.performTouchInput
import androidx.compose.ui.test.runSkikoComposeUiTest
import androidx.compose.ui.unit.Density
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.screens.desktop.packagedTypeface
import standsquare.screens.frame.Looks
import standsquare.screens.frame.PhoneGlass
import standsquare.state.PhoneEvent

/** Rain on the glass, gloves, a palm: no act by a stray touch. */
class StrayTest {
    private val events = mutableListOf<PhoneEvent>()
    private val placing = Previews.fullest.getValue("placing")

    private fun onGlass(block: SkikoComposeUiTest.() -> Unit) = runSkikoComposeUiTest(Size(360f, 800f), Density(1f)) {
        setContent { PhoneGlass(placing.state, Looks(), packagedTypeface, onEvent = events::add) }
        block()
    }

    private fun SkikoComposeUiTest.centre(tag: String): Offset = onNodeWithTag(tag).fetchSemanticsNode().boundsInRoot.center

    private fun SkikoComposeUiTest.touch(what: TouchInjectionScope.() -> Unit): Int {
        events.clear()
        onRoot().performTouchInput(what)
        waitForIdle()
        return events.size
    }

    @Test
    fun aFingersTapIsOneActAndSoIsAVoices() = onGlass {
        val flat = centre("offer:base_flat")
        assertEquals(1, touch { down(flat); advanceEventTime(80); up() })
        events.clear()
        onNodeWithTag("offer:base_flat").performSemanticsAction(SemanticsActions.OnClick)
        assertEquals(1, events.size)
    }

    @Test
    fun aSplashIsNone() = onGlass {
        val flat = centre("offer:base_flat")
        assertEquals(0, touch { down(flat); advanceEventTime(8); up() })
        assertEquals("a tap after it counts", 1, touch { down(flat); advanceEventTime(80); up() })
    }

    @Test
    fun twoTouchesAtOnceAreNoneWhereverTheyAre() = onGlass {
        val (flat, not) = centre("offer:base_flat") to centre("offer:base_not_flat")
        for (other in listOf(not, flat + Offset(30f, 10f), Offset(180f, 300f))) {
            val count = touch {
                down(0, other)
                advanceEventTime(40)
                down(1, flat)
                advanceEventTime(80)
                up(1)
                advanceEventTime(40)
                up(0)
            }
            assertEquals("$other", 0, count)
        }
        // Neither is the first one's end after the second has gone, nor a new touch while one is still there.
        val held = touch { down(0, not); advanceEventTime(20); down(1, flat); advanceEventTime(90); up(1); down(1, flat); advanceEventTime(90); up(1); up(0) }
        assertEquals(0, held)
        assertEquals("a tap after them counts", 1, touch { down(flat); advanceEventTime(80); up() })
    }

    @Test
    fun aTouchThatRunsDownTheGlassIsNone() = onGlass {
        val flat = centre("offer:base_flat")
        // Inside of one large button all the way: it is 92 dp high.
        val drop = touch { down(flat - Offset(0f, 30f)); repeat(5) { advanceEventTime(20); moveBy(Offset(0f, 10f)) }; up() }
        assertEquals(0, drop)
        // A thumb that rolls a little is a tap.
        assertEquals(1, touch { down(flat); advanceEventTime(40); moveBy(Offset(6f, 8f)); advanceEventTime(40); up() })
    }

    @Test
    fun aDoubleTapOnOneViewSendsBothWithTheSameRevisionSoThatTheCoreTakesOne() = onGlass {
        val flat = centre("offer:base_flat")
        touch { down(flat); advanceEventTime(60); up(); advanceEventTime(60); down(flat); advanceEventTime(60); up() }
        assertTrue(events.size in 1..2 && events.all { (it as PhoneEvent.Do).seen == placing.view.revision })
    }

    @Test
    fun aTapIsStillWhatTheTestsOfEveryScreenTake() = onGlass {
        events.clear()
        onNodeWithTag("offer:base_flat").performClick()
        assertEquals(1, events.size)
    }
}
