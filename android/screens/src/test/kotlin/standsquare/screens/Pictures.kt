@file:OptIn(ExperimentalTestApi::class, InternalTestApi::class)

package standsquare.screens

import androidx.compose.ui.ImageComposeScene
import androidx.compose.ui.geometry.Size
import androidx.compose.ui.graphics.asSkiaBitmap
import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.InternalTestApi
import androidx.compose.ui.test.captureToImage
import androidx.compose.ui.test.onNodeWithTag
import androidx.compose.ui.test.onRoot
import androidx.compose.ui.test.performClick
import androidx.compose.ui.test.performScrollTo
import androidx.compose.ui.test.runSkikoComposeUiTest
import androidx.compose.ui.unit.Density
import java.awt.image.BufferedImage
import java.awt.image.IndexColorModel
import java.io.ByteArrayOutputStream
import java.io.File
import javax.imageio.ImageIO
import javax.swing.SwingUtilities
import kotlin.math.abs
import org.jetbrains.skia.Bitmap
import org.jetbrains.skia.Image
import standsquare.core.Phone
import standsquare.core.readRecording
import standsquare.screens.desktop.packagedTypeface
import standsquare.screens.frame.PhoneGlass
import standsquare.view.View

/** The repository's root, as Maven hands it over. */
val root = File(checkNotNull(System.getProperty("standsquare.root")) { "run by Maven" })

/** Draws a preview off screen. */
fun drawn(preview: Preview): Bitmap = if (preview.taps.isEmpty()) still(preview) else tapped(preview)

private fun still(preview: Preview): Bitmap {
    val scene = ImageComposeScene(preview.width, preview.height, Density(1f, preview.font)) {
        PhoneGlass(preview.state, preview.looks, packagedTypeface, onEvent = {}, camera = preview.camera)
    }
    try {
        // The second frame knows how much there is to scroll. What changed in the first is told to
        // the scene by way of Swing's thread as well, so that thread has to have said it all.
        scene.render(0)
        var frame = 1
        var now: Image
        do {
            SwingUtilities.invokeAndWait {}
            now = scene.render(frame * 100_000_000L)
            frame += 1
        } while (scene.hasInvalidations() && frame < 20)
        return Bitmap.makeFromImage(now)
    } finally {
        scene.close()
    }
}

private fun tapped(preview: Preview): Bitmap {
    lateinit var bitmap: Bitmap
    runSkikoComposeUiTest(Size(preview.width.toFloat(), preview.height.toFloat()), Density(1f, preview.font)) {
        setContent { PhoneGlass(preview.state, preview.looks, packagedTypeface, onEvent = {}, camera = preview.camera) }
        for (tag in preview.taps) {
            val node = onNodeWithTag(tag)
            if (node.fetchSemanticsNode().run { boundsInRoot.height < size.height }) node.performScrollTo()
            waitForIdle()
            node.performClick()
            waitForIdle()
        }
        bitmap = onRoot().captureToImage().asSkiaBitmap()
    }
    return bitmap
}

/** A kept picture. */
fun pixels(png: ByteArray): Bitmap = Bitmap.makeFromImage(Image.makeFromEncoded(png))

/** Alike where at most 2 pixels in 1000 differ by more than 24 of 255 in any colour: what two processors may round apart. */
fun alike(a: Bitmap, b: Bitmap): Boolean =
    a.width == b.width && a.height == b.height && apart(a, b).size * 1000L <= 2L * a.width * a.height

/** Where two pictures of one size differ by more than 24 of 255 in any colour. */
private fun apart(a: Bitmap, b: Bitmap): List<Pair<Int, Int>> = (0 until a.height).flatMap { y ->
    (0 until a.width).filter { x ->
        val (one, other) = a.getColor(x, y) to b.getColor(x, y)
        (0..24 step 8).any { abs((one ushr it and 255) - (other ushr it and 255)) > 24 }
    }.map { it to y }
}

/** In words, for whoever only has the log: how much differs, and where. */
fun difference(a: Bitmap, b: Bitmap): String {
    if (a.width != b.width || a.height != b.height) return "${a.width}x${a.height} was kept, ${b.width}x${b.height} is drawn"
    val apart = apart(a, b)
    return "${apart.size} pixels differ, x ${apart.minOf { it.first }}..${apart.maxOf { it.first }}, y ${apart.minOf { it.second }}..${apart.maxOf { it.second }}"
}

/** A colour in steps of 17, at most 8 away from what it was: far inside of what counts as alike. */
private fun coarse(colour: Int): Int {
    fun step(at: Int) = ((colour ushr at and 255) + 8) / 17 * 17 shl at
    return step(16) or step(8) or step(0)
}

/** The picture as it is kept: few colours, so that hundreds of them weigh little. */
fun kept(bitmap: Bitmap): ByteArray {
    val colours = IntArray(bitmap.width * bitmap.height) { coarse(bitmap.getColor(it % bitmap.width, it / bitmap.width)) }
    val used = colours.distinct()
    val image = if (used.size <= 256) {
        val table = IntArray(256) { used.getOrElse(it) { 0 } }
        val model = IndexColorModel(8, 256, table, 0, false, -1, java.awt.image.DataBuffer.TYPE_BYTE)
        val at = used.withIndex().associate { it.value to it.index }
        BufferedImage(bitmap.width, bitmap.height, BufferedImage.TYPE_BYTE_INDEXED, model).apply {
            raster.setPixels(0, 0, width, height, IntArray(colours.size) { at.getValue(colours[it]) })
        }
    } else BufferedImage(bitmap.width, bitmap.height, BufferedImage.TYPE_INT_RGB).apply { setRGB(0, 0, width, height, colours, 0, width) }
    return ByteArrayOutputStream().also { ImageIO.write(image, "png", it) }.toByteArray()
}

/** Every view of a recorded session, by the real core, with the moment it was answered at. */
fun recordedViews(name: String): List<Pair<View, Long>> = replayed.getOrPut(name) { replay(name) }

/** Replayed once: PINs are costly to open on purpose. */
private val replayed = mutableMapOf<String, List<Pair<View, Long>>>()

private fun replay(name: String): List<Pair<View, Long>> {
    val recording = readRecording(File(root, "tests/recorded/$name.json").readText())
    val dir = kotlin.io.path.createTempDirectory("recorded").toFile()
    try {
        Phone.open(dir.path, recording.deviceSecret, recording.opened).use { phone ->
            val views = mutableListOf(phone.view() to recording.opened.atMs)
            for (step in recording.steps) {
                val view = phone.apply(step.act, views.last().first.revision, step.stamp).view
                views += view to step.stamp.atMs
            }
            return views
        }
    } finally {
        dir.deleteRecursively()
    }
}
