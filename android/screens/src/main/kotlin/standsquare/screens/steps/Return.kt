package standsquare.screens.steps

import androidx.compose.foundation.layout.Row
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.semantics
import standsquare.screens.look.*
import standsquare.view.ReturnRow
import standsquare.view.ReturnScreen

/** The return, and where it is. */
@Composable
fun Return(screen: ReturnScreen) {
    val words = words
    Toned(screen.tone, words.say(screen.state), "return:${screen.state.key}", speaks = true, size = Size.STRONG)
    for (row in screen.rows) Row(row)
    Say(words.ui("return.file", "name" to screen.csvName), Size.SMALL, palette.soft)
}

@Composable
private fun Row(row: ReturnRow) = Card(Modifier.testTag("row:${row.name}").semantics(mergeDescendants = true) {}) {
    val words = words
    Say(row.name, Size.STRONG, palette.card.ink)
    Say(row.chip, Size.BODY, palette.card.ink, digits = true)
    Say(words.say(row.outcome), Size.BODY_STRONG, palette.card.ink)
    if (row.flags.isNotEmpty()) {
        Say(words.ui("return.flags"), Size.SMALL, palette.soft)
        Points(row.flags.map(words::say), Mark.CARE, palette.card.ink)
    }
    Where(row.whereabouts)
}
