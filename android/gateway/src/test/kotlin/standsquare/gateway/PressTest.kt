package standsquare.gateway

import java.io.File
import kotlin.io.path.createTempDirectory
import org.junit.After
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.core.readRecording
import standsquare.state.PhoneState
import standsquare.view.Screen
import standsquare.view.TwoKeys

/** A clicker's two keys, or the volume keys, over the real core. */
class PressTest {
    private val dir: File = createTempDirectory("press").toFile()
    private val recording = readRecording(File(recorded, "three-dogs.json").readText())
    private val platform = Replayed(listOf(recording.opened) + recording.steps.map { it.stamp })
    private val gateway = Gateway(dir.path, platform) { recording.deviceSecret }

    @After
    fun tidy() {
        gateway.close()
        dir.deleteRecursively()
    }

    private val view get() = gateway.answer { }.let { (gateway.state.value as PhoneState.Showing).view }

    /** Does the recorded acts up to the first placing. */
    private fun toTheHoop() {
        for ((n, step) in recording.steps.withIndex()) {
            if (view.screen is Screen.Placing) return
            platform.n = n + 1
            (step.act as? standsquare.view.Act.LevelReading)?.let { platform.tilt = Tilt(it.xMdeg, it.yMdeg) }
            gateway.send(step.act, view.revision)
        }
        error("no placing in the recording")
    }

    @Test
    fun onlyThePlacingScreenTakesAKey() {
        assertFalse(view.screen is Screen.Placing)
        for (key in TwoKeys.entries) assertFalse("the volume changes as always", gateway.press(key))
        toTheHoop()
        platform.later = 1_000
        assertTrue(gateway.press(TwoKeys.SECOND))
        assertEquals("not flat, and it can be taken back", true, view.screen is Screen.Stance && view.offers.any { it.id == "undo_placing" })
        assertFalse(gateway.press(TwoKeys.SECOND))
    }

    @Test
    fun flatWantsTheSameKeyTwice() {
        toTheHoop()
        val before = view.revision
        platform.later = 1_000
        assertTrue(gateway.press(TwoKeys.FIRST))
        assertEquals("notice.flat_again", view.notice?.text?.key)
        assertEquals(before, view.revision)
        platform.later = 1_800
        assertTrue(gateway.press(TwoKeys.FIRST))
        assertTrue(view.screen is Screen.Sign)
    }
}
