package standsquare.screens.steps

import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import standsquare.screens.frame.Foot
import standsquare.screens.frame.Hand
import standsquare.screens.frame.LocalChoice
import standsquare.screens.look.*
import standsquare.view.UnlockScreen

/** Where a session is signed once: each measurer's PIN, for the dogs that follow. */
@Composable
fun Unlock(screen: UnlockScreen) {
    Card(Modifier.testTag("unlock")) { Say(words.say(screen.why), Size.BODY, palette.card.ink) }
}

/** The measurers' names to tap. */
@Composable
fun unlockFoot(screen: UnlockScreen, local: LocalChoice, hand: Hand): Foot =
    seatsFoot(screen.seats, screen.minDigits.toInt(), screen.maxDigits.toInt(), local, hand)
