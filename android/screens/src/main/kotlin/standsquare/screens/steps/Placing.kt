package standsquare.screens.steps

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.Spacer
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.width
import androidx.compose.foundation.layout.widthIn
import androidx.compose.runtime.Composable
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.unit.dp
import standsquare.screens.look.*
import standsquare.view.PlacingLine
import standsquare.view.PlacingScreen
import standsquare.view.PlacingSeen

/** Lower the hoop: which one, and how its placings stand so far. */
@Composable
fun Placing(screen: PlacingScreen) {
    val words = words
    screen.by?.let { Say(words.ui("placing.by", "name" to it), Size.STRONG) }
    Card(Modifier.testTag("hoop-in-hand:${screen.hoop.id}")) {
        Row(verticalAlignment = Alignment.CenterVertically) {
            Column(Modifier.weight(1f)) {
                Say(words.ui("placing.hoop", "hoop" to screen.hoop.label, "serial" to screen.hoop.serial), Size.STRONG, palette.card.ink)
                Say("${words.centimetres(screen.hoop.nominalUm)} cm", Size.HUGE, palette.card.ink)
            }
            if (screen.placings.isEmpty()) DogDrawing(hoop = true, Modifier.width(150.dp))
        }
        Say(
            if (screen.valid == 0u) words.ui("placing.first", "needed" to screen.needed.toString())
            else words.ui("placing.valid", "valid" to screen.valid.toString(), "needed" to screen.needed.toString()),
            Size.BODY_STRONG, palette.card.ink, Modifier.testTag("valid:${screen.valid}"),
        )
        screen.keys?.let { Say(words.say(it), Size.SMALL, palette.soft, Modifier.testTag("two-keys")) }
    }
    if (screen.placings.isNotEmpty()) {
        // By hoop, in the order in which they were used.
        for ((hoop, placings) in screen.placings.groupBy { it.hoop }) {
            Say(hoop, Size.SMALL, palette.soft)
            val columns = if (LocalDensity.current.fontScale >= 1.3f) 1 else 2
            for (row in placings.chunked(columns)) Row(Modifier.fillMaxWidth(), Arrangement.spacedBy(GAP)) {
                for (placing in row) Placed(placing, Modifier.weight(1f))
                if (row.size < columns) Spacer(Modifier.weight(1f))
            }
        }
    }
}

@Composable
private fun Placed(placing: PlacingLine, modifier: Modifier) {
    val words = words
    val (mark, key) = when (placing.seen) {
        PlacingSeen.BASE_FLAT -> Mark.HOOP_FLAT to "placing.flat"
        PlacingSeen.BASE_NOT_FLAT -> Mark.HOOP_TILTED to "placing.not_flat"
        PlacingSeen.DOG_MOVED -> Mark.MOVED to "placing.moved"
    }
    Row(
        modifier.testTag("placing:${placing.number}").semantics(mergeDescendants = true) {}
            .padding(horizontal = 4.dp),
        verticalAlignment = Alignment.CenterVertically,
    ) {
        Say("${placing.number}", Size.STRONG, modifier = Modifier.widthIn(min = 22.dp), digits = true)
        Sign(mark, if (placing.counts) palette.page.ink else palette.soft, 30.dp)
        Spacer(Modifier.width(10.dp))
        Say(words.ui(key), if (placing.counts) Size.BODY_STRONG else Size.BODY,
            if (placing.counts) palette.page.ink else palette.soft)
    }
}
