package standsquare.screens.frame

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.IntrinsicSize
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.fillMaxHeight
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.height
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.LocalDensity
import standsquare.screens.look.Faces
import standsquare.screens.look.GAP
import standsquare.screens.look.Touch
import standsquare.screens.look.words
import standsquare.view.Act
import standsquare.view.Offer
import standsquare.view.Role

/** Type this much larger than usual no longer fits two to a row on a phone. */
private const val SIDE_BY_SIDE = 1.45f

/**
 * The offers in thumb reach: other ways on, then the equal pair side by side,
 * then the main act, and last, always lowest, what stops the dog for today. Taking
 * a placing back is seldom needed, but at once: it stands here too.
 */
@Composable
fun PinnedOffers(offers: List<Offer>, hand: Hand) {
    Column(Modifier.fillMaxWidth(), verticalArrangement = Arrangement.spacedBy(GAP)) {
        Pair(offers.filter { it.role == Role.OTHER || it.act is Act.UndoPlacing }, hand, stacked = false)
        Pair(offers.filter { it.role == Role.EQUAL }, hand, stacked = true)
        for (offer in offers.filter { it.role == Role.MAIN }) OfferTouch(offer, hand, Modifier.fillMaxWidth())
        for (offer in offers.filter { it.role == Role.STOP }) OfferTouch(offer, hand, Modifier.fillMaxWidth())
    }
}

/** Offers that are seldom needed: at the end of what is read. */
@Composable
fun QuietOffers(offers: List<Offer>, hand: Hand) {
    for (offer in offers.filter { it.role == Role.QUIET && it.act !is Act.UndoPlacing }) OfferTouch(offer, hand, Modifier.fillMaxWidth())
}

@Composable
private fun Pair(offers: List<Offer>, hand: Hand, stacked: Boolean) {
    if (offers.isEmpty()) return
    if (LocalDensity.current.fontScale >= SIDE_BY_SIDE || offers.size != 2) {
        for (offer in offers) OfferTouch(offer, hand, Modifier.fillMaxWidth())
        return
    }
    Row(Modifier.fillMaxWidth().height(IntrinsicSize.Min), Arrangement.spacedBy(GAP)) {
        for (offer in offers) OfferTouch(offer, hand, Modifier.weight(1f).fillMaxHeight(), stacked)
    }
}

@Composable
private fun OfferTouch(offer: Offer, hand: Hand, modifier: Modifier, stacked: Boolean = false) {
    val words = words
    Touch(
        label = words.say(offer.label),
        face = when (offer.role) {
            Role.MAIN -> Faces.main()
            Role.EQUAL -> Faces.equal()
            Role.STOP -> Faces.stop()
            Role.OTHER, Role.QUIET -> Faces.other()
        },
        tag = "offer:${offer.id}",
        onTap = { hand.send(offer.act) },
        modifier = modifier,
        mark = markOf(offer.act),
        enabled = offer.allowed,
        whyNot = offer.whyNot?.let(words::say),
        stacked = stacked,
    )
}
