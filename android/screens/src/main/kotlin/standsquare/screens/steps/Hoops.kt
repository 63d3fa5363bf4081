package standsquare.screens.steps

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.semantics
import standsquare.screens.frame.Hand
import standsquare.screens.look.*
import standsquare.view.HoopLine
import standsquare.view.HoopsScreen
import standsquare.view.Tone

/** Every hoop is looked at before the first dog. */
@Composable
fun Hoops(screen: HoopsScreen, hand: Hand) {
    Say(words.ui("hoop.look"), Size.STRONG)
    for (hoop in screen.hoops) Hoop(hoop, hand)
}

@Composable
private fun Hoop(hoop: HoopLine, hand: Hand) = Card(Modifier.testTag("hoop:${hoop.id}")) {
    val words = words
    Column(Modifier.semantics(mergeDescendants = true) {}) {
        Say(hoop.label, Size.TITLE, palette.card.ink)
        Say(words.ui("hoop.serial", "serial" to hoop.serial), Size.BODY_STRONG, palette.card.ink)
        Say(words.ui("hoop.checked", "day" to words.day(hoop.checked)), Size.BODY, palette.soft)
    }
    hoop.note?.let { Toned(Tone.CARE, words.say(it), "hoop-note:${hoop.id}") }
    Row(Modifier.fillMaxWidth(), Arrangement.spacedBy(GAP)) {
        val good = hoop.good == true
        val bad = hoop.good == false
        // Beside its mark, a word no longer fits in half the width.
        val large = LocalDensity.current.fontScale >= 1.3f
        Touch(words.ui("hoop.good"), if (good) Faces.chosen() else Faces.other(), "hoop-good:${hoop.id}",
            { hand.send(hoop.sayGood) }, Modifier.weight(1f), Mark.TICK, chosen = good, stacked = large)
        Touch(words.ui("hoop.bad"), if (bad) Faces.stop().copy(size = Size.BODY_STRONG) else Faces.other(), "hoop-bad:${hoop.id}",
            { hand.send(hoop.sayBad) }, Modifier.weight(1f), Mark.CROSS, chosen = bad, stacked = large)
    }
}
