package standsquare.screens.steps

import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import standsquare.screens.frame.Foot
import standsquare.screens.frame.Hand
import standsquare.screens.look.*
import standsquare.view.Act
import standsquare.view.PinScreen

/** A measurer chooses the PIN that opens their key on this phone. */
@Composable
fun Pin(screen: PinScreen) {
    Say(
        words.ui("pin.for", "name" to screen.name, "least" to screen.minDigits.toString(), "most" to screen.maxDigits.toString()),
        Size.STRONG, modifier = Modifier.testTag("pin-for:${screen.person}"),
    )
}

/** The keys for it. */
@Composable
fun pinFoot(screen: PinScreen, hand: Hand) = Foot(replacesOffers = false, keys = true) {
    androidx.compose.runtime.key(screen.person) {
        Keypad("pin", screen.minDigits.toInt(), screen.maxDigits.toInt(), secret = true, mayShow = true,
            onEnter = { hand.send(Act.SetPin(screen.person, it)) })
    }
}
