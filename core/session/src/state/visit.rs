//! One dog's visit to the table, as its facts tell it.

use std::collections::BTreeMap;

use standsquare_chip::{Checksum, Form, Frame, Read, ReadLog, parse_printed};
use standsquare_journal::record::fact::{ChipProof, Fact, Found, Seen, Statement};

/// Where a dog's visit stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// The record book.
    Papers,
    /// The handler's answers.
    Handler,
    /// The chip.
    Chip,
    /// Settling.
    Settle,
    /// The stance.
    Stance,
    /// A placing.
    Placing,
    /// The list of reasons to stop.
    Stop,
    /// The sign-off.
    Sign,
    /// The line for the record book.
    BookLine,
    /// Tell the handler.
    Tell,
    /// Nothing more to do.
    Done,
}

/// One dog's visit.
#[derive(Clone, Debug)]
pub struct Visit {
    /// The dog's place in the day, from 1.
    pub number: u32,
    /// Id in the roster.
    pub dog: String,
    /// Random id of its personal data.
    pub subject: [u8; 16],
    /// When it was called, Unix milliseconds.
    pub called_ms: i64,
    /// Lines of the book looked at.
    pub book: BTreeMap<String, Found>,
    /// Which measure this is, once the book was accepted.
    pub measure: Option<u8>,
    /// The handler's answers.
    pub answers: BTreeMap<String, bool>,
    /// The answers were accepted.
    pub handler_accepted: bool,
    /// What the reader gave since the last 'scan again'.
    pub reads: ReadLog,
    /// What it gave before: kept.
    pub earlier_reads: Vec<ReadLog>,
    /// How the chip question was settled.
    pub chip: Option<ChipProof>,
    /// When it came to the surface.
    pub on_surface_ms: i64,
    /// It settled.
    pub settled: bool,
    /// It stands square since the last placing.
    pub square: bool,
    /// A hoop chosen by hand for the next placing.
    pub chosen: Option<String>,
    /// Placings that stand, in order.
    pub placings: Vec<(String, Seen, i64)>,
    /// How many were taken back.
    pub taken_back: u32,
    /// The list of reasons is on the screen.
    pub stop_asked: bool,
    /// Stopped, and why.
    pub stopped: Option<String>,
    /// What is to be signed: the statement, its bytes, and the head to sign.
    pub stated: Option<(Statement, Vec<u8>, [u8; 32])>,
    /// Who signed it, in order.
    pub signed: Vec<String>,
    /// All have signed.
    pub fully_signed: bool,
    /// Who did not agree.
    pub disagreed: Option<String>,
    /// The line was written.
    pub book_written: bool,
    /// The handler was told.
    pub told: bool,
    /// The run that holds the last signature.
    pub run: Option<usize>,
}

impl Visit {
    pub(super) fn called(number: u32, dog: String, subject: [u8; 16], at_ms: i64) -> Self {
        Visit {
            number,
            dog,
            subject,
            called_ms: at_ms,
            book: BTreeMap::new(),
            measure: None,
            answers: BTreeMap::new(),
            handler_accepted: false,
            reads: ReadLog::new(),
            earlier_reads: Vec::new(),
            chip: None,
            on_surface_ms: at_ms,
            settled: false,
            square: false,
            chosen: None,
            placings: Vec::new(),
            taken_back: 0,
            stop_asked: false,
            stopped: None,
            stated: None,
            signed: Vec::new(),
            fully_signed: false,
            disagreed: None,
            book_written: false,
            told: false,
            run: None,
        }
    }

    pub(super) fn absorb(&mut self, at_ms: i64, hash: [u8; 32], fact: &Fact) {
        match fact {
            Fact::BookLooked { item, found, .. } => {
                self.book.insert(item.clone(), *found);
            }
            Fact::BookAccepted { measure, .. } => self.measure = Some(*measure),
            Fact::HandlerAnswered { question, yes, .. } => {
                self.answers.insert(question.clone(), *yes);
            }
            Fact::HandlerAccepted { .. } => self.handler_accepted = true,
            Fact::ChipRead {
                raw,
                form,
                number,
                verified,
                ..
            } => {
                if let Some(read) = read_again(raw, form, number, *verified, at_ms) {
                    self.reads.take(Frame::Read(read));
                }
            }
            Fact::ChipTyped { number, .. } => {
                // It was parsed before it was written.
                let _ = self.reads.typed(number, at_ms);
            }
            Fact::ScanPassed { .. } => self.reads.pass_done(),
            Fact::ChipAgain { .. } => self.earlier_reads.push(std::mem::take(&mut self.reads)),
            Fact::ChipAccepted { proof, .. } => {
                self.chip = Some(*proof);
                self.on_surface_ms = at_ms;
            }
            Fact::Settled { .. } => self.settled = true,
            Fact::StoodSquare { .. } => self.square = true,
            Fact::HoopChosen { hoop, .. } => self.chosen = Some(hoop.clone()),
            Fact::Placed { hoop, seen, .. } => {
                self.placings.push((hoop.clone(), *seen, at_ms));
                self.square = false;
                self.chosen = None;
            }
            Fact::PlacingTakenBack { .. } => {
                self.placings.pop();
                self.taken_back += 1;
                self.stated = None;
                // The dog has not been moved by taking a tap back.
                self.square = true;
            }
            Fact::StopAsked { .. } => self.stop_asked = true,
            Fact::StopLeft { .. } => self.stop_asked = false,
            Fact::Stopped { reason, .. } => {
                self.stopped = Some(reason.clone());
                self.stop_asked = false;
            }
            Fact::Stated { statement } => {
                if let Ok(read) = Statement::decode_strict(statement) {
                    self.stated = Some((read, statement.clone(), hash));
                    self.signed.clear();
                }
            }
            Fact::Signed { person, .. } => {
                if !self.signed.contains(person) {
                    self.signed.push(person.clone());
                }
                let needed = self.stated.as_ref().map_or(0, |(s, ..)| s.measurers.len());
                self.fully_signed = self.signed.len() >= needed;
            }
            Fact::Disagreed { person, .. } => self.disagreed = Some(person.clone()),
            Fact::BookWritten { .. } => self.book_written = true,
            Fact::HandlerTold { .. } => self.told = true,
            _ => {}
        }
    }

    /// Where the visit stands. The order of the steps is the usual one of the
    /// trade (common practice, no source): papers, handler, chip, settle, stance, placings.
    pub fn step(&self) -> Step {
        if self.stop_asked {
            return Step::Stop;
        }
        if self.stated.is_some() {
            return if !self.fully_signed {
                Step::Sign
            } else if !self.book_written {
                Step::BookLine
            } else if !self.told {
                Step::Tell
            } else {
                Step::Done
            };
        }
        if self.measure.is_none() {
            Step::Papers
        } else if !self.handler_accepted {
            Step::Handler
        } else if self.chip.is_none() {
            Step::Chip
        } else if !self.settled {
            Step::Settle
        } else if !self.square {
            Step::Stance
        } else {
            Step::Placing
        }
    }

    /// All measurers have signed.
    pub fn is_signed(&self) -> bool {
        self.fully_signed
    }
}

/// A read as it was when it came in: the number is taken from the record, not
/// worked out again, so that a later version cannot read an old one differently.
fn read_again(raw: &[u8], form: &str, number: &str, verified: bool, at_ms: i64) -> Option<Read> {
    Some(Read {
        raw: raw.to_vec(),
        form: Form::by_name(form)?,
        number: parse_printed(number).ok()?.number,
        checksum: if verified {
            Checksum::Verified
        } else {
            Checksum::Absent
        },
        animal: None,
        code: None,
        flags: Vec::new(),
        at_ms,
    })
}
