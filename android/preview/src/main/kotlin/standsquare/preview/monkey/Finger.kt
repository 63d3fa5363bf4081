@file:OptIn(ExperimentalTestApi::class)

package standsquare.preview.monkey

import androidx.compose.ui.geometry.Offset
import androidx.compose.ui.semantics.SemanticsActions
import androidx.compose.ui.semantics.SemanticsNode
import androidx.compose.ui.semantics.SemanticsProperties
import androidx.compose.ui.semantics.getOrNull
import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.SkikoComposeUiTest
import androidx.compose.ui.test.click
import androidx.compose.ui.test.onNodeWithTag
import androidx.compose.ui.test.onRoot
import androidx.compose.ui.test.performClick
import androidx.compose.ui.test.performScrollTo
import androidx.compose.ui.test.performTextReplacement
import androidx.compose.ui.test.performTouchInput

/** A finger on the glass: it finds what can be touched by what the screen says of itself. */
class Finger(private val glass: SkikoComposeUiTest) {
    /** Something on the glass that takes a touch, by its tag, and where it can be hit. */
    data class Target(val tag: String, val at: Offset)

    private fun SemanticsNode.all(): List<SemanticsNode> = listOf(this) + children.flatMap { it.all() }

    private fun nodes() = glass.onRoot().fetchSemanticsNode().all()

    private val SemanticsNode.tag get() = config.getOrNull(SemanticsProperties.TestTag)

    private fun SemanticsNode.inSight() = boundsInRoot.height >= LEAST && boundsInRoot.width >= LEAST

    /** All tags on the glass, in sight or not. */
    fun tags(): Set<String> = nodes().mapNotNullTo(mutableSetOf()) { it.tag }

    /** What can be hit now, what may not be tapped included. */
    fun targets(): List<Target> = nodes().filter { SemanticsActions.OnClick in it.config && it.inSight() }
        .map { Target(it.tag ?: "?", it.boundsInRoot.center) }

    /** Lines to type into. */
    fun lines(): List<String> = nodes().filter { SemanticsActions.SetText in it.config }.mapNotNull { it.tag }

    /** A short touch. */
    fun tap(at: Offset) = glass.onRoot().performTouchInput { click(at) }

    /** Two touches running, as a cold thumb does, before anything answers. */
    fun twice(at: Offset) = glass.onRoot().performTouchInput {
        click(at)
        advanceEventTime(60)
        click(at)
    }

    /** Scrolls [by] pixels what can be scrolled. */
    fun scroll(by: Float, which: (Int) -> Int) {
        val able = nodes().mapNotNull { it.config.getOrNull(SemanticsActions.ScrollBy)?.action }
        if (able.isEmpty()) return
        glass.runOnUiThread { able[which(able.size)](0f, by) }
        glass.waitForIdle()
    }

    /** Types into the line with this tag. */
    fun type(tag: String, text: String) {
        val line = glass.onNodeWithTag(tag)
        if (nodes().none { it.tag == tag && it.inSight() }) line.performScrollTo()
        line.performTextReplacement(text)
        glass.waitForIdle()
    }

    /** Brings what has this tag into sight, uncovers it and taps it; false where it is not on the glass. */
    fun find(tag: String): Boolean {
        val node = nodes().firstOrNull { it.tag == tag } ?: return false
        if (node.boundsInRoot.height < node.size.height) {
            glass.onNodeWithTag(tag).performScrollTo()
            glass.waitForIdle()
        }
        var tries = 0
        while (covered(tag) && tries++ < MOST_MORE) {
            glass.onNodeWithTag("more").performClick()
            glass.waitForIdle()
        }
        val seen = nodes().first { it.tag == tag }
        if (!seen.inSight()) throw MonkeyFound("'$tag' cannot be brought into sight")
        tap(seen.boundsInRoot.center)
        return true
    }

    private fun covered(tag: String): Boolean {
        val all = nodes()
        val more = all.firstOrNull { it.tag == "more" } ?: return false
        return tag != "more" && all.first { it.tag == tag }.boundsInRoot.center in more.boundsInRoot
    }

    private companion object {
        /** Less than so many pixels of a thing are no target. */
        const val LEAST = 4f
        const val MOST_MORE = 8
    }
}
