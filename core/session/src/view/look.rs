//! What is looked at beside the session: the slip, earlier sessions, a dog's history, the
//! settings; and sheets to print.

use super::{StatementLine, StopChoice, Text, Tone, Whereabouts};
use crate::act::Act;
use serde::{Deserialize, Serialize};

record! {
    /// A QR code. Around it belong four modules of light.
    pub struct QrMatrix {
        /// Modules a side.
        side: u32,
        /// Row by row, one byte a module: 1 is dark.
        modules: Vec<u8>,
    }

    /// Screen: the handler's slip.
    pub struct SlipScreen {
        /// Its code.
        code: QrMatrix,
        /// The line beside it.
        line: Vec<StatementLine>,
        /// Why, in plain words.
        reasons: Vec<Text>,
        /// What a calendar calls the second measure; absent where none is due. The
        /// platform puts its words into the act `CalendarEntry`.
        calendar: Option<Text>,
    }

    /// Screen: whose is this slip, and is it genuine.
    pub struct SlipCheckScreen {
        /// What came of it, once a code was read.
        answer: Option<Text>,
        /// Its weight.
        tone: Tone,
        /// What it says, if it is genuine.
        says: Vec<StatementLine>,
    }

    /// Screen: codes for another phone to read. Where there are several, they follow each
    /// other by themselves and begin anew.
    pub struct CodesScreen {
        /// Who is to read them, and what comes of it.
        how: Text,
        /// The one to show now.
        code: QrMatrix,
        /// Its number, from 1.
        number: u32,
        /// How many there are.
        count: u32,
        /// What they say, in words.
        says: Vec<StatementLine>,
    }

    /// Screen: the dog in hand was measured at another table.
    pub struct HeardScreen {
        /// That it was, and when.
        known: Text,
        /// What came of it there, as far as it may be told.
        came: Text,
        /// What the rules say to measuring it here too.
        rules: Text,
    }

    /// A line to read; some lead further.
    pub struct PageLine {
        /// Stable id: the tag in tests.
        id: String,
        /// What it is.
        heading: Text,
        /// What else is known.
        notes: Vec<Text>,
        /// Where its record is, where there is one.
        whereabouts: Option<Whereabouts>,
        /// Sending this act shows more.
        open: Option<Act>,
    }

    /// Lines under one heading.
    pub struct PageSection {
        /// The heading.
        heading: Text,
        /// Said where there are no lines.
        none: Option<Text>,
        /// The lines.
        lines: Vec<PageLine>,
    }

    /// Screen: lines to read under headings.
    pub struct PageScreen {
        /// In order.
        sections: Vec<PageSection>,
    }

    /// Screen: somebody was bitten or fell.
    pub struct IncidentScreen {
        /// What happened, to whom. The platform puts the typed words into the act.
        happened: Vec<StopChoice>,
    }

    /// Screen: the handler objects to what was found of their dog.
    pub struct ObjectionScreen {
        /// What it is about.
        about: Text,
        /// What was taken down before, in the handler's words.
        before: Vec<Text>,
        /// The platform puts the typed words into this act before it sends it.
        record: Act,
        /// What becomes of it.
        next: Vec<Text>,
        /// Most characters.
        most: u32,
    }

    /// One part of a sheet; it stays together on a page if it can.
    pub struct SheetBlock {
        /// Its heading.
        heading: Option<Text>,
        /// Labels and values.
        pairs: Vec<StatementLine>,
        /// Words below them.
        below: Vec<Text>,
        /// A code beside them.
        beside: Option<QrMatrix>,
    }

    /// A sheet to print, to be laid out by the platform in its language.
    pub struct Sheet {
        /// Its heading.
        top: Text,
        /// In order.
        blocks: Vec<SheetBlock>,
        /// What stands at the foot of every page.
        foot: Text,
        /// Width of the paper, millimetres.
        width_mm: u32,
        /// Height of the paper, millimetres.
        height_mm: u32,
    }
}
