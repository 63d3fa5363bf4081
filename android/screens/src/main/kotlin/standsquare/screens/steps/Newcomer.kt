package standsquare.screens.steps

import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.remember
import androidx.compose.runtime.setValue
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.unit.dp
import standsquare.screens.frame.Hand
import standsquare.screens.look.*
import standsquare.view.Act
import standsquare.view.NewcomerScreen

/** What the record book of a dog that is not on the list says, copied once. */
@Composable
fun Newcomer(screen: NewcomerScreen, hand: Hand) {
    val words = words
    var name by remember { mutableStateOf("") }
    var born by remember { mutableStateOf("") }
    var category by remember { mutableStateOf("") }
    var measured by remember { mutableStateOf("") }
    fun send() = hand.send(Act.DescribeNewcomer(name, born, category, measured))

    Card(Modifier.testTag("new-chip")) { Say(screen.chip, Size.STRONG, palette.card.ink, digits = true) }
    Say(words.ui("newcomer.from_book"), Size.BODY)
    TypedLine("newcomer:name", words.ui("newcomer.name"), name, { name = it }, digits = false, last = false) {}
    TypedLine("newcomer:born", words.ui("newcomer.born"), born, { born = it }, digits = true) { send() }
    Heading(words.ui("newcomer.measured"))
    Choice("", words.ui("newcomer.never"), category) { category = ""; measured = "" }
    for (one in screen.categories) Choice(one.id, one.label, category) { category = one.id }
    if (category.isNotEmpty())
        TypedLine("newcomer:on", words.ui("newcomer.on"), measured, { measured = it }, digits = true) { send() }
    Touch(words.ui("newcomer.done"), Faces.main().copy(height = 64.dp), "newcomer:done", { send() }, Modifier.fillMaxWidth(), Mark.TICK)
}

@Composable
private fun Choice(id: String, label: String, chosen: String, onTap: () -> Unit) {
    val it = id == chosen
    Touch(label, if (it) Faces.chosen() else Faces.other(), "newcomer:was:$id", onTap, Modifier.fillMaxWidth(),
        if (it) Mark.TICK else Mark.DOT, chosen = it)
}
