package standsquare.screens.look

import androidx.compose.foundation.Canvas
import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Box
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.IntrinsicSize
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.fillMaxHeight
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.height
import androidx.compose.foundation.layout.size
import androidx.compose.runtime.Composable
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.remember
import androidx.compose.runtime.setValue
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.graphics.drawscope.Stroke
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.LiveRegionMode
import androidx.compose.ui.semantics.clearAndSetSemantics
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.liveRegion
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.unit.dp

/**
 * Our own number keys, large enough for cold fingers; the phone's keyboard, which
 * learns what is typed on it, never comes up.
 *
 * What was typed is handed to [onEnter] when it is as long as it may be, or on
 * "enter" once it is long enough; then it is forgotten here.
 */
@Composable
fun Keypad(
    tag: String,
    least: Int,
    most: Int,
    secret: Boolean,
    mayShow: Boolean,
    onEnter: (String) -> Unit,
    modifier: Modifier = Modifier,
    onClose: (() -> Unit)? = null,
) {
    // Kept in memory only: a PIN must not land in the state that a platform saves.
    var typed by remember { mutableStateOf("") }
    var shown by remember { mutableStateOf(!secret) }
    val words = words

    fun enter() {
        val what = typed
        typed = ""
        onEnter(what)
    }

    fun press(digit: Char) {
        if (typed.length >= most) return
        typed += digit
        if (typed.length == most) enter()
    }

    Column(modifier.fillMaxWidth(), verticalArrangement = Arrangement.spacedBy(GAP)) {
        Row(verticalAlignment = Alignment.CenterVertically) {
            Typed(typed, most, shown, tag, Modifier.weight(1f))
            if (mayShow) Touch("", Faces.other(), "$tag:show", { shown = !shown },
                Modifier.named(words.ui(if (shown) "pin.hide" else "pin.show")), if (shown) Mark.EYE_SHUT else Mark.EYE)
            if (onClose != null) Touch("", Faces.other(), "pad_close", onClose, Modifier.named(words.ui("pin.close")), Mark.CROSS)
        }
        for (row in listOf("123", "456", "789")) Keys {
            for (digit in row) Key(digit, tag, Modifier.weight(1f).fillMaxHeight()) { press(digit) }
        }
        Keys {
            Touch("", Faces.other().copy(height = KEY), "$tag:back", { typed = typed.dropLast(1) },
                Modifier.weight(1f).fillMaxHeight().named(words.ui("pin.back")), Mark.DELETE, stacked = true)
            Key('0', tag, Modifier.weight(1f).fillMaxHeight()) { press('0') }
            Touch("", Faces.main().copy(height = KEY), "$tag:enter", { enter() },
                Modifier.weight(1f).fillMaxHeight().named(words.ui("pin.enter")), Mark.TICK,
                enabled = typed.length >= least, stacked = true)
        }
    }
}

@Composable
private fun Keys(content: @Composable androidx.compose.foundation.layout.RowScope.() -> Unit) =
    Row(Modifier.fillMaxWidth().height(IntrinsicSize.Min), Arrangement.spacedBy(GAP), content = content)

@Composable
private fun Key(digit: Char, tag: String, modifier: Modifier, onTap: () -> Unit) =
    Touch(digit.toString(), Faces.other().copy(size = Size.LARGE, height = KEY), "$tag:$digit", onTap, modifier)

/** A name for a key that shows only a mark. */
private fun Modifier.named(name: String): Modifier =
    semantics { contentDescription = name }

@Composable
private fun Typed(typed: String, most: Int, shown: Boolean, tag: String, modifier: Modifier) {
    val words = words
    val says = words.counted("pin.typed", typed.length.toLong())
    Box(
        modifier.testTag("$tag:typed").clearAndSetSemantics {
            contentDescription = says
            liveRegion = LiveRegionMode.Polite
        },
        contentAlignment = Alignment.Center,
    ) {
        when {
            !shown -> Dots(typed.length, most)
            most > LONG -> Say(typed.chunked(3).joinToString(" ").ifEmpty { "–" }, Size.LARGE, palette.page.ink, digits = true)
            else -> Say(typed.ifEmpty { "–" }, Size.LARGE, palette.page.ink, digits = true)
        }
    }
}

/** The height of a key. */
private val KEY = 60.dp

/** More digits than a PIN has: shown in groups of three, as chip numbers are read aloud. */
private const val LONG = 9

@Composable
private fun Dots(typed: Int, most: Int) {
    val ink = palette.page.ink
    val line = palette.line
    Canvas(Modifier.size(width = 30.dp * most, height = 34.dp)) {
        repeat(most) { n ->
            val centre = Offset(30.dp.toPx() * (n + 0.5f), size.height / 2)
            if (n < typed) drawCircle(ink, 9.dp.toPx(), centre)
            else drawCircle(line, 7.dp.toPx(), centre, style = Stroke(2.dp.toPx()))
        }
    }
}
