package standsquare.screens.steps

import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.remember
import androidx.compose.runtime.setValue
import androidx.compose.ui.Modifier
import standsquare.screens.frame.Hand
import standsquare.screens.frame.LocalChoice
import standsquare.screens.look.*
import standsquare.view.Act
import standsquare.view.VenueScreen

/** Where the session is held: one of the roster's places, or another. */
@Composable
fun Venue(screen: VenueScreen, local: LocalChoice, hand: Hand) {
    val words = words
    Card {
        Heading(words.ui("venue.rules"))
        Say(words.say(screen.pack), Size.BODY_STRONG, palette.card.ink)
    }
    // The first is the main offer below; the others are here.
    for (venue in screen.venues.drop(1)) Touch(
        venue, Faces.other(), "venue:$venue", { hand.send(Act.SetVenue(venue)) }, Modifier.fillMaxWidth(), Mark.NEXT,
    )
    var open by local.pad
    if (open == null) Touch(words.ui("venue.another"), Faces.other(), "venue_other", { open = "" }, Modifier.fillMaxWidth(), Mark.PEN)
    else Typed(hand)
}

@Composable
private fun Typed(hand: Hand) {
    val words = words
    var typed by remember { mutableStateOf("") }
    val name = words.ui("venue.type")
    fun send() = hand.send(Act.SetVenue(typed))
    TypedLine("venue_typed", name, typed, { typed = it }, digits = false) { send() }
    Touch(words.ui("venue.use"), Faces.other(), "venue_use", { send() }, Modifier.fillMaxWidth(), Mark.NEXT)
}
