//! What can be written into a journal: the facts, each as a deterministic CBOR
//! array with integer tags. `core/journal/docs/journal.cddl` is the published form.
//!
//! A tag or a field's number is never used again for something else: a journal
//! written today must read the same in ten years.

mod opened;
mod table;

use minicbor::{CborLen, Encode, bytes::ByteArray};

pub use super::correction::{Correction, Putting};
pub use super::list::{List, Listed};
pub use super::statement::{ChipProof, Outcome, Seen, StatedPlacing, Statement};

/// A random id of 16 bytes: a session, or the subject that stands for a dog's
/// handler in the chain.
pub type Id = ByteArray<16>;
/// A SHA-256 hash, or another 32 bytes.
pub type B32 = ByteArray<32>;
/// An Ed25519 signature.
pub type B64 = ByteArray<64>;

/// The algorithm beside every signature: 1 is Ed25519 (RFC 8032), checked strictly.
pub const ALG_ED25519: u8 = 1;
/// The algorithm beside every hash: 1 is SHA-256 (FIPS 180-4).
pub const ALG_SHA256: u8 = 1;

/// What was found of a line of the record book.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Encode, CborLen)]
#[cbor(index_only)]
pub enum Found {
    /// Says the same.
    #[n(0)]
    Agrees,
    /// Says something else.
    #[n(1)]
    Differs,
    /// Is not there.
    #[n(2)]
    Missing,
}

/// What went wrong at the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Encode, CborLen)]
#[cbor(index_only)]
pub enum Harm {
    /// Somebody was bitten.
    #[n(0)]
    Bite,
    /// Somebody fell, or the dog did.
    #[n(1)]
    Fall,
}

/// Whom it happened to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Encode, CborLen)]
#[cbor(index_only)]
pub enum Whom {
    /// A measurer.
    #[n(0)]
    Measurer,
    /// The handler.
    #[n(1)]
    Handler,
    /// The dog.
    #[n(2)]
    Dog,
    /// Somebody else.
    #[n(3)]
    Other,
}

/// A fact.
#[derive(Clone, Debug, PartialEq, Eq, Encode, CborLen)]
#[allow(clippy::large_enum_variant)] // short-lived, decoded one at a time
pub enum Fact {
    /// The first event: whose journal this is.
    #[n(1)]
    JournalBegun {
        /// The device's public key.
        #[n(0)]
        device_key: B32,
        /// Its algorithm.
        #[n(1)]
        alg: u8,
        /// Random, so that two journals of one device never look alike.
        #[n(2)]
        journal: Id,
        /// The software that wrote it.
        #[n(3)]
        software: String,
        /// The algorithm of every hash in this journal.
        #[n(4)]
        hash_alg: u8,
    },
    /// A roster was taken in (its text is kept beside the chain, under this hash).
    #[n(2)]
    RosterTaken {
        /// SHA-256 of its text without personal data.
        #[n(0)]
        roster: B32,
        /// SHA-256 of the rule pack's text.
        #[n(1)]
        pack: B32,
        /// The league's id.
        #[n(2)]
        league: String,
    },
    /// A session was begun.
    #[n(3)]
    SessionBegun {
        /// Its id.
        #[n(0)]
        session: Id,
        /// The roster's hash.
        #[n(1)]
        roster: B32,
        /// The pack's hash.
        #[n(2)]
        pack: B32,
        /// Minutes east of UTC: the session's own time.
        #[n(3)]
        offset_min: i32,
        /// Its day, days since 1970-01-01.
        #[n(4)]
        day: i32,
    },
    /// Where it is held.
    #[n(4)]
    VenueSet {
        /// Its name.
        #[n(0)]
        name: String,
    },
    /// A tilt reading of the surface.
    #[n(5)]
    LevelRead {
        /// Thousandths of a degree.
        #[n(0)]
        x_mdeg: i32,
        /// Thousandths of a degree.
        #[n(1)]
        y_mdeg: i32,
    },
    /// The readings were thrown away.
    #[n(6)]
    LevelDropped {},
    /// The surface was accepted as level.
    #[n(7)]
    SurfaceAccepted {},
    /// A hoop was looked at.
    #[n(8)]
    HoopLooked {
        /// Its id.
        #[n(0)]
        hoop: String,
        /// Good.
        #[n(1)]
        good: bool,
    },
    /// The hoops were accepted.
    #[n(9)]
    HoopsAccepted {},
    /// A measurer takes part.
    #[n(10)]
    Seated {
        /// Id in the roster.
        #[n(0)]
        person: String,
        /// Their measurer's number.
        #[n(1)]
        number: String,
    },
    /// A measurer does not take part after all.
    #[n(11)]
    Unseated {
        /// Id in the roster.
        #[n(0)]
        person: String,
    },
    /// A measurer's key was made on this device.
    #[n(12)]
    KeyMade {
        /// Id in the roster.
        #[n(0)]
        person: String,
        /// Public key.
        #[n(1)]
        key: B32,
        /// Its algorithm.
        #[n(2)]
        alg: u8,
    },
    /// The queue was opened.
    #[n(13)]
    QueueOpened {},
    /// A dog was called.
    #[n(14)]
    DogCalled {
        /// Its place in the day, from 1.
        #[n(0)]
        visit: u32,
        /// Id in the roster.
        #[n(1)]
        dog: String,
        /// Random id of its personal data.
        #[n(2)]
        subject: Id,
        /// Salted commitment to that data.
        #[n(3)]
        commitment: B32,
    },
    /// A line of the record book was looked at.
    #[n(15)]
    BookLooked {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// The line's id.
        #[n(1)]
        item: String,
        /// What was found.
        #[n(2)]
        found: Found,
    },
    /// The record book was accepted; this is the measure's number.
    #[n(16)]
    BookAccepted {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// 1 or 2 (or more).
        #[n(1)]
        measure: u8,
    },
    /// The handler answered.
    #[n(17)]
    HandlerAnswered {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// The question's id.
        #[n(1)]
        question: String,
        /// The answer.
        #[n(2)]
        yes: bool,
    },
    /// The handler's answers are complete and allow going on.
    #[n(18)]
    HandlerAccepted {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// A chip was read.
    #[n(19)]
    ChipRead {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// As received.
        #[n(1)]
        #[cbor(with = "minicbor::bytes")]
        raw: Vec<u8>,
        /// The reader profile's name.
        #[n(2)]
        form: String,
        /// The number understood.
        #[n(3)]
        number: String,
        /// A checksum proved it.
        #[n(4)]
        verified: bool,
    },
    /// A number was typed from the reader's display.
    #[n(20)]
    ChipTyped {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// The digits.
        #[n(1)]
        number: String,
    },
    /// The chip question is settled.
    #[n(21)]
    ChipAccepted {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// How.
        #[n(1)]
        proof: ChipProof,
    },
    /// Scanned again after a result that could not stand.
    #[n(22)]
    ChipAgain {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// The dog settled.
    #[n(23)]
    Settled {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// It stood square.
    #[n(24)]
    StoodSquare {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// Another hoop was taken up.
    #[n(25)]
    HoopChosen {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// The hoop.
        #[n(1)]
        hoop: String,
    },
    /// The hoop was lowered.
    #[n(26)]
    Placed {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// The hoop.
        #[n(1)]
        hoop: String,
        /// What was seen.
        #[n(2)]
        seen: Seen,
    },
    /// The last placing was mis-tapped and is taken back.
    #[n(27)]
    PlacingTakenBack {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// The list of reasons to stop was opened.
    #[n(28)]
    StopAsked {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// It was left again.
    #[n(29)]
    StopLeft {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// The dog was stopped for today.
    #[n(30)]
    Stopped {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// The reason's id.
        #[n(1)]
        reason: String,
    },
    /// What the measurers are asked to sign.
    #[n(31)]
    Stated {
        /// The statement's own bytes (a CBOR `Statement`): kept and checked as they are.
        #[n(0)]
        #[cbor(with = "minicbor::bytes")]
        statement: Vec<u8>,
    },
    /// A measurer signed.
    #[n(32)]
    Signed {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// Id in the roster.
        #[n(1)]
        person: String,
        /// Algorithm.
        #[n(2)]
        alg: u8,
        /// The chain's head that was signed: the hash of the `Stated` event.
        #[n(3)]
        head: B32,
        /// Over `record::sign_off_bytes(head, statement)`.
        #[n(4)]
        signature: B64,
    },
    /// A measurer does not agree.
    #[n(33)]
    Disagreed {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// Id in the roster.
        #[n(1)]
        person: String,
    },
    /// A wrong PIN.
    #[n(34)]
    PinRefused {
        /// Id in the roster.
        #[n(0)]
        person: String,
    },
    /// The line was written into the record book.
    #[n(35)]
    BookWritten {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// The handler was told.
    #[n(36)]
    HandlerTold {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// The list before closing was opened or left.
    #[n(37)]
    CloseReviewed {
        /// Opened (or left).
        #[n(0)]
        open: bool,
    },
    /// The session was closed.
    #[n(38)]
    SessionClosed {
        /// Dogs expected and not seen, ids in the roster.
        #[n(0)]
        not_seen: Vec<String>,
    },
    /// The closed session was left for the home screen.
    #[n(39)]
    SessionLeft {},
    /// The device signs everything up to here.
    #[n(40)]
    Sealed {
        /// Why: 1 sign-off, 2 closing, 3 before a sync.
        #[n(0)]
        why: u8,
        /// Algorithm.
        #[n(1)]
        alg: u8,
        /// The head that is signed: the hash of the event before this one.
        #[n(2)]
        head: B32,
        /// Over `record::seal_bytes(head)`.
        #[n(3)]
        signature: B64,
    },
    /// The office says, signed, that it holds these events.
    #[n(41)]
    Acknowledged {
        /// Frame ids.
        #[n(0)]
        frames: Vec<B32>,
        /// The receipt as received.
        #[n(1)]
        #[cbor(with = "minicbor::bytes")]
        receipt: Vec<u8>,
    },
    /// One full pass with the reader over the dog gave no number.
    #[n(42)]
    ScanPassed {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// The file was found damaged. What could be read of it, up to the event before
    /// this one, was carried into a new file; the damaged one was set aside.
    #[n(43)]
    Salvaged {
        /// Name of the file set aside, without its folder.
        #[n(0)]
        set_aside: String,
        /// SHA-256 of that file as it was set aside.
        #[n(1)]
        file: B32,
        /// What was found wrong, in words.
        #[n(2)]
        reason: String,
    },
    /// The list of chip readers was opened or left.
    #[n(44)]
    ReadersOpened {
        /// Opened (or left).
        #[n(0)]
        open: bool,
    },
    /// This reader is to be used from now on.
    #[n(45)]
    ReaderChosen {
        /// What the platform knows it by.
        #[n(0)]
        reader: String,
        /// What it calls itself.
        #[n(1)]
        name: String,
        /// What carries its bytes: 1 Bluetooth Low Energy, 2 a classic serial port,
        /// 3 key strokes.
        #[n(2)]
        carrier: u8,
    },
    /// Two equal reads of a known chip gave this reader's profile: its bytes are
    /// understood by it from now on.
    #[n(46)]
    ReaderPaired {
        /// What the platform knows it by.
        #[n(0)]
        reader: String,
        /// What it calls itself.
        #[n(1)]
        name: String,
        /// As in `ReaderChosen`.
        #[n(2)]
        carrier: u8,
        /// The profile's name.
        #[n(3)]
        profile: String,
        /// The known chip's number, as this profile gave it.
        #[n(4)]
        number: String,
    },
    /// The dog waits aside; another comes to the table meanwhile.
    #[n(47)]
    Parked {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// A dog that waited aside, or a dog that awaits a signature, is taken up again.
    #[n(48)]
    Resumed {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// Something entered for this dog is to be put right.
    #[n(49)]
    CorrectionAsked {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// What is to be put right.
    #[n(50)]
    CorrectionChosen {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// What.
        #[n(1)]
        what: Putting,
    },
    /// Nothing is put right after all.
    #[n(51)]
    CorrectionLeft {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// What the measurers are asked to sign so that it is put right.
    #[n(52)]
    CorrectionStated {
        /// The correction's own bytes (a CBOR `Correction`): kept and checked as they are.
        #[n(0)]
        #[cbor(with = "minicbor::bytes")]
        correction: Vec<u8>,
    },
    /// A measurer signed the correction; it holds once all have.
    #[n(53)]
    CorrectionSigned {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// Id in the roster.
        #[n(1)]
        person: String,
        /// Algorithm.
        #[n(2)]
        alg: u8,
        /// The chain's head that was signed: the hash of the `CorrectionStated` event.
        #[n(3)]
        head: B32,
        /// Over `record::correction_bytes(head, correction)`.
        #[n(4)]
        signature: B64,
    },
    /// A measurer whose PIN is out of tries signed on numbered paper: the dog awaits
    /// their signature here.
    #[n(54)]
    SignedOnPaper {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// Id in the roster.
        #[n(1)]
        person: String,
        /// The number printed on the paper.
        #[n(2)]
        paper: String,
    },
    /// A measurer left the table, or came back to it.
    #[n(55)]
    SteppedAway {
        /// Id in the roster.
        #[n(0)]
        person: String,
        /// Left (or came back).
        #[n(1)]
        away: bool,
    },
    /// A measurer may not measure this dog.
    #[n(56)]
    Recused {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// Id in the roster.
        #[n(1)]
        person: String,
    },
    /// Where each measurer makes their own placings: the next one's turn has come.
    #[n(57)]
    HandOver {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// Whose: id in the roster.
        #[n(1)]
        to: String,
    },
    /// That measurer has taken the phone.
    #[n(58)]
    TakenOver {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// Id in the roster.
        #[n(1)]
        person: String,
    },
    /// A dog that is not on the list was taken, by the chip that was read.
    #[n(59)]
    Newcomer {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// The id it has in this session.
        #[n(1)]
        dog: String,
        /// The number read.
        #[n(2)]
        chip: String,
    },
    /// What its record book says of it, as the measurers read it.
    #[n(60)]
    NewcomerDescribed {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// Day of birth, days since 1970-01-01; absent if the book does not say.
        #[n(1)]
        born: Option<i32>,
        /// Category of an earlier measure, its id in the pack; absent if there is none.
        #[n(2)]
        category: Option<String>,
        /// When that was, days since 1970-01-01.
        #[n(3)]
        measured: Option<i32>,
        /// Call name. Last, so that the array always has the same length.
        #[n(4)]
        name: String,
    },
    /// Somebody was bitten or fell.
    #[n(61)]
    Incident {
        /// The visit of the dog at the table; 0 if there was none.
        #[n(0)]
        visit: u32,
        /// What happened.
        #[n(1)]
        what: Harm,
        /// To whom.
        #[n(2)]
        whom: Whom,
        /// In words, if somebody wished to add any. They cannot be erased: no names.
        #[n(3)]
        words: String,
    },
    /// The office's signed log has these frames: the phone checked its proofs.
    #[n(62)]
    Logged {
        /// Frame ids.
        #[n(0)]
        frames: Vec<B32>,
        /// The log's checkpoint that they were proved against, as received: what the
        /// office answers later must continue it.
        #[n(1)]
        checkpoint: String,
    },
    /// The phone's clock and the office's differ; nothing recorded is changed for it.
    #[n(63)]
    ClockDiffers {
        /// The office's clock in its answer, Unix milliseconds.
        #[n(0)]
        office_ms: i64,
        /// How far this phone's clock is ahead of it at least, milliseconds; negative
        /// where it is behind; 0 when it was wrong before and is right again.
        #[n(1)]
        ahead_ms: i64,
    },
    /// The phone was enrolled at an office by its one-time code.
    #[n(64)]
    Enrolled {
        /// The body that the office works for: its id.
        #[n(0)]
        body: String,
        /// Where the office answers.
        #[n(1)]
        address: String,
        /// The office's public key, as the code said it.
        #[n(2)]
        office_key: B32,
    },
    /// An edition of the office's roster was taken in; the roster itself is in the
    /// `RosterTaken` beside it.
    #[n(65)]
    EditionTaken {
        /// Its number at the office.
        #[n(0)]
        number: u64,
        /// SHA-256 of its text as the office has it.
        #[n(1)]
        digest: B32,
    },
    /// Another phone keeps a record of this session too: its code was scanned.
    #[n(66)]
    Paired {
        /// Its device's public key.
        #[n(0)]
        device_key: B32,
        /// Its journal's id.
        #[n(1)]
        journal: Id,
        /// The session that both record.
        #[n(2)]
        session: Id,
    },
    /// A signed list of another phone's dogs was taken over by QR code.
    #[n(67)]
    DogsHeard {
        /// Its device's public key.
        #[n(0)]
        device_key: B32,
        /// Its journal's id.
        #[n(1)]
        journal: Id,
        /// The list as received.
        #[n(2)]
        #[cbor(with = "minicbor::bytes")]
        list: Vec<u8>,
    },
    /// A measurer opened their key with their PIN: until it is locked again, one tap of
    /// theirs confirms a statement. Only where the rules have a session signed once.
    #[n(68)]
    Unlocked {
        /// Id in the roster.
        #[n(0)]
        person: String,
        /// Algorithm.
        #[n(1)]
        alg: u8,
        /// The chain's head that was signed: the hash of the event before this one.
        #[n(2)]
        head: B32,
        /// Over `record::unlock_bytes(head)`: the key was really opened.
        #[n(3)]
        signature: B64,
    },
    /// A measurer confirmed the statement that the screen showed; they sign it with the
    /// list at the close.
    #[n(69)]
    Confirmed {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// Id in the roster.
        #[n(1)]
        person: String,
        /// The hash of the `Stated` event that was shown.
        #[n(2)]
        head: B32,
    },
    /// The phone was handed on: every measurer has to open their key again.
    #[n(70)]
    Locked {},
    /// The list that the measurers are asked to sign. A seal ends it: it is put up anew then.
    #[n(71)]
    ListStated {
        /// The list's own bytes (a CBOR `List`): kept and checked as they are.
        #[n(0)]
        #[cbor(with = "minicbor::bytes")]
        list: Vec<u8>,
    },
    /// A measurer signed the list, and with it every dog that they confirmed.
    #[n(72)]
    ListSigned {
        /// Id in the roster.
        #[n(0)]
        person: String,
        /// Algorithm.
        #[n(1)]
        alg: u8,
        /// The chain's head that was signed: the hash of the `ListStated` event.
        #[n(2)]
        head: B32,
        /// Over `record::list_bytes(head, list)`.
        #[n(3)]
        signature: B64,
    },
    /// A measurer whose PIN is out of tries signed the list on numbered paper: the dogs
    /// that they confirmed await their signature here.
    #[n(73)]
    ListOnPaper {
        /// Id in the roster.
        #[n(0)]
        person: String,
        /// The number printed on the paper.
        #[n(1)]
        paper: String,
    },
    /// The list was left again, unsigned or half signed: it holds nothing.
    #[n(74)]
    ListLeft {},
    /// What the office says of a measurer's key (`record::notice`), checked with the
    /// office's key when it was taken in.
    #[n(75)]
    KeyNoticed {
        /// Its text, as received.
        #[n(0)]
        notice: String,
    },
    /// Personal data that was kept long enough was erased, row, key and salt.
    #[n(76)]
    PersonalErased {
        /// The random ids that stand for it in the chain.
        #[n(0)]
        subjects: Vec<Id>,
        /// For how many days the rule pack has it kept.
        #[n(1)]
        kept_days: u32,
    },
    /// A signed copy of the journal was offered to another phone.
    #[n(77)]
    CopyGiven {
        /// Number of the last event in it.
        #[n(0)]
        to_seq: u64,
        /// As codes on the glass (or as a file).
        #[n(1)]
        in_codes: bool,
    },
    /// A trainee watches today, or does not after all. They measure nothing.
    #[n(78)]
    TraineeWatches {
        /// Id in the roster.
        #[n(0)]
        person: String,
        /// Watches (or no more).
        #[n(1)]
        here: bool,
    },
    /// Practice: what a trainee would have found of this dog, given before the measurers
    /// signed. It counts for nothing.
    #[n(79)]
    Shadowed {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// Id in the roster.
        #[n(1)]
        person: String,
        /// The category's id in the pack.
        #[n(2)]
        category: String,
    },
    /// Practice: a drill with a model dog was begun.
    #[n(80)]
    DrillBegun {
        /// The trainee, or a measurer who practises: id in the roster.
        #[n(0)]
        person: String,
        /// The hoop, as the pack names it.
        #[n(1)]
        gauge: String,
        /// How many placings.
        #[n(2)]
        placings: u32,
        /// Furthest that the model is from the hoop's height, micrometres.
        #[n(3)]
        reach_um: i64,
        /// The step in which it is set, micrometres.
        #[n(4)]
        step_um: i64,
        /// What the heights are made from.
        #[n(5)]
        seed: u64,
    },
    /// Practice: one placing of the drill, as the trainee saw it.
    #[n(81)]
    DrillAnswered {
        /// What was seen; moved: it counts for nothing.
        #[n(0)]
        seen: Seen,
    },
    /// Practice: the drill was put away, at its end or before.
    #[n(82)]
    DrillLeft {},
    /// Practice: a trainer signed a record of it.
    #[n(83)]
    PracticeSigned {
        /// The trainer: id in the roster.
        #[n(0)]
        person: String,
        /// The record's own bytes, as they were signed.
        #[n(1)]
        #[cbor(with = "minicbor::bytes")]
        record: Vec<u8>,
        /// Algorithm.
        #[n(2)]
        alg: u8,
        /// Over `record::practice_bytes(record)`.
        #[n(3)]
        signature: B64,
    },
    /// Pages beside the day's work: one was opened, or put away.
    #[n(84)]
    PageOpened {
        /// Which; empty: put away.
        #[n(0)]
        page: String,
        /// Whose: id in the roster; empty where it is nobody's.
        #[n(1)]
        person: String,
    },
    /// The placings entered for this dog were another's: that dog is to be scanned.
    #[n(85)]
    MoveAsked {
        /// The visit.
        #[n(0)]
        visit: u32,
    },
    /// The dog to which they belong was scanned.
    #[n(86)]
    MoveRead {
        /// The visit for which the placings were entered.
        #[n(0)]
        visit: u32,
        /// The dog that was scanned: id in the roster.
        #[n(1)]
        dog: String,
        /// As received.
        #[n(2)]
        #[cbor(with = "minicbor::bytes")]
        raw: Vec<u8>,
        /// The reader profile's name.
        #[n(3)]
        form: String,
        /// The number understood.
        #[n(4)]
        number: String,
        /// A checksum proved it.
        #[n(5)]
        verified: bool,
    },
    /// All have signed the correction: the placings count for the other dog from here on.
    #[n(87)]
    PlacingsMoved {
        /// The visit for which they were entered.
        #[n(0)]
        from: u32,
        /// The visit that they belong to.
        #[n(1)]
        to: u32,
    },
    /// The handler objected at the table. Their words are kept apart, as a handler's name is,
    /// and travel beside the chain.
    #[n(88)]
    Objected {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// Random id that stands for the words.
        #[n(1)]
        words: Id,
        /// Salted commitment to them.
        #[n(2)]
        commitment: B32,
    },
    /// A measurer's signature under what this phone put up, made on their own phone: what they
    /// saw there and signed is byte for byte what stands here. The head says what it is under:
    /// the visit's statement, its correction, or the list.
    #[n(89)]
    SignedElsewhere {
        /// The visit; 0 where it is the list at the close.
        #[n(0)]
        visit: u32,
        /// Id in the roster.
        #[n(1)]
        person: String,
        /// Algorithm.
        #[n(2)]
        alg: u8,
        /// The head of the event that put it up.
        #[n(3)]
        head: B32,
        /// By their key there, over `record::elsewhere::signed_bytes`: of a statement, the
        /// same as `Signed`'s; of a correction, as `CorrectionSigned`'s; of a list, as
        /// `ListSigned`'s.
        #[n(4)]
        signature: B64,
        /// That key's public half: the office had said that it is theirs.
        #[n(5)]
        key: B32,
        /// The other phone's device key.
        #[n(6)]
        device_key: B32,
    },
    /// A measurer signed here what another phone put up, with their key on this one.
    #[n(90)]
    SignedForOther {
        /// The other phone's device key.
        #[n(0)]
        device_key: B32,
        /// Id in the roster.
        #[n(1)]
        person: String,
        /// The bytes of the statement, the correction or the list, as they were shown: which
        /// of them says their own form (`record::elsewhere::Shown`).
        #[n(2)]
        #[cbor(with = "minicbor::bytes")]
        statement: Vec<u8>,
        /// Algorithm.
        #[n(3)]
        alg: u8,
        /// The head in the other phone's journal after that was put up.
        #[n(4)]
        head: B32,
        /// Over `record::elsewhere::signed_bytes(head, statement)`.
        #[n(5)]
        signature: B64,
    },
    /// The dog in hand was measured at another table, by that table's list: what the
    /// measurers here said to it.
    #[n(91)]
    HeardAnswered {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// The journal whose list says it.
        #[n(1)]
        journal: Id,
        /// It is measured here too; else it is stopped for today.
        #[n(2)]
        goes_on: bool,
    },
    /// The session's code for a second phone was put on the glass.
    #[n(92)]
    PairingShown {
        /// The session.
        #[n(0)]
        session: Id,
    },
    /// What the office said of a session's other phones.
    #[n(93)]
    BesideTold {
        /// The session.
        #[n(0)]
        session: Id,
        /// Its signed answer as received.
        #[n(1)]
        #[cbor(with = "minicbor::bytes")]
        answer: Vec<u8>,
    },
    /// Two phones of the session found different things of a dog: both are named, and which
    /// of them stands. It holds once the statement that follows, which says so, is signed.
    #[n(94)]
    SettleAsked {
        /// The visit.
        #[n(0)]
        visit: u32,
        /// The other phone's device key.
        #[n(1)]
        device_key: B32,
        /// Its journal's id.
        #[n(2)]
        journal: Id,
        /// `record::statement_hash` of its statement.
        #[n(3)]
        theirs: B32,
        /// `record::statement_hash` of the statement here until now.
        #[n(4)]
        ours: B32,
        /// The result here stands.
        #[n(5)]
        stands_here: bool,
        /// What the other phone found, as the office told it.
        #[n(6)]
        came: String,
    },
    /// This is a measurer's own phone: its biometrics open their key too, or no more. One
    /// phone has one owner: a new one takes the place of the one before.
    #[n(95)]
    PhoneOwner {
        /// Id in the roster.
        #[n(0)]
        person: String,
        /// It is; else it is no more.
        #[n(1)]
        on: bool,
    },
    /// The key for the signature just before this was opened by the phone's biometrics, not
    /// by the PIN.
    #[n(96)]
    OpenedByOwner {
        /// Who signed: id in the roster.
        #[n(0)]
        person: String,
    },
    /// A session that was closed and left is taken up again, to settle what its two phones
    /// found differently. It stays closed; what follows is of it until it is left again.
    #[n(97)]
    SessionTakenUp {
        /// The session.
        #[n(0)]
        session: Id,
        /// Its day, as it began: days since 1970-01-01.
        #[n(1)]
        day: i32,
    },
}
