package standsquare.screens.steps

import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.remember
import androidx.compose.runtime.setValue
import androidx.compose.ui.Modifier
import standsquare.screens.frame.Hand
import standsquare.screens.look.*
import standsquare.view.Act
import standsquare.view.ObjectionScreen

/** The handler's words, if they wish, and one tap that notes the objection. */
@Composable
fun Objection(screen: ObjectionScreen, hand: Hand) {
    val words = words
    var said by remember(screen.about) { mutableStateOf("") }
    fun with(act: Act) = if (act is Act.RecordObjection) act.copy(words = said) else act
    Say(words.say(screen.about), Size.STRONG)
    TypedLine("objection:words", words.ui("objection.words"), said, { said = it.take(screen.most.toInt()) }, digits = false) {}
    Touch(words.ui("objection.record"), Faces.main(), "objection:record", { hand.send(with(screen.record)) },
        Modifier.fillMaxWidth(), Mark.PEN)
    Heading(words.ui("objection.next"))
    Points(screen.next.map { words.say(it) })
    if (screen.before.isNotEmpty()) {
        Heading(words.ui("objection.before"))
        Points(screen.before.map { words.say(it) })
    }
}
