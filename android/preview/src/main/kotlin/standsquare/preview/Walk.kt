@file:OptIn(ExperimentalTestApi::class, InternalTestApi::class)

package standsquare.preview

import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.snapshots.Snapshot
import androidx.compose.ui.geometry.Rect
import androidx.compose.ui.geometry.Size
import androidx.compose.ui.graphics.asSkiaBitmap
import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.InternalTestApi
import androidx.compose.ui.test.SkikoComposeUiTest
import androidx.compose.ui.test.captureToImage
import androidx.compose.ui.test.onAllNodesWithTag
import androidx.compose.ui.test.onNodeWithTag
import androidx.compose.ui.test.onRoot
import androidx.compose.ui.test.performClick
import androidx.compose.ui.test.performScrollTo
import androidx.compose.ui.test.runSkikoComposeUiTest
import androidx.compose.ui.unit.Density
import java.io.File
import java.util.concurrent.CompletableFuture
import java.util.concurrent.TimeUnit
import org.jetbrains.skia.EncodedImageFormat
import org.jetbrains.skia.Image
import standsquare.screens.desktop.packagedTypeface
import standsquare.screens.frame.Looks
import standsquare.screens.frame.PhoneGlass
import standsquare.screens.frame.nameOf
import standsquare.state.PhoneEvent
import standsquare.state.PhoneState
import standsquare.view.View

/** The walk did not come to its end; the message says where it stopped. */
class WalkStopped(message: String, cause: Throwable? = null) : Exception(message, cause)

/** A phone of 360 by 800 dp at density 3. */
private const val WIDTH = 1080
private const val HEIGHT = 2400
private const val DENSITY = 3f

/** How long one step may take before the walk gives up. */
private const val PATIENCE_MS = 30_000L

/** Walks the demo session by tapping the real screens, and writes pictures and the return into [out]. */
fun walkInto(arguments: Arguments, out: File) {
    require(out.isDirectory || out.mkdirs()) { "$out cannot be made: name another folder with --pictures" }
    Desk(arguments).use { desk ->
        runSkikoComposeUiTest(Size(WIDTH.toFloat(), HEIGHT.toFloat()), Density(DENSITY)) { Walk(this, desk, out).run() }
        write(desk, out)
    }
}

private fun write(desk: Desk, out: File) {
    fun <T> ask(question: (standsquare.core.Phone) -> T): T {
        val answer = CompletableFuture<T>()
        desk.gateway.ask(question) { it.fold(answer::complete, answer::completeExceptionally) }
        return answer.get(PATIENCE_MS, TimeUnit.MILLISECONDS)
    }
    File(out, "session.json").writeText(ask { it.sessionJson() })
    File(out, "return.csv").writeText(ask { it.returnCsv() })
    val journal = File(out, "journal.sqlite")
    if (journal.exists() && !journal.delete()) throw WalkStopped("$journal is in the way and cannot be removed")
    ask { it.exportJournal(journal.path) }
}

private class Walk(private val glass: SkikoComposeUiTest, private val desk: Desk, private val out: File) {
    private val script = Script()
    private val shown = mutableStateOf<PhoneState>(PhoneState.Opening)
    private var step = 0
    private var pictures = 0
    private var last: ByteArray? = null

    fun run() {
        glass.setContent {
            PhoneGlass(shown.value, Looks(), packagedTypeface, onEvent = { event ->
                if (event is PhoneEvent.Do) desk.gateway.send(event.act, event.seen)
            })
        }
        picture("opening")
        var view = await("the record to open") { true }
        if (view.league.isEmpty()) {
            picture("home-without-a-roster")
            desk.firstRoster()
            view = await("the roster: ${desk.trouble.value}") { it.league.isNotEmpty() }
        }
        while (true) {
            step += 1
            if (step > MOST_STEPS) throw WalkStopped(stopped(view, "it goes round and round"))
            picture(nameOf(view.screen) + (view.notice?.let { "-" + it.text.key.replace('.', '-') } ?: ""))
            view = when (val deed = script.next(view)) {
                is Deed.Finished -> return
                is Deed.Lost -> throw WalkStopped(stopped(view, deed.why))
                is Deed.Tap -> { tap(view, deed.tag); changed(view, deed.tag) }
                is Deed.Taps -> {
                    deed.tags.forEachIndexed { n, tag ->
                        // After a wrong PIN the pad is open still.
                        if (tag.startsWith("sign:") && there("pin-of:${tag.removePrefix("sign:")}")) return@forEachIndexed
                        tap(view, tag)
                        // The screen between two taps: an opened line, an open pad, a PIN typed.
                        val follows = deed.tags.getOrNull(n + 1) ?: return@forEachIndexed
                        if (!tag.startsWith("pin:") || follows == "pin:enter") picture("${nameOf(view.screen)}-before-$follows")
                    }
                    changed(view, deed.tags.last())
                }
                is Deed.Reader -> {
                    Thread.sleep(deed.afterMs)
                    val used = view.reader.wanted?.reader
                    val reader = desk.readers[used] ?: throw WalkStopped(stopped(view, "there is no reader $used to say '${deed.command}' to"))
                    reader.say(deed.command)
                    await("the reader: ${deed.command}", view, deed.until)
                }
                is Deed.Await -> await(deed.what, view, deed.until)
                is Deed.Lay -> { desk.tilt.value = deed.tilt; tap(view, deed.tag); changed(view, deed.tag) }
                is Deed.Network -> { desk.network(deed.on); view }
            }
        }
    }

    private fun stopped(view: View, why: String) =
        "The walk stopped at step $step, screen '${nameOf(view.screen)}'" + (view.dog?.let { " with ${it.name}" } ?: "") + ": $why"

    /** Waits for another view than [before] and draws it. */
    private fun changed(before: View, what: String): View = await("an answer to $what", before) { it != before }

    /** Waits until the core's view is as wanted, then draws it. */
    private fun await(what: String, before: View? = null, wanted: (View) -> Boolean): View {
        val end = System.nanoTime() + PATIENCE_MS * 1_000_000
        while (true) {
            when (val state = desk.gateway.state.value) {
                is PhoneState.Showing -> if (wanted(state.view)) {
                    draw(state)
                    return state.view
                }
                is PhoneState.Broken -> throw WalkStopped("The walk stopped at step $step, waiting for $what: ${state.fault}")
                is PhoneState.Opening -> Unit
            }
            if (System.nanoTime() > end) throw WalkStopped(before?.let { stopped(it, "no $what came") } ?: "The walk stopped at step $step: no sign of $what")
            Thread.sleep(10)
        }
    }

    private fun draw(state: PhoneState) {
        glass.runOnUiThread {
            shown.value = state
            Snapshot.sendApplyNotifications()
        }
        glass.waitForIdle()
        desk.ahead.addAndGet(LOOKED_MS)
    }

    /** Taps as a finger would: what lies out of sight is scrolled to, what is covered is uncovered first. */
    private fun tap(view: View, tag: String) {
        try {
            val node = glass.onNodeWithTag(tag)
            if (!inSight(node.fetchSemanticsNode().boundsInRoot)) node.performScrollTo()
            glass.waitForIdle()
            var tries = 0
            while (covered(glass.onNodeWithTag(tag).fetchSemanticsNode().boundsInRoot) && tries++ < 10) {
                glass.onNodeWithTag("more").performClick()
                glass.waitForIdle()
            }
            glass.onNodeWithTag(tag).performClick()
            glass.waitForIdle()
        } catch (fault: AssertionError) {
            throw WalkStopped(stopped(view, "'$tag' cannot be tapped: ${fault.message}"), fault)
        }
    }

    private fun inSight(bounds: Rect) = bounds.top >= 0 && bounds.bottom <= HEIGHT && bounds.height > 0

    private fun nodes(tag: String) = glass.onAllNodesWithTag(tag).fetchSemanticsNodes()

    private fun there(tag: String) = nodes(tag).isNotEmpty()

    private fun covered(bounds: Rect) = nodes("more").any { it.boundsInRoot.contains(bounds.center) }

    /** A numbered picture of the glass, unless it is the one before again. */
    private fun picture(name: String) {
        glass.waitForIdle()
        val bitmap = glass.onRoot().captureToImage().asSkiaBitmap()
        val bytes = checkNotNull(Image.makeFromBitmap(bitmap).encodeToData(EncodedImageFormat.PNG)).bytes
        if (last?.contentEquals(bytes) == true) return
        last = bytes
        pictures += 1
        File(out, "%03d-%s.png".format(pictures, name.replace(Regex("[^a-z0-9-]"), "-"))).writeBytes(bytes)
    }

    private companion object {
        const val MOST_STEPS = 400

        /** How long a person looks at a screen before they tap it, at the least. */
        const val LOOKED_MS = 500L
    }
}
