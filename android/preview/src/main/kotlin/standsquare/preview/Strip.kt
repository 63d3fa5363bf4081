package standsquare.preview

import androidx.compose.foundation.background
import androidx.compose.foundation.clickable
import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.rememberScrollState
import androidx.compose.foundation.shape.RoundedCornerShape
import androidx.compose.foundation.text.BasicText
import androidx.compose.foundation.verticalScroll
import androidx.compose.runtime.Composable
import androidx.compose.runtime.collectAsState
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.remember
import androidx.compose.runtime.rememberCoroutineScope
import androidx.compose.runtime.setValue
import androidx.compose.ui.Modifier
import androidx.compose.ui.draw.clip
import androidx.compose.ui.graphics.Color
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.text.TextStyle
import androidx.compose.ui.text.font.FontWeight
import androidx.compose.ui.unit.dp
import androidx.compose.ui.unit.sp
import java.io.IOException
import kotlinx.coroutines.Dispatchers
import kotlinx.coroutines.launch
import standsquare.gateway.Tilt
import standsquare.screens.desktop.packagedTypeface
import standsquare.state.PhoneState

/** The demo's dogs and one that nobody expects: what can be held to the reader. */
val CHIPS = listOf(
    "Pip" to "999000000112233",
    "Moss" to "999000000204518",
    "Juno" to "999000000337904",
    "Biscuit" to "999000000451260",
    "Tansy" to "999000000598871",
    "Rook" to "999000000660342",
    "a stranger" to "999000000900001",
)

/** The chip whose number the measurers know: it hangs on their key ring. */
const val KNOWN_CHIP = "999000000777001"

/** The world around the phone, for the preview only: nothing of it is on a real phone. */
@Composable
fun Strip(desk: Desk, state: PhoneState, modifier: Modifier = Modifier) {
    val tilt by desk.tilt.collectAsState()
    val cue by desk.cue.collectAsState()
    val trouble by desk.trouble.collectAsState()
    var network by remember { mutableStateOf(true) }
    val scope = rememberCoroutineScope()

    // What happens, happens to the reader in use.
    val view = (state as? PhoneState.Showing)?.view
    val used = view?.reader?.wanted?.reader

    fun say(command: String, reader: String? = used) = scope.launch(Dispatchers.IO) {
        desk.trouble.value = try {
            (desk.readers[reader] ?: throw IOException("choose one on the phone first: Chip readers")).say(command)
            null
        } catch (fault: IOException) {
            "The reader does not listen: ${fault.message}"
        }
    }

    Column(modifier.verticalScroll(rememberScrollState()), Arrangement.spacedBy(6.dp)) {
        Line("The world around the phone", strong = true)
        Line("This strip is of the preview only.")
        Line("Reader in use: ${desk.readerNames[used] ?: "none"}", strong = true)
        val card = view?.dog
        Push("Present the chip on the key ring", "world:present:$KNOWN_CHIP") { say("present $KNOWN_CHIP") }
        if (card != null) Push("Present the chip of ${card.name}", "world:present") { say("present ${card.chip.filter(Char::isDigit)}") }
        for ((name, chip) in CHIPS) Push("Present the chip of $name", "world:present:$chip") { say("present $chip") }
        if (card != null) Push("Half a number, then gone", "world:half") { say("half ${card.chip.filter(Char::isDigit)}") }
        Push("Line noise", "world:noise") { say("noise") }
        for ((id, name) in desk.readerNames) {
            Push("$name: take it away", "world:vanish:$id") { say("vanish", id) }
            Push("$name: bring it back", "world:return:$id") { say("return", id) }
        }
        if (card != null) Push("Scan the code in ${card.name}'s record book", "world:book") {
            desk.gateway.send(standsquare.view.Act.BookCode(card.chip))
        }
        Line("Clicker, or volume keys", strong = true)
        Push("Up", "world:key-up") { desk.gateway.press(standsquare.view.TwoKeys.FIRST) }
        Push("Down", "world:key-down") { desk.gateway.press(standsquare.view.TwoKeys.SECOND) }
        val finger by desk.finger.whose.collectAsState()
        Line("Finger: ${if (finger == Finger.Whose.OWNERS) "the owner's" else "one that the phone does not know"}", strong = true)
        Push(if (finger == Finger.Whose.OWNERS) "Put an unknown finger on" else "Put the owner's finger on", "world:finger") {
            desk.finger.whose.value = Finger.Whose.entries.first { it != finger }
        }
        Push("Enrol another finger", "world:finger-enrolled") { desk.finger.enrolAnother() }
        val held by desk.camera.held.collectAsState()
        val seen by desk.camera.seen.collectAsState()
        val allowed by desk.camera.allowed.collectAsState()
        Line("Before the camera: ${if (held.isEmpty()) "nothing" else "codes: ${held.size}"}", strong = true)
        if (seen.isNotEmpty()) Push("Hold the slip or the codes shown last before it", "world:hold") { desk.camera.held.value = seen }
        if (held.isNotEmpty()) Push("Take them away", "world:hold-nothing") { desk.camera.held.value = emptyList() }
        Push(if (allowed) "Forbid the app the camera" else "Allow the app the camera", "world:camera") { desk.camera.allowed.value = !allowed }
        Line("Table: tilt ${tilt.xMdeg / 1000.0}° and ${tilt.yMdeg / 1000.0}°", strong = true)
        Push("Phone on the table", "world:laid") { desk.tilt.value = Tilt(420, -130) }
        Push("Phone turned half round", "world:turned") { desk.tilt.value = Tilt(180, -310) }
        Push("Tilted table", "world:tilted") { desk.tilt.value = Tilt(2_600, 900) }
        Push("Tilted table, phone turned", "world:tilted-turned") { desk.tilt.value = Tilt(-2_000, -1_340) }
        Line("Network: ${if (network) "on" else "off"}", strong = true)
        Push(if (network) "Turn the network off" else "Turn the network on", "world:network") {
            network = !network
            desk.network(network)
        }
        Push("Fetch the roster", "world:roster") { scope.launch(Dispatchers.IO) { desk.firstRoster() } }
        cue?.let { Line("Last cue: ${it.name.lowercase().replace('_', ' ')}") }
        trouble?.let { Line(it) }
    }
}

@Composable
private fun Line(text: String, strong: Boolean = false) = BasicText(
    text, style = TextStyle(Color(0xFFF3F6F1), 14.sp, if (strong) FontWeight.Bold else FontWeight.Normal, fontFamily = packagedTypeface),
)

@Composable
private fun Push(text: String, tag: String, onPush: () -> Unit) = BasicText(
    text,
    Modifier.fillMaxWidth().testTag(tag).clip(RoundedCornerShape(6.dp)).background(Color(0xFF47534E))
        .clickable(onClick = onPush).padding(horizontal = 10.dp, vertical = 7.dp),
    TextStyle(Color.White, 14.sp, fontFamily = packagedTypeface),
)
