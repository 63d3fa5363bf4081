//! What a person, the reader, the phone or the office does: everything that can
//! be put into the session. Each act is answered by one view and, where it
//! changed anything, is one committed transaction.

use serde::{Deserialize, Serialize};

mod given;

pub use given::*;

/// Everything that can be put into the session.
///
/// Screens send back the act that an [`crate::view::Offer`] carries; only acts
/// that need a person's own input (a PIN, a typed number) are built by a screen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "uniffi", derive(uniffi::Enum))]
#[serde(tag = "act", rename_all = "snake_case")]
pub enum Act {
    // ---- the world around the phone (never refused as out of date) ----
    /// The link to the reader changed. `name` is what the reader calls itself.
    ReaderLink {
        /// How it stands now.
        link: ReaderLink,
        /// The reader's own name; empty if unknown.
        name: String,
        /// What the platform knows the reader by; empty where it knows one only.
        #[serde(default)]
        reader: String,
    },
    /// The radio heard a reader, or knows one that it could connect to. Sent
    /// again as often as it is heard; the session forgets by itself.
    ReaderSeen {
        /// What the platform knows it by, the same each time.
        reader: String,
        /// What it calls itself; empty if it does not say.
        name: String,
        /// What carries its bytes.
        carrier: ReaderCarrier,
        /// Strength of its signal, dBm, where the radio tells.
        signal_dbm: Option<i32>,
    },
    /// A reader told what is left in its battery.
    ReaderBattery {
        /// What the platform knows it by.
        reader: String,
        /// Percent.
        percent: u8,
    },
    /// A code printed in a record book was scanned or typed. It finds the dog's
    /// record and never counts as a chip read.
    BookCode {
        /// As scanned.
        code: String,
    },
    /// Bytes from the reader, cut wherever the radio cut them.
    ReaderBytes {
        /// As received.
        #[serde(with = "hex::serde")]
        bytes: Vec<u8>,
    },
    /// Time passes: sent about once a second while the app is in front.
    Tick,
    /// The office answered a request that an effect asked for.
    OfficeAnswer {
        /// The id of that request.
        request: String,
        /// HTTP status.
        status: u16,
        /// The body as received.
        #[serde(with = "hex::serde")]
        body: Vec<u8>,
    },
    /// The office could not be reached.
    OfficeUnreachable {
        /// The id of the request.
        request: String,
        /// What the platform said, for the log only.
        reason: String,
    },

    /// A packet came back, after an effect asked for packets to be sent.
    PacketCame {
        /// The packet as received.
        #[serde(with = "hex::serde")]
        bytes: Vec<u8>,
    },

    /// The network came back or changed, or the app came to the foreground.
    NetworkChanged,
    /// What is left in the phone's own battery changed, or whether it is being charged.
    Battery {
        /// Percent.
        percent: u8,
        /// It is being charged.
        charging: bool,
    },
    /// Whether this phone has biometrics that somebody enrolled and that can guard a secret:
    /// sent once when the app starts, and again where that changed.
    OwnerCan {
        /// It has.
        can: bool,
    },
    /// The answer to `Effect::AskOwner`: what the key store gave up for its owner's
    /// biometrics.
    OwnerUnlock {
        /// The very bytes that it was given to keep.
        #[serde(with = "hex::serde")]
        secret: Vec<u8>,
    },
    /// The other answer: there is nothing that it could give up, or it cannot keep anything.
    /// Somebody who only changed their mind answers nothing.
    OwnerGone,

    // ---- the chip readers ----
    /// Open the list of readers; what was on the screen waits under it.
    OpenReaders,
    /// Back to what was on the screen.
    LeaveReaders,
    /// Use this reader from now on.
    ChooseReader {
        /// What the platform knows it by.
        reader: String,
    },
    /// Forget what the known chip gave so far and try again.
    TryReaderAgain,
    /// The number printed with the known chip.
    KnownChip {
        /// As typed, or as chosen from what was read.
        number: String,
    },
    /// The number on the screen is the known chip's: keep this profile.
    KeepReader {
        /// The profile's name.
        profile: String,
        /// The number.
        number: String,
    },

    // ---- practice and own figures ----
    /// Open the list of who practises; only while nothing is under way.
    OpenPractice,
    /// Open somebody's own figures.
    OpenOwn {
        /// Who.
        person: String,
    },
    /// Back from a page.
    LeavePage,
    /// Begin a drill of whoever's page is open.
    BeginDrill {
        /// The hoop, its id in the pack.
        gauge: String,
    },
    /// What was seen at this placing of the drill.
    DrillSaw {
        /// What; 'dog moved': it counts for nothing.
        seen: PlacingSeen,
    },
    /// Put the drill away, at its end or before.
    LeaveDrill,
    /// A trainer signs the record of the drill.
    SignPractice {
        /// Who.
        person: String,
        /// Their digits.
        pin: String,
    },
    /// A trainee watches today's session, or does not after all.
    TraineeWatches {
        /// Who.
        person: String,
        /// Watches.
        here: bool,
    },
    /// Ask a trainee what they would have found of this dog.
    OpenShadow {
        /// Who.
        person: String,
    },
    /// What the trainee whose page is open would have found.
    Shadow {
        /// The category's id in the pack.
        category: String,
    },

    // ---- before a session ----
    /// Read a roster (league, rule pack, people, hoops, expected dogs).
    LoadRoster {
        /// The roster's JSON text, as the office wrote it.
        text: String,
    },
    /// Begin setting up today's session.
    StartSession,

    // ---- setting up ----
    /// Where the session is held.
    SetVenue {
        /// One of the roster's venues, or typed.
        name: String,
    },
    /// The phone lies on the surface and shows this tilt.
    LevelReading {
        /// Tilt about the phone's short side, thousandths of a degree.
        x_mdeg: i32,
        /// Tilt about its long side, thousandths of a degree.
        y_mdeg: i32,
    },
    /// Throw the readings of this surface away and read it again.
    LevelAgain,
    /// Go on after the surface was found level.
    SurfaceDone,
    /// A hoop was looked at.
    HoopLooked {
        /// Its id in the roster.
        hoop: String,
        /// Whole, not bent, number readable.
        good: bool,
    },
    /// Go on after every hoop was looked at.
    HoopsDone,
    /// This person measures today.
    SeatMeasurer {
        /// Their id in the roster.
        person: String,
    },
    /// They do not, after all.
    UnseatMeasurer {
        /// Their id in the roster.
        person: String,
    },
    /// A measurer sets the PIN that opens their key on this phone.
    SetPin {
        /// Their id in the roster.
        person: String,
        /// The digits.
        pin: String,
    },
    /// The set-up is done: open the queue.
    OpenQueue,

    // ---- the queue ----
    /// Take this dog next.
    CallDog {
        /// Its id in the roster.
        dog: String,
    },

    /// Take a dog that is not on the list, by the chip that was just read.
    CallNewcomer {
        /// The number, as the queue's offer has it.
        chip: String,
    },

    // ---- one dog ----
    /// What the record book of a dog that is not on the list says.
    DescribeNewcomer {
        /// Call name.
        name: String,
        /// Day of birth: `YYYY-MM-DD` or eight digits; empty if the book does not say.
        born: String,
        /// Category of the last earlier measure, its id in the view; empty if there is none.
        category: String,
        /// When that was, like `born`; empty if there is none.
        measured: String,
    },
    /// The whole record book is there and says what the screen shows.
    BookAgrees,
    /// One line of the record book.
    BookLine {
        /// The line's id in the view.
        item: String,
        /// What was found.
        state: BookState,
    },
    /// Every line has been looked at: go on with what was found.
    BookDone,
    /// The handler said no to every question of care and consents.
    HandlerAllClear,
    /// One answer of the handler.
    HandlerAnswer {
        /// The question's id in the view.
        question: String,
        /// Their answer.
        yes: bool,
    },
    /// All is answered: go on.
    HandlerDone,
    /// Scan again: forget nothing, but wait for another read.
    ScanAgain,
    /// A number read off the reader's own display, seen by both measurers.
    ChipTyped {
        /// The digits as typed.
        number: String,
    },
    /// Two numbers differ by a slip of the pen: both measurers looked, go on, flagged.
    ChipMisKeyed,
    /// Both measurers looked at the reader's display and confirm a number that
    /// came without a checksum.
    ChipConfirmed,
    /// No chip was found after more than one full pass: what the pack allows then.
    NoChip,
    /// The dog in hand was measured at another table: measure it here too.
    MeasureHereToo,
    /// The dog in hand was measured at another table: do not measure it here.
    MeasuredElsewhere,
    /// The dog has settled and stands on the surface.
    Settled,
    /// It stands square (again, after a placing that was not flat or did not count).
    StandsSquare,
    /// Use this hoop for the next placing.
    ChooseHoop {
        /// Its id in the roster.
        hoop: String,
    },
    /// One lowering of the hoop.
    Place {
        /// The hoop.
        hoop: String,
        /// What was seen.
        seen: PlacingSeen,
    },
    /// One of the two keys was pressed while the view said that they are listened to.
    PressKey {
        /// Which.
        key: TwoKeys,
    },
    /// Take the last placing back: it was mis-tapped. Not for a base flat, which only
    /// both measurers together can make void.
    UndoPlacing,
    /// Something entered for this dog was wrong: choose what.
    AskCorrection {
        /// The dog in hand, or one of those done today. Its id in the roster.
        dog: String,
    },
    /// This was wrong.
    ChooseCorrection {
        /// What.
        what: CorrectionWhat,
    },
    /// For this reason. Every measurer signs it before it holds.
    CorrectionReason {
        /// The reason's id in the view.
        reason: String,
    },
    /// Nothing was wrong after all.
    LeaveCorrection,
    /// Let this dog wait aside and take another meanwhile.
    Park,
    /// Take up a dog that waited aside, or one that awaits a signature.
    Resume {
        /// Its id in the roster.
        dog: String,
    },
    /// A measurer may not measure this dog: it is stopped for today here.
    MayNotMeasure {
        /// Who.
        person: String,
    },
    /// Where each measurer makes their own placings: the next one has taken the phone.
    TakeOver {
        /// Who.
        person: String,
    },
    /// A measurer leaves the table: nothing is placed until they are back.
    StepAway {
        /// Who.
        person: String,
    },
    /// They are back.
    ComeBack {
        /// Who.
        person: String,
    },
    /// A measurer signs what the screen shows.
    Sign {
        /// Who.
        person: String,
        /// Their digits.
        pin: String,
    },
    /// The owner of this phone signs, or opens their key, by its biometrics in place of the
    /// PIN that the screen asks for.
    AskOwner {
        /// Who.
        person: String,
    },
    /// A measurer signs what the screen shows on their own phone: show it as codes for theirs.
    SignElsewhere {
        /// Who.
        person: String,
    },
    /// Where a session is signed once: a measurer opens their key for the dogs that follow.
    Unlock {
        /// Who.
        person: String,
        /// Their digits.
        pin: String,
    },
    /// A measurer whose key is open confirms what the screen shows.
    Confirm {
        /// Who.
        person: String,
    },
    /// The phone is handed on: every key is closed.
    LockPhone,
    /// A measurer whose PIN is out of tries has signed on numbered paper: a dog, or the
    /// list at the close.
    SignOnPaper {
        /// Who.
        person: String,
        /// The number printed on the paper.
        paper: String,
    },
    /// A measurer does not agree with what the screen shows.
    Disagree {
        /// Who.
        person: String,
    },
    /// The line has been written into the record book and the book given back.
    BookWritten,
    /// The handler has been told: next dog.
    HandlerTold,
    /// Open the list of reasons to stop this dog for today.
    AskNotToday,
    /// Back from that list to where the dog was.
    KeepGoing,
    /// Stop this dog for today.
    NotToday {
        /// The reason's id in the view.
        reason: String,
    },

    // ---- the end ----
    /// Look at what is done and what is not, before closing.
    ReviewClose,
    /// Back to the queue.
    BackToQueue,
    /// Where a session is signed once: show the list that is signed at the close.
    StateList,
    /// Back from the list; who has signed has signed.
    LeaveList,
    /// Close the session: nothing more can be measured in it.
    CloseSession,
    /// Send what the office does not have yet.
    SendReturn,
    /// Hand what the office does not have yet to the share sheet as one file, to be carried
    /// there by hand.
    CarryReturn,
    /// Hand a file of the return to the platform's share sheet.
    ShareReturn,
    /// The same as a sheet to print.
    PrintReturn,
    /// Leave the closed session.
    LeaveSession,

    // ---- looking at something beside the session: nothing of it is recorded ----
    /// Back to what was on the screen.
    LeaveLook,
    /// The handler's slip of a dog that was signed for today.
    OpenSlip {
        /// Its id in the roster.
        dog: String,
    },
    /// A dog's slip as a sheet to print.
    PrintSlip {
        /// Its id in the roster.
        dog: String,
    },
    /// A calendar entry for the window of a dog's second measure.
    CalendarEntry {
        /// Its id in the roster.
        dog: String,
        /// What the calendar calls it, in the platform's language.
        summary: String,
    },
    /// Somebody shows a slip: check it.
    OpenSlipCheck,
    /// The text of a code that was read: a slip's, a one-time code of the office's, a notice,
    /// or what another phone shows. It says itself what it is. A camera may say it as often as
    /// it sees the code: one that stays is taken once.
    CheckSlip {
        /// As scanned.
        text: String,
    },
    /// Show the list of this table's dogs as codes, for another table's phone to read.
    OpenDogsList,
    /// Show this session's code, for a second phone that records the same session.
    OpenPairing,
    /// The session's other phone found something else of this dog: sign which of the two
    /// stands.
    SettleDispute {
        /// The dog: its id in the session under way.
        dog: String,
        /// What was found here stands.
        here: bool,
    },
    /// Show what the other measurer's phone does not have yet of this phone's record as codes;
    /// or all of it.
    ShowCopy {
        /// From the first entry on.
        whole: bool,
    },
    /// Hand the copies that are kept here for other phones to the share sheet, for the office.
    CarryCopies,
    /// Hand what the codes on the glass say to the platform's share sheet as one text.
    ShareCodes,
    /// Show an earlier session.
    OpenPast {
        /// Its id, hexadecimal.
        session: String,
    },
    /// Show what this phone knows of a dog.
    OpenHistory {
        /// The number in its record book.
        chip: String,
    },
    /// Show the settings, and what is on this phone.
    OpenSettings,
    /// This phone is a measurer's own: ask for their PIN, so that its biometrics will open
    /// their key too.
    OwnPhone {
        /// Who: their id in the roster.
        person: String,
    },
    /// It is no more: its biometrics open no key.
    NotOwnPhone,
    /// Somebody was bitten or fell: choose what happened.
    OpenIncident,
    /// The handler objects to what was found of this dog: take their words.
    OpenObjection {
        /// Its id in the roster.
        dog: String,
    },
    /// The handler objects. Unlike looking, it is recorded; the words apart from the chain.
    RecordObjection {
        /// The dog: its id in the roster.
        dog: String,
        /// The handler's words; may be empty.
        words: String,
    },
    /// This happened. Unlike looking, it is recorded.
    RecordIncident {
        /// `bite` or `fall`.
        what: String,
        /// `measurer`, `handler`, `dog` or `other`.
        whom: String,
        /// In words, if wished; no names.
        words: String,
    },
}

impl Act {
    /// Whether the act comes from the world and not from a finger on a screen:
    /// such an act is taken whatever view was on the screen when it came.
    pub fn is_of_the_world(&self) -> bool {
        matches!(
            self,
            Act::ReaderLink { .. }
                | Act::ReaderBytes { .. }
                | Act::ReaderSeen { .. }
                | Act::ReaderBattery { .. }
                | Act::BookCode { .. }
                | Act::Tick
                | Act::OfficeAnswer { .. }
                | Act::OfficeUnreachable { .. }
                | Act::PacketCame { .. }
                | Act::NetworkChanged
                | Act::Battery { .. }
                | Act::OwnerCan { .. }
                | Act::OwnerUnlock { .. }
                | Act::OwnerGone
        )
    }

    /// Whether it is about sending only: what is on the glass stays as it is, and frames may
    /// be packed now, since no finger waits for the answer.
    pub fn is_of_sending(&self) -> bool {
        matches!(
            self,
            Act::OfficeAnswer { .. }
                | Act::OfficeUnreachable { .. }
                | Act::PacketCame { .. }
                | Act::NetworkChanged
        )
    }
}
