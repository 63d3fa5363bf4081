package standsquare.screens.look

import androidx.compose.foundation.Canvas
import androidx.compose.foundation.background
import androidx.compose.foundation.layout.aspectRatio
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.widthIn
import androidx.compose.runtime.Composable
import androidx.compose.runtime.staticCompositionLocalOf
import androidx.compose.ui.Modifier
import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.geometry.Size as Extent
import androidx.compose.ui.graphics.Color
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.unit.dp
import standsquare.view.QrMatrix

/** Light round a code, in modules: what the standard (ISO/IEC 18004) asks for. */
private const val QUIET = 4

/** How high the part of the glass is in which a screen scrolls. */
val LocalSeen = staticCompositionLocalOf { 640.dp }

/** Room at the end of a row for the button that shows what lies below. */
private val ASIDE = 64.dp

/**
 * A QR code, always dark on light: a camera reads it in either theme. It is as large as can be
 * seen whole, with nothing over it, on any glass.
 */
@Composable
fun Code(code: QrMatrix, said: String, modifier: Modifier = Modifier) {
    val side = code.side.toInt()
    Canvas(
        modifier.padding(end = ASIDE).widthIn(max = minOf(420.dp, LocalSeen.current * 0.95f)).fillMaxWidth().aspectRatio(1f).testTag("code")
            .semantics { contentDescription = said }.background(Color.White),
    ) {
        // Whole pixels a module, so that no edge is grey.
        val step = kotlin.math.floor(size.minDimension / (side + 2 * QUIET)).coerceAtLeast(1f)
        val edge = (size.minDimension - step * side) / 2
        for (y in 0 until side) for (x in 0 until side) {
            if (code.modules[y * side + x] == 1.toByte())
                drawRect(Color.Black, Offset(edge + x * step, edge + y * step), Extent(step, step))
        }
    }
}
