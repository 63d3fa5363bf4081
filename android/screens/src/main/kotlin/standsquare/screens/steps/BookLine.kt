package standsquare.screens.steps

import androidx.compose.foundation.border
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.unit.dp
import standsquare.screens.look.*
import standsquare.view.BookLineScreen

/** The line to copy into the paper book: the handler's proof. */
@Composable
fun BookLine(screen: BookLineScreen) {
    Say(words.ui("book_line.copy"), Size.STRONG)
    Card(Modifier.testTag("line-to-copy").border(3.dp, palette.line, CORNER)) { Statement(screen.line, large = true) }
    HowSure(screen.howSure)
    for (line in screen.shadowed) Say(words.say(line), Size.BODY, palette.soft, Modifier.testTag("shadowed"))
}
