package standsquare.screens.steps

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.IntrinsicSize
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.fillMaxHeight
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.height
import androidx.compose.runtime.Composable
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.remember
import androidx.compose.runtime.setValue
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.unit.dp
import standsquare.screens.frame.Hand
import standsquare.screens.look.*
import standsquare.view.Act
import standsquare.view.IncidentScreen

/** What happened, and to whom: one tap records it, with the words typed before, if any. */
@Composable
fun Incident(screen: IncidentScreen, hand: Hand) {
    val words = words
    var said by remember { mutableStateOf("") }
    fun with(act: Act) = if (act is Act.RecordIncident) act.copy(words = said) else act
    val columns = if (LocalDensity.current.fontScale >= 1.3f) 1 else 2
    for (row in screen.happened.chunked(columns)) Row(Modifier.fillMaxWidth().height(IntrinsicSize.Min), Arrangement.spacedBy(GAP)) {
        for (one in row) Touch(
            words.say(one.label), Faces.other().copy(height = 64.dp), "incident:${one.id}", { hand.send(with(one.act)) },
            Modifier.weight(1f).fillMaxHeight(), stacked = true,
        )
    }
    TypedLine("incident:words", words.ui("incident.words"), said, { said = it }, digits = false) {}
    Say(words.ui("incident.no_names"), Size.SMALL, palette.soft)
}
