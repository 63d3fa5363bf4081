package standsquare.screens.frame

import androidx.compose.foundation.ScrollState
import androidx.compose.foundation.background
import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Box
import androidx.compose.foundation.layout.BoxWithConstraints
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.ColumnScope
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.Spacer
import androidx.compose.foundation.layout.fillMaxHeight
import androidx.compose.foundation.layout.fillMaxSize
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.heightIn
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.width
import androidx.compose.foundation.verticalScroll
import androidx.compose.runtime.Composable
import androidx.compose.runtime.CompositionLocalProvider
import androidx.compose.runtime.remember
import androidx.compose.runtime.rememberCoroutineScope
import androidx.compose.runtime.staticCompositionLocalOf
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.text.font.FontFamily
import androidx.compose.ui.unit.dp
import kotlinx.coroutines.launch
import standsquare.screens.look.BrightSun
import standsquare.screens.look.Cautions
import standsquare.screens.look.Dark
import standsquare.screens.look.Faces
import standsquare.screens.look.GAP
import standsquare.screens.look.LocalPalette
import standsquare.screens.look.LocalSeen
import standsquare.screens.look.LocalTypeface
import standsquare.screens.look.LocalWords
import standsquare.screens.look.Mark
import standsquare.screens.look.Palette
import standsquare.screens.look.Say
import standsquare.screens.look.Size
import standsquare.screens.look.TOUCH
import standsquare.screens.look.Touch
import standsquare.screens.look.oneFinger
import standsquare.screens.look.palette
import standsquare.screens.look.words
import standsquare.screens.words.Language
import standsquare.screens.words.Words
import standsquare.state.PhoneEvent
import standsquare.state.PhoneState
import standsquare.view.View

/** Which theme the person chose; [code] is what the platform keeps. */
enum class Theme(val code: String) {
    SUN("sun"),
    DARK("dark"),
    /** As the phone itself is set. */
    PHONE("phone");

    /** Its colours, on a phone that is set to dark or not. */
    fun palette(dark: Boolean): Palette = if (this == DARK || this == PHONE && dark) Dark else BrightSun

    companion object {
        /** The theme of this code, if there is one. */
        fun of(code: String?): Theme? = entries.firstOrNull { it.code == code }
    }
}

/** How the phone is to look and to be heard: the person's choice, kept by the platform. */
data class Looks(
    val palette: Palette = BrightSun,
    val language: Language = Language.ENGLISH,
    val theme: Theme = if (palette === Dark) Theme.DARK else Theme.SUN,
    val sounds: Boolean = true,
    val buzzes: Boolean = true,
) {
    /** After what the person chose; another event changes nothing. [dark]: how the phone itself is set. */
    fun after(event: PhoneEvent, dark: Boolean): Looks = when (event) {
        is PhoneEvent.ChangeTheme -> with(if (palette === BrightSun) Theme.DARK else Theme.SUN, dark)
        is PhoneEvent.ChooseTheme -> Theme.of(event.code)?.let { with(it, dark) } ?: this
        is PhoneEvent.ChooseLanguage -> copy(language = Language.of(event.code) ?: language)
        is PhoneEvent.Sounds -> copy(sounds = event.on)
        is PhoneEvent.Buzzes -> copy(buzzes = event.on)
        is PhoneEvent.Do, is PhoneEvent.TryAgain -> this
    }

    private fun with(theme: Theme, dark: Boolean) = copy(theme = theme, palette = theme.palette(dark))
}

/** The person's choice in use. */
val LocalLooks = staticCompositionLocalOf { Looks() }

/** The whole glass, whatever the state. */
@Composable
fun PhoneGlass(
    state: PhoneState,
    looks: Looks,
    typeface: FontFamily,
    onEvent: (PhoneEvent) -> Unit,
    modifier: Modifier = Modifier,
    camera: CodeCamera = NoCamera,
) {
    val words = remember(looks.language) { Words.of(looks.language) }
    CompositionLocalProvider(
        LocalPalette provides looks.palette, LocalWords provides words, LocalTypeface provides typeface, LocalLooks provides looks,
        LocalCodeCamera provides camera,
    ) {
        Box(modifier.fillMaxSize().background(palette.page.ground).oneFinger()) {
            when (state) {
                is PhoneState.Opening -> Opening()
                is PhoneState.Broken -> Broken(state, onEvent)
                is PhoneState.Showing -> PhoneFrame(state.view, state.nowMs, onEvent)
            }
        }
    }
}

@Composable
private fun Opening() = Box(Modifier.fillMaxSize().testTag("opening"), Alignment.Center) {
    Say(words.ui("opening"), Size.STRONG)
}

/** Below this height, in dp for each step of the font's scale, the heading scrolls with the rest. */
private val ROOMY = 640.dp

/** From this width on, and wider than high, the offers stand beside what is read. */
private val WIDE = 560.dp

/** One view: head, what is read, and what can be done in thumb reach. */
@Composable
fun PhoneFrame(view: View, nowMs: Long, onEvent: (PhoneEvent) -> Unit) {
    val words = words
    val hand = Hand { act -> onEvent(PhoneEvent.Do(worded(act, view, words), view.revision)) }
    // What a screen holds for itself (an open number pad) ends with the screen and the dog.
    val local = remember(view.screen::class, view.dog?.id) { LocalChoice() }
    val reading = readingOf(view, local, hand)
    if (reading != null) return CameraGlass(view, reading)
    val foot = footOf(view, local, hand)
    val offers = if (foot?.replacesOffers == true) emptyList() else view.offers
    BoxWithConstraints(Modifier.fillMaxSize().padding(horizontal = 12.dp, vertical = 8.dp)) {
        val wide = maxWidth > maxHeight && maxWidth >= WIDE
        val roomy = maxHeight / LocalDensity.current.fontScale >= ROOMY && !wide
        val most = maxHeight * when {
            // What was typed must be in sight together with the keys, whatever the type's size.
            foot?.keys == true -> 0.82f
            roomy -> 0.62f
            else -> 0.55f
        }
        val read: @Composable ColumnScope.() -> Unit = {
            if (!roomy && !wide) TopStrip(view, onEvent)
            if (!roomy) Head(view)
            Cautions(view.cautions)
            Body(view, nowMs, local, hand, onEvent)
            Spacer(Modifier.weight(1f))
            QuietOffers(offers, hand)
        }
        val done: @Composable () -> Unit = {
            foot?.content?.invoke()
            PinnedOffers(offers, hand)
        }
        if (wide) Row(Modifier.fillMaxSize(), Arrangement.spacedBy(12.dp)) {
            Column(Modifier.weight(1f), verticalArrangement = Arrangement.spacedBy(8.dp)) {
                TopStrip(view, onEvent)
                Scrolled(view, Modifier.weight(1f), read)
            }
            Box(Modifier.width(this@BoxWithConstraints.maxWidth * 0.42f).fillMaxHeight(), Alignment.BottomCenter) {
                Pinned(Modifier, done)
            }
        } else Column(Modifier.fillMaxSize(), Arrangement.spacedBy(8.dp)) {
            if (roomy) TopStrip(view, onEvent)
            if (roomy) Head(view)
            Scrolled(view, Modifier.weight(1f), read)
            Pinned(Modifier.heightIn(max = most), done)
        }
    }
}

@Composable
private fun Pinned(modifier: Modifier, content: @Composable () -> Unit) {
    // Starts at its end: the main act and the stop are what must be in reach.
    val scroll = remember { ScrollState(Int.MAX_VALUE) }
    Column(modifier.fillMaxWidth().verticalScroll(scroll).testTag("pinned"), Arrangement.spacedBy(GAP)) { content() }
}

@Composable
internal fun Scrolled(view: View, modifier: Modifier, content: @Composable ColumnScope.() -> Unit) {
    val scroll = remember(view.screen::class, view.dog?.id) { ScrollState(0) }
    val scope = rememberCoroutineScope()
    BoxWithConstraints(modifier.fillMaxWidth()) {
        val seen = maxHeight
        Column(
            Modifier.fillMaxWidth().verticalScroll(scroll).testTag("read").heightIn(min = seen)
                .padding(bottom = if (scroll.maxValue in 1 until Int.MAX_VALUE) 64.dp else 0.dp),
            Arrangement.spacedBy(10.dp),
        ) { CompositionLocalProvider(LocalSeen provides seen) { content() } }
        // No gesture without a button: what lies below can be reached by tapping.
        if (scroll.canScrollForward && scroll.maxValue < Int.MAX_VALUE) {
            val name = words.ui("more")
            val step = with(LocalDensity.current) { seen.toPx() * 0.8f }.toInt()
            Touch(
                "", Faces.equal().copy(height = TOUCH), "more",
                { scope.launch { scroll.scrollTo(scroll.value + step) } },
                Modifier.align(Alignment.BottomEnd).semantics { contentDescription = name }, Mark.DOWN,
            )
        }
    }
}

/** What a screen keeps for itself until it is left: nothing that the core should know. */
class LocalChoice {
    /** Who is about to sign, or an empty text while a number is typed; null while no pad is open. */
    val pad = androidx.compose.runtime.mutableStateOf<String?>(null)

    /** Codes are read with the camera. */
    val camera = androidx.compose.runtime.mutableStateOf(false)
}

/** What a screen pins above the offers: number [keys] where one is typed; [replacesOffers] while they are open for a while only. */
class Foot(val replacesOffers: Boolean, val keys: Boolean, val content: @Composable () -> Unit)
