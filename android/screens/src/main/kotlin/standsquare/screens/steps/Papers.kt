package standsquare.screens.steps

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.padding
import androidx.compose.runtime.Composable
import androidx.compose.runtime.getValue
import androidx.compose.runtime.setValue
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.unit.dp
import standsquare.screens.frame.Hand
import standsquare.screens.frame.LocalChoice
import standsquare.screens.look.*
import standsquare.view.Act
import standsquare.view.BookItem
import standsquare.view.BookState
import standsquare.view.PapersScreen
import standsquare.view.Tone

/** The record book, line by line: before the dog is touched. */
@Composable
fun Papers(screen: PapersScreen, local: LocalChoice, hand: Hand) {
    val words = words
    if (screen.findings.isNotEmpty()) Card {
        Heading(words.ui("papers.findings"))
        for (finding in screen.findings) Say(words.say(finding), Size.BODY_STRONG, palette.card.ink)
    }
    for (item in screen.items) Line(item, local, hand)
}

@Composable
private fun Line(item: BookItem, local: LocalChoice, hand: Hand) = Card(Modifier.testTag("item:${item.id}")) {
    val words = words
    var open by local.pad
    val choosing = open == item.id || item.state == BookState.DIFFERS || item.state == BookState.MISSING
    Row(verticalAlignment = Alignment.CenterVertically) {
        Column(Modifier.weight(1f).semantics(mergeDescendants = true) {}) {
            Say(words.say(item.label), Size.SMALL, palette.soft)
            Say(item.expected?.let(words::say) ?: words.ui("papers.there"), Size.STRONG, palette.card.ink, digits = true)
        }
        if (item.state == BookState.AGREES) Sign(Mark.TICK, palette.card.ink, 28.dp, Modifier.padding(end = 12.dp))
        if (!choosing) {
            val name = words.ui("papers.choose", "line" to words.say(item.label))
            Touch(words.ui("papers.not_so"), Faces.other(), "book-open:${item.id}", { open = item.id },
                Modifier.semantics { contentDescription = name })
        }
    }
    if (choosing) Row(Modifier.fillMaxWidth(), Arrangement.spacedBy(GAP)) {
        fun chosen(act: Act) { open = null; hand.send(act) }
        Choice(item, BookState.AGREES, "papers.agrees", Mark.TICK, ::chosen, Modifier.weight(1f))
        Choice(item, BookState.DIFFERS, "papers.differs", null, ::chosen, Modifier.weight(1f))
        Choice(item, BookState.MISSING, "papers.missing", null, ::chosen, Modifier.weight(1f))
    }
    item.advice?.let { Toned(Tone.CARE, words.say(it), "advice:${item.id}") }
}

@Composable
private fun Choice(item: BookItem, state: BookState, key: String, mark: Mark?, hand: Hand, modifier: Modifier) {
    val chosen = item.state == state
    val face = when {
        !chosen -> Faces.other()
        state == BookState.AGREES -> Faces.chosen()
        else -> Faces.stop()
    }
    Touch(words.ui(key), face.copy(size = if (chosen) Size.BODY_STRONG else Size.BODY), "book:${item.id}:${state.name.lowercase()}",
        { hand.send(Act.BookLine(item.id, state)) }, modifier, if (chosen) mark ?: Mark.CROSS else null,
        chosen = chosen, stacked = true)
}
