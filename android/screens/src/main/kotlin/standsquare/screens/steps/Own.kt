package standsquare.screens.steps

import androidx.compose.foundation.Canvas
import androidx.compose.foundation.layout.aspectRatio
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.geometry.Size as Area
import androidx.compose.ui.graphics.Path
import androidx.compose.ui.graphics.PathEffect
import androidx.compose.ui.graphics.drawscope.DrawScope
import androidx.compose.ui.graphics.drawscope.Stroke
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.semantics
import standsquare.screens.look.*
import standsquare.view.Chart
import standsquare.view.OwnScreen

/** One person's own figures; there is nobody beside them to be compared with. */
@Composable
fun Own(screen: OwnScreen) {
    val words = words
    Say(screen.name, Size.STRONG)
    screen.empty?.let { Say(words.say(it), Size.BODY, modifier = Modifier.testTag("own-empty")) }
    if (screen.figures.isNotEmpty()) Card(Modifier.testTag("figures")) {
        for (figure in screen.figures) Say(words.say(figure), Size.BODY, palette.card.ink, digits = true)
    }
    for (chart in screen.charts) Figure(chart)
}

/** A control chart: what it shows in words, and the drawing where there is enough of it. */
@Composable
private fun Figure(chart: Chart) = Card(Modifier.testTag("chart:${chart.id}")) {
    val words = words
    val title = words.say(chart.title)
    Say(title, Size.BODY_STRONG, palette.card.ink)
    Say(words.say(chart.said), Size.BODY, palette.card.ink, digits = true)
    val silence = chart.silence
    if (silence != null) {
        Say(words.say(silence), Size.BODY, palette.card.ink, Modifier.testTag("silence:${chart.id}"))
    } else {
        val out = chart.points.filter { it.outside }.joinToString { words.day(it.day) }
        val verdict = if (out.isEmpty()) words.ui("own.inside") else words.ui("own.outside", "days" to out)
        Say(words.say(chart.top), Size.SMALL, palette.card.ink)
        val colours = palette
        Canvas(Modifier.fillMaxWidth().aspectRatio(2f).semantics { contentDescription = "$title. $verdict" }) { lines(chart, colours) }
        Say(words.say(chart.bottom), Size.SMALL, palette.card.ink)
        Say(verdict, Size.BODY, palette.card.ink)
    }
}

private fun DrawScope.lines(chart: Chart, colours: Palette) {
    val ink = colours.card.ink
    val span = (chart.to - chart.from).coerceAtLeast(1).toFloat()
    // Points at the very edge stay whole.
    val edge = 12f
    fun y(value: Int) = edge + (size.height - 2 * edge) * (1f - (value - chart.from) / span)
    fun x(n: Int) = edge + (size.width - 2 * edge) * n / (chart.points.size - 1).coerceAtLeast(1)
    fun line(of: (standsquare.view.ChartPoint) -> Int) = Path().apply {
        chart.points.forEachIndexed { n, p -> if (n == 0) moveTo(x(n), y(of(p))) else lineTo(x(n), y(of(p))) }
    }
    drawRect(colours.line, Offset.Zero, Area(size.width, size.height), style = Stroke(2f))
    drawLine(ink, Offset(edge, y(chart.middle)), Offset(size.width - edge, y(chart.middle)), 2f)
    val dashes = Stroke(3f, pathEffect = PathEffect.dashPathEffect(floatArrayOf(8f, 7f)))
    drawPath(line { it.low }, ink, style = dashes)
    drawPath(line { it.high }, ink, style = dashes)
    drawPath(line { it.value }, ink, style = Stroke(4f))
    chart.points.forEachIndexed { n, p ->
        val at = Offset(x(n), y(p.value))
        // Outside: a ring about it, not only another colour.
        if (p.outside) drawCircle(ink, 14f, at, style = Stroke(4f))
        drawCircle(ink, 6f, at)
    }
}
