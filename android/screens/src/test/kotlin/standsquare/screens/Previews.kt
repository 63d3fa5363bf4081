package standsquare.screens

import java.io.File
import java.util.zip.CRC32
import standsquare.screens.frame.CodeCamera
import standsquare.screens.frame.Looks
import standsquare.screens.frame.NoCamera
import standsquare.screens.frame.Sight
import standsquare.screens.frame.nameOf
import standsquare.screens.look.BrightSun
import standsquare.screens.look.Dark
import standsquare.screens.words.Language
import standsquare.state.PhoneState
import standsquare.view.PhoneFault
import standsquare.view.Screen
import standsquare.view.SeatAsks
import standsquare.view.SeatWay
import standsquare.view.View

/** A screen in one of its states, as the core drew it. */
data class Seen(val screen: String, val key: String, val view: View, val atMs: Long) {
    /** What there is to draw. */
    val state get() = PhoneState.Showing(view, atMs)
}

/** One picture: what is drawn, how, on what glass, after which taps on it. */
data class Preview(
    val name: String,
    val state: PhoneState,
    val looks: Looks = Looks(),
    val width: Int = 360,
    val height: Int = 800,
    val font: Float = 1f,
    val taps: List<String> = emptyList(),
    val camera: CodeCamera = NoCamera,
) {
    override fun toString() = name
}

/**
 * The states that every screen can be looked at in. None is made up: each is what the
 * real core answered somewhere in the recorded sessions of `tests/recorded`, so that a
 * state which the core cannot reach has no picture, and a new recording brings its own.
 */
object Previews {
    /** Every screen of the core's interface, by its name. */
    val screens: Set<String> = Screen::class.java.declaredClasses
        .filter { Screen::class.java.isAssignableFrom(it) }.map { it.simpleName.lowercase() }.toSet()

    /** Every view of every recorded session, in order. */
    val recorded: List<Seen> by lazy {
        checkNotNull(File(root, "tests/recorded").listFiles()).map { it.name }
            .filter { it.endsWith(".json") && !it.endsWith(".session.json") }.map { it.removeSuffix(".json") }.sorted()
            .flatMap(::recordedViews).map { (view, at) -> Seen(nameOf(view.screen), keyOf(view), view, at) }
    }

    /** One of each state of each screen. */
    val states: List<Seen> by lazy { recorded.distinctBy { it.screen to it.key } }

    /** The fullest view of each screen: the one with the most on it. */
    val fullest: Map<String, Seen> by lazy {
        recorded.groupBy { it.screen }.mapValues { (_, all) -> all.maxBy { it.view.toString().length } }
    }

    /** What makes a state another one: its notice, what is offered and what is refused, and what is told by the screen itself. */
    private fun keyOf(view: View): String = listOf(
        view.title.key, view.notice?.text?.key, view.offers.map { "${it.id}${if (it.allowed) "" else "!${it.whyNot?.key}"}" },
        when (val screen = view.screen) {
            is Screen.Chip -> screen.chip.state.key to (screen.chip.compare != null)
            is Screen.Readers -> screen.readers.trial?.state?.key
            is Screen.Sign -> screen.sign.seats.map { listOf(it.signed, it.paper != null, it.way == SeatWay.PAPER) + listOfNotNull(it.whyNot?.key, it.byOwner?.let { "owner" }) } to screen.sign.outcome.key
            is Screen.Correct -> screen.correct.seats.map { listOf(it.signed, it.paper != null, it.way == SeatWay.PAPER) + listOfNotNull(it.whyNot?.key, it.byOwner?.let { "owner" }) } to screen.correct.choices.isEmpty()
            is Screen.Unlock -> screen.unlock.seats.mapNotNull { it.byOwner }.ifEmpty { null }
            is Screen.Queue -> screen.queue.newChip != null
            is Screen.Return -> screen.sent.state.key
            is Screen.Papers -> screen.papers.findings.map { it.key } to screen.papers.items.any { it.advice != null }
            is Screen.Surface -> screen.surface.instruction.key
            else -> null
        },
    ).joinToString("|")

    /** All pictures. */
    val pictures: List<Preview> by lazy { ofScreens() + ofStates() + withAPadOpen() + withTheCamera() + withoutTheRecord() }

    /** Each screen at its fullest in every theme and on every kind of glass. */
    private fun ofScreens() = fullest.flatMap { (screen, seen) ->
        fun one(kind: String, looks: Looks = Looks(), width: Int = 360, height: Int = 800, font: Float = 1f) =
            Preview("$kind-$screen", seen.state, looks, width, height, font)
        Language.entries.map { one("sun-${it.code}", Looks(BrightSun, it)) } + listOf(
            one("dark-en", Looks(Dark)), one("double", font = 2f), one("double-de", Looks(language = Language.GERMAN), font = 2f),
            one("across", width = 800, height = 360), one("tablet", width = 800, height = 1280),
        )
    }

    /** Every theme, language and size of type. */
    val everyLook: List<Pair<Looks, Float>> = listOf(1f, 2f).flatMap { font ->
        listOf(BrightSun, Dark).flatMap { palette -> Language.entries.map { Looks(palette, it) to font } }
    }

    /**
     * Each state once, in one of the twelve looks: its name says which, so that it stays
     * the same whatever is recorded later. All twelve of each state would be ten times
     * as many files, and show no other line of code.
     */
    private fun ofStates() = states.map { seen ->
        val crc = CRC32().apply { update("${seen.screen}|${seen.key}".toByteArray()) }.value
        val (looks, font) = everyLook[(crc % everyLook.size).toInt()]
        val told = seen.view.notice?.text?.key ?: (seen.view.screen as? Screen.Chip)?.chip?.state?.key ?: seen.view.offers.firstOrNull()?.id ?: "plain"
        Preview("state-${seen.screen}-${told.replace(Regex("[^a-z0-9]"), "-")}-%04x-${lookOf(looks, font)}".format(crc and 0xffff), seen.state, looks, font = font)
    }

    private fun lookOf(looks: Looks, font: Float) =
        "${if (looks.palette === BrightSun) "sun" else "dark"}-${looks.language.code}${if (font == 2f) "-double" else ""}"

    /** What a screen holds for itself: an open number pad, an open line. */
    private fun withAPadOpen(): List<Preview> {
        val sign = fullest.getValue("sign").let { all -> states.first { it.screen == all.screen && (it.view.screen as Screen.Sign).sign.seats.all { seat -> !seat.signed && seat.asks == SeatAsks.SIGN } } }
        val seat = (sign.view.screen as Screen.Sign).sign.seats.first().person
        val paper = states.first { s -> (s.view.screen as? Screen.Sign)?.sign?.seats?.any { it.way == SeatWay.PAPER } == true }
        val onPaper = (paper.view.screen as Screen.Sign).sign.seats.first { it.way == SeatWay.PAPER }.person
        val chip = states.first { (it.view.screen as? Screen.Chip)?.chip?.mayType == true }
        val opened = listOf(
            Triple("pin", sign, listOf("sign:$seat", "pin:4", "pin:7")),
            Triple("paper", paper, listOf("paper:$onPaper", "paper:1")),
            Triple("chip-pad", chip, listOf("chip_type", "chip-pad:9")),
            Triple("find", states.first { (it.view.screen as? Screen.Queue)?.queue?.waiting?.isNotEmpty() == true }, listOf("find_dog", "find-pad:9")),
            Triple("book-line", states.first { it.screen == "papers" }, listOf("book-open:breed")),
            Triple("venue", states.first { it.screen == "venue" }, listOf("venue_other")),
            Triple("newcomer-measured", states.first { it.screen == "newcomer" }, listOf("newcomer:was:small")),
        )
        val looks = listOf(Looks() to 1f, Looks(Dark, Language.FRENCH) to 2f)
        return opened.flatMap { (name, seen, taps) ->
            looks.map { (looks, font) -> Preview("open-$name-${lookOf(looks, font)}", seen.state, looks, font = font, taps = taps) }
        }
    }

    /** A screen that takes codes before any was read, and after a part of several. */
    val reading: List<Seen> by lazy {
        states.filter { (it.view.screen as? Screen.SlipCheck)?.check?.answer == null && it.screen == "slipcheck" }
    }

    /** While codes are read with the camera: however that stands. */
    private fun withTheCamera(): List<Preview> {
        val slip = (states.first { it.view.screen is Screen.Slip }.view.screen as Screen.Slip).slip.code
        val plain = reading.first { it.view.notice == null }
        val part = reading.first { it.view.notice?.text?.key == "notice.code_piece" }
        fun one(name: String, seen: Seen, sight: Sight, looks: Looks, font: Float = 1f, width: Int = 360, height: Int = 800) =
            Preview("camera-$name-${lookOf(looks, font)}", seen.state, looks, width, height, font, listOf("camera:open"), PaintedCamera(sight, slip))
        return listOf(
            one("seeing", plain, Sight.SEEING, Looks()),
            one("seeing-across", plain, Sight.SEEING_WITH_LIGHT, Looks(), width = 800, height = 360),
            one("part", part, Sight.SEEING_WITH_LIGHT, Looks(language = Language.GERMAN)),
            one("part", part, Sight.SEEING_WITH_LIGHT, Looks(Dark, Language.FRENCH), font = 2f),
            one("starting", plain, Sight.STARTING, Looks(Dark)),
            one("denied", plain, Sight.DENIED, Looks()),
            one("denied", plain, Sight.DENIED, Looks(language = Language.GERMAN), font = 2f),
            one("none", plain, Sight.NONE, Looks(Dark, Language.GERMAN)),
            one("taken", plain, Sight.TAKEN, Looks(language = Language.FRENCH)),
        )
    }

    /** Before the record is open, and where it cannot be used. */
    private fun withoutTheRecord(): List<Preview> {
        val faults = listOf(
            PhoneFault.DiskFull("no space left on device"), PhoneFault.ReadOnly("read-only"), PhoneFault.InUse("another one"), PhoneFault.TooNew("format 9"),
            PhoneFault.OtherPhone("another key"), PhoneFault.Damaged("page 3"), PhoneFault.Internal("a fault"),
        )
        val full = faults.first()
        return mapOf("sun" to Looks(), "dark" to Looks(Dark)).flatMap { (kind, looks) ->
            listOf(Preview("$kind-opening", PhoneState.Opening, looks), Preview("$kind-broken", PhoneState.Broken(full, null), looks))
        } + faults.drop(1).mapIndexed { n, fault ->
            val (looks, font) = everyLook[(n * 5 + 1) % everyLook.size]
            Preview("fault-${fault::class.simpleName.orEmpty().lowercase()}-${lookOf(looks, font)}", PhoneState.Broken(fault, null), looks, font = font)
        }
    }
}
