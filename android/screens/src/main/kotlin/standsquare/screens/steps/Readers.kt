package standsquare.screens.steps

import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.Spacer
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.width
import androidx.compose.runtime.Composable
import androidx.compose.runtime.getValue
import androidx.compose.runtime.setValue
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.unit.dp
import standsquare.screens.frame.Foot
import standsquare.screens.frame.Hand
import standsquare.screens.frame.LocalChoice
import standsquare.screens.look.*
import standsquare.view.Act
import standsquare.view.ReaderLine
import standsquare.view.ReaderLink
import standsquare.view.ReaderTrial
import standsquare.view.ReadersScreen

/** The chip readers: how the one in use does with a known chip, and which there are. */
@Composable
fun Readers(screen: ReadersScreen, local: LocalChoice, hand: Hand) {
    val words = words
    screen.trial?.let { Trial(it, hand) }
    var pad by local.pad
    if (screen.mayType && pad == null)
        Touch(words.ui("readers.type"), Faces.other(), "known_chip", { pad = "" }, Modifier.fillMaxWidth(), Mark.PEN)
    Heading(words.ui("readers.near"))
    if (screen.readers.isEmpty()) Say(words.ui("readers.none"), Size.BODY)
    for (reader in screen.readers) Line(reader, hand)
}

@Composable
private fun Trial(trial: ReaderTrial, hand: Hand) {
    val words = words
    Heading(words.ui("readers.trial"))
    Toned(trial.tone, words.say(trial.state), "trial:${trial.state.key}", speaks = true, size = Size.STRONG)
    trial.number?.let { number ->
        Card(Modifier.testTag("trial-number").semantics(mergeDescendants = true) {}) {
            // As large as stays on one line at 360 dp.
            Say(number, Size.TITLE, palette.card.ink, digits = true)
            trial.form?.let { Say(words.say(it), Size.BODY, palette.soft) }
        }
    }
    trial.known?.let { Say(words.ui("readers.known", "number" to it), Size.BODY, digits = true) }
    for (choice in trial.choices) Touch(
        words.ui("readers.is", "number" to choice.number), Faces.other(), "known:${choice.number.filterNot { it == ' ' }}",
        { hand.send(choice.act) }, Modifier.fillMaxWidth(), Mark.TICK,
    )
}

@Composable
private fun Line(reader: ReaderLine, hand: Hand) {
    val words = words
    val name = words.say(reader.name)
    Card(Modifier.testTag("reader-line:${reader.id}")) {
        Row(verticalAlignment = Alignment.CenterVertically) {
            androidx.compose.foundation.layout.Column(Modifier.weight(1f).semantics(mergeDescendants = true) {}) {
                Row(verticalAlignment = Alignment.CenterVertically) {
                    Sign(markOf(reader), palette.card.ink, 22.dp)
                    Spacer(Modifier.width(8.dp))
                    Say(name, Size.STRONG, palette.card.ink)
                }
                Say(words.say(reader.state), Size.BODY, palette.card.ink)
                Say((listOf(reader.carrier) + reader.notes).joinToString(" · ", transform = words::say), Size.SMALL, palette.soft)
            }
            val choose = reader.choose
            if (choose != null) {
                val use = words.ui("readers.use", "reader" to name)
                Touch("", Faces.other(), "reader-use:${reader.id}", { hand.send(choose) },
                    Modifier.semantics { contentDescription = use }, Mark.NEXT)
            }
        }
    }
}

private fun markOf(reader: ReaderLine) = when {
    reader.link == ReaderLink.CONNECTED -> Mark.READER
    reader.link == ReaderLink.LOOKING -> Mark.AGAIN
    reader.link == ReaderLink.LOST -> Mark.READER_GONE
    else -> Mark.DOT
}

/** The keys to type what is printed with the known chip. */
@Composable
fun readersFoot(screen: ReadersScreen, local: LocalChoice, hand: Hand): Foot? {
    var pad by local.pad
    if (pad == null || !screen.mayType) return null
    val words = words
    return Foot(replacesOffers = true, keys = true) {
        Say(words.ui("readers.type_hint"), Size.BODY_STRONG)
        Keypad("known-pad", 9, 15, secret = false, mayShow = false, onEnter = { pad = null; hand.send(Act.KnownChip(it)) }, onClose = { pad = null })
    }
}
