package standsquare.screens.steps

import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import standsquare.screens.look.*
import standsquare.view.HomeScreen
import standsquare.view.SessionLine
import standsquare.view.Tone

/** Nothing under way: earlier sessions, and whether a session can begin. */
@Composable
fun Home(screen: HomeScreen) {
    val words = words
    if (screen.roster) Toned(Tone.GOOD, words.ui("home.roster"), "roster")
    else Toned(Tone.CARE, words.ui("home.no_roster"), "roster")
    DogDrawing(hoop = true, Modifier.fillMaxWidth())
    Heading(words.ui("home.earlier"))
    if (screen.sessions.isEmpty()) Say(words.ui("home.none"), Size.BODY, palette.soft)
    for (session in screen.sessions) Earlier(session)
}

@Composable
private fun Earlier(session: SessionLine) = Card(Modifier.testTag("session:${session.id}")) {
    val words = words
    Say(words.day(session.day), Size.STRONG, palette.card.ink)
    Say("${session.venue} · ${words.counted("session.dogs", session.dogs.toLong())}", Size.BODY, palette.card.ink)
    if (session.waiting == 0u) Small(Mark.OFFICE, words.ui("session.sent"))
    else Small(Mark.SEND, words.counted("session.waiting", session.waiting.toLong()))
}
