package standsquare.screens.steps

import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.runtime.getValue
import androidx.compose.runtime.setValue
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.unit.dp
import standsquare.screens.frame.Foot
import standsquare.screens.frame.Hand
import standsquare.screens.frame.LocalChoice
import standsquare.screens.look.*
import standsquare.view.Act
import standsquare.view.SeatAsks
import standsquare.view.SeatWay
import standsquare.view.SignScreen
import standsquare.view.SignSeat

/** A verdict of at most this many letters fits in the largest type. */
private const val SHORT = 12

/** What it comes to, why, and exactly what is signed. */
@Composable
fun Sign(screen: SignScreen) {
    val words = words
    WhyNot(screen.seats)
    Card(Modifier.testTag("outcome").semantics(mergeDescendants = true) {}) {
        val outcome = words.say(screen.outcome)
        Say(outcome, if (outcome.length <= SHORT) Size.HUGE else Size.TITLE, palette.card.ink)
        screen.height?.let { Say(words.say(it), Size.STRONG, palette.card.ink, digits = true) }
    }
    Card {
        Heading(words.ui("sign.statement"))
        Statement(screen.statement)
    }
    if (screen.reasons.isNotEmpty()) {
        Heading(words.ui("sign.reasons"))
        Points(screen.reasons.map { words.say(it.text) })
    }
}

/** Who cannot sign here, and what to do: above what is signed, so that the names stay in reach. */
@Composable
fun WhyNot(seats: List<SignSeat>) {
    for (seat in seats) {
        val why = seat.whyNot ?: continue
        Toned(standsquare.view.Tone.CARE, words.say(why), "why-not:${seat.person}")
    }
}

/** Two names to tap; then the keys for that person's PIN. */
@Composable
fun signFoot(screen: SignScreen, local: LocalChoice, hand: Hand): Foot =
    seatsFoot(screen.seats, screen.minDigits.toInt(), screen.maxDigits.toInt(), local, hand)

/** Before a person's id where the number of a paper is typed, not a PIN. */
private const val PAPER = "paper:"

/** The measurers' places at a signature, and the keys of the one who signs. */
@Composable
fun seatsFoot(
    seats: List<SignSeat>, least: Int, most: Int, local: LocalChoice, hand: Hand,
    act: (String, String) -> Act = { person, pin -> Act.Sign(person, pin) },
): Foot {
    var pad by local.pad
    // Once the person has signed, the pad closes by itself.
    val pin = seats.firstOrNull { it.person == pad && it.way == SeatWay.PIN }
    val paper = seats.firstOrNull { PAPER + it.person == pad && it.way == SeatWay.PAPER }
    return when {
        pin != null -> Foot(replacesOffers = true, keys = true) { PinOf(pin, least, most, { pad = null }) { hand.send(if (pin.asks == SeatAsks.UNLOCK) Act.Unlock(pin.person, it) else act(pin.person, it)) } }
        paper != null -> Foot(replacesOffers = true, keys = true) { PaperOf(paper, { pad = null }, hand) }
        else -> Foot(replacesOffers = false, keys = false) { for (seat in seats) Seat(seat, hand) { pad = it } }
    }
}

@Composable
private fun Seat(seat: SignSeat, hand: Hand, onTap: (String) -> Unit) {
    val words = words
    if (seat.signed) Toned(standsquare.view.Tone.GOOD, words.ui(done(seat.asks), "name" to seat.name), "signed:${seat.person}")
    else seat.paper?.let { Toned(standsquare.view.Tone.CARE, words.ui("sign.on_paper", "name" to seat.name, "paper" to it), "on-paper:${seat.person}") }
    when (seat.way) {
        SeatWay.NOTHING -> {}
        SeatWay.PIN -> Answer(seat, Mark.PEN) { onTap(seat.person) }
        SeatWay.TAP -> Answer(seat, Mark.TICK) { hand.send(Act.Confirm(seat.person)) }
        SeatWay.PAPER -> {
            Tries(seat)
            Touch(words.ui("sign.paper", "name" to seat.name), Faces.other().copy(height = 64.dp), "paper:${seat.person}",
                { onTap(PAPER + seat.person) }, Modifier.fillMaxWidth(), Mark.PEN)
        }
    }
    seat.byOwner?.let { ask ->
        Touch(words.ui("sign.by_owner"), Faces.other().copy(height = 64.dp), "owner:${seat.person}", { hand.send(ask) }, Modifier.fillMaxWidth(), Mark.PEN)
    }
}

@Composable
private fun Answer(seat: SignSeat, mark: Mark, onTap: () -> Unit) =
    Touch(words.ui(asked(seat.asks), "name" to seat.name), Faces.main().copy(height = 64.dp), "sign:${seat.person}", onTap, Modifier.fillMaxWidth(), mark)

@Composable
private fun Tries(seat: SignSeat) {
    seat.triesLeft?.let { Say(words.counted("sign.tries", it.toLong()), Size.SMALL, palette.soft) }
}

private fun asked(what: SeatAsks) = when (what) {
    SeatAsks.SIGN -> "sign.as"
    SeatAsks.UNLOCK -> "sign.unlock"
    SeatAsks.CONFIRM -> "sign.confirm"
}

private fun done(what: SeatAsks) = when (what) {
    SeatAsks.SIGN -> "sign.signed"
    SeatAsks.UNLOCK -> "sign.unlocked"
    SeatAsks.CONFIRM -> "sign.confirmed"
}

@Composable
private fun PinOf(seat: SignSeat, least: Int, most: Int, onClose: () -> Unit, onEnter: (String) -> Unit) {
    val words = words
    Column(Modifier.testTag("pin-of:${seat.person}")) {
        Say(words.ui("sign.pin_of", "name" to seat.name), Size.STRONG)
        Tries(seat)
    }
    androidx.compose.runtime.key(seat.person) {
        Keypad("pin", least, most, secret = true, mayShow = false,
            onEnter = onEnter, onClose = onClose)
    }
}

/** The most digits that a paper's number has here. */
private const val PAPER_DIGITS = 8

@Composable
private fun PaperOf(seat: SignSeat, onClose: () -> Unit, hand: Hand) {
    Say(words.ui("sign.paper_of", "name" to seat.name), Size.STRONG, modifier = Modifier.testTag("paper-of:${seat.person}"))
    Keypad("paper", 1, PAPER_DIGITS, secret = false, mayShow = false,
        onEnter = { onClose(); hand.send(Act.SignOnPaper(seat.person, it)) }, onClose = onClose)
}
