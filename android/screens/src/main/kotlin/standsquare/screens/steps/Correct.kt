package standsquare.screens.steps

import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.unit.dp
import standsquare.screens.frame.Foot
import standsquare.screens.frame.Hand
import standsquare.screens.frame.LocalChoice
import standsquare.screens.look.*
import standsquare.view.CorrectScreen

/** What was wrong, then why, then exactly what all sign. */
@Composable
fun Correct(screen: CorrectScreen, hand: Hand) {
    val words = words
    WhyNot(screen.seats)
    screen.instruction?.let { Card(Modifier.testTag("correct-scan")) { Say(words.say(it), Size.BODY, palette.card.ink) } }
    for (choice in screen.choices) Touch(
        words.say(choice.label), Faces.other().copy(height = 68.dp), "correct:${choice.id}", { hand.send(choice.act) },
        Modifier.fillMaxWidth(),
    )
    if (screen.statement.isNotEmpty()) Card(Modifier.testTag("correction")) {
        Heading(words.ui("sign.statement"))
        Statement(screen.statement)
    }
}

/** The measurers' names to tap, once there is something to sign. */
@Composable
fun correctFoot(screen: CorrectScreen, local: LocalChoice, hand: Hand): Foot? =
    if (screen.seats.isEmpty()) null
    else seatsFoot(screen.seats, screen.minDigits.toInt(), screen.maxDigits.toInt(), local, hand)
