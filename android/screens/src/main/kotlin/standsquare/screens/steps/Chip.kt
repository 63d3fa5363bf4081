package standsquare.screens.steps

import androidx.compose.foundation.background
import androidx.compose.foundation.border
import androidx.compose.foundation.layout.ExperimentalLayoutApi
import androidx.compose.foundation.layout.FlowRow
import androidx.compose.foundation.layout.defaultMinSize
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.padding
import androidx.compose.runtime.Composable
import androidx.compose.runtime.getValue
import androidx.compose.runtime.setValue
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.unit.dp
import standsquare.screens.frame.Foot
import standsquare.screens.frame.Hand
import standsquare.screens.frame.LocalChoice
import standsquare.screens.look.*
import standsquare.view.Act
import standsquare.view.ChipScreen
import standsquare.view.ReadLine
import standsquare.view.SideBySide

/** Is it the right dog: what the reader said, beside the record book. */
@Composable
fun Chip(screen: ChipScreen) {
    val words = words
    Toned(screen.tone, words.say(screen.state), "chip:${screen.state.key}", speaks = true, size = Size.STRONG)
    screen.compare?.let { Compare(it) }
    if (screen.reads.isNotEmpty()) {
        Heading(words.ui("chip.reads"))
        for (read in screen.reads) Heard(read)
    }
    if (screen.places.isNotEmpty()) {
        Heading(words.ui("chip.places"))
        Points(screen.places.map(words::say))
    }
}

@Composable
private fun Heard(read: ReadLine) = Card(Modifier.testTag("read:${read.number}").semantics(mergeDescendants = true) {}) {
    val words = words
    Say(read.number, Size.STRONG, palette.card.ink, digits = true)
    Say("${words.say(read.proof)}, ${words.counted("chip.times", read.count.toLong())}", Size.BODY, palette.card.ink)
    for (flag in read.flags) Small(Mark.CARE, words.say(flag))
}

/** The two numbers digit over digit; those that differ are framed and underlined as well as coloured. */
@OptIn(ExperimentalLayoutApi::class)
@Composable
private fun Compare(side: SideBySide) = Card(Modifier.testTag("compare")) {
    val words = words
    val differs = side.differsAt.map { it.toInt() }.toSet()
    for ((label, number) in listOf("chip.in_book" to side.book, "chip.read" to side.read)) {
        Say(words.ui(label), Size.SMALL, palette.soft)
        val spoken = number.toList().joinToString(" ")
        FlowRow(Modifier.semantics(mergeDescendants = true) { contentDescription = spoken }) {
            number.forEachIndexed { n, digit ->
                val apart = if (n > 0 && n % 3 == 0) 7.dp else 0.dp
                val marked = n in differs
                Say(
                    digit.toString(), Size.STRONG, if (marked) palette.bad.ink else palette.card.ink,
                    Modifier.padding(start = apart)
                        .then(if (marked) Modifier.background(palette.bad.ground).border(2.dp, palette.bad.ink) else Modifier)
                        .padding(horizontal = 2.dp).defaultMinSize(minWidth = 13.dp),
                    digits = true,
                )
            }
        }
    }
    if (differs.isNotEmpty()) Small(Mark.CROSS, words.ui("chip.differs_at"))
}

/** Typing a number from the reader's own display is always one tap away: a reader dies without warning. */
@Composable
fun chipFoot(screen: ChipScreen, local: LocalChoice, hand: Hand): Foot? {
    var pad by local.pad
    if (!screen.mayType) return null
    val words = words
    if (pad == null) return Foot(replacesOffers = false, keys = false) {
        Touch(words.ui("chip.type"), Faces.other(), "chip_type", { pad = "" }, Modifier.fillMaxWidth(), Mark.PEN)
    }
    return Foot(replacesOffers = true, keys = true) {
        Say(words.ui("chip.type_hint"), Size.BODY_STRONG)
        Keypad("chip-pad", 9, 15, secret = false, mayShow = false, onEnter = { pad = null; hand.send(Act.ChipTyped(it)) }, onClose = { pad = null })
    }
}
