package standsquare.screens.steps

import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.semantics
import standsquare.screens.frame.Hand
import standsquare.screens.look.*
import standsquare.screens.words.Language
import standsquare.view.HomeScreen
import standsquare.view.SessionLine
import standsquare.view.Tone

/** Nothing under way: earlier sessions, and whether a session can begin. */
@Composable
fun Home(screen: HomeScreen, hand: Hand, choose: (Language) -> Unit) {
    val words = words
    if (screen.roster) Toned(Tone.GOOD, words.ui("home.roster"), "roster")
    else Toned(Tone.CARE, words.ui("home.no_roster"), "roster")
    DogDrawing(hoop = true, Modifier.fillMaxWidth())
    Languages(choose)
    Heading(words.ui("home.earlier"))
    if (screen.sessions.isEmpty()) Say(words.ui("home.none"), Size.BODY, palette.soft)
    for (session in screen.sessions) Earlier(session, hand)
}

@Composable
private fun Earlier(session: SessionLine, hand: Hand) = Card(Modifier.testTag("session:${session.id}")) {
    val words = words
    val day = words.day(session.day)
    Row(verticalAlignment = Alignment.CenterVertically) {
        Column(Modifier.weight(1f).semantics(mergeDescendants = true) {}) {
            Say(day, Size.STRONG, palette.card.ink)
            Say("${session.venue} · ${words.counted("session.dogs", session.dogs.toLong())}", Size.BODY, palette.card.ink)
            if (session.waiting == 0u) Small(Mark.OFFICE, words.ui("session.sent"))
            else Small(Mark.SEND, words.counted("session.waiting", session.waiting.toLong()))
        }
        val name = words.ui("page.open", "what" to day)
        Touch("", Faces.other(), "open:${session.id}", { hand.send(session.open) }, Modifier.semantics { contentDescription = name }, Mark.BOOK)
    }
}
