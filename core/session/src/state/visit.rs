//! One dog's visit to the table, as its facts tell it.

mod answers;

use standsquare_journal::record::fact::{ChipProof, Correction, Fact, Found, Putting, Statement};

use super::heard::Elsewhere;
use super::moved::{MoveTo, Moving, Placed};
use super::put::{items, put, put_one_of};
use super::reads::{Reads, Told};
use crate::map::Map;

/// Where a dog's visit stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// What the record book of a dog that is not on the list says.
    Newcomer,
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
    /// Something is being put right.
    Correct,
    /// It was measured at another table: what the measurers say to that.
    Heard,
    /// The phone goes to the next measurer.
    HandOver,
    /// The sign-off.
    Sign,
    /// The line for the record book.
    BookLine,
    /// Tell the handler.
    Tell,
    /// Nothing more to do.
    Done,
}

/// How far putting something right has come.
#[derive(Clone, Debug)]
pub enum Correcting {
    /// What was wrong is being chosen.
    What,
    /// The dog is being scanned to which the placings belong.
    Scan,
    /// The reason is being chosen.
    Why(Putting),
    /// It is being signed: the correction, its bytes, the head to sign, who has signed.
    Sign(Box<Correction>, Vec<u8>, [u8; 32], Vec<String>),
}

put_one_of!(Correcting {
    0 What,
    1 Scan,
    2 Why(what),
    3 Sign(what, bytes, head, signed),
});

/// What the measurers say where the session's other phone found something else.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settles {
    /// What was found here stands.
    pub stands_here: bool,
    /// The other phone's statement, by its hash.
    pub theirs: [u8; 32],
    /// What it found.
    pub came: String,
}

put!(Settles {
    stands_here,
    theirs,
    came
});

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
    /// Not on the list, and not yet described.
    pub undescribed: bool,
    /// Lines of the book looked at.
    pub book: Map<String, Found>,
    /// Which measure this is, once the book was accepted.
    pub measure: Option<u8>,
    /// The handler's answers.
    pub answers: Map<String, bool>,
    /// The answers were accepted.
    pub handler_accepted: bool,
    /// What the reader gave since the last 'scan again'.
    pub reads: Reads,
    /// What it gave before: kept.
    pub earlier_reads: Vec<Reads>,
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
    pub placings: Vec<Placed>,
    /// Who made each of them, where each measurer makes their own.
    pub placed_by: Vec<Option<String>>,
    /// Who has the phone, where each makes their own.
    pub holder: Option<String>,
    /// Whose turn has come.
    pub hand_over: Option<String>,
    /// How many were taken back.
    pub taken_back: u32,
    /// It was measured at another table, by that table's list.
    pub elsewhere: Option<Elsewhere>,
    /// Another phone's result of it differs, and its measurers say which stands.
    pub settles: Option<Settles>,
    /// The list of reasons is on the screen.
    pub stop_asked: bool,
    /// Stopped, and why.
    pub stopped: Option<String>,
    /// What is to be signed: the statement, its bytes, and the head to sign.
    pub stated: Option<(Statement, Vec<u8>, [u8; 32])>,
    /// Who signed it, in order.
    pub signed: Vec<String>,
    /// Who confirmed it and signs it with the list at the close, in order.
    pub confirmed: Vec<String>,
    /// Who signed on paper instead, and the paper's number.
    pub paper: Map<String, String>,
    /// A dog that awaits a signature was taken up again for it.
    pub signing_late: bool,
    /// It waits aside.
    pub parked: bool,
    /// Something is being put right.
    pub correcting: Option<Correcting>,
    /// How often something was.
    pub corrections: u32,
    /// Placings made void together: number from 1, and the reason's id.
    pub voided: Map<u32, String>,
    /// The dog that was scanned because the placings are its.
    pub move_to: Option<MoveTo>,
    /// Placings that were entered here and moved: to which visit, and what they were.
    pub moved_away: Vec<(u32, Vec<Placed>)>,
    /// Visits for which placings of this dog were entered first.
    pub moved_here: Vec<u32>,
    /// Between the last signature under a correction and the move itself.
    pub(super) moving: Moving,
    /// All have signed.
    pub fully_signed: bool,
    /// What trainees who watched would have found: category ids.
    pub shadows: Map<String, String>,
    /// Who did not agree.
    pub disagreed: Option<String>,
    /// The handler's objections: random ids of their words, in order.
    pub objections: Vec<[u8; 16]>,
    /// The line was written.
    pub book_written: bool,
    /// The handler was told.
    pub told: bool,
    /// When, Unix milliseconds.
    pub told_ms: Option<i64>,
    /// It has waited aside, so its time says nothing of others'.
    pub waited: bool,
    /// The run that holds the last signature.
    pub run: Option<usize>,
}

put!(Visit {
    number,
    dog,
    subject,
    called_ms,
    undescribed,
    book,
    measure,
    answers,
    handler_accepted,
    reads,
    earlier_reads,
    chip,
    on_surface_ms,
    settled,
    square,
    chosen,
    placings,
    placed_by,
    holder,
    hand_over,
    taken_back,
    elsewhere,
    settles,
    stop_asked,
    stopped,
    stated,
    signed,
    confirmed,
    paper,
    signing_late,
    parked,
    correcting,
    corrections,
    voided,
    move_to,
    moved_away,
    moved_here,
    moving,
    fully_signed,
    shadows,
    disagreed,
    objections,
    book_written,
    told,
    told_ms,
    waited,
    run,
});
items!(Visit);

impl Visit {
    pub(super) fn called(number: u32, dog: String, subject: [u8; 16], at_ms: i64) -> Self {
        Visit {
            number,
            dog,
            subject,
            called_ms: at_ms,
            undescribed: false,
            book: Map::new_vec(),
            measure: None,
            answers: Map::new_vec(),
            handler_accepted: false,
            reads: Reads::default(),
            earlier_reads: Vec::new(),
            chip: None,
            on_surface_ms: at_ms,
            settled: false,
            square: false,
            chosen: None,
            placings: Vec::new(),
            placed_by: Vec::new(),
            holder: None,
            hand_over: None,
            taken_back: 0,
            elsewhere: None,
            settles: None,
            stop_asked: false,
            stopped: None,
            stated: None,
            signed: Vec::new(),
            confirmed: Vec::new(),
            paper: Map::new_vec(),
            signing_late: false,
            parked: false,
            correcting: None,
            corrections: 0,
            voided: Map::new_vec(),
            move_to: None,
            moved_away: Vec::new(),
            moved_here: Vec::new(),
            moving: Moving::default(),
            fully_signed: false,
            shadows: Map::new_vec(),
            disagreed: None,
            objections: Vec::new(),
            book_written: false,
            told: false,
            told_ms: None,
            waited: false,
            run: None,
        }
    }

    pub(super) fn absorb(&mut self, at_ms: i64, hash: [u8; 32], fact: &Fact) {
        match fact {
            Fact::BookLooked { item, found, .. } => {
                self.book.insert(item.clone(), *found);
            }
            Fact::BookAccepted { measure, .. } => self.measure = Some(*measure),
            Fact::SettleAsked {
                theirs,
                stands_here,
                came,
                ..
            } => {
                self.settles = Some(Settles {
                    stands_here: *stands_here,
                    theirs: **theirs,
                    came: came.clone(),
                });
                self.waited = true;
                self.run = None;
            }
            Fact::HeardAnswered { goes_on, .. } => {
                if let Some(elsewhere) = &mut self.elsewhere {
                    elsewhere.goes_on = *goes_on;
                }
            }
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
                self.reads.read(Told {
                    raw: raw.clone(),
                    form: form.clone(),
                    number: number.clone(),
                    verified: *verified,
                    at_ms,
                });
            }
            Fact::ChipTyped { number, .. } => self.reads.typed(number.clone(), at_ms),
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
                self.placed_by.push(self.holder.clone());
                self.square = false;
                self.chosen = None;
            }
            Fact::PlacingTakenBack { .. } => {
                self.placings.pop();
                self.placed_by.pop();
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
                    self.confirmed.clear();
                    self.paper.clear();
                    self.fully_signed = false;
                }
            }
            Fact::Signed { person, .. } => self.sign(person),
            // The head says what it is under.
            Fact::SignedElsewhere { person, head, .. } => match &self.correcting {
                Some(Correcting::Sign(_, _, h, _)) if *h == **head => {
                    self.correction_signed(person);
                }
                _ => self.sign(person),
            },
            Fact::Confirmed { person, .. } => {
                let there = self.signed.contains(person) || self.confirmed.contains(person);
                if !there {
                    self.confirmed.push(person.clone());
                }
                self.paper.remove(person);
                self.signing_late = self.signing_late && !self.paper.is_empty();
            }
            Fact::Shadowed {
                person, category, ..
            } => {
                self.shadows
                    .entry(person.clone())
                    .or_insert_with(|| category.clone());
            }
            Fact::SignedOnPaper { person, paper, .. } => self.sign_on_paper(person, paper),
            Fact::Newcomer { .. } => self.undescribed = true,
            Fact::NewcomerDescribed { .. } => self.undescribed = false,
            Fact::HandOver { to, .. } => self.hand_over = Some(to.clone()),
            Fact::TakenOver { person, .. } => {
                self.holder = Some(person.clone());
                self.hand_over = None;
                self.square = false;
            }
            Fact::Parked { .. } => {
                self.waited = true;
                self.parked = !self.is_awaiting() && !self.is_settling();
                self.signing_late = false;
            }
            Fact::Resumed { .. } => self.resumed(),
            Fact::CorrectionAsked { .. } => self.correcting = Some(Correcting::What),
            Fact::CorrectionChosen { what, .. } => {
                self.correcting = Some(Correcting::Why(what.clone()));
            }
            Fact::MoveAsked { .. } => self.correcting = Some(Correcting::Scan),
            Fact::MoveRead {
                dog,
                raw,
                form,
                number,
                verified,
                ..
            } => {
                self.move_to = Some(MoveTo {
                    dog: dog.clone(),
                    raw: raw.clone(),
                    form: form.clone(),
                    number: number.clone(),
                    verified: *verified,
                });
            }
            Fact::CorrectionLeft { .. } => self.correcting = None,
            Fact::CorrectionStated { correction } => {
                if let Ok(read) = Correction::decode_strict(correction) {
                    self.correcting = Some(Correcting::Sign(
                        Box::new(read),
                        correction.clone(),
                        hash,
                        Vec::new(),
                    ));
                }
            }
            Fact::CorrectionSigned { person, .. } => self.correction_signed(person),
            Fact::Disagreed { person, .. } => self.disagreed = Some(person.clone()),
            Fact::BookWritten { .. } => self.book_written = true,
            Fact::HandlerTold { .. } => {
                self.told = true;
                self.told_ms = Some(at_ms);
            }
            _ => {}
        }
    }

    /// Where the visit stands. The order of the steps is the usual one of the
    /// trade (common practice, no source): papers, handler, chip, settle, stance, placings.
    pub fn step(&self) -> Step {
        if self.correcting.is_some() {
            return Step::Correct;
        }
        if self.stop_asked {
            return Step::Stop;
        }
        if self.stated.is_some() {
            let answered = self.fully_signed || (self.is_answered() && !self.signing_late);
            return if !answered {
                Step::Sign
            } else if !self.book_written {
                Step::BookLine
            } else if !self.told {
                Step::Tell
            } else {
                Step::Done
            };
        }
        if self.elsewhere.as_ref().is_some_and(|e| !e.goes_on) {
            return Step::Heard;
        }
        if self.hand_over.is_some() {
            return Step::HandOver;
        }
        if self.undescribed {
            Step::Newcomer
        } else if self.measure.is_none() {
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
}
