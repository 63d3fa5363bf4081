package standsquare.screens.steps

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import standsquare.screens.frame.Hand
import standsquare.screens.look.*
import standsquare.view.Act
import standsquare.view.HandlerScreen
import standsquare.view.Question
import standsquare.view.Tone

/** What the handler is asked before the dog is touched. */
@Composable
fun Handler(screen: HandlerScreen, hand: Hand) {
    for (question in screen.questions) Asked(question, hand)
}

@Composable
private fun Asked(question: Question, hand: Hand) = Card(Modifier.testTag("question:${question.id}")) {
    val words = words
    Say(words.say(question.text), Size.STRONG, palette.card.ink)
    Row(Modifier.fillMaxWidth(), Arrangement.spacedBy(GAP)) {
        Answer(question, false, "answer.no", hand, Modifier.weight(1f))
        Answer(question, true, "answer.yes", hand, Modifier.weight(1f))
    }
    question.caution?.let { Toned(Tone.CARE, words.say(it), "answer-caution:${question.id}") }
}

@Composable
private fun Answer(question: Question, yes: Boolean, key: String, hand: Hand, modifier: Modifier) {
    val chosen = question.answer == yes
    Touch(words.ui(key), if (chosen) Faces.chosen() else Faces.other(), "answer:${question.id}:${if (yes) "yes" else "no"}",
        { hand.send(Act.HandlerAnswer(question.id, yes)) }, modifier, if (chosen) Mark.TICK else null, chosen = chosen)
}
