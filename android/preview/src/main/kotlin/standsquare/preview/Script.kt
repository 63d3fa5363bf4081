package standsquare.preview

import standsquare.gateway.Tilt
import standsquare.view.ArgValue
import standsquare.view.PlacingSeen
import standsquare.view.Role
import standsquare.view.Screen
import standsquare.view.Text
import standsquare.view.Tone
import standsquare.view.View

/** One thing that the walk does next. */
sealed interface Deed {
    /** Tap what carries this tag, then wait for another view. */
    data class Tap(val tag: String) : Deed

    /** Tap what carries these tags, one after another; only the last one leads to another view. */
    data class Taps(val tags: List<String>) : Deed

    /** After [afterMs], say this to the reader in use, then wait until [until] holds of the view. */
    data class Reader(val command: String, val afterMs: Long = 0, val until: (View) -> Boolean) : Deed

    /** Wait for the world, until [until] holds of the view. */
    data class Await(val what: String, val until: (View) -> Boolean) : Deed

    /** Lay the phone so, then tap the reading. */
    data class Lay(val tilt: Tilt, val tag: String) : Deed

    /** Turn the network on or off. */
    data class Network(val on: Boolean) : Deed

    /** All is done. */
    data object Finished : Deed

    /** The script knows no way on. */
    data class Lost(val why: String) : Deed
}

/**
 * The demo session as people would tap it: Pip small on the 35 hoop; Moss over 35
 * in three valid placings and flat on 43; Juno nervous, stopped for today; and on
 * the way every refusal once. It looks at the view and says what to do next, so
 * that a walk broken off goes on wherever the record stands. A reader is tried out
 * before the day; it dies at the second dog and another one takes its place; the
 * third dog's number is typed off a display.
 */
class Script {
    private val shownOnce = mutableSetOf<String>()

    /** True the first time in this walk. */
    private fun once(what: String) = shownOnce.add(what)

    /**
     * What to do on this view. There is no network before the return's screen: what is sent
     * meanwhile would change the glass between two taps.
     */
    fun next(view: View): Deed = if (once("no-network")) Deed.Network(on = false) else on(view)

    private fun on(view: View): Deed = when (val screen = view.screen) {
        is Screen.Home -> home(view, screen)
        is Screen.Venue -> offered(view, "set_venue")
        is Screen.Surface -> when {
            screen.surface.level == true -> offered(view, "surface_done")
            screen.surface.level == false -> offered(view, "level_again")
            screen.surface.taken == 0u -> Deed.Lay(if (once("tilted")) Tilt(2_600, 900) else Tilt(420, -130), "offer:level_reading")
            else -> Deed.Lay(if (once("tilted-turned")) Tilt(-2_000, -1_340) else Tilt(180, -310), "offer:level_reading")
        }
        is Screen.Hoops -> screen.hoops.hoops.firstOrNull { it.good != true }?.let { Deed.Tap("hoop-good:${it.id}") }
            ?: offered(view, "hoops_done")
        is Screen.Measurers -> PINS.keys.firstOrNull { id -> screen.measurers.people.any { it.id == id && !it.seated } }
            ?.let { Deed.Tap("seat:$it") } ?: offered(view, "open_queue")
        is Screen.Pin -> if (once("easy-pin")) pin("1234") else pin(PINS.getValue(screen.pin.person))
        is Screen.Queue -> queue(view, screen)
        is Screen.Papers -> papers(view, screen)
        is Screen.Handler -> handler(view, screen)
        is Screen.Chip -> chip(view, screen)
        is Screen.Settle -> if (view.dog?.id == "juno") Deed.Tap("offer:not_today") else offered(view, "settled")
        is Screen.Stance -> offered(view, "stands_square")
        is Screen.Placing -> placing(view, screen)
        is Screen.Sign -> if (view.dog?.id == "pip" && once("put-right")) offered(view, "put_right") else sign(screen)
        // What could be put right, and why, is looked at and left as it was.
        is Screen.Correct -> screen.correct.choices.firstOrNull { it.id.startsWith("void_") }
            ?.let { Deed.Tap("correct:${it.id}") } ?: offered(view, "leave_correction")
        is Screen.BookLine -> offered(view, "book_written")
        is Screen.Tell -> offered(view, if (view.dog?.id == "pip" && once("slip")) "slip" else "handler_told")
        is Screen.Stop -> Deed.Tap("stop:nervous")
        is Screen.Newcomer -> Deed.Lost("nobody is taken who is not on the list")
        is Screen.HandOver -> offered(view, "take_over") // the demo's measurers work together
        is Screen.Unlock, is Screen.SignList -> Deed.Lost("the demo's measurers sign each dog")
        is Screen.Close -> offered(view, "close_session")
        is Screen.Return -> sent(view, screen)
        is Screen.Readers -> readers(view, screen)
        is Screen.Slip -> offered(view, "leave_look")
        is Screen.SlipCheck, is Screen.Past, is Screen.History, is Screen.Settings, is Screen.Codes -> offered(view, "leave_look")
        is Screen.Heard -> offered(view, "measured_elsewhere")
        is Screen.Incident -> Deed.Tap("incident:fall_other")
        is Screen.Objection -> Deed.Tap("objection:record")
        is Screen.Practice -> if (once("own")) Deed.Tap("practice:ottoline") else offered(view, "leave_page")
        is Screen.Own -> offered(view, "leave_page")
        is Screen.Drill, is Screen.Feedback, is Screen.Shadow -> Deed.Lost("nobody trains in the demo")
    }

    /** What is looked at beside a session is looked at once. */
    private fun home(view: View, screen: Screen.Home): Deed {
        val earlier = screen.home.sessions.firstOrNull()
        return when {
            view.reader.wanted == null -> offered(view, "open_readers")
            once("settings") -> offered(view, "open_settings")
            once("slip-check") -> offered(view, "open_slip_check")
            earlier == null || "returned" !in shownOnce -> offered(view, "start_session")
            once("past") -> Deed.Tap("open:${earlier.id}")
            once("practice") -> offered(view, "practice")
            else -> Deed.Finished
        }
    }

    /** The readers: the small one before the day, the long one when the small one's battery is empty. */
    private fun readers(view: View, screen: Screen.Readers): Deed {
        val used = if (view.dog == null) POCKET else WAND
        val line = screen.readers.readers.firstOrNull { it.id == used }
            ?: return Deed.Await("$used to be near") { v -> (v.screen as? Screen.Readers)?.readers?.readers?.any { it.id == used } == true }
        // All that are in range are in the list before one is chosen.
        val all = { v: View -> (v.screen as? Screen.Readers)?.readers?.readers.orEmpty().size >= READERS }
        if (!all(view)) return Deed.Await("every reader to be listed", all)
        if (!line.wanted) return Deed.Tap("reader-use:$used")
        val trial = screen.readers.trial ?: return Deed.Await("the link to $used") { (it.screen as? Screen.Readers)?.readers?.trial != null }
        val state = { v: View -> (v.screen as? Screen.Readers)?.readers?.trial?.state?.key }
        val now = trial.state.key
        return when (now) {
            "trial.fits" -> offered(view, "keep_reader")
            "trial.ready", "trial.works" -> offered(view, "leave_readers")
            // A second read, and no bounce of the first.
            "trial.read_again" -> Deed.Reader("present $KNOWN_CHIP", SECOND_READ_MS) { state(it) != now }
            else -> Deed.Reader("present $KNOWN_CHIP") { state(it) != now }
        }
    }

    private fun offered(view: View, id: String): Deed {
        val offer = view.offers.firstOrNull { it.id == id } ?: return Deed.Lost("it is not offered: $id")
        return if (offer.allowed) Deed.Tap("offer:$id") else Deed.Lost("it is not allowed: $id, ${offer.whyNot?.key}")
    }

    private fun queue(view: View, screen: Screen.Queue): Deed {
        val waiting = screen.queue.waiting
        if (once("incident")) return offered(view, "incident")
        if (screen.queue.done.any { it.id == "pip" && it.look != null } && once("history")) return Deed.Tap("look:pip")
        val next = DOGS.firstOrNull { id -> waiting.any { it.id == id } } ?: return offered(view, "review_close")
        val main = view.offers.firstOrNull { it.role == Role.MAIN && names(it.label, waiting.first { dog -> dog.id == next }.name) }
        return if (main != null) Deed.Tap("offer:${main.id}") else Deed.Tap("dog:$next")
    }

    private fun names(label: Text, dog: String) = label.args.any { (it.value as? ArgValue.Plain)?.text == dog }

    private fun papers(view: View, screen: Screen.Papers): Deed {
        if (view.dog?.id == "juno" && once("aside")) return offered(view, "park")
        // One line that is not there, looked at and put right again, so that the advice is seen.
        val breed = screen.papers.items.firstOrNull { it.id == "breed" }
        if (view.dog?.id == "moss" && breed != null) {
            if (once("book-missing")) return Deed.Taps(listOf("book-open:breed", "book:breed:missing"))
            if (breed.state == standsquare.view.BookState.MISSING) return Deed.Tap("book:breed:agrees")
        }
        return view.offers.first { it.role == Role.MAIN }.let { offered(view, it.id) }
    }

    private fun handler(view: View, screen: Screen.Handler): Deed {
        if (view.dog?.id == "juno" && screen.handler.questions.any { it.id == "bites" && it.answer == null })
            return Deed.Tap("answer:bites:yes")
        return view.offers.first { it.role == Role.MAIN }.let { offered(view, it.id) }
    }

    private fun chip(view: View, screen: Screen.Chip): Deed {
        val dog = view.dog ?: return Deed.Lost("no dog at the chip")
        val number = dog.chip.filter(Char::isDigit)
        val linked = view.reader.link == standsquare.view.ReaderLink.CONNECTED
        val gone = { v: View -> v.reader.link != standsquare.view.ReaderLink.CONNECTED }
        fun until(key: String) = { v: View -> (v.screen as? Screen.Chip)?.chip?.state?.key.let { it == null || it == key } }
        return when {
            view.offers.any { it.id == "scan_again" } -> Deed.Tap("offer:scan_again")
            // Fifteen digits without a check were read once: the same once more.
            screen.chip.state.key == "chip.second_read" ->
                Deed.Reader("present ${screen.chip.reads.first().number.filter(Char::isDigit)}", SECOND_READ_MS) { v ->
                    v.screen !is Screen.Chip || v.offers.any { it.id == "scan_again" }
                }
            dog.id == "moss" && view.reader.wanted?.reader == POCKET ->
                if (linked) Deed.Reader("vanish", until = gone) else offered(view, "open_readers")
            dog.id == "juno" && linked && once("display") -> Deed.Reader("vanish", until = gone)
            dog.id == "juno" && !linked -> Deed.Taps(listOf("chip_type") + number.map { "chip-pad:$it" })
            dog.id == "pip" && linked && once("mismatch") -> Deed.Reader("present $STRANGER", until = until("chip.second_read"))
            dog.id == "pip" && linked && once("half") -> Deed.Reader("half $number") { it.notice?.text?.key == "read.truncated" }
            dog.id == "pip" && linked && once("vanish") -> Deed.Reader("vanish") { it.reader.link == standsquare.view.ReaderLink.LOST }
            !linked -> Deed.Reader("return") { it.reader.link == standsquare.view.ReaderLink.CONNECTED }
            else -> Deed.Reader("present $number", until = until("chip.second_read"))
        }
    }

    private fun placing(view: View, screen: Screen.Placing): Deed {
        if (view.dog?.id == "pip" && screen.placing.placings.isEmpty() && once("mis-tap")) return Deed.Tap("offer:base_not_flat")
        if (view.dog?.id == "pip" && screen.placing.placings.isNotEmpty()) return offered(view, "undo_placing")
        val plan = PLACINGS[view.dog?.id] ?: return Deed.Lost("no placings planned for ${view.dog?.id}")
        val seen = plan.getOrNull(screen.placing.placings.size) ?: return Deed.Lost("more placings than planned")
        return offered(view, when (seen) {
            PlacingSeen.BASE_FLAT -> "base_flat"
            PlacingSeen.BASE_NOT_FLAT -> "base_not_flat"
            PlacingSeen.DOG_MOVED -> "dog_moved"
        })
    }

    private fun sign(screen: Screen.Sign): Deed {
        val seat = screen.sign.seats.firstOrNull { !it.signed } ?: return Deed.Lost("all have signed and it goes on")
        val first = screen.sign.seats.first()
        val digits = when {
            seat == first && once("wrong-pin") -> "1111"
            seat != first && once("first-ones-pin") -> PINS.getValue(first.person)
            else -> PINS.getValue(seat.person)
        }
        return Deed.Taps(listOf("sign:${seat.person}") + keys(digits))
    }

    private fun sent(view: View, screen: Screen.Return): Deed = when {
        screen.sent.state.key == IN_LOG -> {
            once("returned")
            offered(view, "leave_session")
        }
        screen.sent.tone == Tone.GOOD -> Deed.Await("the office's log to have it") { (it.screen as? Screen.Return)?.sent?.state?.key == IN_LOG }
        once("sent-without") -> offered(view, "send_return")
        once("network") -> Deed.Network(on = true)
        // Nobody presses anything: it goes by itself.
        else -> Deed.Await("the office to have it") { (it.screen as? Screen.Return)?.sent?.tone == Tone.GOOD }
    }

    private fun pin(digits: String) = Deed.Taps(keys(digits))

    private fun keys(digits: String) = digits.map { "pin:$it" } + "pin:enter"

    private companion object {
        /** What the return's screen says in the end. */
        const val IN_LOG = "return.in_log"

        /** The readers that the walk uses, as xtask starts them, and how many there are. */
        const val POCKET = "pocket"
        const val WAND = "wand"
        const val READERS = 3

        /** More than the second within which an equal read is a bounce of the one before. */
        const val SECOND_READ_MS = 1_200L

        /** In the order in which they are called. */
        val DOGS = listOf("pip", "moss", "juno")

        /** Whoever reads this may know them: they open nothing but the demo's keys. */
        val PINS = linkedMapOf("ottoline" to "4711", "bram" to "2580")

        /** Tansy's number: a dog of the list, but never the one at the table. */
        const val STRANGER = "999000000598871"

        val PLACINGS = mapOf(
            "pip" to listOf(PlacingSeen.BASE_FLAT),
            "moss" to listOf(
                PlacingSeen.BASE_NOT_FLAT, PlacingSeen.DOG_MOVED, PlacingSeen.BASE_NOT_FLAT,
                PlacingSeen.BASE_NOT_FLAT, PlacingSeen.BASE_FLAT,
            ),
        )
    }
}
