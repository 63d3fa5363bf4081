package standsquare.screens.steps

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.ExperimentalLayoutApi
import androidx.compose.foundation.layout.FlowRow
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.runtime.remember
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import standsquare.screens.look.*
import standsquare.screens.look.Faces
import standsquare.screens.look.GAP
import standsquare.screens.look.Touch
import standsquare.screens.words.Language
import standsquare.screens.words.Words
import standsquare.view.HomeScreen
import standsquare.view.SessionLine
import standsquare.view.Tone

/** Nothing under way: earlier sessions, and whether a session can begin. */
@Composable
fun Home(screen: HomeScreen, choose: (Language) -> Unit) {
    val words = words
    if (screen.roster) Toned(Tone.GOOD, words.ui("home.roster"), "roster")
    else Toned(Tone.CARE, words.ui("home.no_roster"), "roster")
    DogDrawing(hoop = true, Modifier.fillMaxWidth())
    Languages(choose)
    Heading(words.ui("home.earlier"))
    if (screen.sessions.isEmpty()) Say(words.ui("home.none"), Size.BODY, palette.soft)
    for (session in screen.sessions) Earlier(session)
}

/** The languages, each named in itself. */
@OptIn(ExperimentalLayoutApi::class)
@Composable
private fun Languages(choose: (Language) -> Unit) {
    val words = words
    Heading(words.ui("language"))
    FlowRow(Modifier.fillMaxWidth(), Arrangement.spacedBy(GAP), Arrangement.spacedBy(GAP)) {
        for (language in Language.entries) {
            val chosen = language == words.language
            val name = remember(language) { Words.of(language).name }
            Touch(name, if (chosen) Faces.chosen() else Faces.other(), "language:${language.code}", { choose(language) },
                mark = if (chosen) Mark.TICK else null, chosen = chosen)
        }
    }
}

@Composable
private fun Earlier(session: SessionLine) = Card(Modifier.testTag("session:${session.id}")) {
    val words = words
    Say(words.day(session.day), Size.STRONG, palette.card.ink)
    Say("${session.venue} · ${words.counted("session.dogs", session.dogs.toLong())}", Size.BODY, palette.card.ink)
    if (session.waiting == 0u) Small(Mark.OFFICE, words.ui("session.sent"))
    else Small(Mark.SEND, words.counted("session.waiting", session.waiting.toLong()))
}
