package standsquare.screens.frame

import standsquare.screens.look.Mark
import standsquare.screens.words.Words
import standsquare.view.Act
import standsquare.view.PlacingSeen
import standsquare.view.Screen
import standsquare.view.View

/** What a screen does with a tap: it sends an act, and nothing else. */
fun interface Hand {
    /** Sends the act that the view offered. */
    fun send(act: Act)
}

/** An act of this view with the words of the language in it, where the core wants the platform's. */
fun worded(act: Act, view: View, words: Words): Act {
    val said = (view.screen as? Screen.Slip)?.slip?.calendar
    return if (act is Act.CalendarEntry && said != null) act.copy(summary = words.say(said)) else act
}

/** The mark beside an offer's words. */
fun markOf(act: Act): Mark? = when (act) {
    is Act.Place -> when (act.seen) {
        PlacingSeen.BASE_FLAT -> Mark.HOOP_FLAT
        PlacingSeen.BASE_NOT_FLAT -> Mark.HOOP_TILTED
        PlacingSeen.DOG_MOVED -> Mark.MOVED
    }
    is Act.UndoPlacing -> Mark.UNDO
    is Act.AskNotToday, is Act.NotToday -> Mark.OCTAGON
    is Act.KeepGoing, is Act.BackToQueue, is Act.LeaveReaders, is Act.LeaveLook -> Mark.UNDO
    is Act.OpenReaders -> Mark.READER
    is Act.OpenSlip, is Act.OpenSlipCheck -> Mark.BOOK
    is Act.OpenDogsList, is Act.OpenPairing -> Mark.PHONE
    is Act.SettleDispute -> Mark.PEN
    is Act.PrintSlip, is Act.PrintReturn, is Act.ShareReturn, is Act.ShareCodes, is Act.CalendarEntry -> Mark.SEND
    is Act.OpenIncident, is Act.OpenObjection -> Mark.CARE
    is Act.OpenSettings -> Mark.PHONE
    is Act.SendReturn -> Mark.SEND
    is Act.LevelAgain, is Act.ScanAgain, is Act.TryReaderAgain -> Mark.AGAIN
    is Act.BookAgrees, is Act.HandlerAllClear, is Act.Settled, is Act.StandsSquare, is Act.BookWritten,
    is Act.HandlerTold, is Act.HoopsDone, is Act.SurfaceDone, is Act.ChipConfirmed, is Act.KeepReader -> Mark.TICK
    is Act.StartSession, is Act.CallDog, is Act.OpenQueue, is Act.SetVenue, is Act.BookDone,
    is Act.HandlerDone, is Act.CloseSession, is Act.LeaveSession, is Act.ReviewClose -> Mark.NEXT
    is Act.ChooseHoop -> Mark.HOOP_FLAT
    else -> null
}
