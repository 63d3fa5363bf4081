package standsquare.screens.steps

import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import standsquare.screens.look.*
import standsquare.view.CodesScreen
import standsquare.view.HeardScreen

/** Codes for another phone's camera. Which one is shown is for the core to say, by the time. */
@Composable
fun Codes(screen: CodesScreen) {
    val words = words
    Code(screen.code, words.ui("codes.alt"))
    if (screen.count > 1u) {
        val which = arrayOf("number" to screen.number.toString(), "count" to screen.count.toString())
        Say(words.ui("codes.of", *which), Size.BODY, modifier = Modifier.testTag("codes-of"))
    }
    Say(words.say(screen.how), Size.BODY)
    if (screen.says.isNotEmpty()) Card(Modifier.testTag("codes-say")) { Statement(screen.says) }
}

/** The dog in hand was measured at another table. */
@Composable
fun Heard(screen: HeardScreen) {
    val words = words
    Say(words.say(screen.known), Size.STRONG, modifier = Modifier.testTag("heard-known"))
    Say(words.say(screen.came), Size.STRONG, modifier = Modifier.testTag("heard-came"))
    Say(words.say(screen.rules), Size.BODY, modifier = Modifier.testTag("heard-rules"))
}
