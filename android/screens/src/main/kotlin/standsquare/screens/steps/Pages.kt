package standsquare.screens.steps

import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.Row
import androidx.compose.runtime.Composable
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.semantics
import standsquare.screens.frame.Hand
import standsquare.screens.look.*
import standsquare.view.PageLine
import standsquare.view.PageScreen

/** An earlier session: its dogs, what was put right and what happened, and where it all is. */
@Composable
fun Past(screen: PageScreen, hand: Hand) = Page(screen, hand)

/** What this phone knows of a dog, newest first. */
@Composable
fun History(screen: PageScreen, hand: Hand) = Page(screen, hand)

/** Lines to read under headings. */
@Composable
fun Page(screen: PageScreen, hand: Hand) {
    val words = words
    for (section in screen.sections) {
        Heading(words.say(section.heading))
        section.none?.let { Say(words.say(it), Size.BODY) }
        for (line in section.lines) Line(line, hand)
    }
}

@Composable
private fun Line(line: PageLine, hand: Hand) = Card(Modifier.testTag("page:${line.id}")) {
    val words = words
    val heading = words.say(line.heading)
    Row(verticalAlignment = Alignment.CenterVertically) {
        Column(Modifier.weight(1f).semantics(mergeDescendants = true) {}) {
            Say(heading, Size.STRONG, palette.card.ink)
            for (note in line.notes) Say(words.say(note), Size.BODY, palette.card.ink, digits = true)
            line.whereabouts?.let { Where(it) }
        }
        val open = line.open
        if (open != null) {
            val name = words.ui("page.open", "what" to heading)
            Touch("", Faces.other(), "open:${line.id}", { hand.send(open) }, Modifier.semantics { contentDescription = name }, Mark.BOOK)
        }
    }
}
