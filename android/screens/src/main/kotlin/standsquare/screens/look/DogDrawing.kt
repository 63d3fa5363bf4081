package standsquare.screens.look

import androidx.compose.foundation.Canvas
import androidx.compose.foundation.layout.aspectRatio
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.graphics.Color
import androidx.compose.ui.graphics.Path
import androidx.compose.ui.graphics.PathEffect
import androidx.compose.ui.graphics.StrokeCap
import androidx.compose.ui.graphics.StrokeJoin
import androidx.compose.ui.graphics.drawscope.DrawScope
import androidx.compose.ui.graphics.drawscope.Stroke
import androidx.compose.ui.graphics.drawscope.scale
import androidx.compose.ui.graphics.lerp
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.semantics

private const val WIDTH = 340f
private const val HEIGHT = 240f
/** Where the withers lie in the drawing. */
private val WITHERS = Offset(203f, 85f)
private const val GROUND = 222f

/**
 * A dog standing square, from its right side. With [hoop], the hoop stands over
 * the withers; without it, the withers are marked and the legs shown upright.
 */
@Composable
fun DogDrawing(hoop: Boolean, modifier: Modifier = Modifier) {
    val colours = palette
    val words = words
    val what = words.ui(if (hoop) "stance.drawing" else "withers.drawing")
    Canvas(modifier.aspectRatio(WIDTH / HEIGHT).semantics { contentDescription = what }) {
        scale(size.width / WIDTH, pivot = Offset.Zero) {
            ground(colours.line)
            if (hoop) farSide(colours.hoop)
            drawPath(farLegs(), lerp(colours.dog, colours.card.ground, 0.38f))
            drawPath(dog(), colours.dog)
            drawCircle(colours.card.ground, 3.2f, Offset(268f, 50f))
            if (hoop) nearSide(colours.hoop, colours.card.ground) else pointers(colours)
        }
    }
}

private fun DrawScope.ground(color: Color) {
    drawLine(color, Offset(14f, GROUND), Offset(326f, GROUND), 4f, StrokeCap.Round)
}

private val BAR = Stroke(9f, cap = StrokeCap.Butt, join = StrokeJoin.Round)

/** The hoop is seen a little from the side: the far upright stands behind the dog. */
private fun DrawScope.farSide(color: Color) {
    drawPath(Path().apply { moveTo(222f, GROUND - 10f); lineTo(222f, 66f) }, color, style = BAR)
}

/** With an edge of the card's colour: against the dog alone the hoop would not stand out enough. */
private fun DrawScope.nearSide(color: Color, edge: Color) {
    val bar = Path().apply { moveTo(192f, GROUND + 10f); lineTo(192f, 80f); lineTo(222f, 66f) }
    drawPath(bar, edge, style = Stroke(15f, cap = StrokeCap.Butt, join = StrokeJoin.Round))
    drawPath(bar, color, style = BAR)
    drawLine(color, Offset(178f, GROUND + 8f), Offset(206f, GROUND + 8f), 8f)
}

private fun DrawScope.pointers(colours: Palette) {
    val dash = PathEffect.dashPathEffect(floatArrayOf(7f, 6f))
    // The highest point of the withers, and how high it is.
    drawLine(colours.hoop, Offset(20f, WITHERS.y), Offset(WITHERS.x - 8f, WITHERS.y), 3f, pathEffect = dash)
    drawCircle(colours.hoop, 8f, WITHERS)
    drawCircle(colours.card.ground, 3f, WITHERS)
    drawPath(Path().apply {
        moveTo(WITHERS.x, 28f); lineTo(WITHERS.x, 66f)
        moveTo(WITHERS.x - 8f, 56f); lineTo(WITHERS.x, 68f); lineTo(WITHERS.x + 8f, 56f)
    }, colours.hoop, style = Stroke(5f, cap = StrokeCap.Round, join = StrokeJoin.Round))
    drawPath(Path().apply {
        moveTo(28f, WITHERS.y + 4f); lineTo(28f, GROUND - 4f)
        moveTo(22f, WITHERS.y + 13f); lineTo(28f, WITHERS.y + 3f); lineTo(34f, WITHERS.y + 13f)
        moveTo(22f, GROUND - 13f); lineTo(28f, GROUND - 3f); lineTo(34f, GROUND - 13f)
    }, colours.hoop, style = Stroke(3f, cap = StrokeCap.Round, join = StrokeJoin.Round))
}

/** The legs on the far side, a hand's breadth on: square, so almost hidden. */
private fun farLegs() = Path().apply {
    moveTo(212f, 140f); lineTo(230f, 140f); lineTo(228f, 206f)
    cubicTo(238f, 208f, 240f, 214f, 239f, GROUND); lineTo(217f, GROUND); close()
    moveTo(96f, 140f); lineTo(128f, 150f)
    cubicTo(126f, 172f, 112f, 184f, 109f, 196f); lineTo(111f, 208f)
    cubicTo(120f, 210f, 121f, 216f, 121f, GROUND); lineTo(98f, GROUND); lineTo(94f, 194f); close()
}

private fun dog() = Path().apply {
    // Nose, lips, throat.
    moveTo(306f, 64f)
    cubicTo(309f, 71f, 304f, 76f, 296f, 77f)
    cubicTo(284f, 79f, 274f, 83f, 264f, 86f)
    cubicTo(252f, 92f, 243f, 108f, 236f, 124f)
    // Forechest, and the front leg down to the paw.
    cubicTo(234f, 134f, 229f, 142f, 222f, 150f)
    cubicTo(219f, 168f, 217f, 188f, 217f, 205f)
    cubicTo(226f, 207f, 229f, 214f, 228f, GROUND)
    lineTo(203f, GROUND)
    cubicTo(203f, 206f, 201f, 180f, 197f, 161f)
    // Brisket and belly, drawn up to the flank.
    cubicTo(176f, 167f, 146f, 160f, 120f, 148f)
    // Stifle, hock, hind paw.
    cubicTo(121f, 166f, 108f, 180f, 100f, 192f)
    cubicTo(98f, 197f, 99f, 202f, 100f, 207f)
    cubicTo(109f, 209f, 111f, 215f, 110f, GROUND)
    lineTo(86f, GROUND)
    cubicTo(86f, 212f, 83f, 202f, 80f, 192f)
    cubicTo(82f, 176f, 66f, 158f, 65f, 126f)
    // Tail, hanging easy.
    cubicTo(54f, 142f, 52f, 164f, 40f, 180f)
    cubicTo(37f, 184f, 31f, 181f, 33f, 176f)
    cubicTo(41f, 154f, 44f, 122f, 68f, 105f)
    // Croup, loin, back, withers.
    cubicTo(82f, 93f, 110f, 93f, 134f, 92f)
    cubicTo(160f, 91f, 184f, 89f, WITHERS.x - 4f, WITHERS.y)
    // Crest of the neck, ear, skull, stop, bridge of the nose.
    cubicTo(216f, 78f, 228f, 64f, 238f, 48f)
    cubicTo(238f, 38f, 240f, 26f, 246f, 18f)
    cubicTo(252f, 22f, 257f, 29f, 259f, 36f)
    cubicTo(267f, 37f, 276f, 42f, 281f, 51f)
    cubicTo(290f, 54f, 300f, 57f, 306f, 64f)
    close()
}
