@file:OptIn(ExperimentalTestApi::class, InternalTestApi::class)

package standsquare.screens

import androidx.compose.runtime.mutableStateOf
import androidx.compose.ui.geometry.Size
import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.InternalTestApi
import androidx.compose.ui.test.SkikoComposeUiTest
import androidx.compose.ui.test.assertIsDisplayed
import androidx.compose.ui.test.onAllNodesWithTag
import androidx.compose.ui.test.onNodeWithTag
import androidx.compose.ui.test.performClick
import androidx.compose.ui.test.performScrollTo
import androidx.compose.ui.test.runSkikoComposeUiTest
import androidx.compose.ui.unit.Density
import java.io.File
import kotlin.io.path.createTempDirectory
import org.junit.Assert.assertEquals
import org.junit.Test
import standsquare.core.Phone
import standsquare.core.readRecording
import standsquare.screens.desktop.packagedTypeface
import standsquare.screens.frame.Looks
import standsquare.screens.frame.PhoneGlass
import standsquare.state.PhoneEvent
import standsquare.state.PhoneState
import standsquare.view.Act
import standsquare.view.BookState
import standsquare.view.Screen
import standsquare.view.View

/** The real screens over the real core, tapped. */
class GlassTest {
    private val shown = mutableStateOf<PhoneState>(PhoneState.Opening)
    private val events = mutableListOf<PhoneEvent>()

    private fun onGlass(block: SkikoComposeUiTest.() -> Unit) = runSkikoComposeUiTest(Size(1080f, 2400f), Density(3f)) {
        setContent { PhoneGlass(shown.value, Looks(), packagedTypeface, onEvent = events::add) }
        block()
    }

    private fun SkikoComposeUiTest.draw(view: View, at: Long) {
        runOnUiThread { shown.value = PhoneState.Showing(view, at) }
        waitForIdle()
    }

    @Test
    fun aLiveGlassFollowsEveryView() = onGlass {
        for ((view, at) in recordedViews("three-dogs")) {
            draw(view, at)
            onNodeWithTag("title:${view.title.key}").assertExists()
            for (offer in view.offers) onNodeWithTag("offer:${offer.id}").assertExists()
        }
    }

    /** Where a person taps to do this act on this view, tap after tap. */
    private fun tapsFor(act: Act, view: View): List<String>? {
        view.offers.firstOrNull { it.act == act || (it.act is Act.LevelReading && act is Act.LevelReading) || (it.act is Act.CalendarEntry && act is Act.CalendarEntry) }
            ?.let { return listOf("offer:${it.id}") }
        fun keys(pin: String) = pin.map { "pin:$it" } + "pin:enter"
        return when (act) {
            is Act.HoopLooked -> listOf(if (act.good) "hoop-good:${act.hoop}" else "hoop-bad:${act.hoop}")
            is Act.SeatMeasurer -> listOf("seat:${act.person}")
            is Act.UnseatMeasurer -> listOf("seat:${act.person}")
            is Act.SetPin -> keys(act.pin)
            is Act.CallDog -> if (canCall(view, act.dog)) listOf("dog:${act.dog}") else null
            is Act.BookLine -> listOf("book-open:${act.item}", "book:${act.item}:${act.state.name.lowercase()}")
            is Act.HandlerAnswer -> listOf("answer:${act.question}:${if (act.yes) "yes" else "no"}")
            is Act.NotToday -> listOf("stop:${act.reason}")
            is Act.Sign -> listOf("sign:${act.person}") + keys(act.pin)
            is Act.Unlock -> listOf("sign:${act.person}") + keys(act.pin)
            is Act.AskOwner -> listOf("owner:${act.person}")
            is Act.RecordObjection -> if (act.words.isEmpty()) listOf("objection:record") else null
            is Act.RecordIncident -> if (act.words.isEmpty()) listOf("incident:${act.what}_${act.whom}") else null
            is Act.OpenPast -> if (view.screen is Screen.Home) listOf("open:${act.session}") else null
            is Act.OpenHistory -> when (val screen = view.screen) {
                is Screen.Queue -> listOf("look:${(screen.queue.waiting + screen.queue.done).first { it.look == act }.id}")
                is Screen.Past -> listOf("open:${screen.past.sections.flatMap { it.lines }.first { it.open == act }.id}")
                else -> null
            }
            is Act.ChooseReader -> listOf("reader-use:${act.reader}")
            is Act.ChipTyped -> listOf("chip_type") + act.number.map { "chip-pad:$it" }
            // A camera's code or a wedge's keys come from the world; in the queue a finger can type it too.
            is Act.BookCode -> if (view.screen is Screen.Queue) listOf("find_dog") + act.code.map { "find-pad:$it" } else null
            else -> null
        }
    }

    private fun canCall(view: View, dog: String) =
        (view.screen as? Screen.Queue)?.queue?.waiting?.any { it.id == dog && it.call != null } == true

    private fun SkikoComposeUiTest.tap(tag: String) {
        // After a wrong PIN the pad is open still.
        if (tag.startsWith("sign:") && onAllNodesWithTag("pin-of:${tag.removePrefix("sign:")}").fetchSemanticsNodes().isNotEmpty()) return
        // The open pad lies where the offers are.
        if (tag.startsWith("offer:") && onAllNodesWithTag(tag).fetchSemanticsNodes().isEmpty()) {
            onNodeWithTag("pad_close").performClick()
            waitForIdle()
        }
        val node = onNodeWithTag(tag)
        node.performScrollTo()
        waitForIdle()
        repeat(6) {
            val centre = node.fetchSemanticsNode().boundsInRoot.center
            val more = onAllNodesWithTag("more").fetchSemanticsNodes().firstOrNull() ?: return@repeat
            if (more.boundsInRoot.contains(centre)) onNodeWithTag("more").performClick()
            waitForIdle()
        }
        node.assertIsDisplayed()
        node.performClick()
        waitForIdle()
    }

    /** Does every act of a recording that a finger does by tapping, and says how many those were. */
    private fun tapped(name: String): Pair<Int, String> {
        val recording = readRecording(File(root, "tests/recorded/$name.json").readText())
        val dir = createTempDirectory("tapped").toFile()
        var taps = 0
        var json = ""
        try {
            onGlass {
                Phone.open(dir.path, recording.deviceSecret, recording.opened).use { phone ->
                    var view = phone.view()
                    draw(view, recording.opened.atMs)
                    for ((n, step) in recording.steps.withIndex()) {
                        val tags = tapsFor(step.act, view)
                        var seen = view.revision
                        if (tags != null) {
                            events.clear()
                            tags.forEach { tap(it) }
                            taps += tags.size
                            val sent = events.single() as PhoneEvent.Do
                            seen = sent.seen
                            if (step.act !is Act.LevelReading) assertEquals("step $n", step.act, sent.act)
                        }
                        view = phone.apply(step.act, seen, step.stamp).view
                        draw(view, step.stamp.atMs)
                    }
                    json = phone.sessionJson()
                }
            }
        } finally {
            dir.deleteRecursively()
        }
        return taps to json
    }

    @Test
    fun theWholeDayTappedComesToTheRecordedBytes() {
        val (taps, json) = tapped("three-dogs")
        assertEquals(File(root, "tests/recorded/three-dogs.session.json").readText(), json)
        assertEquals("every tap of the day", true, taps > 60)
    }

    @Test
    fun everyRefusalTappedComesToTheRecordedBytes() {
        val (_, json) = tapped("refusals")
        assertEquals(File(root, "tests/recorded/refusals.session.json").readText(), json)
    }

    @Test
    fun lookingAroundTappedComesToTheRecordedBytes() {
        val (taps, json) = tapped("looking-around")
        assertEquals(File(root, "tests/recorded/looking-around.session.json").readText(), json)
        assertEquals("every page was opened by a finger", true, taps > 60)
    }

    @Test
    fun pairingTappedComesToTheRecordedBytes() {
        val (_, json) = tapped("pairing")
        assertEquals(File(root, "tests/recorded/pairing.session.json").readText(), json)
    }

    @Test
    fun anOwnersPhoneTappedComesToTheRecordedBytes() {
        val (taps, json) = tapped("own-phone")
        assertEquals(File(root, "tests/recorded/own-phone.session.json").readText(), json)
        assertEquals("finger and PIN", true, taps > 60)
    }

    /** A camera needs the whole code at once, on a small phone and across too. */
    @Test
    fun theSlipsCodeIsSeenWholeAndNothingLiesOverIt() {
        val (view, at) = recordedViews("looking-around").first { it.first.screen is Screen.Slip }
        for ((width, height, font) in listOf(Triple(360f, 640f, 1f), Triple(360f, 640f, 2f), Triple(800f, 360f, 1f))) {
            runSkikoComposeUiTest(Size(width, height), Density(1f, font)) {
                setContent { PhoneGlass(shown.value, Looks(), packagedTypeface, onEvent = events::add) }
                draw(view, at)
                onNodeWithTag("code").performScrollTo()
                waitForIdle()
                val code = onNodeWithTag("code").fetchSemanticsNode()
                val read = onNodeWithTag("read").fetchSemanticsNode().boundsInRoot
                assertEquals("$width by $height", code.size.height.toFloat(), code.boundsInRoot.height, 0.5f)
                assertEquals("$width by $height", true, code.boundsInRoot.top >= read.top && code.size.height >= 100)
                val more = onAllNodesWithTag("more").fetchSemanticsNodes().firstOrNull()
                assertEquals("$width by $height", false, more?.boundsInRoot?.overlaps(code.boundsInRoot) ?: false)
            }
        }
    }

    /** A reader dies without warning: its display is one tap away, in sight without scrolling. */
    @Test
    fun typingFromTheDisplayIsOneTapAwayWhateverTheTypesSize() {
        for (font in listOf(1f, 2f)) runSkikoComposeUiTest(Size(1080f, 2400f), Density(3f, font)) {
            setContent { PhoneGlass(shown.value, Looks(), packagedTypeface, onEvent = events::add) }
            val (view, at) = recordedViews("pairing").first { (it.first.screen as? Screen.Chip)?.chip?.state?.key == "chip.reader_gone" }
            draw(view, at)
            onNodeWithTag("chip_type").assertIsDisplayed().performClick()
            waitForIdle()
            onNodeWithTag("chip-pad:9").assertIsDisplayed()
        }
    }

    @Test
    fun aPinIsNeverShownAndForgottenOnceEntered() = onGlass {
        val (view, at) = recordedViews("three-dogs").first { it.first.screen is Screen.Sign }
        draw(view, at)
        val seat = (view.screen as Screen.Sign).sign.seats.first()
        tap("sign:${seat.person}")
        for (digit in "4711") tap("pin:$digit")
        val said = onNodeWithTag("pin:typed").fetchSemanticsNode().config.toString()
        assertEquals("what is said of a PIN", true, "4 digits entered" in said && "4711" !in said)
        tap("pin:enter")
        assertEquals(PhoneEvent.Do(Act.Sign(seat.person, "4711"), view.revision), events.single())
        assertEquals(true, "0 digits entered" in onNodeWithTag("pin:typed").fetchSemanticsNode().config.toString())
    }

    @Test
    fun whatWasTypedIsInSightAtDoubleType() = runSkikoComposeUiTest(Size(1080f, 2400f), Density(3f, 2f)) {
        setContent { PhoneGlass(shown.value, Looks(), packagedTypeface, onEvent = events::add) }
        for (wanted in listOf(Screen.Pin::class, Screen.Sign::class)) {
            val (view, at) = recordedViews("three-dogs").first { wanted.isInstance(it.first.screen) }
            draw(view, at)
            (view.screen as? Screen.Sign)?.let { tap("sign:${it.sign.seats.first().person}") }
            for (tag in listOf("pin:typed", "pin:1", "pin:enter")) onNodeWithTag(tag).assertIsDisplayed()
        }
    }

    @Test
    fun aLineOfTheBookCanBePutRight() = onGlass {
        val (view, at) = recordedViews("three-dogs").first { it.first.screen is Screen.Papers }
        draw(view, at)
        tap("book-open:chip")
        tap("book:chip:differs")
        assertEquals(PhoneEvent.Do(Act.BookLine("chip", BookState.DIFFERS), view.revision), events.single())
    }

    @Test
    fun theLookIsOneTapAway() = onGlass {
        val (view, at) = recordedViews("three-dogs").first()
        draw(view, at)
        tap2("look")
        assertEquals(listOf(PhoneEvent.ChangeTheme), events)
    }

    private fun SkikoComposeUiTest.tap2(tag: String) {
        onNodeWithTag(tag).performClick()
        waitForIdle()
    }
}
