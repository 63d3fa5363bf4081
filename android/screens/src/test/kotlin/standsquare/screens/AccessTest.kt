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
import androidx.compose.ui.test.onRoot
import androidx.compose.ui.test.runSkikoComposeUiTest
import androidx.compose.ui.text.TextLayoutResult
import androidx.compose.ui.unit.Density
import kotlin.math.max
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.screens.desktop.packagedTypeface
import standsquare.screens.frame.Looks
import standsquare.screens.frame.PhoneGlass
import standsquare.screens.frame.nameOf
import standsquare.screens.words.Language
import standsquare.state.PhoneState
import standsquare.view.Screen
import standsquare.view.View

/** Every screen, for cold thumbs, weak eyes and a voice: held to on every size of glass. */
class AccessTest {
    /** A glass in dp, and how much larger than usual its type is. */
    private data class Glass(val width: Int, val height: Int, val font: Float)

    private val usual = Glass(360, 800, 1f)
    private val small = Glass(360, 640, 1f)
    private val doubled = Glass(360, 800, 2f)
    private val smallDoubled = Glass(360, 640, 2f)
    private val across = Glass(800, 360, 1f)
    private val tablet = Glass(800, 1280, 1f)

    /** One view of each screen in each of its states, from every recording. */
    private val views get() = Previews.states.map { it.view to it.atMs }

    private fun onEvery(glass: Glass, language: Language = Language.ENGLISH, check: (View, SemanticsNode, Density) -> Unit) {
        val density = Density(1f, glass.font)
        val shown = mutableStateOf<PhoneState>(PhoneState.Opening)
        assertEquals("every screen was seen", Previews.screens, views.map { nameOf(it.first.screen) }.toSet())
        runSkikoComposeUiTest(Size(glass.width.toFloat(), glass.height.toFloat()), density) {
            setContent { PhoneGlass(shown.value, Looks(language = language), packagedTypeface, onEvent = {}) }
            for ((view, at) in views) {
                runOnUiThread { shown.value = PhoneState.Showing(view, at) }
                waitForIdle()
                check(view, onRoot().fetchSemanticsNode(), density)
            }
        }
    }

    private fun SemanticsNode.all(): List<SemanticsNode> = listOf(this) + children.flatMap { it.all() }

    private val SemanticsNode.tag get() = config.getOrNull(SemanticsProperties.TestTag) ?: "?"

    private val SemanticsNode.spoken: String
        get() = (config.getOrNull(SemanticsProperties.ContentDescription).orEmpty() +
            config.getOrNull(SemanticsProperties.Text).orEmpty().map { it.text }).joinToString(" ")

    private fun targets(root: SemanticsNode) = root.all().filter { SemanticsActions.OnClick in it.config }

    private fun large(glass: Glass, language: Language = Language.ENGLISH) = onEvery(glass, language) { view, root, _ ->
        val found = targets(root)
        assertTrue("${nameOf(view.screen)} has something to tap", found.isNotEmpty())
        for (node in found) {
            val where = "${language.code}, ${nameOf(view.screen)}, ${node.tag}: ${node.size}"
            assertTrue(where, node.size.height >= 56 && node.size.width >= 56)
            assertTrue("$where has a name", node.spoken.isNotBlank())
            assertTrue("$where lies inside", node.positionInRoot.x >= 0 && node.positionInRoot.x + node.size.width <= glass.width)
        }
    }

    private fun apart(glass: Glass) = onEvery(glass) { view, root, _ ->
        // "More" floats over what scrolls under it; all else keeps its distance.
        val found = targets(root).filter { it.tag != "more" && it.boundsInRoot.height >= 1f }
        for ((n, one) in found.withIndex()) for (other in found.drop(n + 1)) {
            val gap = gap(one.boundsInRoot, other.boundsInRoot)
            assertTrue("${nameOf(view.screen)}: ${one.tag} and ${other.tag} are $gap dp apart", gap >= 7.5f)
        }
    }

    private fun gap(a: Rect, b: Rect): Float =
        max(max(a.left - b.right, b.left - a.right), max(a.top - b.bottom, b.top - a.bottom))

    private fun nothingIsCutOff(glass: Glass, language: Language = Language.ENGLISH) {
        // All that is cut off at once: each may need other words.
        val cut = sortedSetOf<String>()
        onEvery(glass, language) { view, root, _ -> cut += cutOff(glass, language, view, root) }
        assertTrue(cut.joinToString("\n"), cut.isEmpty())
    }

    private fun cutOff(glass: Glass, language: Language, view: View, root: SemanticsNode) = buildList {
        for (node in root.all()) {
            val results = mutableListOf<TextLayoutResult>()
            node.config.getOrNull(SemanticsActions.GetTextLayoutResult)?.action?.invoke(results)
            for (result in results) {
                val text = result.layoutInput.text.text
                val where = "${language.code}, ${nameOf(view.screen)}: '$text'"
                val lines = result.multiParagraph
                if (lines.didExceedMaxLines || lines.height > result.size.height + 1) add("$where is cut off below")
                val widest = (0 until lines.lineCount).maxOf { lines.getLineRight(it) - lines.getLineLeft(it) }
                if (widest > result.size.width + 1) add("$where is cut off at the side")
                if (result.size.width > glass.width) add("$where is wider than the glass")
                for (line in 0 until lines.lineCount - 1) {
                    val end = lines.getLineEnd(line)
                    val broken = end in 1 until text.length && text[end - 1].isLetter() && text[end].isLetter()
                    if (broken) add("$where is broken inside a word, after '${text.substring(0, end)}'")
                }
            }
        }
    }

    @Test fun targetsAreLargeOnAUsualPhone() = large(usual)
    @Test fun targetsAreLargeOnASmallPhone() = large(small)
    @Test fun targetsAreLargeAtDoubleType() = large(doubled)
    @Test fun targetsAreLargeAcross() = large(across)
    @Test fun targetsAreLargeOnATablet() = large(tablet)

    @Test fun targetsAreApartOnAUsualPhone() = apart(usual)
    @Test fun targetsAreApartOnASmallPhone() = apart(small)
    @Test fun targetsAreApartAtDoubleType() = apart(doubled)
    @Test fun targetsAreApartAcross() = apart(across)
    @Test fun targetsAreApartOnATablet() = apart(tablet)
    @Test fun targetsAreApartAtDoubleTypeOnASmallPhone() = apart(smallDoubled)

    @Test fun nothingIsCutOffOnAUsualPhone() = nothingIsCutOff(usual)
    @Test fun nothingIsCutOffAtDoubleType() = nothingIsCutOff(doubled)
    @Test fun nothingIsCutOffAcross() = nothingIsCutOff(across)
    @Test fun nothingIsCutOffOnATablet() = nothingIsCutOff(tablet)

    @Test fun nothingIsCutOffOnASmallPhoneInAnyLanguage() = Language.entries.forEach { nothingIsCutOff(small, it) }
    @Test fun nothingIsCutOffAtDoubleTypeInAnyLanguage() = Language.entries.forEach { nothingIsCutOff(smallDoubled, it) }
    @Test fun targetsAreLargeOnASmallPhoneInAnyLanguage() = Language.entries.forEach { large(small, it) }
    @Test fun targetsAreLargeAtDoubleTypeInAnyLanguage() = Language.entries.forEach { large(smallDoubled, it) }

    @Test
    fun theHeadingIsSaidBeforeWhatCanBeDone() = onEvery(usual) { view, root, _ ->
        val tags = root.all().map { it.tag }
        val title = tags.indexOf("title:${view.title.key}")
        assertTrue("${nameOf(view.screen)} has its heading", title >= 0)
        for (offer in view.offers) {
            val at = tags.indexOf("offer:${offer.id}")
            assertTrue("${nameOf(view.screen)}: ${offer.id} comes after the heading", at > title)
        }
    }

    /**
     * A voice reads the nodes of each part of the glass in the order of the tree: that must
     * be the order in which eyes read it, down the page and, in a row, from left to right.
     */
    @Test fun whatIsSaidComesInTheOrderInWhichItIsRead() = inOrder(usual)
    @Test fun whatIsSaidComesInTheOrderInWhichItIsReadAtDoubleType() = inOrder(smallDoubled)
    @Test fun whatIsSaidComesInTheOrderInWhichItIsReadAcross() = inOrder(across)

    private fun inOrder(glass: Glass) = onEvery(glass) { view, root, _ ->
        // "More" floats over its part; it is reached last of it.
        for (part in listOf("read", "pinned")) {
            val said = root.all().first { it.tag == part }.all().drop(1).filter { it.spoken.isNotBlank() && it.tag != "more" }
            for ((one, next) in said.zipWithNext()) {
                if (one.contains(next)) continue
                val below = next.positionInRoot.y >= one.positionInRoot.y + one.size.height - 1
                val beside = next.positionInRoot.x >= one.positionInRoot.x + one.size.width - 1
                // The second column of a row may begin higher than the first one's last line.
                assertTrue("${nameOf(view.screen)}, $part: '${next.spoken}' is said after '${one.spoken}' and stands before it", below || beside ||
                    next.positionInRoot.y > one.positionInRoot.y)
            }
        }
    }

    private fun SemanticsNode.contains(other: SemanticsNode) = other in all()

    @Test
    fun whatMayNotBeDoneSaysSoAndWhy() {
        var refused = 0
        onEvery(usual) { view, root, _ ->
            for (offer in view.offers.filterNot { it.allowed }) {
                val node = root.all().first { it.tag == "offer:${offer.id}" }
                assertTrue("${offer.id} is said to be disabled", SemanticsProperties.Disabled in node.config)
                val why = standsquare.screens.words.Words.of(Language.ENGLISH).say(checkNotNull(offer.whyNot))
                assertTrue("${offer.id} says why: $why", node.all().any { why in it.spoken })
                refused += 1
            }
        }
        assertTrue("there are refused offers", refused > 0)
    }

    @Test
    fun aNoticeIsSaidByItself() = onEvery(usual) { view, root, _ ->
        view.notice?.let { notice ->
            val node = root.all().first { it.tag == "notice:${notice.text.key}" }
            assertTrue(notice.text.key, SemanticsProperties.LiveRegion in node.config && SemanticsProperties.StateDescription in node.config)
        }
    }

    /** Each screen has one main act at most, and it is the largest thing to tap among the offers. */
    @Test
    fun oneMainActAScreen() = onEvery(usual) { view, _, _ ->
        val main = view.offers.filter { it.role == standsquare.view.Role.MAIN }
        assertTrue("${nameOf(view.screen)}: ${main.map { it.id }}", main.size <= 1)
    }

    @Test
    fun theStopIsAlwaysInTheSamePlace() {
        val places = mutableMapOf<Rect, MutableSet<String>>()
        onEvery(usual) { view, root, _ ->
            root.all().firstOrNull { it.tag == "offer:not_today" }
                ?.let { places.getOrPut(it.boundsInRoot) { mutableSetOf() } += nameOf(view.screen) }
        }
        assertEquals("$places", 1, places.size)
        assertTrue("on many screens", places.values.single().size >= 6)
    }

    @Test
    fun theDemoSaysSoOnEveryScreenOnceItIsKnown() = onEvery(usual) { view, root, _ ->
        val marked = root.all().any { it.tag == "demo" && "not official" in it.spoken }
        assertEquals(nameOf(view.screen), view.demo, marked)
    }
}
