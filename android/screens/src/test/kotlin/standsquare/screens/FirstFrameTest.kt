@file:OptIn(ExperimentalTestApi::class, InternalTestApi::class)

package standsquare.screens

import androidx.compose.runtime.collectAsState
import androidx.compose.runtime.getValue
import androidx.compose.ui.geometry.Size
import androidx.compose.ui.graphics.asSkiaBitmap
import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.InternalTestApi
import androidx.compose.ui.test.assertIsDisplayed
import androidx.compose.ui.test.captureToImage
import androidx.compose.ui.test.onAllNodesWithTag
import androidx.compose.ui.test.onNodeWithTag
import androidx.compose.ui.test.onRoot
import androidx.compose.ui.test.runSkikoComposeUiTest
import androidx.compose.ui.unit.Density
import java.util.concurrent.CountDownLatch
import kotlin.io.path.createTempDirectory
import org.junit.Assert.assertEquals
import org.junit.Assert.assertNotEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.gateway.Gateway
import standsquare.gateway.Moment
import standsquare.gateway.Platform
import standsquare.gateway.Tilt
import standsquare.screens.desktop.packagedTypeface
import standsquare.screens.frame.Looks
import standsquare.screens.frame.PhoneGlass
import standsquare.view.Act
import standsquare.view.Effect

/** From the start to the first screen: nothing on the glass waits for the record. */
class FirstFrameTest {
    private val platform = object : Platform {
        override fun now() = Moment(1_795_593_600_000, 60)
        override fun entropy() = ByteArray(32) { 7 }
        override fun tilt() = Tilt(0, 0)
        override fun perform(effect: Effect, gateway: Gateway) = Unit
        override fun ask(asked: Effect.AskOffice): Act = Act.OfficeUnreachable(asked.request, "no office here")
    }

    @Test
    fun theFirstFrameIsDrawnWhileTheRecordIsStillHeldShut() {
        val dir = createTempDirectory("first-frame").toFile()
        val may = CountDownLatch(1)
        val asked = CountDownLatch(1)
        var opener: Thread? = null
        try {
            // The core cannot open without the phone's secret, and that is held back.
            Gateway(dir.path, platform) { opener = Thread.currentThread(); asked.countDown(); may.await(); ByteArray(32) }.use { gateway ->
                runSkikoComposeUiTest(Size(360f, 640f), Density(1f)) {
                    setContent {
                        val state by gateway.state.collectAsState()
                        PhoneGlass(state, Looks(), packagedTypeface, onEvent = {})
                    }
                    waitForIdle()
                    onNodeWithTag("opening").assertIsDisplayed()
                    val frame = onRoot().captureToImage().asSkiaBitmap()
                    val colours = (0 until frame.height).flatMap { y -> (0 until frame.width).map { x -> frame.getColor(x, y) } }.toSet()
                    assertTrue("words are drawn, not an empty glass", colours.size > 2)
                    asked.await()
                    assertEquals("the core is still held", 1L, may.count)
                    assertNotEquals("not by the thread that draws", Thread.currentThread(), opener)
                    may.countDown()
                    waitUntil("the first screen", 60_000) { onAllNodesWithTag("screen:home").fetchSemanticsNodes().isNotEmpty() }
                }
            }
        } finally {
            may.countDown()
            dir.deleteRecursively()
        }
    }
}
