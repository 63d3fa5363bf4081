package standsquare.screens

import androidx.compose.foundation.Canvas
import androidx.compose.runtime.Composable
import androidx.compose.runtime.LaunchedEffect
import androidx.compose.ui.Modifier
import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.geometry.Size
import androidx.compose.ui.graphics.Color
import androidx.compose.ui.graphics.drawscope.rotate
import standsquare.screens.frame.CodeCamera
import standsquare.screens.frame.Sight
import standsquare.view.QrMatrix

/** A camera that stands so and, where it sees, sees a slip held askew. */
class PaintedCamera(private val sight: Sight, private val code: QrMatrix) : CodeCamera {
    @Composable
    override fun Picture(light: Boolean, tell: (Sight) -> Unit, read: (String) -> Unit, modifier: Modifier) {
        LaunchedEffect(Unit) { tell(sight) }
        Canvas(modifier) {
            if (sight != Sight.SEEING && sight != Sight.SEEING_WITH_LIGHT) return@Canvas
            drawRect(Color(0xFF55605A))
            rotate(9f) {
                val whole = size.minDimension * 0.6f
                val step = whole / (code.side.toInt() + 8)
                val (x, y) = (size.width - whole) / 2 to (size.height - whole) / 2
                drawRect(Color(0xFFE8E8E0), Offset(x, y), Size(whole, whole))
                for (at in code.modules.indices) if (code.modules[at] == 1.toByte()) drawRect(
                    Color(0xFF202020), Offset(x + (at % code.side.toInt() + 4) * step, y + (at / code.side.toInt() + 4) * step), Size(step, step),
                )
            }
        }
    }
}
