package standsquare.screens.steps

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.Spacer
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.width
import androidx.compose.runtime.Composable
import androidx.compose.runtime.getValue
import androidx.compose.runtime.setValue
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.unit.dp
import standsquare.screens.frame.Foot
import standsquare.screens.frame.Hand
import standsquare.screens.frame.LocalChoice
import standsquare.screens.look.*
import standsquare.view.Act
import standsquare.view.DogLine
import standsquare.view.DogState
import standsquare.view.QueueScreen

/** From this scale on, what can be tapped stands under the words. */
private const val LARGE_TYPE = 1.3f

/** Who is next, and who is done. */
@Composable
fun Queue(screen: QueueScreen, local: LocalChoice, hand: Hand) {
    val words = words
    screen.newChip?.let { Toned(standsquare.view.Tone.CARE, words.ui("queue.new_chip", "chip" to it), "new-chip") }
    Heading(words.ui("queue.waiting"))
    if (screen.waiting.isEmpty()) Say(words.ui("queue.empty"), Size.BODY)
    for (dog in screen.waiting) DogRow(dog, hand)
    var pad by local.pad
    if (screen.waiting.isNotEmpty() && pad == null)
        Touch(words.ui("queue.find"), Faces.other(), "find_dog", { pad = "" }, Modifier.fillMaxWidth(), Mark.BOOK)
    if (screen.done.isNotEmpty()) {
        Heading(words.ui("queue.done"))
        for (dog in screen.done) DogRow(dog, hand)
    }
}

/** The keys to type the number that is printed in a record book. */
@Composable
fun queueFoot(local: LocalChoice, hand: Hand): Foot? {
    var pad by local.pad
    if (pad == null) return null
    val words = words
    return Foot(replacesOffers = true, keys = true) {
        Say(words.ui("queue.find_hint"), Size.BODY_STRONG)
        Keypad("find-pad", 9, 15, secret = false, mayShow = false, onEnter = { pad = null; hand.send(Act.BookCode(it)) }, onClose = { pad = null })
    }
}

/** A dog in a list; [hand] makes it callable where the view says so. */
@Composable
fun DogRow(dog: DogLine, hand: Hand?) {
    val words = words
    val (mark, state) = when (dog.state) {
        DogState.WAITING -> Mark.DOT to "dog.waiting"
        DogState.AT_TABLE -> Mark.NEXT to "dog.at_table"
        DogState.PARKED -> Mark.CARE to "dog.parked"
        DogState.AWAITING -> Mark.PEN to "dog.awaiting"
        DogState.CONFIRMED -> Mark.PEN to "dog.confirmed"
        DogState.MEASURED -> Mark.TICK to "dog.measured"
        DogState.NOT_TODAY -> Mark.OCTAGON to "dog.not_today"
    }
    // Beside large type there is no room left for words.
    val beside = LocalDensity.current.fontScale < LARGE_TYPE
    Card(Modifier.testTag("line:${dog.id}")) {
        Row(horizontalArrangement = Arrangement.spacedBy(GAP), verticalAlignment = Alignment.CenterVertically) {
            Column(Modifier.weight(1f).semantics(mergeDescendants = true) {}) {
                Row(verticalAlignment = Alignment.CenterVertically) {
                    Sign(mark, palette.card.ink, 22.dp)
                    Spacer(Modifier.width(8.dp))
                    Say(dog.name, Size.STRONG, palette.card.ink)
                }
                Say(words.ui("dog.handler", "handler" to dog.handler), Size.SMALL, palette.soft)
                val note = dog.note?.let(words::say)
                if (note != null) Say(note, Size.BODY, palette.card.ink)
                // A dog that is measured says so by its category.
                val said = dog.state == DogState.WAITING || note != null && dog.state in listOf(DogState.MEASURED, DogState.NOT_TODAY)
                dog.wait?.let { Say(words.say(it), Size.BODY, palette.card.ink) }
                dog.beside?.let { Say(words.say(it), Size.BODY, palette.card.ink) }
                if (!said) Say(words.ui(state), Size.BODY_STRONG, palette.card.ink)
                dog.whereabouts?.let { Where(it) }
            }
            if (beside && hand != null) Ways(dog, hand)
        }
        if (!beside && hand != null) Row(horizontalArrangement = Arrangement.spacedBy(GAP)) { Ways(dog, hand) }
    }
}

/** What can be done with a dog of the list: look at it, put something right, call it. */
@Composable
private fun Ways(dog: DogLine, hand: Hand) {
    val words = words
    val ways = listOf(
        Way(dog.look, "look:${dog.id}", "queue.look", Mark.BOOK),
        Way(dog.putRight, "right:${dog.id}", "queue.put_right", Mark.PEN),
        Way(dog.call, "dog:${dog.id}", "queue.call", Mark.NEXT),
    )
    for (way in ways) {
        val act = way.act ?: continue
        val name = words.ui(way.key, "dog" to dog.name)
        Touch("", Faces.other(), way.tag, { hand.send(act) }, Modifier.semantics { contentDescription = name }, way.mark)
    }
}

private class Way(val act: Act?, val tag: String, val key: String, val mark: Mark)
