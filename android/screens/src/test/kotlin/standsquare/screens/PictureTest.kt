package standsquare.screens

import java.io.File
import kotlin.math.abs
import org.jetbrains.skia.Bitmap
import org.jetbrains.skia.Image
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.screens.frame.Looks
import standsquare.screens.frame.nameOf
import standsquare.screens.look.BrightSun
import standsquare.screens.look.Dark
import standsquare.screens.words.Language
import standsquare.state.PhoneState
import standsquare.view.PhoneFault
import standsquare.view.View

/**
 * Every screen as a picture beside the one that was looked at and kept in
 * `src/test/pictures`. `-Dstandsquare.record=true` draws them anew; then look at
 * them before they are committed.
 */
class PictureTest {
    private val kept = File(root, "android/screens/src/test/pictures")
    private val drawn = File(root, "android/screens/target/pictures")
    private val record = System.getProperty("standsquare.record") == "true"

    /** The fullest view of each screen, from the recordings: the one with the most on it. */
    private val views: Map<String, Pair<View, Long>> by lazy {
        listOf("three-dogs", "refusals", "put-right", "each-their-own", "not-on-the-list", "pairing").flatMap(::recordedViews)
            .groupBy { nameOf(it.first.screen) }
            .mapValues { (_, all) -> all.maxBy { it.first.toString().length } }
    }

    private val wrong = mutableListOf<String>()

    private fun each(kind: String, looks: Looks, width: Int = 360, height: Int = 800, font: Float = 1f) {
        assertEquals(23, views.size)
        for ((name, seen) in views) compare("$kind-$name", picture(PhoneState.Showing(seen.first, seen.second), looks, width, height, 1f, font))
        assertTrue("not as kept (drawn anew in $drawn): $wrong", wrong.isEmpty())
    }

    private fun compare(name: String, bytes: ByteArray) {
        val before = File(kept, "$name.png")
        if (record) {
            kept.mkdirs()
            before.writeBytes(bytes)
            return
        }
        if (before.isFile && alike(pixels(before.readBytes()), pixels(bytes))) return
        drawn.mkdirs()
        File(drawn, "$name.png").writeBytes(bytes)
        wrong += name
    }

    private fun pixels(png: ByteArray): Bitmap = Bitmap.makeFromImage(Image.makeFromEncoded(png))

    /** Alike where at most 2 pixels in 1000 differ by more than 24 of 255 in any colour: what two processors may round apart. */
    private fun alike(a: Bitmap, b: Bitmap): Boolean {
        if (a.width != b.width || a.height != b.height) return false
        val (left, right) = checkNotNull(a.readPixels()) to checkNotNull(b.readPixels())
        val apart = (left.indices step 4).count { at ->
            (0 until 4).any { c -> abs((left[at + c].toInt() and 255) - (right[at + c].toInt() and 255)) > 24 }
        }
        return apart * 1000L <= 2L * a.width * a.height
    }

    @Test fun inBrightSun() = Language.entries.forEach { each("sun-${it.code}", Looks(BrightSun, it)) }

    // Words are the same in the dark: one language is enough there.
    @Test fun inTheDark() = each("dark-en", Looks(Dark))

    @Test fun atDoubleType() = each("double", Looks(), font = 2f)

    /** German has the longest words. */
    @Test fun atDoubleTypeInGerman() = each("double-de", Looks(language = Language.GERMAN), font = 2f)

    @Test fun across() = each("across", Looks(), width = 800, height = 360)

    @Test fun onATablet() = each("tablet", Looks(), width = 800, height = 1280)

    @Test
    fun beforeAndWithoutTheRecord() {
        val fault = PhoneFault.DiskFull("no space left on device")
        for ((kind, looks) in mapOf("sun" to Looks(), "dark" to Looks(Dark))) {
            compare("$kind-opening", picture(PhoneState.Opening, looks, 360, 800, 1f))
            compare("$kind-broken", picture(PhoneState.Broken(fault, null), looks, 360, 800, 1f))
        }
        assertTrue("not as kept (drawn anew in $drawn): $wrong", wrong.isEmpty())
    }

    @Test
    fun aPictureThatDiffersIsNoticed() {
        val (view, at) = views.getValue("placing")
        val sun = pixels(picture(PhoneState.Showing(view, at), Looks(), 360, 800, 1f))
        val dark = pixels(picture(PhoneState.Showing(view, at), Looks(Dark), 360, 800, 1f))
        assertTrue(alike(sun, sun))
        assertTrue(!alike(sun, dark))
        // One word on a button is enough.
        val other = view.copy(offers = view.offers.filterNot { it.id == "dog_moved" })
        assertTrue(!alike(sun, pixels(picture(PhoneState.Showing(other, at), Looks(), 360, 800, 1f))))
    }
}
