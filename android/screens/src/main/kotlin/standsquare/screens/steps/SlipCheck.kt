package standsquare.screens.steps

import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.runtime.getValue
import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.remember
import androidx.compose.runtime.setValue
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import standsquare.screens.frame.Foot
import standsquare.screens.frame.Hand
import standsquare.screens.frame.LocalChoice
import standsquare.screens.frame.Reading
import standsquare.screens.look.*
import standsquare.view.Act
import standsquare.view.SlipCheckScreen

/** Whose is this slip, and is it genuine; or what else a code says. */
@Composable
fun SlipCheck(screen: SlipCheckScreen, hand: Hand) {
    val words = words
    var text by remember { mutableStateOf("") }
    fun send() {
        hand.send(Act.CheckSlip(text))
        text = ""
    }
    val answer = screen.answer
    if (answer == null) Say(words.ui("slip.how_to_check"), Size.BODY)
    else Toned(screen.tone, words.say(answer), "answer:${answer.key}", speaks = true, size = Size.STRONG)
    if (screen.says.isNotEmpty()) Card(Modifier.testTag("slip-line")) { Statement(screen.says) }
    TypedLine("slip:text", words.ui("slip.text"), text, { text = it }, digits = false) { send() }
    Touch(words.ui("slip.check"), Faces.other(), "slip:check", { send() }, Modifier.fillMaxWidth(), Mark.TICK)
}

/** The usual way: with the camera. */
@Composable
fun slipCheckFoot(screen: SlipCheckScreen, local: LocalChoice, hand: Hand): Foot {
    val words = words
    return Foot(replacesOffers = false, keys = false) {
        Touch(words.ui("camera.open"), Faces.main(), "camera:open", {
            // The next code begins anew: its answer must not be taken for the last one's.
            if (screen.answer != null) hand.send(Act.OpenSlipCheck)
            local.camera.value = true
        }, Modifier.fillMaxWidth(), Mark.CAMERA)
    }
}

/** The camera takes codes, one after another, until there is an answer to be read. */
fun slipCheckReading(screen: SlipCheckScreen, local: LocalChoice, hand: Hand): Reading? =
    if (!local.camera.value || screen.answer != null) null
    else Reading({ hand.send(Act.CheckSlip(it)) }, { local.camera.value = false })
