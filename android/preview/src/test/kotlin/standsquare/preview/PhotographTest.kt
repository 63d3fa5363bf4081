@file:OptIn(ExperimentalTestApi::class, InternalTestApi::class)

package standsquare.preview

import androidx.compose.foundation.layout.Box
import androidx.compose.runtime.Composable
import androidx.compose.runtime.LaunchedEffect
import androidx.compose.runtime.mutableStateOf
import androidx.compose.ui.Modifier
import androidx.compose.ui.geometry.Size
import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.InternalTestApi
import androidx.compose.ui.test.SkikoComposeUiTest
import androidx.compose.ui.test.onAllNodesWithTag
import androidx.compose.ui.test.onNodeWithTag
import androidx.compose.ui.test.performClick
import androidx.compose.ui.test.performScrollTo
import androidx.compose.ui.test.runSkikoComposeUiTest
import androidx.compose.ui.unit.Density
import java.io.File
import kotlin.io.path.createTempDirectory
import kotlin.random.Random
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.core.Phone
import standsquare.core.readRecording
import standsquare.device.CodeReader
import standsquare.screens.desktop.packagedTypeface
import standsquare.screens.frame.CodeCamera
import standsquare.screens.frame.Looks
import standsquare.screens.frame.PhoneGlass
import standsquare.screens.frame.Sight
import standsquare.state.PhoneEvent
import standsquare.state.PhoneState
import standsquare.view.Act
import standsquare.view.QrMatrix
import standsquare.view.Screen
import standsquare.view.Stamp
import standsquare.view.View

/**
 * From one phone's glass to the other phone's record: codes that the real core draws, seen by a
 * camera that is held badly, found by the app's own reader, handed on by the real screen, and
 * taken by a real core.
 */
class PhotographTest {
    private val root = File(checkNotNull(System.getProperty("standsquare.root")))
    private val random = Random(11)

    private fun recording(name: String) = readRecording(File(root, "tests/recorded/$name.json").readText())

    private fun <T> inAFolder(block: (String) -> T): T {
        val dir = createTempDirectory("codes").toFile()
        try {
            return block(dir.path)
        } finally {
            dir.deleteRecursively()
        }
    }

    /** A phone and its clock. */
    private inner class Held(private val phone: Phone, private var nowMs: Long, private val offsetMin: Int) {
        fun view(): View = phone.view()

        fun act(act: Act, afterMs: Long = 1_000): View {
            nowMs += afterMs
            return phone.apply(act, phone.view().revision, Stamp(nowMs, offsetMin, random.nextBytes(32))).view
        }

        val at get() = nowMs
    }

    /** Replays a recording until its view is as wanted. */
    private fun <T> after(name: String, dir: String, wanted: (View) -> Boolean, block: (Held) -> T): T {
        val recording = recording(name)
        Phone.open(dir, recording.deviceSecret, recording.opened).use { phone ->
            for (step in recording.steps) {
                val view = phone.apply(step.act, phone.view().revision, step.stamp).view
                if (wanted(view)) return block(Held(phone, step.stamp.atMs, step.stamp.offsetMin))
            }
        }
        throw AssertionError("$name shows no such view")
    }

    /** The codes that are on a phone's glass one after another. */
    private fun codesOf(phone: Held): List<QrMatrix> {
        val count = (phone.view().screen as Screen.Codes).codes.count.toInt()
        val all = sortedMapOf<UInt, QrMatrix>()
        repeat(count * 20) {
            val codes = (phone.view().screen as Screen.Codes).codes
            all[codes.number] = codes.code
            if (all.size == count) return all.values.toList()
            phone.act(Act.Tick, 100)
        }
        throw AssertionError("only ${all.size} of $count codes were shown")
    }

    private fun slip(): QrMatrix = inAFolder { dir ->
        after("looking-around", dir, { it.screen is Screen.Slip }) { (it.view().screen as Screen.Slip).slip.code }
    }

    private fun copy(): List<QrMatrix> = inAFolder { dir ->
        after("copies", dir, { (it.screen as? Screen.Codes)?.codes?.count?.let { n -> n > 2u } == true }, ::codesOf)
    }

    private fun read(photograph: Photograph): List<String> = buildList {
        CodeReader { add(it) }.take(photograph.brightness, photograph.width, photograph.width, photograph.height)
    }

    @Test
    fun codesAreReadHowsoeverTheyAreHeld() {
        val ways = mapOf(
            "straight" to Photograph.Held(),
            "upside down" to Photograph.Held(degrees = 180f),
            "across" to Photograph.Held(degrees = 90f),
            "askew" to Photograph.Held(degrees = 17f),
            "far away" to Photograph.Held(share = 0.5f),
            "a little out of focus" to Photograph.Held(share = 0.8f, blur = 2),
            "grainy" to Photograph.Held(noise = 70),
            "the sun from one side" to Photograph.Held(left = 250, right = 110),
            "in the dusk" to Photograph.Held(left = 75, right = 75),
            "all of it a little" to Photograph.Held(share = 0.75f, degrees = 8f, blur = 1, noise = 35, left = 245, right = 150),
        )
        for ((name, code) in listOf("a slip" to slip(), "a part of a copy" to copy().first())) {
            val whole = read(Photograph.of(code, Photograph.Held(), random)).single()
            for ((way, held) in ways) assertEquals("$name of ${code.side} modules, $way", listOf(whole), read(Photograph.of(code, held, random)))
            // That the picture is what it is read from: without a code there is nothing, nor where it is a blur.
            assertEquals(emptyList<String>(), read(Photograph.of(code, Photograph.Held(blur = 14), random)))
        }
    }

    /** A camera that the test holds things before. */
    private class Played : CodeCamera {
        var read: ((String) -> Unit)? = null
        var light = false
        val sight = mutableStateOf(Sight.SEEING)
        var opened = 0

        @Composable
        override fun Picture(light: Boolean, tell: (Sight) -> Unit, read: (String) -> Unit, modifier: Modifier) {
            this.read = read
            this.light = light
            LaunchedEffect(Unit) { opened += 1 }
            LaunchedEffect(sight.value) { tell(sight.value) }
            Box(modifier)
        }
    }

    /** The real glass over a phone, with its camera. */
    private inner class Desk(private val test: SkikoComposeUiTest, private val phone: Held) {
        val camera = Played()
        private val shown = mutableStateOf<PhoneState>(PhoneState.Showing(phone.view(), phone.at))
        private val sent = mutableListOf<PhoneEvent.Do>()
        private val reader = CodeReader { checkNotNull(camera.read) { "the camera is not open" }(it) }
        val view get() = (shown.value as PhoneState.Showing).view
        val acts = mutableListOf<Act>()

        init {
            test.setContent { PhoneGlass(shown.value, Looks(), packagedTypeface, onEvent = { sent += it as PhoneEvent.Do }, camera = camera) }
        }

        fun there(tag: String): Boolean {
            test.waitForIdle()
            return test.onAllNodesWithTag(tag).fetchSemanticsNodes().isNotEmpty()
        }

        fun tap(tag: String) {
            test.waitForIdle()
            val node = test.onNodeWithTag(tag)
            if (!tag.startsWith("camera:")) node.performScrollTo()
            node.performClick()
            done()
        }

        private fun done() {
            test.waitForIdle()
            for (one in sent.toList()) {
                sent.remove(one)
                acts += one.act
                assertEquals("on the view that is there", view.revision, one.seen)
                val now = phone.act(one.act)
                test.runOnUiThread { shown.value = PhoneState.Showing(now, phone.at) }
            }
            test.waitForIdle()
        }

        /** A code is held before the camera for three pictures. */
        fun hold(code: QrMatrix) = repeat(3) {
            if (!there("camera")) return
            val held = Photograph.Held(
                share = 0.7f + random.nextFloat() * 0.2f, degrees = random.nextInt(-12, 13).toFloat(), blur = random.nextInt(0, 2), noise = 25,
                left = 240, right = 180,
            )
            val picture = Photograph.of(code, held, random)
            reader.take(picture.brightness, picture.width, picture.width, picture.height)
            done()
        }
    }

    private fun onGlass(phone: Held, block: Desk.() -> Unit) =
        runSkikoComposeUiTest(Size(360f, 800f), Density(1f)) { Desk(this, phone).block() }

    @Test
    fun aSlipIsCheckedWithTheCameraAndThenAnother() = inAFolder { dir ->
        after("looking-around", dir, { it.screen is Screen.Slip }) { phone ->
            val code = (phone.view().screen as Screen.Slip).slip.code
            phone.act(Act.LeaveLook)
            phone.act(Act.OpenSlipCheck)
            onGlass(phone) {
                assertFalse("nothing looks before it is asked to", there("camera"))
                tap("camera:open")
                assertTrue(there("camera:picture"))
                assertFalse("text is not typed meanwhile", there("slip:text"))
                hold(code)
                assertEquals("once, however long it is held", 1, acts.size)
                assertEquals("slip.by_this_phone", (view.screen as Screen.SlipCheck).check.answer?.key)
                assertTrue(there("answer:slip.by_this_phone") && there("slip-line"))
                assertFalse("the answer is there to be read", there("camera"))
                // The next one: not the last one's answer, and a stranger's code.
                tap("camera:open")
                assertEquals(Act.OpenSlipCheck, acts.last())
                assertTrue(there("camera") && (view.screen as Screen.SlipCheck).check.answer == null)
                tap("camera:close")
                assertTrue("its text can be typed", there("slip:text") && there("slip:check"))
                assertEquals("as often as it was opened", 2, camera.opened)
            }
        }
    }

    @Test
    fun aCopyInPartsIsTakenInWholeByTheOtherPhone() {
        val codes = copy()
        assertTrue("it goes in several codes: ${codes.size}", codes.size > 2)
        inAFolder { dir ->
            // Another phone, with a record of its own.
            val stamp = recording("copies").opened.copy(entropy = ByteArray(32) { 9 })
            Phone.open(dir, ByteArray(32) { 5 }, stamp).use { other ->
                val phone = Held(other, stamp.atMs, stamp.offsetMin)
                phone.act(Act.OpenSlipCheck)
                onGlass(phone) {
                    tap("camera:open")
                    // From somewhere in the middle on, in turn, and the first of them twice.
                    val turn = codes.drop(1) + codes
                    for ((n, code) in turn.take(codes.size - 1).withIndex()) {
                        hold(code)
                        assertTrue("${n + 1} of ${codes.size} are in, and it goes on", there("camera"))
                        assertEquals("notice.code_piece", view.notice?.text?.key)
                        assertTrue("that is said on the glass", there("notice:notice.code_piece"))
                        assertEquals(n + 1, acts.filterIsInstance<Act.CheckSlip>().distinct().size)
                    }
                    hold(turn.first())
                    assertTrue("one that was taken changes nothing", there("camera") && view.screen is Screen.SlipCheck)
                    hold(codes.first())
                    assertFalse("all are in: ${view.notice}, ${acts.size}", there("camera"))
                    assertEquals("notice.copy_kept", view.notice?.text?.key)
                    assertTrue("it shows how far it has it, for the first phone's camera", view.screen is Screen.Codes && there("code"))
                }
            }
        }
    }

    @Test
    fun whatTheCameraCannotDoIsSaidAndTheTextStays() = inAFolder { dir ->
        val stamp = recording("copies").opened
        Phone.open(dir, ByteArray(32) { 6 }, stamp).use { one ->
            val phone = Held(one, stamp.atMs, stamp.offsetMin)
            phone.act(Act.OpenSlipCheck)
            onGlass(phone) {
                for (sight in listOf(Sight.DENIED, Sight.NONE, Sight.TAKEN)) {
                    camera.sight.value = sight
                    tap("camera:open")
                    assertTrue("$sight", there("camera.${sight.name.lowercase()}"))
                    assertFalse(there("camera:light"))
                    tap("camera:close")
                    assertTrue(there("slip:text"))
                }
                camera.sight.value = Sight.SEEING_WITH_LIGHT
                tap("camera:open")
                tap("camera:light")
                assertTrue("its light is on", camera.light)
                tap("camera:light")
                assertFalse(camera.light)
            }
        }
    }

    /** The camera of the demo's window: what this phone showed last can be held before it, and it can be forbidden. */
    @Test
    fun theDemosCameraReadsWhatIsHeldBeforeIt() {
        val camera = HeldCamera()
        val codes = inAFolder { dir ->
            after("copies", dir, { (it.screen as? Screen.Codes)?.codes?.count?.let { n -> n > 2u } == true }) { phone ->
                repeat(100) {
                    camera.follow(phone.view())
                    phone.act(Act.Tick, 200)
                }
                (phone.view().screen as Screen.Codes).codes.count.toInt()
            }
        }
        assertEquals("all of them, each once", codes, camera.seen.value.size)
        camera.held.value = camera.seen.value.take(2)
        val read = java.util.Collections.synchronizedSet(mutableSetOf<String>())
        val told = java.util.Collections.synchronizedList(mutableListOf<Sight>())
        for (allowed in listOf(true, false)) {
            camera.allowed.value = allowed
            runSkikoComposeUiTest(Size(320f, 240f), Density(1f)) {
                setContent { camera.Picture(light = true, { told += it }, { read += it }, Modifier) }
                var looks = 0
                while (if (allowed) read.size < 2 else told.last() != Sight.DENIED) {
                    assertTrue("it was looked for long enough: $told, ${read.size}", looks++ < 400)
                    Thread.sleep(50)
                    waitForIdle()
                }
            }
        }
        assertEquals(listOf(Sight.SEEING_WITH_LIGHT, Sight.DENIED), told)
    }
}
