package standsquare.preview

import androidx.compose.foundation.Canvas
import androidx.compose.runtime.Composable
import androidx.compose.runtime.LaunchedEffect
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.remember
import androidx.compose.runtime.rememberUpdatedState
import androidx.compose.runtime.setValue
import androidx.compose.ui.Modifier
import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.graphics.Color
import androidx.compose.ui.graphics.ImageBitmap
import androidx.compose.ui.graphics.drawscope.scale
import androidx.compose.ui.graphics.toComposeImageBitmap
import java.awt.image.BufferedImage
import kotlin.random.Random
import kotlinx.coroutines.Dispatchers
import kotlinx.coroutines.delay
import kotlinx.coroutines.flow.MutableStateFlow
import kotlinx.coroutines.isActive
import kotlinx.coroutines.withContext
import standsquare.device.CodeReader
import standsquare.screens.frame.CodeCamera
import standsquare.screens.frame.Sight
import standsquare.view.QrMatrix
import standsquare.view.Screen
import standsquare.view.View

/**
 * A camera on a desk. It sees what somebody holds before it, never quite still, and the phone's
 * own reader has to find the code in that picture.
 */
class HeldCamera : CodeCamera {
    /** The codes that are held before it, which follow each other; none: an empty table. */
    val held = MutableStateFlow<List<QrMatrix>>(emptyList())

    /** Whether the person lets the app use it. */
    val allowed = MutableStateFlow(true)

    /** The codes that this phone has shown last: a handler has photographed them, or another phone shows them. */
    val seen = MutableStateFlow<List<QrMatrix>>(emptyList())

    private var of: String? = null

    /** Looks over the measurer's shoulder. */
    fun follow(view: View) {
        val (what, code) = when (val screen = view.screen) {
            is Screen.Slip -> screen.slip.line.toString() to screen.slip.code
            is Screen.Codes -> "${screen.codes.count} ${screen.codes.how} ${screen.codes.says}" to screen.codes.code
            else -> return
        }
        val before = if (what == of) seen.value else emptyList()
        of = what
        if (before.none { it.modules.contentEquals(code.modules) }) seen.value = before + code
    }

    @Composable
    override fun Picture(light: Boolean, tell: (Sight) -> Unit, read: (String) -> Unit, modifier: Modifier) {
        var picture by remember { mutableStateOf<ImageBitmap?>(null) }
        val told by rememberUpdatedState(read)
        LaunchedEffect(Unit) {
            if (!allowed.value) return@LaunchedEffect tell(Sight.DENIED)
            tell(Sight.SEEING_WITH_LIGHT)
            withContext(Dispatchers.Default) {
                val reader = CodeReader { told(it) }
                val random = Random(1)
                var n = 0
                while (isActive) {
                    val now = photograph(held.value, n++, random)
                    reader.take(now.brightness, now.width, now.width, now.height)
                    picture = image(now)
                    delay(EVERY_MS)
                }
            }
        }
        Canvas(modifier) {
            val now = picture ?: return@Canvas
            val factor = maxOf(size.width / now.width, size.height / now.height)
            scale(factor, Offset.Zero) {
                drawImage(now, Offset((size.width / factor - now.width) / 2, (size.height / factor - now.height) / 2))
            }
            if (light) drawRect(Color.White.copy(alpha = 0.12f))
        }
    }

    private fun photograph(held: List<QrMatrix>, n: Int, random: Random): Photograph {
        if (held.isEmpty()) return Photograph(WIDTH, HEIGHT, ByteArray(WIDTH * HEIGHT) { EMPTY })
        val code = held[n / EACH % held.size]
        val shake = Photograph.Held(
            share = 0.8f, degrees = random.nextInt(-8, 9).toFloat(), blur = random.nextInt(0, 2), noise = 20, left = 240, right = 190,
        )
        return Photograph.of(code, shake, random, WIDTH, HEIGHT)
    }

    private fun image(photograph: Photograph): ImageBitmap =
        BufferedImage(photograph.width, photograph.height, BufferedImage.TYPE_BYTE_GRAY).apply {
            raster.setDataElements(0, 0, width, height, photograph.brightness)
        }.toComposeImageBitmap()

    private companion object {
        const val WIDTH = 640
        const val HEIGHT = 480
        const val EMPTY: Byte = 70

        /** Between two pictures, milliseconds, and how many of one code. */
        const val EVERY_MS = 150L
        const val EACH = 6
    }
}
