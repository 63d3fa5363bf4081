package standsquare.screens.frame

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.Spacer
import androidx.compose.foundation.layout.fillMaxSize
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.padding
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.semantics.heading
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.unit.dp
import standsquare.screens.look.Faces
import standsquare.screens.look.Mark
import standsquare.screens.look.Say
import standsquare.screens.look.Size
import standsquare.screens.look.Toned
import standsquare.screens.look.Touch
import standsquare.screens.look.palette
import standsquare.screens.look.words
import standsquare.state.PhoneEvent
import standsquare.state.PhoneState
import standsquare.view.PhoneFault
import standsquare.view.Tone

/** The record cannot be used: what to do about it, and that nothing is lost. */
@Composable
fun Broken(state: PhoneState.Broken, onEvent: (PhoneEvent) -> Unit) {
    val words = words
    Column(Modifier.fillMaxSize().padding(16.dp), Arrangement.spacedBy(12.dp)) {
        Say(words.ui("fault.title"), Size.TITLE, palette.page.ink, Modifier.semantics { heading() })
        Toned(Tone.BAD, words.ui(keyOf(state.fault)), "fault", speaks = true)
        Say(words.ui("fault.kept"), Size.BODY)
        Spacer(Modifier.weight(1f))
        Touch(words.ui("fault.try_again"), Faces.main(), "try_again", { onEvent(PhoneEvent.TryAgain) },
            Modifier.fillMaxWidth(), Mark.AGAIN)
    }
}

private fun keyOf(fault: PhoneFault) = when (fault) {
    is PhoneFault.DiskFull -> "fault.disk_full"
    is PhoneFault.ReadOnly -> "fault.read_only"
    is PhoneFault.InUse -> "fault.in_use"
    is PhoneFault.TooNew -> "fault.too_new"
    is PhoneFault.OtherPhone -> "fault.other_phone"
    is PhoneFault.Damaged -> "fault.damaged"
    is PhoneFault.Internal -> "fault.internal"
}
