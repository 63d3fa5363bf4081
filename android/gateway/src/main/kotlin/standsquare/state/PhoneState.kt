package standsquare.state

import standsquare.view.Act
import standsquare.view.PhoneFault
import standsquare.view.View

/** What there is to draw. Plain data: a screen can be drawn from it anywhere. */
sealed interface PhoneState {
    /** The record is being opened; the first frame does not wait for it. */
    data object Opening : PhoneState

    /** The core's view, and the moment it stands for (Unix milliseconds, for the calm timer). */
    data class Showing(val view: View, val nowMs: Long) : PhoneState

    /** The record cannot be read or written; [last] is what was answered last, if anything. */
    data class Broken(val fault: PhoneFault, val last: View?) : PhoneState
}

/** What a person did on the glass. */
sealed interface PhoneEvent {
    /** An act, and the revision of the view it was made on. */
    data class Do(val act: Act, val seen: Long) : PhoneEvent

    /** Open the record again. */
    data object TryAgain : PhoneEvent

    /** The other theme. */
    data object ChangeTheme : PhoneEvent

    /** Another language, by its code. */
    data class ChooseLanguage(val code: String) : PhoneEvent

    /** This theme, by its code. */
    data class ChooseTheme(val code: String) : PhoneEvent

    /** Sounds or none. */
    data class Sounds(val on: Boolean) : PhoneEvent

    /** Buzzes or none. */
    data class Buzzes(val on: Boolean) : PhoneEvent
}
