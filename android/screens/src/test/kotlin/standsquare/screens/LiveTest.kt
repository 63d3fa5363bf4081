@file:OptIn(androidx.compose.ui.test.ExperimentalTestApi::class, androidx.compose.ui.test.InternalTestApi::class)
package standsquare.screens
import androidx.compose.runtime.*
import androidx.compose.ui.geometry.Size
import androidx.compose.ui.test.*
import androidx.compose.ui.unit.Density
import org.junit.Test
import standsquare.screens.desktop.packagedTypeface
import standsquare.screens.frame.*
import standsquare.state.PhoneState
class LiveTest { @Test fun all() {
  val views = recordedViews("three-dogs")
  runSkikoComposeUiTest(Size(1080f, 2400f), Density(3f)) {
    val s = mutableStateOf<PhoneState>(PhoneState.Opening)
    setContent { println("compose " + (s.value as? PhoneState.Showing)?.view?.title?.key); PhoneGlass(s.value, Looks(), packagedTypeface, onEvent = {}) }
    for ((v, at) in views.take(6)) { runOnUiThread { s.value = PhoneState.Showing(v, at) }; waitForIdle()
      println(v.title.key); println(mainClock.currentTime); println(onAllNodes(hasTestTag("title:${v.title.key}")).fetchSemanticsNodes().size)
      repeat(3) { mainClock.advanceTimeByFrame(); println("frame " + onAllNodes(hasTestTag("title:${v.title.key}")).fetchSemanticsNodes().size + " " + onAllNodes(hasTestTag("read")).fetchSemanticsNodes().size + onAllNodes(hasTestTag("look")).fetchSemanticsNodes().size) }
      println(onAllNodes(hasTestTag("title:${v.title.key}")).fetchSemanticsNodes().size)
 }
  } } }
