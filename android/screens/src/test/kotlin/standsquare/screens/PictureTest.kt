package standsquare.screens

import java.io.File
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Assert.fail
import org.junit.Test
import org.junit.runner.RunWith
import org.junit.runners.Parameterized
import org.junit.runners.Parameterized.Parameters
import standsquare.screens.frame.Looks
import standsquare.screens.look.Dark
import standsquare.state.PhoneState

private val kept = File(root, "android/screens/src/test/pictures")
private val drawn = File(root, "android/screens/target/pictures")

/**
 * Every preview as a picture beside the one that was looked at and kept in
 * `src/test/pictures`: a test each. `cargo xtask pictures --record` (which sets
 * `standsquare.record`) draws anew those that are no longer alike; then look at them before
 * they are committed.
 */
@RunWith(Parameterized::class)
class PictureTest(private val preview: Preview) {
    @Test
    fun asKept() {
        val now = drawn(preview)
        val before = File(kept, "${preview.name}.png")
        if (before.isFile && alike(pixels(before.readBytes()), now)) return
        val to = if (System.getProperty("standsquare.record") == "true") before else File(drawn, before.name)
        to.parentFile.mkdirs()
        to.writeBytes(kept(now))
        if (to == before) return
        val how = if (before.isFile) difference(pixels(before.readBytes()), now) else "none was kept"
        fail("${preview.name} is not as it was kept ($how); drawn anew: $to")
    }

    private companion object {
        @JvmStatic
        @Parameters(name = "{0}")
        fun all(): List<Preview> = Previews.pictures
    }
}

/** What the pictures have to be of, and that a difference shows. */
class PicturesTest {
    @Test
    fun everyScreenAndEveryRefusalOfTheRecordingsHasItsPictures() {
        assertEquals("a screen that no recording shows: record a session in which it is seen", Previews.screens, Previews.fullest.keys)
        val shown = Previews.pictures.mapNotNull { it.state as? PhoneState.Showing }.mapNotNull { it.view.notice?.text?.key }.toSet()
        assertEquals(Previews.recorded.mapNotNull { it.view.notice?.text?.key }.toSet(), shown)
        println("${Previews.pictures.size} pictures of ${Previews.states.size} states of ${Previews.screens.size} screens, ${shown.size} notices")
        assertTrue("at least 120", Previews.pictures.size >= 120)
    }

    @Test
    fun everyThemeLanguageAndSizeOfTypeIsUsedOnManyStates() {
        for ((looks, font) in Previews.everyLook) {
            val times = Previews.pictures.count { it.looks == looks && it.font == font }
            assertTrue("${looks.palette.name}, ${looks.language.code}, $font: $times", times >= 3)
        }
    }

    @Test
    fun everyPictureHasItsOwnNameAndNoneIsLeftOver() {
        val names = Previews.pictures.map { it.name }
        assertEquals(names.size, names.toSet().size)
        val files = checkNotNull(kept.listFiles()).map { it.name.removeSuffix(".png") }.toSet()
        if (System.getProperty("standsquare.record") == "true") (files - names.toSet()).forEach { File(kept, "$it.png").delete() }
        else assertEquals("pictures of nothing; draw anew with --record", emptySet<String>(), files - names.toSet())
    }

    @Test
    fun aPictureThatDiffersIsNoticed() {
        val (_, _, view, at) = Previews.fullest.getValue("placing")
        fun picture(state: PhoneState, looks: Looks = Looks()) = drawn(Preview("one", state, looks))
        val sun = picture(PhoneState.Showing(view, at))
        assertTrue(alike(sun, sun))
        assertTrue("few colours are alike to all", alike(sun, pixels(kept(sun))))
        assertTrue(!alike(sun, picture(PhoneState.Showing(view, at), Looks(Dark))))
        // One word on a button is enough, also beside the kept picture's few colours.
        val other = picture(PhoneState.Showing(view.copy(offers = view.offers.filterNot { it.id == "dog_moved" }), at))
        assertTrue(!alike(sun, other) && !alike(pixels(kept(sun)), other))
    }
}
