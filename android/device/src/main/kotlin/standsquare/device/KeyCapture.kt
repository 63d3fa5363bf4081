package standsquare.device

import android.view.KeyEvent

/**
 * A reader that types like a keyboard. The activity hands every key stroke to
 * [take] before anything else sees it (`dispatchKeyEvent`), so that no field has to
 * have the focus and no stroke is lost on the way to one: a leading zero is a byte
 * like any other. The characters' bytes go on as they are; nothing is read in them.
 */
class KeyCapture(private val out: (ByteArray) -> Unit) {
    /** The keyboard to listen to, by its descriptor; null: none. */
    @Volatile var keyboard: String? = null

    /** Takes a key stroke of that keyboard; false: it is not the reader's. */
    fun take(event: KeyEvent): Boolean {
        val wanted = keyboard ?: return false
        if (event.device?.descriptor != wanted) return false
        // The release of a key, and a key that only changes others, carry nothing; no field may have them either.
        if (event.action == KeyEvent.ACTION_DOWN) bytes(event)?.let(out)
        return true
    }

    private fun bytes(event: KeyEvent): ByteArray? = when (val key = event.keyCode) {
        KeyEvent.KEYCODE_ENTER, KeyEvent.KEYCODE_NUMPAD_ENTER -> byteArrayOf('\r'.code.toByte())
        KeyEvent.KEYCODE_TAB -> byteArrayOf('\t'.code.toByte())
        // The number pad gives arrows where its lock is off: the key itself says what was meant.
        in KeyEvent.KEYCODE_NUMPAD_0..KeyEvent.KEYCODE_NUMPAD_9 -> byteArrayOf(('0'.code + key - KeyEvent.KEYCODE_NUMPAD_0).toByte())
        else -> {
            val character = event.unicodeChar
            // What a key combines with the next one has a mark of its own; no reader types it.
            if (character <= 0) null else String(Character.toChars(character)).toByteArray()
        }
    }
}
