package standsquare.device

import android.view.KeyEvent
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertTrue
import org.junit.Test
import org.mockito.Mockito.`when`

/** A clicker and the volume keys, over mocked events. */
class TwoKeyCaptureTest {
    private var listening = true
    private val pressed = mutableListOf<Boolean>()
    private val keys = TwoKeyCapture { up -> listening.also { if (it) pressed += up } }

    private fun event(key: Int, action: Int, repeat: Int = 0) = mocked<KeyEvent>().also {
        `when`(it.keyCode).thenReturn(key)
        `when`(it.action).thenReturn(action)
        `when`(it.repeatCount).thenReturn(repeat)
    }

    private fun down(key: Int, repeat: Int = 0) = keys.take(event(key, KeyEvent.ACTION_DOWN, repeat))
    private fun up(key: Int) = keys.take(event(key, KeyEvent.ACTION_UP))

    @Test
    fun volumeAndClickerKeysAreTwoKeys() {
        for (key in listOf(KeyEvent.KEYCODE_VOLUME_UP, KeyEvent.KEYCODE_PAGE_UP, KeyEvent.KEYCODE_DPAD_UP,
            KeyEvent.KEYCODE_VOLUME_DOWN, KeyEvent.KEYCODE_PAGE_DOWN, KeyEvent.KEYCODE_DPAD_DOWN)) {
            assertTrue(down(key))
            assertTrue(up(key))
        }
        assertEquals(listOf(true, true, true, false, false, false), pressed)
    }

    @Test
    fun aHeldKeyIsOnePress() {
        assertTrue(down(KeyEvent.KEYCODE_VOLUME_DOWN))
        repeat(5) { assertTrue(down(KeyEvent.KEYCODE_VOLUME_DOWN, it + 1)) }
        assertTrue(up(KeyEvent.KEYCODE_VOLUME_DOWN))
        assertEquals(listOf(false), pressed)
    }

    @Test
    fun whereNobodyListensTheVolumeChangesAsAlways() {
        listening = false
        assertFalse(down(KeyEvent.KEYCODE_VOLUME_UP))
        // The screen listens again while the key is still held: that stroke is not ours.
        listening = true
        assertFalse(down(KeyEvent.KEYCODE_VOLUME_UP, 1))
        assertFalse(up(KeyEvent.KEYCODE_VOLUME_UP))
        assertEquals(emptyList<Boolean>(), pressed)
    }

    @Test
    fun everyOtherKeyIsLeftAlone() {
        for (key in listOf(KeyEvent.KEYCODE_ENTER, KeyEvent.KEYCODE_BACK, KeyEvent.KEYCODE_1, KeyEvent.KEYCODE_POWER)) assertFalse(down(key))
    }
}
