package standsquare.device

import android.view.InputDevice
import android.view.KeyEvent
import org.junit.Assert.assertEquals
import org.junit.Test
import org.mockito.Mockito.`when`

/** Key strokes as bytes, over mocked events. */
class KeyCaptureTest {
    private var out = byteArrayOf()
    private val capture = KeyCapture { out += it }.apply { keyboard = "reader" }

    private fun event(key: Int, character: Int = 0, action: Int = KeyEvent.ACTION_DOWN, of: String = "reader"): KeyEvent {
        val device = mocked<InputDevice>()
        `when`(device.descriptor).thenReturn(of)
        return mocked<KeyEvent>().also {
            `when`(it.device).thenReturn(device)
            `when`(it.action).thenReturn(action)
            `when`(it.keyCode).thenReturn(key)
            `when`(it.unicodeChar).thenReturn(character)
        }
    }

    private fun type(character: Char) {
        capture.take(event(KeyEvent.KEYCODE_UNKNOWN, character.code))
        capture.take(event(KeyEvent.KEYCODE_UNKNOWN, character.code, KeyEvent.ACTION_UP))
    }

    @Test
    fun noLeadingZeroIsLost() {
        "036000000777001".forEach(::type)
        capture.take(event(KeyEvent.KEYCODE_ENTER))
        assertEquals("036000000777001\r", out.decodeToString())
    }

    @Test
    fun theNumberPadsKeysAreDigitsWhateverItsLock() {
        for (digit in 0..9) capture.take(event(KeyEvent.KEYCODE_NUMPAD_0 + digit))
        capture.take(event(KeyEvent.KEYCODE_NUMPAD_ENTER))
        capture.take(event(KeyEvent.KEYCODE_TAB))
        assertEquals("0123456789\r\t", out.decodeToString())
    }

    @Test
    fun anotherLayoutsSignsGoOnAsTheyAre() {
        "à&é".forEach(::type)
        assertEquals("à&é", out.decodeToString())
    }

    @Test
    fun aKeyWithoutACharacterCarriesNothing() {
        assertEquals(true, capture.take(event(KeyEvent.KEYCODE_SHIFT_LEFT)))
        // A key that waits for the next one has its top bit set.
        assertEquals(true, capture.take(event(KeyEvent.KEYCODE_GRAVE, '`'.code or Int.MIN_VALUE)))
        assertEquals(0, out.size)
    }

    @Test
    fun anotherKeyboardIsNotTheReader() {
        assertEquals(false, capture.take(event(KeyEvent.KEYCODE_1, '1'.code, of = "desk")))
        capture.keyboard = null
        assertEquals(false, capture.take(event(KeyEvent.KEYCODE_1, '1'.code)))
        assertEquals(0, out.size)
    }

    @Test
    fun onlyAttachedKeyboardsAreReaders() {
        fun device(name: String, external: Boolean, virtual: Boolean, keys: Boolean) = mocked<InputDevice>().also {
            `when`(it.name).thenReturn(name)
            `when`(it.descriptor).thenReturn("d-$name")
            `when`(it.isExternal).thenReturn(external)
            `when`(it.isVirtual).thenReturn(virtual)
            `when`(it.supportsSource(InputDevice.SOURCE_KEYBOARD)).thenReturn(keys)
        }
        val all = mapOf(
            1 to device("wedge", external = true, virtual = false, keys = true),
            2 to device("phone's keys", external = false, virtual = false, keys = true),
            3 to device("on the glass", external = false, virtual = true, keys = true),
            4 to device("mouse", external = true, virtual = false, keys = false),
        )
        assertEquals(listOf(Keyboards.Keyboard("d-wedge", "wedge")), Keyboards({ intArrayOf(1, 2, 3, 4, 5) }, all::get).attached())
    }
}
