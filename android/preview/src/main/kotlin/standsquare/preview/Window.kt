package standsquare.preview

import androidx.compose.foundation.background
import androidx.compose.foundation.border
import androidx.compose.foundation.layout.Box
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.fillMaxSize
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.size
import androidx.compose.foundation.shape.RoundedCornerShape
import androidx.compose.runtime.LaunchedEffect
import androidx.compose.runtime.collectAsState
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.remember
import androidx.compose.runtime.setValue
import androidx.compose.ui.Modifier
import androidx.compose.ui.draw.clip
import androidx.compose.ui.graphics.Color
import androidx.compose.ui.input.key.Key
import androidx.compose.ui.input.key.KeyEventType
import androidx.compose.ui.input.key.key
import androidx.compose.ui.input.key.type
import androidx.compose.ui.unit.DpSize
import androidx.compose.ui.unit.dp
import androidx.compose.ui.window.Window
import androidx.compose.ui.window.application
import androidx.compose.ui.window.rememberWindowState
import java.util.Locale
import kotlinx.coroutines.Dispatchers
import kotlinx.coroutines.flow.first
import kotlinx.coroutines.withContext
import standsquare.screens.desktop.packagedTypeface
import standsquare.screens.frame.Looks
import standsquare.screens.frame.PhoneGlass
import standsquare.screens.words.Language
import standsquare.state.PhoneEvent
import standsquare.state.PhoneState
import standsquare.view.TwoKeys

/** The keys that a clicker sends, as a keyboard here has them. */
private val CLICKER = mapOf(
    Key.PageUp to TwoKeys.FIRST, Key.DirectionUp to TwoKeys.FIRST,
    Key.PageDown to TwoKeys.SECOND, Key.DirectionDown to TwoKeys.SECOND,
)

/** A phone's glass at 360 by 800 dp, and the world beside it. Returns when it is closed. */
fun window(arguments: Arguments) {
    if (java.awt.GraphicsEnvironment.isHeadless()) throw java.awt.HeadlessException()
    val desk = Desk(arguments)
    desk.use {
        application(exitProcessOnExit = false) {
            Window(
                onCloseRequest = ::exitApplication,
                state = rememberWindowState(size = DpSize(780.dp, 880.dp)),
                title = "Standsquare preview: demo, not official",
                onPreviewKeyEvent = { event -> event.type == KeyEventType.KeyDown && CLICKER[event.key]?.let(desk.gateway::press) == true },
            ) {
                val state by desk.gateway.state.collectAsState()
                var looks by remember { mutableStateOf(Looks(language = Language.first(listOf(Locale.getDefault().toLanguageTag())))) }
                LaunchedEffect(Unit) {
                    desk.gateway.state.first { it is PhoneState.Showing }
                    withContext(Dispatchers.IO) { desk.firstRoster() }
                }
                Row(Modifier.fillMaxSize().background(Color(0xFF2B3330)).padding(12.dp)) {
                    val glass = RoundedCornerShape(18.dp)
                    Box(Modifier.size(360.dp, 800.dp).clip(glass).border(3.dp, Color.Black, glass)) {
                        PhoneGlass(state, looks, packagedTypeface, onEvent = { event ->
                            when (event) {
                                is PhoneEvent.Do -> desk.gateway.send(event.act, event.seen)
                                is PhoneEvent.TryAgain -> desk.gateway.open()
                                else -> {
                                    looks = looks.after(event, dark = false)
                                    desk.language = looks.language
                                }
                            }
                        }, camera = desk.camera)
                    }
                    Strip(desk, state, Modifier.padding(start = 12.dp))
                }
            }
        }
    }
}
