package standsquare.screens.steps

import androidx.compose.foundation.Canvas
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.height
import androidx.compose.foundation.layout.width
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.geometry.Size as Extent
import androidx.compose.ui.graphics.StrokeCap
import androidx.compose.ui.graphics.drawscope.Stroke
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.unit.dp
import standsquare.screens.look.*
import standsquare.view.SurfaceScreen
import standsquare.view.Tone

/** Is the surface level: the phone lies on it twice, turned half round between. */
@Composable
fun Surface(screen: SurfaceScreen) {
    val words = words
    val instruction = words.say(screen.instruction)
    when (screen.level) {
        true -> Toned(Tone.GOOD, instruction, "level:true", size = Size.STRONG)
        false -> Toned(Tone.BAD, instruction, "level:false", size = Size.STRONG)
        null -> {
            Say(instruction, Size.STRONG, modifier = Modifier.testTag("level:unknown"))
            PhoneOnTable(turned = screen.taken > 0u)
            Say(words.ui("surface.reading", "taken" to (screen.taken + 1u).toString()), Size.BODY, palette.soft)
        }
    }
    screen.tiltMdeg?.let { tilt ->
        Card {
            Say(words.ui("surface.tilt", "tilt" to words.degrees(tilt), "limit" to words.degrees(screen.limitMdeg)),
                Size.BODY_STRONG, palette.card.ink, digits = true)
        }
    }
}

/** The table from above with the phone on it; an arrow when it has to be turned. */
@Composable
private fun PhoneOnTable(turned: Boolean) {
    val colours = palette
    Canvas(Modifier.fillMaxWidth().height(190.dp)) {
        val line = Stroke(3.dp.toPx(), cap = StrokeCap.Round)
        val middle = Offset(size.width / 2, size.height / 2)
        val table = Extent(size.width * 0.8f, size.height * 0.92f)
        drawRect(colours.card.ground, Offset(middle.x - table.width / 2, middle.y - table.height / 2), table)
        drawRect(colours.line, Offset(middle.x - table.width / 2, middle.y - table.height / 2), table, style = line)
        val phone = Extent(62.dp.toPx(), 118.dp.toPx())
        drawRoundRect(colours.page.ink, Offset(middle.x - phone.width / 2, middle.y - phone.height / 2), phone,
            androidx.compose.ui.geometry.CornerRadius(10.dp.toPx()), style = line)
        // The dot is the phone's lower end: it changes sides between the readings.
        drawCircle(colours.page.ink, 5.dp.toPx(), middle + Offset(0f, (if (turned) -44 else 44).dp.toPx()))
        if (turned) {
            val r = 84.dp.toPx()
            drawArc(colours.hoop, -60f, 120f, false, middle - Offset(r, r), Extent(2 * r, 2 * r), style = Stroke(5.dp.toPx(), cap = StrokeCap.Round))
            val tip = middle + Offset(r * 0.5f, r * 0.866f)
            drawLine(colours.hoop, tip, tip + Offset(20.dp.toPx(), 0f), 5.dp.toPx(), StrokeCap.Round)
            drawLine(colours.hoop, tip, tip + Offset(5.dp.toPx(), -20.dp.toPx()), 5.dp.toPx(), StrokeCap.Round)
        }
    }
}
