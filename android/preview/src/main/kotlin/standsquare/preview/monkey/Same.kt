package standsquare.preview.monkey

import java.security.MessageDigest
import standsquare.view.ReaderBadge
import standsquare.view.ReaderLink
import standsquare.view.Screen
import standsquare.view.Text
import standsquare.view.View

/**
 * A view without what no record holds: what just happened, how the reader's link
 * stands and what follows from that, and what was heard between two dogs. All else
 * must be the same after a kill.
 */
fun lasting(view: View): String = view.copy(
    notice = null,
    reader = ReaderBadge(ReaderLink.NONE, "", null, view.reader.wanted, view.reader.look),
    offers = view.offers.filterNot { it.id in OF_THE_READER },
    screen = when (val screen = view.screen) {
        is Screen.Chip -> Screen.Chip(screen.chip.copy(
            state = if (screen.chip.state.key in OF_THE_LINK) NOTHING else screen.chip.state))
        is Screen.Queue -> Screen.Queue(screen.queue.copy(newChip = null))
        // Readers that are near are heard anew.
        is Screen.Readers -> Screen.Readers(screen.readers.copy(readers = emptyList(), trial = null, mayType = false))
        else -> screen
    },
).toString().replace(IDENTITY, "")

/** Whether something is looked at beside the session: of the moment, and gone with a kill. */
fun isLookedAt(view: View): Boolean = when (view.screen) {
    is Screen.Slip, is Screen.SlipCheck, is Screen.Past, is Screen.History, is Screen.Settings, is Screen.Incident, is Screen.Objection,
    is Screen.Codes -> true
    else -> false
}

/** Stands for such a view. */
const val LOOKED = "looked at"

/** What the machine calls an object that has nothing in it: another name in every process. */
private val IDENTITY = Regex("@[0-9a-f]+")

/** A short name of a text, for the log. */
fun digest(text: String): String = MessageDigest.getInstance("SHA-256").digest(text.toByteArray())
    .joinToString("") { "%02x".format(it) }.take(16)

private val NOTHING = Text("", emptyList())

/** Offers that come and go with the reader's link or with what was read between dogs. */
private val OF_THE_READER = setOf("open_readers", "newcomer", "keep_reader", "try_reader_again")

/** What the chip screen says of the link while nothing was read. */
private val OF_THE_LINK = setOf("chip.reader_speaks_other", "chip.waiting", "chip.looking_for_reader", "chip.reader_gone", "chip.no_reader")
