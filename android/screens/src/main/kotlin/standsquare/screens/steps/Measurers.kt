package standsquare.screens.steps

import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.unit.dp
import standsquare.screens.frame.Hand
import standsquare.screens.look.*
import standsquare.view.MeasurersScreen
import standsquare.view.PersonLine

/** Who measures today. */
@Composable
fun Measurers(screen: MeasurersScreen, hand: Hand) {
    Say(words.counted("measurers.needed", screen.needed.toLong()), Size.BODY)
    for (person in screen.people) Person(person, hand)
}

@Composable
private fun Person(person: PersonLine, hand: Hand) {
    val words = words
    val seated = person.seated
    val face = if (seated) Faces.chosen() else Faces.other()
    Touch(
        "${person.name}, ${person.number}", face.copy(size = Size.STRONG, height = 68.dp), "seat:${person.id}",
        { hand.send(person.toggle) }, Modifier.fillMaxWidth(), if (seated) Mark.TICK else Mark.DOT,
        enabled = person.whyNot == null, whyNot = person.whyNot?.let(words::say), chosen = seated,
    )
    person.note?.let { Say(words.say(it), Size.SMALL, palette.soft) }
}
