package standsquare.screens.steps

import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import standsquare.screens.look.*
import standsquare.view.TellScreen

/** What to tell the handler, in order. */
@Composable
fun Tell(screen: TellScreen) {
    val words = words
    Heading(words.ui("tell.say"))
    screen.lines.forEachIndexed { n, line ->
        Card(Modifier.testTag("tell:${line.key}")) {
            Say(words.say(line), if (n == 0) Size.TITLE else Size.STRONG, palette.card.ink)
        }
    }
    HowSure(screen.howSure)
}
