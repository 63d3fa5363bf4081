package standsquare.screens.frame

import androidx.compose.foundation.background
import androidx.compose.foundation.border
import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Box
import androidx.compose.foundation.layout.BoxWithConstraints
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.IntrinsicSize
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.fillMaxHeight
import androidx.compose.foundation.layout.fillMaxSize
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.height
import androidx.compose.foundation.layout.heightIn
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.width
import androidx.compose.foundation.rememberScrollState
import androidx.compose.foundation.verticalScroll
import androidx.compose.runtime.Composable
import androidx.compose.runtime.LaunchedEffect
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.remember
import androidx.compose.runtime.rememberUpdatedState
import androidx.compose.runtime.setValue
import androidx.compose.runtime.staticCompositionLocalOf
import androidx.compose.ui.Modifier
import androidx.compose.ui.draw.clip
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.heading
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.unit.dp
import standsquare.screens.look.CORNER
import standsquare.screens.look.Faces
import standsquare.screens.look.GAP
import standsquare.screens.look.Mark
import standsquare.screens.look.Say
import standsquare.screens.look.Size
import standsquare.screens.look.Toned
import standsquare.screens.look.Touch
import standsquare.screens.look.palette
import standsquare.screens.look.words
import standsquare.view.Tone
import standsquare.view.View

/** How the phone's camera stands. */
enum class Sight {
    /** Not yet there, or the person is being asked. */
    STARTING,
    /** Its picture is on the glass. */
    SEEING,
    /** The same, and it has a light. */
    SEEING_WITH_LIGHT,
    /** The person does not let the app use it. */
    DENIED,
    /** There is none that the app could use. */
    NONE,
    /** Another app has it, or it failed. */
    TAKEN,
}

/** The phone's own camera, looking for codes. The platform fills it in; the screens know only that it is there. */
interface CodeCamera {
    /**
     * Its picture, open for as long as this is on the glass and the app in front. [tell] hears how
     * it stands, [read] the text of each code, as often as it is seen: the core knows which stayed.
     */
    @Composable
    fun Picture(light: Boolean, tell: (Sight) -> Unit, read: (String) -> Unit, modifier: Modifier)
}

/** Where there is no camera. */
object NoCamera : CodeCamera {
    @Composable
    override fun Picture(light: Boolean, tell: (Sight) -> Unit, read: (String) -> Unit, modifier: Modifier) {
        LaunchedEffect(Unit) { tell(Sight.NONE) }
    }
}

/** The camera in use. */
val LocalCodeCamera = staticCompositionLocalOf<CodeCamera> { NoCamera }

/** A screen that reads codes with the camera now: what each text is for, and the way back. */
class Reading(val read: (String) -> Unit, val close: () -> Unit)

/** The glass while codes are read: what came of the last one, what the camera sees, and the way back in thumb reach. */
@Composable
fun CameraGlass(view: View, reading: Reading) {
    var sight by remember { mutableStateOf(Sight.STARTING) }
    var light by remember { mutableStateOf(false) }
    val now by rememberUpdatedState(reading)
    BoxWithConstraints(Modifier.fillMaxSize().padding(horizontal = 12.dp, vertical = 8.dp).testTag("camera")) {
        // What is said scrolls, so that what is seen stays large whatever the type's size.
        val most = maxHeight * if (LocalDensity.current.fontScale < LARGE_TYPE) 0.45f else 0.3f
        if (maxWidth > maxHeight) Row(Modifier.fillMaxSize(), Arrangement.spacedBy(12.dp)) {
            Column(Modifier.width(this@BoxWithConstraints.maxWidth * 0.42f), Arrangement.spacedBy(GAP)) {
                if (troubleOf(sight) != null) Scrolled(view, Modifier.weight(1f)) { Said(view, sight, Modifier) }
                else Said(view, sight, Modifier.weight(1f).verticalScroll(rememberScrollState()))
                Ways(sight, light, { light = it }, reading.close)
            }
            Seen(light, { sight = it }, { now.read(it) }, Modifier.weight(1f).fillMaxSize())
        } else Column(Modifier.fillMaxSize(), Arrangement.spacedBy(GAP)) {
            // Where nothing can be seen, what to do has the room; the camera stays there to be asked again.
            val blind = troubleOf(sight) != null
            if (blind) Scrolled(view, Modifier.weight(1f)) { Said(view, sight, Modifier) }
            else Said(view, sight, Modifier.heightIn(max = most).verticalScroll(rememberScrollState()))
            Seen(light, { sight = it }, { now.read(it) }, (if (blind) Modifier.height(1.dp) else Modifier.weight(1f)).fillMaxWidth())
            Ways(sight, light, { light = it }, reading.close)
        }
    }
}

/** The words for what the camera cannot do. */
private fun troubleOf(sight: Sight): String? = when (sight) {
    Sight.DENIED -> "camera.denied"
    Sight.NONE -> "camera.none"
    Sight.TAKEN -> "camera.taken"
    Sight.STARTING, Sight.SEEING, Sight.SEEING_WITH_LIGHT -> null
}

@Composable
private fun Said(view: View, sight: Sight, modifier: Modifier) {
    val words = words
    Column(modifier.fillMaxWidth(), Arrangement.spacedBy(GAP)) {
        if (view.demo) DemoMark()
        Say(words.say(view.title), Size.TITLE, palette.page.ink, Modifier.testTag("title:${view.title.key}").semantics { heading() })
        val trouble = troubleOf(sight)
        val notice = view.notice
        when {
            trouble != null -> Toned(Tone.CARE, words.ui(trouble), trouble, speaks = true)
            notice != null -> Toned(notice.tone, words.say(notice.text), "notice:${notice.text.key}", speaks = true)
            sight == Sight.STARTING -> Say(words.ui("camera.starting"), Size.BODY)
            else -> Say(words.ui("camera.how"), Size.BODY)
        }
    }
}

@Composable
private fun Seen(light: Boolean, tell: (Sight) -> Unit, read: (String) -> Unit, modifier: Modifier) {
    val alt = words.ui("camera.alt")
    Box(modifier.clip(CORNER).background(palette.card.ground).border(2.dp, palette.line, CORNER)) {
        LocalCodeCamera.current.Picture(light, tell, read, Modifier.fillMaxSize().testTag("camera:picture").semantics { contentDescription = alt })
    }
}

/** From this scale on, two buttons one above the other would leave nothing to be seen. */
private const val LARGE_TYPE = 1.3f

@Composable
private fun Ways(sight: Sight, light: Boolean, turn: (Boolean) -> Unit, close: () -> Unit) {
    val words = words
    val lamp: @Composable (String, Modifier) -> Unit = { label, modifier ->
        if (sight == Sight.SEEING_WITH_LIGHT) Touch(
            label, if (light) Faces.chosen() else Faces.other(), "camera:light", { turn(!light) }, modifier,
            if (light) Mark.LIGHT_OFF else Mark.LIGHT, chosen = light,
        )
    }
    val name = words.ui(if (light) "camera.light_off" else "camera.light_on")
    val way: @Composable (Modifier) -> Unit = { Touch(words.ui("camera.close"), Faces.main(), "camera:close", close, it, Mark.CROSS) }
    if (LocalDensity.current.fontScale < LARGE_TYPE) Column(verticalArrangement = Arrangement.spacedBy(GAP)) {
        lamp(name, Modifier.fillMaxWidth())
        way(Modifier.fillMaxWidth())
    } else Row(Modifier.height(IntrinsicSize.Min), Arrangement.spacedBy(GAP)) {
        lamp("", Modifier.fillMaxHeight().semantics { contentDescription = name })
        way(Modifier.weight(1f))
    }
}
