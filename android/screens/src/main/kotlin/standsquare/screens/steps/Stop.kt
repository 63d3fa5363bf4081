package standsquare.screens.steps

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.IntrinsicSize
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.fillMaxHeight
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.height
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.unit.dp
import standsquare.screens.frame.Hand
import standsquare.screens.look.*
import standsquare.view.StopScreen

/** Why this dog is stopped for today. */
@Composable
fun Stop(screen: StopScreen, hand: Hand) {
    val words = words
    val columns = if (LocalDensity.current.fontScale >= 1.3f) 1 else 2
    for (row in screen.reasons.chunked(columns)) Row(Modifier.fillMaxWidth().height(IntrinsicSize.Min), Arrangement.spacedBy(GAP)) {
        for (reason in row) Touch(
            words.say(reason.label), Faces.other().copy(height = 76.dp), "stop:${reason.id}", { hand.send(reason.act) },
            Modifier.weight(1f).fillMaxHeight(), stacked = true,
        )
    }
}
