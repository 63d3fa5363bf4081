package standsquare.screens.steps

import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import standsquare.screens.frame.Foot
import standsquare.screens.frame.Hand
import standsquare.screens.frame.LocalChoice
import standsquare.screens.look.*
import standsquare.view.SignListScreen

/** The list that is signed at the close: exactly what is signed, a line a dog. */
@Composable
fun SignList(screen: SignListScreen) {
    WhyNot(screen.seats)
    Card(Modifier.testTag("list")) {
        Heading(words.ui("sign.statement"))
        Statement(screen.statement)
    }
}

/** The measurers' names to tap. */
@Composable
fun signListFoot(screen: SignListScreen, local: LocalChoice, hand: Hand): Foot =
    seatsFoot(screen.seats, screen.minDigits.toInt(), screen.maxDigits.toInt(), local, hand)
