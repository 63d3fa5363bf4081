package standsquare.screens.steps

import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import standsquare.screens.look.*
import standsquare.view.SlipScreen

/** The handler's slip: the code to photograph, its line, and why. */
@Composable
fun Slip(screen: SlipScreen) {
    val words = words
    Say(words.ui("slip.photograph"), Size.BODY)
    Code(screen.code, words.ui("slip.code"))
    Card(Modifier.testTag("slip-line")) { Statement(screen.line) }
    if (screen.reasons.isNotEmpty()) {
        Heading(words.ui("slip.why"))
        Points(screen.reasons.map(words::say))
    }
}
