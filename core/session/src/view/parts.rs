//! What screens are put together from: lines of lists, and what belongs to them.

use super::{DogState, Text, Whereabouts};
use crate::act::{Act, BookState, PlacingSeen};
use serde::{Deserialize, Serialize};

choice! {
    /// What a measurer's place asks of them.
    pub enum SeatAsks {
        /// Their PIN signs what is shown.
        Sign,
        /// Their PIN opens their key for the dogs that follow.
        Unlock,
        /// Their key is open: one tap confirms what is shown.
        Confirm,
    }
}

choice! {
    /// How somebody answers at their place now.
    pub enum SeatWay {
        /// Not at all: it is done, or it cannot be done here.
        Nothing,
        /// They enter their PIN.
        Pin,
        /// One tap.
        Tap,
        /// They enter the number of a signed paper, because they cannot sign here.
        Paper,
    }
}

record! {
    /// A dog in a list.
    pub struct DogLine {
        /// Id in the roster.
        id: String,
        /// Call name.
        name: String,
        /// The handler's name.
        handler: String,
        /// Where it stands.
        state: DogState,
        /// Category, or the reason it was stopped, or what is known of it before.
        note: Option<Text>,
        /// Where its record is, once signed.
        whereabouts: Option<Whereabouts>,
        /// Sending this act calls the dog, or takes it up again; absent where it cannot
        /// be called.
        call: Option<Act>,
        /// Sending this act puts right what was entered for it; absent where nothing can be.
        put_right: Option<Act>,
        /// When it may be its turn, in words, where this day's dogs tell.
        wait: Option<Text>,
        /// Sending this act shows what this phone knows of it.
        look: Option<Act>,
        /// What the session's other phone has of it.
        beside: Option<Text>,
    }

    /// A height category to choose from.
    pub struct CategoryChoice {
        /// Its id in the pack.
        id: String,
        /// Its label.
        label: String,
    }

    /// A hoop.
    pub struct HoopLine {
        /// Id in the roster.
        id: String,
        /// Its name in the rule pack's words.
        label: String,
        /// Nominal inside height, micrometres.
        nominal_um: i64,
        /// The number stamped on it.
        serial: String,
        /// When it was last checked, ISO day.
        checked: String,
        /// Looked at today: good, not good, or not yet.
        good: Option<bool>,
        /// A warning, such as a check that is due.
        note: Option<Text>,
        /// Say that it is good.
        say_good: Act,
        /// Say that it is not.
        say_bad: Act,
    }

    /// A person who may measure.
    pub struct PersonLine {
        /// Id in the roster.
        id: String,
        /// Their name.
        name: String,
        /// Their measurer's number.
        number: String,
        /// Measures today.
        seated: bool,
        /// A PIN is set on this phone.
        has_pin: bool,
        /// Seat or unseat.
        toggle: Act,
        /// What being here means for them, where they do not measure.
        note: Option<Text>,
        /// Why they may not be seated.
        why_not: Option<Text>,
    }

    /// A line of the record book to look at.
    pub struct BookItem {
        /// Its id.
        id: String,
        /// What to look for.
        label: Text,
        /// What should stand there, where something is known.
        expected: Option<Text>,
        /// What was found.
        state: BookState,
        /// What to do if it is missing or differs.
        advice: Option<Text>,
    }

    /// A question to the handler.
    pub struct Question {
        /// Its id.
        id: String,
        /// The question.
        text: Text,
        /// The answer so far.
        answer: Option<bool>,
        /// Whether the answer given calls for care, and which.
        caution: Option<Text>,
    }

    /// A read of a chip.
    pub struct ReadLine {
        /// The number, grouped for reading.
        number: String,
        /// How often it came.
        count: u32,
        /// Whether a checksum proved it, as a message.
        proof: Text,
        /// Things to notice (a test number, say).
        flags: Vec<Text>,
    }

    /// Two numbers one above the other.
    pub struct SideBySide {
        /// From the record book.
        book: String,
        /// From the reader.
        read: String,
        /// Positions (0 for the first character) that differ.
        differs_at: Vec<u32>,
    }

    /// One placing.
    pub struct PlacingLine {
        /// Its number at this dog, from 1.
        number: u32,
        /// The hoop's label.
        hoop: String,
        /// What was seen.
        seen: PlacingSeen,
        /// Whether it counts.
        counts: bool,
    }

    /// A line of what is signed: exactly this is in the signed bytes.
    pub struct StatementLine {
        /// What it is.
        label: Text,
        /// What it says.
        value: Text,
    }

    /// A reason for a verdict, with the clause of the rule pack it comes from.
    pub struct Reason {
        /// The reason.
        text: Text,
        /// The clause's path in the pack.
        clause: String,
    }

    /// A measurer's place at the sign-off.
    pub struct SignSeat {
        /// Id in the roster.
        person: String,
        /// Their name.
        name: String,
        /// Their number.
        number: String,
        /// What is asked of them here.
        asks: SeatAsks,
        /// Has done it.
        signed: bool,
        /// Has signed it on paper only: the paper's number.
        paper: Option<String>,
        /// How they answer now.
        way: SeatWay,
        /// Why they cannot sign here, and what to do, where the office says that their key
        /// does not count.
        why_not: Option<Text>,
        /// Wrong PINs that are still allowed; absent where no PIN is asked for.
        tries_left: Option<u32>,
        /// Sending this act asks for the phone's biometrics in place of the PIN; absent where
        /// they do not open this person's key.
        by_owner: Option<Act>,
    }

    /// A reason to stop.
    pub struct StopChoice {
        /// The act that stops the dog for it.
        act: Act,
        /// Its id.
        id: String,
        /// In words.
        label: Text,
    }

    /// An earlier session.
    pub struct SessionLine {
        /// Its id.
        id: String,
        /// Its day, ISO.
        day: String,
        /// Its venue.
        venue: String,
        /// Dogs signed in it.
        dogs: u32,
        /// Of these not yet at the office.
        waiting: u32,
        /// Sending this act shows it.
        open: Act,
    }

    /// A row of the return.
    pub struct ReturnRow {
        /// Call name.
        name: String,
        /// Chip number.
        chip: String,
        /// The category's label, or the reason it was stopped.
        outcome: Text,
        /// Flags for the office.
        flags: Vec<Text>,
        /// Where its record is.
        whereabouts: Whereabouts,
    }
}
