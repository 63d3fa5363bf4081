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
import standsquare.view.SignScreen
import standsquare.view.SignSeat

/** A verdict of at most this many letters fits in the largest type. */
private const val SHORT = 12

/** What it comes to, why, and exactly what is signed. */
@Composable
fun Sign(screen: SignScreen) {
    val words = words
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

/** Two names to tap; then the keys for that person's PIN. */
@Composable
fun signFoot(screen: SignScreen, local: LocalChoice, hand: Hand): Foot {
    var pad by local.pad
    // Once the person has signed, the pad closes by itself.
    val seat = screen.seats.firstOrNull { it.person == pad && !it.signed }
    return if (seat == null) Foot(replacesOffers = false, keys = false) { for (one in screen.seats) Seat(one) { pad = one.person } }
    else Foot(replacesOffers = true, keys = true) { PinOf(seat, screen, { pad = null }, hand) }
}

@Composable
private fun Seat(seat: SignSeat, onTap: () -> Unit) {
    val words = words
    if (seat.signed) Toned(standsquare.view.Tone.GOOD, words.ui("sign.signed", "name" to seat.name), "signed:${seat.person}")
    else Touch(words.ui("sign.as", "name" to seat.name), Faces.main().copy(height = 64.dp), "sign:${seat.person}", onTap,
        Modifier.fillMaxWidth(), Mark.PEN)
}

@Composable
private fun PinOf(seat: SignSeat, screen: SignScreen, onClose: () -> Unit, hand: Hand) {
    val words = words
    Column(Modifier.testTag("pin-of:${seat.person}")) {
        Say(words.ui("sign.pin_of", "name" to seat.name), Size.STRONG)
        Say(words.counted("sign.tries", seat.triesLeft.toLong()), Size.SMALL, palette.soft)
    }
    androidx.compose.runtime.key(seat.person) {
        Keypad("pin", screen.minDigits.toInt(), screen.maxDigits.toInt(), secret = true, mayShow = false,
            onEnter = { hand.send(Act.Sign(seat.person, it)) }, onClose = onClose)
    }
}
