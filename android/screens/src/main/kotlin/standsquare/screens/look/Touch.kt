package standsquare.screens.look

import androidx.compose.foundation.IndicationNodeFactory
import androidx.compose.foundation.background
import androidx.compose.foundation.border
import androidx.compose.foundation.clickable
import androidx.compose.foundation.interaction.InteractionSource
import androidx.compose.foundation.interaction.MutableInteractionSource
import androidx.compose.foundation.interaction.PressInteraction
import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.Spacer
import androidx.compose.foundation.layout.defaultMinSize
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.width
import androidx.compose.foundation.shape.RoundedCornerShape
import androidx.compose.runtime.Composable
import androidx.compose.runtime.remember
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.draw.clip
import androidx.compose.ui.draw.drawBehind
import androidx.compose.ui.geometry.CornerRadius
import androidx.compose.ui.graphics.Color
import androidx.compose.ui.graphics.PathEffect
import androidx.compose.ui.graphics.drawscope.ContentDrawScope
import androidx.compose.ui.graphics.drawscope.Stroke
import androidx.compose.ui.node.DelegatableNode
import androidx.compose.ui.node.DrawModifierNode
import androidx.compose.ui.node.invalidateDraw
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.Role as Kind
import androidx.compose.ui.semantics.selected
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.unit.Dp
import androidx.compose.ui.unit.dp
import kotlinx.coroutines.launch

/** The smallest height of anything that can be tapped: a cold thumb's. */
val TOUCH = 56.dp

/** The smallest gap between two things that can be tapped. */
val GAP = 8.dp

/** How a thing to tap looks. */
data class Face(
    val colours: Pair7,
    val border: Color,
    val borderWidth: Dp,
    val size: Size,
    val height: Dp,
)

/** The faces of the weights that the core gives. */
object Faces {
    @Composable fun main() = Face(palette.main, palette.main.ink, 3.dp, Size.STRONG, 76.dp)
    @Composable fun equal() = Face(palette.equal, palette.equal.ink, 2.dp, Size.STRONG, 92.dp)
    @Composable fun other() = Face(palette.page, palette.line, 2.dp, Size.BODY_STRONG, TOUCH)
    @Composable fun stop() = Face(palette.stop, palette.stop.ink, 3.dp, Size.STRONG, TOUCH)
    @Composable fun chosen() = Face(palette.good, palette.good.ink, 3.dp, Size.BODY_STRONG, TOUCH)
}

val CORNER = RoundedCornerShape(14.dp)

/**
 * Something to tap: a mark, words, and, where it may not be tapped, why. It is
 * one target as high as its face says, more if the words need it.
 */
@Composable
fun Touch(
    label: String,
    face: Face,
    tag: String,
    onTap: () -> Unit,
    modifier: Modifier = Modifier,
    mark: Mark? = null,
    enabled: Boolean = true,
    whyNot: String? = null,
    chosen: Boolean? = null,
    stacked: Boolean = false,
) {
    val ink = if (enabled) face.colours.ink else palette.card.ink
    val ground = if (enabled) face.colours.ground else palette.card.ground
    val source = remember { MutableInteractionSource() }
    val dashed = palette.line
    Row(
        modifier
            .testTag(tag)
            .defaultMinSize(minWidth = TOUCH, minHeight = face.height)
            .clip(CORNER)
            .background(ground)
            .then(
                if (enabled) Modifier.border(face.borderWidth, face.border, CORNER)
                else Modifier.drawBehind {
                    drawRoundRect(dashed, cornerRadius = CornerRadius(14.dp.toPx()), style = Stroke(
                        3.dp.toPx(), pathEffect = PathEffect.dashPathEffect(floatArrayOf(18f, 14f))))
                },
            )
            .clickable(source, Pressed, enabled = enabled, role = Kind.Button, onClick = onTap)
            .then(if (chosen == null) Modifier else Modifier.semantics { selected = chosen })
            .padding(horizontal = 14.dp, vertical = 8.dp),
        horizontalArrangement = Arrangement.Center,
        verticalAlignment = Alignment.CenterVertically,
    ) {
        val shown = if (enabled) mark else Mark.LOCK
        if (stacked) {
            Column(horizontalAlignment = Alignment.CenterHorizontally) {
                if (shown != null) Sign(shown, ink, 34.dp)
                if (label.isNotEmpty()) Label(label, face, ink, whyNot.takeUnless { enabled }, centred = true)
            }
        } else {
            if (shown != null) Sign(shown, ink, 26.dp)
            if (label.isNotEmpty()) {
                if (shown != null) Spacer(Modifier.width(12.dp))
                Label(label, face, ink, whyNot.takeUnless { enabled }, centred = false)
            }
        }
    }
}

@Composable
private fun Label(label: String, face: Face, ink: Color, whyNot: String?, centred: Boolean) {
    Column(horizontalAlignment = if (centred) Alignment.CenterHorizontally else Alignment.Start) {
        Say(label, face.size, ink, align = if (centred) androidx.compose.ui.text.style.TextAlign.Center else androidx.compose.ui.text.style.TextAlign.Start)
        if (whyNot != null) Say(whyNot, Size.SMALL, ink)
    }
}

/** A press darkens what lies under the finger, at once. */
object Pressed : IndicationNodeFactory {
    override fun create(interactionSource: InteractionSource): DelegatableNode = Node(interactionSource)
    override fun hashCode() = 1
    override fun equals(other: Any?) = other === this

    private class Node(private val source: InteractionSource) : Modifier.Node(), DrawModifierNode {
        private var down = false

        override fun onAttach() {
            coroutineScope.launch {
                source.interactions.collect {
                    down = it is PressInteraction.Press
                    invalidateDraw()
                }
            }
        }

        override fun ContentDrawScope.draw() {
            drawContent()
            if (down) drawRect(Color.Black.copy(alpha = 0.28f))
        }
    }
}
