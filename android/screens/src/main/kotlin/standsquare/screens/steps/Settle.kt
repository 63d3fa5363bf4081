package standsquare.screens.steps

import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.semantics
import standsquare.screens.look.*
import standsquare.view.SettleScreen

/** A nervous dog is given time: a clock that counts up and asks for nothing. */
@Composable
fun Settle(screen: SettleScreen, nowMs: Long) {
    val words = words
    val seconds = ((nowMs - screen.sinceMs) / 1000).coerceAtLeast(0)
    Card(Modifier.testTag("settle-clock").semantics(mergeDescendants = true) {}) {
        Say(words.ui("settle.on_surface"), Size.BODY, palette.soft)
        Say("${seconds / 60}:${(seconds % 60).toString().padStart(2, '0')}", Size.HUGE, palette.card.ink, digits = true)
    }
    Heading(words.ui("settle.watch"))
    Points(screen.signs.map(words::say))
}
