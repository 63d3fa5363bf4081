package standsquare.screens.look

import androidx.compose.foundation.Canvas
import androidx.compose.foundation.layout.size
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.geometry.Size as Extent
import androidx.compose.ui.graphics.Color
import androidx.compose.ui.graphics.Path
import androidx.compose.ui.graphics.StrokeCap
import androidx.compose.ui.graphics.StrokeJoin
import androidx.compose.ui.graphics.drawscope.DrawScope
import androidx.compose.ui.graphics.drawscope.Stroke
import androidx.compose.ui.graphics.drawscope.rotate
import androidx.compose.ui.graphics.drawscope.scale
import androidx.compose.ui.unit.Dp
import androidx.compose.ui.unit.dp

/** Small drawn signs, so that nothing is told by colour alone. */
enum class Mark {
    TICK, CROSS, CARE, OCTAGON, NEXT, UNDO, SEND, READER, READER_GONE, HOOP_FLAT, HOOP_TILTED,
    DOWN, EYE, EYE_SHUT, MOVED, SUN, MOON, LOCK, DELETE, PEN, DOT, AGAIN, BOOK, PHONE, OFFICE, CAMERA, LIGHT, LIGHT_OFF
}

/** Draws a mark; it is decoration beside words, so a screen reader passes it over. */
@Composable
fun Sign(mark: Mark, color: Color = palette.page.ink, size: Dp = 24.dp, modifier: Modifier = Modifier) {
    Canvas(modifier.size(size)) {
        // All marks are drawn in a box of 24 by 24.
        scale(this.size.minDimension / 24f, pivot = Offset.Zero) { draw(mark, color) }
    }
}

private val LINE = Stroke(width = 2.6f, cap = StrokeCap.Round, join = StrokeJoin.Round)

private fun path(vararg points: Pair<Float, Float>, close: Boolean = false) = Path().apply {
    points.forEachIndexed { n, (x, y) -> if (n == 0) moveTo(x, y) else lineTo(x, y) }
    if (close) close()
}

private infix fun Number.at(y: Number) = Pair(toFloat(), y.toFloat())

private fun DrawScope.draw(mark: Mark, color: Color) {
    fun lines(vararg points: Pair<Float, Float>, close: Boolean = false) =
        drawPath(path(*points, close = close), color, style = LINE)
    fun dot(x: Float, y: Float, radius: Float) = drawCircle(color, radius, Offset(x, y))
    when (mark) {
        Mark.TICK -> lines(4 at 13, 10 at 19, 20 at 5)
        Mark.CROSS -> { lines(5 at 5, 19 at 19); lines(19 at 5, 5 at 19) }
        Mark.CARE -> {
            lines(12 at 3, 22 at 21, 2 at 21, close = true)
            lines(12 at 10, 12 at 14)
            dot(12f, 17.8f, 1.5f)
        }
        Mark.OCTAGON -> {
            lines(8 at 2, 16 at 2, 22 at 8, 22 at 16, 16 at 22, 8 at 22, 2 at 16, 2 at 8, close = true)
            lines(7 at 12, 17 at 12)
        }
        Mark.NEXT -> { lines(4 at 12, 20 at 12); lines(13 at 5, 20 at 12, 13 at 19) }
        Mark.EYE, Mark.EYE_SHUT -> {
            drawPath(Path().apply { moveTo(2f, 12f); cubicTo(7f, 4f, 17f, 4f, 22f, 12f); cubicTo(17f, 20f, 7f, 20f, 2f, 12f); close() }, color, style = LINE)
            dot(12f, 12f, 3f)
            if (mark == Mark.EYE_SHUT) lines(4 at 21, 20 at 3)
        }
        Mark.DOWN -> { lines(12 at 3, 12 at 20); lines(5 at 13, 12 at 20, 19 at 13) }
        Mark.UNDO -> {
            lines(9 at 4, 4 at 9, 9 at 14)
            drawPath(Path().apply { moveTo(4f, 9f); lineTo(14f, 9f); cubicTo(23f, 9f, 23f, 20f, 14f, 20f); lineTo(9f, 20f) }, color, style = LINE)
        }
        Mark.SEND -> { lines(12 at 21, 12 at 4); lines(5 at 11, 12 at 4, 19 at 11) }
        Mark.READER, Mark.READER_GONE -> {
            // A hand-held ring on a stick.
            drawCircle(color, 6f, Offset(9f, 8f), style = LINE)
            lines(13 at 12.5, 20 at 21)
            if (mark == Mark.READER_GONE) lines(21 at 2, 3 at 22)
        }
        Mark.HOOP_FLAT -> { hoop(color); lines(1 at 21.5, 23 at 21.5) }
        Mark.HOOP_TILTED -> {
            rotate(-14f, Offset(19f, 20f)) { hoop(color) }
            lines(1 at 22, 23 at 22)
        }
        Mark.MOVED -> {
            // A paw and where it went.
            dot(7f, 15f, 3.4f); dot(3.6f, 9.6f, 1.7f); dot(7f, 7.8f, 1.7f); dot(10.6f, 9.6f, 1.7f)
            lines(13 at 15, 21 at 15); lines(18 at 12, 21 at 15, 18 at 18)
        }
        Mark.SUN -> {
            drawCircle(color, 4.6f, Offset(12f, 12f), style = LINE)
            repeat(8) { n -> rotate(45f * n, Offset(12f, 12f)) { lines(12 at 1.8, 12 at 4) } }
        }
        Mark.MOON -> drawPath(Path().apply {
            moveTo(15f, 3f); cubicTo(5f, 4f, 3f, 16f, 11f, 20.5f); cubicTo(15f, 22.5f, 19f, 21f, 21f, 18f)
            cubicTo(13f, 19f, 9f, 10f, 15f, 3f); close()
        }, color, style = LINE)
        Mark.LOCK -> {
            lines(5 at 11, 19 at 11, 19 at 21, 5 at 21, close = true)
            drawPath(Path().apply { moveTo(8f, 11f); lineTo(8f, 8f); cubicTo(8f, 2f, 16f, 2f, 16f, 8f); lineTo(16f, 11f) }, color, style = LINE)
        }
        Mark.DELETE -> {
            lines(8 at 5, 22 at 5, 22 at 19, 8 at 19, 2 at 12, close = true)
            lines(11 at 9, 17 at 15); lines(17 at 9, 11 at 15)
        }
        Mark.PEN -> { lines(4 at 20, 5 at 15, 16 at 4, 20 at 8, 9 at 19, close = true); lines(13 at 7, 17 at 11) }
        Mark.DOT -> drawCircle(color, 5f, Offset(12f, 12f), style = LINE)
        Mark.AGAIN -> {
            drawArc(color, -60f, 300f, false, Offset(4f, 4f), Extent(16f, 16f), style = LINE)
            lines(17 at 1.5, 16.6 at 6, 21 at 7)
        }
        Mark.BOOK -> {
            lines(12 at 6, 3 at 4, 3 at 18, 12 at 20, 21 at 18, 21 at 4, close = true)
            lines(12 at 6, 12 at 20)
        }
        Mark.PHONE -> { lines(7 at 2, 17 at 2, 17 at 22, 7 at 22, close = true); dot(12f, 18.5f, 1.2f) }
        Mark.CAMERA -> {
            lines(2 at 7, 7 at 7, 9 at 4, 15 at 4, 17 at 7, 22 at 7, 22 at 20, 2 at 20, close = true)
            drawCircle(color, 4f, Offset(12f, 13f), style = LINE)
        }
        Mark.LIGHT, Mark.LIGHT_OFF -> {
            // A torch, held upright.
            lines(6 at 8, 18 at 8, 15 at 13, 15 at 22, 9 at 22, 9 at 13, close = true)
            lines(12 at 1.5, 12 at 4.5); lines(4 at 2.5, 6 at 5); lines(20 at 2.5, 18 at 5)
            if (mark == Mark.LIGHT_OFF) lines(21 at 3, 3 at 21)
        }
        Mark.OFFICE -> { lines(3 at 11, 12 at 3, 21 at 11); lines(5 at 10, 5 at 21, 19 at 21, 19 at 10); lines(12 at 21, 12 at 15) }
    }
}

private fun DrawScope.hoop(color: Color) {
    drawPath(path(5 at 20, 5 at 5, 19 at 5, 19 at 20), color, style = Stroke(3.2f, join = StrokeJoin.Round, cap = StrokeCap.Square))
}
