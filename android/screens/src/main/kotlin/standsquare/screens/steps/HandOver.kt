package standsquare.screens.steps

import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import standsquare.screens.look.*
import standsquare.view.HandOverScreen

/** The phone goes to the next measurer, and nothing that was found goes with it. */
@Composable
fun HandOver(screen: HandOverScreen) {
    val words = words
    Card(Modifier.testTag("hand-over:${screen.person}")) {
        Say(words.ui("hand_over.to", "name" to screen.name), Size.TITLE, palette.card.ink)
        Say(words.ui("hand_over.unseen", "name" to screen.name), Size.BODY, palette.card.ink)
    }
}
