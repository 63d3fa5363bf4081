@file:OptIn(ExperimentalTestApi::class, InternalTestApi::class)

package standsquare.screens

import androidx.compose.runtime.mutableStateOf
import androidx.compose.ui.geometry.Rect
import androidx.compose.ui.geometry.Size
import androidx.compose.ui.semantics.SemanticsActions
import androidx.compose.ui.semantics.SemanticsNode
import androidx.compose.ui.semantics.SemanticsProperties
import androidx.compose.ui.semantics.getOrNull
import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.InternalTestApi
import androidx.compose.ui.test.onAllNodesWithTag
import androidx.compose.ui.test.onNodeWithTag
import androidx.compose.ui.test.onRoot
import androidx.compose.ui.test.performClick
import androidx.compose.ui.test.runSkikoComposeUiTest
import androidx.compose.ui.text.TextLayoutResult
import androidx.compose.ui.unit.Density
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.screens.desktop.packagedTypeface
import standsquare.screens.frame.Looks
import standsquare.screens.frame.PhoneGlass
import standsquare.screens.frame.Sight
import standsquare.screens.words.Language
import standsquare.screens.words.Words
import standsquare.state.PhoneState
import standsquare.view.QrMatrix
import standsquare.view.Screen

/** The glass while codes are read with the camera: for cold thumbs, weak eyes and a voice, however the camera stands. */
class CameraTest {
    private data class Glass(val width: Int, val height: Int, val font: Float)

    private val glasses = listOf(Glass(360, 800, 1f), Glass(360, 640, 1f), Glass(360, 640, 2f), Glass(800, 360, 1f), Glass(800, 1280, 1f))
    private val nothing = QrMatrix(1u, byteArrayOf(1))

    private fun SemanticsNode.all(): List<SemanticsNode> = listOf(this) + children.flatMap { it.all() }

    private fun onEvery(check: (where: String, glass: Glass, sight: Sight, seen: Seen, language: Language, root: SemanticsNode) -> Unit) {
        assertTrue("with a notice and without", Previews.reading.map { it.view.notice != null }.toSet().size == 2)
        for (glass in glasses) for (language in Language.entries) for (sight in Sight.entries) {
            val shown = mutableStateOf<PhoneState>(PhoneState.Opening)
            runSkikoComposeUiTest(Size(glass.width.toFloat(), glass.height.toFloat()), Density(1f, glass.font)) {
                setContent { PhoneGlass(shown.value, Looks(language = language), packagedTypeface, onEvent = {}, camera = PaintedCamera(sight, nothing)) }
                for (seen in Previews.reading) {
                    runOnUiThread { shown.value = seen.state }
                    waitForIdle()
                    if (onAllNodesWithTag("camera").fetchSemanticsNodes().isEmpty()) onNodeWithTag("camera:open").performClick()
                    waitForIdle()
                    check("$glass, ${language.code}, $sight, ${seen.view.notice?.text?.key}", glass, sight, seen, language, onRoot().fetchSemanticsNode())
                }
            }
        }
    }

    @Test
    fun itIsInReachLargeApartAndSaysWhatIsTheMatter() = onEvery { where, glass, sight, seen, language, root ->
        val all = root.all()
        fun one(tag: String) = all.single { it.config.getOrNull(SemanticsProperties.TestTag) == tag }
        val targets = all.filter { SemanticsActions.OnClick in it.config }
        val trouble = sight.name.lowercase().takeIf { sight in listOf(Sight.DENIED, Sight.NONE, Sight.TAKEN) }
        // Words that are longer than the glass is high have their button.
        assertEquals(where, if (sight == Sight.SEEING_WITH_LIGHT) 2 else 1, targets.count { it.config.getOrNull(SemanticsProperties.TestTag) != "more" })
        assertTrue(where, targets.none { it.config.getOrNull(SemanticsProperties.TestTag) == "more" } || trouble != null && glass.font > 1f || glass.height < 400)
        for (target in targets) assertTrue("$where: ${target.size}", target.size.height >= 56 && target.boundsInRoot.height >= 56f)
        targets.zipWithNext { a, b -> assertTrue(where, maxOf(b.boundsInRoot.top - a.boundsInRoot.bottom, b.boundsInRoot.left - a.boundsInRoot.right) >= 7.5f) }
        for (target in targets) assertTrue("$where has a name", (target.config.getOrNull(SemanticsProperties.ContentDescription).orEmpty() + target.config.getOrNull(SemanticsProperties.Text).orEmpty().map { it.text }).any { it.isNotBlank() })
        val close = one("camera:close").boundsInRoot
        val picture = one("camera:picture")
        if (trouble == null) assertTrue("$where: what is seen can be seen: ${picture.size}", picture.size.height >= 100 && picture.size.width >= 250)
        assertTrue("$where: nothing lies over it", targets.none { it.boundsInRoot.overlaps(picture.boundsInRoot) })
        assertTrue("$where: the way back is lowest", close.bottom > glass.height - 20 && Rect(0f, 0f, glass.width.toFloat(), glass.height.toFloat()).contains(close.center))
        // A voice: the heading first, what is the matter by itself, what the picture is.
        val order = all.mapNotNull { it.config.getOrNull(SemanticsProperties.TestTag) }
        assertTrue(where, order.indexOf("title:${seen.view.title.key}") in 0 until order.indexOf("camera:close"))
        assertEquals(where, seen.view.demo, "demo" in order)
        assertTrue(where, picture.config.getOrNull(SemanticsProperties.ContentDescription).orEmpty().any { it.isNotBlank() })
        val said = all.flatMap { it.config.getOrNull(SemanticsProperties.Text).orEmpty() }.map { it.text }
        val words = Words.of(language)
        val notice = seen.view.notice
        val wanted = when {
            trouble != null -> words.ui("camera.$trouble")
            notice != null -> words.say(notice.text)
            sight == Sight.STARTING -> words.ui("camera.starting")
            else -> words.ui("camera.how")
        }
        assertTrue("$where says '$wanted'", said.any { wanted in it })
        if (trouble != null) assertTrue(where, SemanticsProperties.LiveRegion in one("camera.$trouble").config)
        for (node in all) cutOff(where, node)
    }

    private fun cutOff(where: String, node: SemanticsNode) {
        val results = mutableListOf<TextLayoutResult>()
        node.config.getOrNull(SemanticsActions.GetTextLayoutResult)?.action?.invoke(results)
        for (result in results) {
            val text = result.layoutInput.text.text
            val lines = result.multiParagraph
            assertTrue("$where: '$text'", !lines.didExceedMaxLines && lines.height <= result.size.height + 1)
            for (line in 0 until lines.lineCount - 1) {
                val end = lines.getLineEnd(line)
                assertTrue("$where: '$text' is broken inside a word", end !in 1 until text.length || !text[end - 1].isLetter() || !text[end].isLetter())
            }
        }
    }

    @Test
    fun everyScreenThatTakesACodeHasTheCameraInReach() = onScreens { seen, tags ->
        val takes = seen.view.screen is Screen.SlipCheck
        assertEquals(seen.screen, takes, "camera:open" in tags)
    }

    private fun onScreens(check: (Seen, List<String>) -> Unit) {
        val shown = mutableStateOf<PhoneState>(PhoneState.Opening)
        runSkikoComposeUiTest(Size(360f, 640f), Density(1f)) {
            setContent { PhoneGlass(shown.value, Looks(), packagedTypeface, onEvent = {}) }
            for (seen in Previews.states) {
                runOnUiThread { shown.value = seen.state }
                waitForIdle()
                check(seen, onRoot().fetchSemanticsNode().all().mapNotNull { it.config.getOrNull(SemanticsProperties.TestTag) })
            }
        }
    }
}
