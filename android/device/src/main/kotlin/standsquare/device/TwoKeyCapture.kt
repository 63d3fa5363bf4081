package standsquare.device

import android.view.KeyEvent

/**
 * The two keys that may say what a placing showed: a small Bluetooth clicker's (which
 * is a keyboard to the phone), or the phone's volume keys. The activity hands every key
 * stroke to [take]; whether the keys are listened to now, and what they mean, is not
 * known here: [press] says whether it took the press.
 */
class TwoKeyCapture(private val press: (up: Boolean) -> Boolean) {
    private val held = mutableSetOf<Int>()

    /** Takes a key stroke; false: it is to do whatever else it does. */
    fun take(event: KeyEvent): Boolean {
        val key = event.keyCode
        val up = when (key) {
            KeyEvent.KEYCODE_VOLUME_UP, KeyEvent.KEYCODE_PAGE_UP, KeyEvent.KEYCODE_DPAD_UP -> true
            KeyEvent.KEYCODE_VOLUME_DOWN, KeyEvent.KEYCODE_PAGE_DOWN, KeyEvent.KEYCODE_DPAD_DOWN -> false
            else -> return false
        }
        return when (event.action) {
            // A key that is held is one press; its repeats are swallowed with it.
            KeyEvent.ACTION_DOWN -> if (event.repeatCount > 0) key in held else press(up).also { if (it) held += key }
            // Half a stroke taken would change the volume.
            KeyEvent.ACTION_UP -> held.remove(key)
            else -> false
        }
    }
}
