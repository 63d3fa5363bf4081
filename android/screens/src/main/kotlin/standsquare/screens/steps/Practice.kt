package standsquare.screens.steps

import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.Spacer
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.width
import androidx.compose.runtime.Composable
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.unit.dp
import standsquare.screens.frame.Foot
import standsquare.screens.frame.Hand
import standsquare.screens.frame.LocalChoice
import standsquare.screens.look.*
import standsquare.view.Act
import standsquare.view.DrillScreen
import standsquare.view.FeedbackLine
import standsquare.view.FeedbackScreen
import standsquare.view.PlacingSeen
import standsquare.view.PracticeScreen
import standsquare.view.ShadowScreen
import standsquare.view.StopChoice

/** Who practises, or looks at their own figures. */
@Composable
fun Practice(screen: PracticeScreen, hand: Hand) {
    Say(words.ui("practice.who"), Size.BODY)
    Choices(screen.people, "practice", hand)
}

/** What a trainee would have found: nothing here tells what the measurers found. */
@Composable
fun Shadow(screen: ShadowScreen, hand: Hand) {
    val words = words
    Say(words.ui("shadow.ask", "name" to screen.name), Size.STRONG)
    Choices(screen.categories, "shadow", hand)
    Say(words.ui("shadow.unseen"), Size.BODY, palette.soft)
}

@Composable
private fun Choices(choices: List<StopChoice>, tag: String, hand: Hand) {
    for (choice in choices) Touch(
        words.say(choice.label), Faces.other().copy(height = 68.dp), "$tag:${choice.id}", { hand.send(choice.act) },
        Modifier.fillMaxWidth(),
    )
}

/** One placing of a drill: the trainer sets the model, and the other places the hoop. */
@Composable
fun Drill(screen: DrillScreen) {
    val words = words
    Say(words.ui("drill.number", "number" to screen.number.toString(), "of" to screen.of.toString()), Size.STRONG,
        modifier = Modifier.testTag("drill:${screen.number}"))
    Card(Modifier.testTag("set-to")) {
        Say(words.ui("drill.set", "height" to "${words.centimetres(screen.setToUm)} cm"), Size.TITLE, palette.card.ink, digits = true)
        Say(words.ui("drill.hidden", "name" to screen.name), Size.BODY, palette.card.ink)
    }
    Say(words.ui("drill.by", "name" to screen.name, "hoop" to screen.hoop), Size.BODY_STRONG)
}

/** How a drill went, placing by placing. */
@Composable
fun Feedback(screen: FeedbackScreen) {
    val words = words
    Say(screen.name, Size.STRONG)
    Card(Modifier.testTag("right")) { Say(words.say(screen.right), Size.TITLE, palette.card.ink, digits = true) }
    for (line in screen.lines) Placed(line)
    Say(words.say(screen.whoSigns), Size.BODY, palette.soft)
}

@Composable
private fun Placed(line: FeedbackLine) {
    val words = words
    val seen = words.ui(
        when (line.seen) {
            PlacingSeen.BASE_FLAT -> "placing.flat"
            PlacingSeen.BASE_NOT_FLAT -> "placing.not_flat"
            PlacingSeen.DOG_MOVED -> "placing.moved"
        },
    )
    val (mark, key) = when (line.right) {
        true -> Mark.TICK to "feedback.right"
        false -> Mark.CROSS to "feedback.wrong"
        null -> Mark.DOT to "feedback.void"
    }
    Row(Modifier.testTag("line:${line.number}").semantics(mergeDescendants = true) {}, verticalAlignment = Alignment.CenterVertically) {
        Sign(mark, palette.page.ink, 24.dp)
        Spacer(Modifier.width(10.dp))
        Say("${words.centimetres(line.heightUm)} cm: $seen, ${words.ui(key)}", Size.BODY, modifier = Modifier.weight(1f), digits = true)
    }
}

/** The trainers who can sign the record of it here. */
@Composable
fun feedbackFoot(screen: FeedbackScreen, local: LocalChoice, hand: Hand): Foot? =
    if (screen.seats.isEmpty()) null
    else seatsFoot(screen.seats, screen.minDigits.toInt(), screen.maxDigits.toInt(), local, hand) { person, pin -> Act.SignPractice(person, pin) }
