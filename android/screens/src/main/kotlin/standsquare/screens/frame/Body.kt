package standsquare.screens.frame

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Column
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.unit.dp
import standsquare.screens.steps.*
import standsquare.state.PhoneEvent
import standsquare.view.Screen
import standsquare.view.View

/** The part of a screen that is read. */
@Composable
fun Body(view: View, nowMs: Long, local: LocalChoice, hand: Hand, onEvent: (PhoneEvent) -> Unit) {
    Column(Modifier.testTag("screen:${nameOf(view.screen)}"), Arrangement.spacedBy(10.dp)) {
        when (val screen = view.screen) {
            is Screen.Home -> Home(screen.home, hand) { onEvent(PhoneEvent.ChooseLanguage(it.code)) }
            is Screen.Venue -> Venue(screen.venue, local, hand)
            is Screen.Surface -> Surface(screen.surface)
            is Screen.Hoops -> Hoops(screen.hoops, hand)
            is Screen.Measurers -> Measurers(screen.measurers, hand)
            is Screen.Pin -> Pin(screen.pin)
            is Screen.Queue -> Queue(screen.queue, local, hand)
            is Screen.Newcomer -> Newcomer(screen.newcomer, hand)
            is Screen.Papers -> Papers(screen.papers, local, hand)
            is Screen.Handler -> Handler(screen.handler, hand)
            is Screen.Chip -> Chip(screen.chip)
            is Screen.Settle -> Settle(screen.settle, nowMs)
            is Screen.Stance -> Stance(screen.stance)
            is Screen.Placing -> Placing(screen.placing)
            is Screen.Sign -> Sign(screen.sign)
            is Screen.BookLine -> BookLine(screen.bookLine)
            is Screen.Tell -> Tell(screen.tell)
            is Screen.Stop -> Stop(screen.stop, hand)
            is Screen.Correct -> Correct(screen.correct, hand)
            is Screen.HandOver -> HandOver(screen.handOver)
            is Screen.Unlock -> Unlock(screen.unlock)
            is Screen.SignList -> SignList(screen.signList)
            is Screen.Close -> Close(screen.close)
            is Screen.Return -> Return(screen.sent)
            is Screen.Readers -> Readers(screen.readers, local, hand)
            is Screen.Slip -> Slip(screen.slip)
            is Screen.SlipCheck -> SlipCheck(screen.check, hand)
            is Screen.Past -> Past(screen.past, hand)
            is Screen.History -> History(screen.history, hand)
            is Screen.Settings -> Settings(screen.settings, hand, onEvent)
            is Screen.Incident -> Incident(screen.incident, hand)
            is Screen.Objection -> Objection(screen.objection, hand)
            is Screen.Codes -> Codes(screen.codes)
            is Screen.Heard -> Heard(screen.heard)
            is Screen.Practice -> Practice(screen.practice, hand)
            is Screen.Own -> Own(screen.own)
            is Screen.Drill -> Drill(screen.drill)
            is Screen.Feedback -> Feedback(screen.feedback)
            is Screen.Shadow -> Shadow(screen.shadow, hand)
        }
    }
}

/** What a screen pins above the offers, if anything. */
@Composable
fun footOf(view: View, local: LocalChoice, hand: Hand): Foot? = when (val screen = view.screen) {
    is Screen.Pin -> pinFoot(screen.pin, hand)
    is Screen.Queue -> queueFoot(local, hand)
    is Screen.Chip -> chipFoot(screen.chip, local, hand)
    is Screen.Readers -> readersFoot(screen.readers, local, hand)
    is Screen.Sign -> signFoot(screen.sign, local, hand)
    is Screen.Feedback -> feedbackFoot(screen.feedback, local, hand)
    is Screen.Correct -> correctFoot(screen.correct, local, hand)
    is Screen.Unlock -> unlockFoot(screen.unlock, local, hand)
    is Screen.SignList -> signListFoot(screen.signList, local, hand)
    is Screen.SlipCheck -> slipCheckFoot(screen.check, local, hand)
    else -> null
}

/** What a screen reads with the camera now, if it does. */
fun readingOf(view: View, local: LocalChoice, hand: Hand): Reading? = when (val screen = view.screen) {
    is Screen.SlipCheck -> slipCheckReading(screen.check, local, hand)
    else -> null
}

/** A screen's name in tests: its file's, in small letters. */
fun nameOf(screen: Screen): String = screen::class.simpleName.orEmpty().lowercase()
