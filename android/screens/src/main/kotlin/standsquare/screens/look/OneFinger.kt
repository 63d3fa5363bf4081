package standsquare.screens.look

import androidx.compose.ui.Modifier
import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.input.pointer.PointerEventPass
import androidx.compose.ui.input.pointer.PointerId
import androidx.compose.ui.input.pointer.PointerType
import androidx.compose.ui.input.pointer.changedToUpIgnoreConsumed
import androidx.compose.ui.input.pointer.pointerInput
import androidx.compose.ui.unit.dp

/**
 * What is a finger's tap, and what a drop, a glove's seam or a palm: a tap is one
 * touch, it stays where it is, and it lasts longer than a splash. Of every other
 * touch the lifting is taken away before anything below sees it, so that nothing is
 * tapped; scrolling goes on. A mouse and a voice's own "tap" are left alone.
 *
 * That the glass has just changed under the finger is for the core to say: it
 * refuses an act on a view that is too young.
 */
fun Modifier.oneFinger(): Modifier = pointerInput(Unit) {
    awaitPointerEventScope {
        var first: PointerId? = null
        var at = Offset.Zero
        var since = 0L
        var spoiled = false
        val most = MOST_MOVED.toPx()
        while (true) {
            val touches = awaitPointerEvent(PointerEventPass.Initial).changes.filter { it.type == PointerType.Touch }
            for (touch in touches.filter { it.pressed && !it.previousPressed }) {
                if (first == null) {
                    first = touch.id
                    at = touch.position
                    since = touch.uptimeMillis
                    spoiled = false
                } else spoiled = true
            }
            for (touch in touches) {
                if (touch.id == first && (touch.position - at).getDistance() > most) spoiled = true
                if (!touch.changedToUpIgnoreConsumed()) continue
                if (spoiled || touch.uptimeMillis - since < LEAST_MS) touch.consume()
            }
            // The next touch is a new one only when all have gone.
            if (touches.isNotEmpty() && touches.none { it.pressed }) first = null
        }
    }
}

/** A finger that comes down, even a cold one, hardly rolls further. Own choice. */
private val MOST_MOVED = 24.dp

/**
 * Milliseconds: a splash is there for one scan of a panel (8 to 16 ms at 60 to 120
 * a second), a finger for 50 or more. From memory.
 */
private const val LEAST_MS = 12L
