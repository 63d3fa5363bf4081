//! Which dog is it: the reader's bytes, and what the number read means beside
//! the number in the record book.

use super::{Context, Outcome, moved, not_now, readers};
use crate::act::{Act, ReaderLink};
use crate::judging;
use crate::state::{Correcting, Session, Step, Visit};
use crate::view::{Cue, SideBySide, Text, Tone};

use standsquare_chip::{
    Checksum, Comparison, Frame, Heard, Identity, NotYet, Read, ReadLog, ReadOutcome, Refused,
    compare, parse_printed,
};
use standsquare_journal::record::fact::{ChipProof, Fact};
use standsquare_journal::store::Item;

/// What the reads of a dog come to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ChipFinding {
    /// Nothing read yet.
    Waiting,
    /// Nothing found in as many passes as are wanted.
    NothingFound,
    /// Read once without a checksum: once more, or a person confirms it.
    NeedsSecond,
    /// The book's number, and it counts. `typed`: off the reader's display.
    Matches {
        /// By hand.
        typed: bool,
    },
    /// The same chip in another form.
    OtherForm,
    /// A slip of the pen away.
    MisKeyed {
        /// Both, for the eye.
        side: SideBySide,
        /// Of one batch: another dog is as likely.
        neighbours: bool,
    },
    /// Another number.
    Different {
        /// Both, for the eye.
        side: SideBySide,
    },
    /// Two numbers in one dog.
    Two {
        /// One of them is the book's, and it counts.
        book: bool,
    },
    /// The book has no number that can be compared.
    NoneInBook,
}

fn side(book: &str, read: &str, at: &[u32]) -> SideBySide {
    SideBySide {
        book: book.into(),
        read: read.into(),
        differs_at: at.to_vec(),
    }
}

fn all_differences(book: &str, read: &str) -> Vec<u32> {
    let longest = book.chars().count().max(read.chars().count());
    (0..longest)
        .filter(|n| book.chars().nth(*n) != read.chars().nth(*n))
        .map(|n| n as u32)
        .collect()
}

/// What the reads of a visit come to, beside the record book.
pub fn find(session: &Session, visit: &Visit) -> ChipFinding {
    let book = session
        .dog(&visit.dog)
        .map(|d| d.chip.as_str())
        .unwrap_or_default();
    let (outcome, typed) = match visit.reads.identity() {
        Identity::Nothing => {
            return match visit.reads.give_up() {
                Err(NotYet::ScanAgain { .. } | NotYet::NumberHeard) => ChipFinding::Waiting,
                Ok(_) => ChipFinding::NothingFound,
            };
        }
        Identity::NeedsSecondRead { .. } => return ChipFinding::NeedsSecond,
        Identity::TwoNumbers { .. } => {
            let number = parse_printed(book).ok().map(|p| p.number);
            let mut heard = visit.reads.heard().iter();
            let counts = |h: &Heard| Some(&h.number) == number.as_ref() && h.ground().is_some();
            return ChipFinding::Two {
                book: heard.any(counts),
            };
        }
        Identity::Known { number, ground } => (
            ReadOutcome::Number { number },
            ground == standsquare_chip::Ground::Typed,
        ),
    };
    against(book, &outcome, typed)
}

fn against(book: &str, outcome: &ReadOutcome, typed: bool) -> ChipFinding {
    match compare(book, outcome) {
        Comparison::Equal => ChipFinding::Matches { typed },
        Comparison::OtherForm { .. } => ChipFinding::OtherForm,
        Comparison::MisKeyed {
            book,
            chip,
            at,
            neighbours,
            ..
        } => ChipFinding::MisKeyed {
            side: side(&book, &chip, &at),
            neighbours,
        },
        Comparison::Different { book, chip } => {
            let (book, chip) = (book.to_string(), chip.to_string());
            ChipFinding::Different {
                side: side(&book, &chip, &all_differences(&book, &chip)),
            }
        }
        Comparison::TwoChips { .. } => ChipFinding::Two { book: false },
        Comparison::Unreadable { .. } | Comparison::NoneFound { .. } => ChipFinding::NoneInBook,
    }
}

/// The reader's link, its bytes, and time.
pub(super) fn world(c: &mut Context, act: &Act) -> Outcome {
    let at_ms = c.stamp.at_ms;
    match act {
        Act::ReaderLink { link, name, reader } => return linked(c, *link, name, reader),
        // While the readers are on the screen, what is read is the known chip, and
        // never the dog's.
        Act::ReaderBytes { bytes } if c.state.readers.open => {
            c.reader.feed_trial(bytes, at_ms);
            return readers::tried(c);
        }
        _ if c.state.readers.open => {
            c.reader.trial.tick(at_ms);
            return readers::tried(c);
        }
        _ => {}
    }
    let knew = c.reader.speaks_other;
    let frames = match act {
        Act::ReaderBytes { bytes } => c.reader.feed(bytes, at_ms),
        _ => c.reader.tick(at_ms),
    };
    let mut out = Outcome::default();
    if c.reader.speaks_other && !knew {
        out = Outcome::refuse(Text::of("notice.reader_speaks_other"));
    }
    for frame in frames {
        out = match frame {
            Frame::Read(read) => take(c, out, read),
            Frame::Refused(refused) => Outcome {
                items: out.items,
                ..refuse(&refused)
            },
        };
    }
    out
}

fn linked(c: &mut Context, link: ReaderLink, name: &str, reader: &str) -> Outcome {
    let (was, _) = c.reader.current();
    let half = c.reader.link(link, name, reader, &c.state.readers);
    let (now, _) = c.reader.current();
    // On the readers' screen the link itself is shown.
    if was == now || c.state.readers.open {
        return Outcome::default();
    }
    match (now, half) {
        (_, Some(refused)) => refuse(&refused),
        (ReaderLink::Lost, None) => {
            Outcome::default().say(Tone::Care, Text::of("notice.reader_gone"))
        }
        _ => Outcome::default(),
    }
}

/// A frame that cannot be taken: nothing of it is, and the screen says what to do.
fn refuse(refused: &Refused) -> Outcome {
    Outcome::refuse(Text::of(&format!("read.{}", refused.reason.key())))
}

fn take(c: &mut Context, out: Outcome, read: Read) -> Outcome {
    let grouped = crate::show::grouped(&read.number.to_string());
    let Some(session) = c.session() else {
        return out.say(
            Tone::Care,
            Text::of("notice.read_no_session").plain("chip", grouped),
        );
    };
    let Some(visit) = session.in_hand() else {
        let number = read.number.to_string();
        let text = whose(session, &number, grouped);
        c.reader.heard_between(&number);
        return out.say(Tone::Care, text);
    };
    if matches!(visit.correcting, Some(Correcting::Scan)) {
        return moved::scanned(c, out, read);
    }
    if visit.chip.is_some() || visit.stated.is_some() {
        let same = visit.reads.heard().iter().any(|h| h.number == read.number);
        return if same {
            out
        } else {
            // Another number while a dog is on the table: not this dog's step, but told.
            out.say(
                Tone::Care,
                Text::of("notice.read_late").plain("chip", grouped),
            )
            .play(Cue::ChipDiffers)
        };
    }
    let mut after = visit.clone();
    let before = separate(&after);
    let mut reads = ReadLog::clone(&visit.reads);
    reads.take(Frame::Read(read.clone()));
    after.reads = reads.into();
    if separate(&after) == before {
        return out; // a bounce: the same read heard again
    }
    let out = out.and(Fact::ChipRead {
        visit: visit.number,
        raw: read.raw.clone(),
        form: read.form.name().into(),
        number: read.number.to_string(),
        verified: read.checksum == Checksum::Verified,
    });
    judge(session, &after, out)
}

fn separate(visit: &Visit) -> u32 {
    visit.reads.heard().iter().map(|h| h.separate).sum()
}

/// A code printed in a record book: it finds the dog, and is never a read of its
/// chip. That would hold the book against itself.
pub(super) fn book_code(c: &mut Context, code: &str) -> Outcome {
    let Ok(printed) = parse_printed(code) else {
        return Outcome::refuse(Text::of("refused.book_code"));
    };
    let number = printed.number.to_string();
    let Some(session) = c.session().filter(|s| s.queue_open) else {
        return Outcome::refuse(Text::of("refused.book_code_no_queue"));
    };
    if session.in_hand().is_some() {
        return Outcome::default().say(Tone::Care, Text::of("notice.book_code_is_no_read"));
    }
    let grouped = crate::show::grouped(&number);
    let Some(dog) = session.dog_of(&number) else {
        return Outcome::refuse(Text::of("notice.read_unknown").plain("chip", grouped));
    };
    let (id, name) = (dog.id.clone(), dog.name.clone());
    if let Some(why) = judging::may_not_call(session, &id) {
        return Outcome::refuse(why);
    }
    c.reader.book_found = Some(id);
    Outcome::default()
        .say(
            Tone::Good,
            Text::of("notice.book_code_is").plain("dog", name),
        )
        .play(Cue::Done)
}

/// Between dogs a read tells which dog stands there.
fn whose(session: &Session, number: &str, grouped: String) -> Text {
    match session.dog_of(number) {
        Some(dog) => Text::of("notice.read_is")
            .plain("dog", dog.name.clone())
            .plain("chip", grouped),
        None => Text::of("notice.read_unknown").plain("chip", grouped),
    }
}

/// What the reads of `after` lead to, once the visit has come to the chip: equal
/// goes on by itself, anything else waits for the measurers.
fn judge(session: &Session, after: &Visit, out: Outcome) -> Outcome {
    let finding = find(session, after);
    let at_chip = after.step() == Step::Chip;
    match finding {
        ChipFinding::Matches { typed } if at_chip => accept(after, out, typed),
        ChipFinding::Matches { .. } => out
            .say(Tone::Good, Text::of("notice.chip_read_early"))
            .play(Cue::ChipMatches),
        ChipFinding::NeedsSecond => out.say(Tone::Care, Text::of("chip.second_read")),
        ChipFinding::Waiting | ChipFinding::NothingFound => out,
        _ => out
            .say(Tone::Bad, Text::of("notice.chip_differs"))
            .play(Cue::ChipDiffers),
    }
}

fn accept(visit: &Visit, out: Outcome, typed: bool) -> Outcome {
    let proof = if typed {
        ChipProof::Typed
    } else {
        ChipProof::Equal
    };
    out.and(Fact::ChipAccepted {
        visit: visit.number,
        proof,
    })
    .say(Tone::Good, Text::of("notice.chip_matches"))
    .play(Cue::ChipMatches)
}

/// The handler's answers are in: a chip that was read meanwhile counts now.
pub(super) fn settle_if_clear(c: &Context, out: Outcome) -> Outcome {
    let Some((session, visit)) = c.session().and_then(|s| s.in_hand().map(|v| (s, v))) else {
        return out;
    };
    match find(session, visit) {
        ChipFinding::Matches { typed } => accept(visit, out, typed),
        _ => out,
    }
}

/// What the measurers do at the chip step.
pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    let Some((session, visit)) = c.at(Step::Chip) else {
        return not_now();
    };
    let number = visit.number;
    let finding = find(session, visit);
    match (act, finding) {
        (Act::ScanAgain, ChipFinding::Waiting) => not_now(),
        (Act::ScanAgain, _) => Outcome::fact(Fact::ChipAgain { visit: number }),
        (
            Act::ChipTyped { number: typed },
            ChipFinding::Waiting | ChipFinding::NeedsSecond | ChipFinding::NothingFound,
        ) => type_in(session, visit, typed, c.stamp.at_ms),
        (Act::ChipMisKeyed, ChipFinding::MisKeyed { .. }) => Outcome::fact(Fact::ChipAccepted {
            visit: number,
            proof: ChipProof::MisKeyed,
        }),
        (Act::ChipConfirmed, ChipFinding::OtherForm) => Outcome::fact(Fact::ChipAccepted {
            visit: number,
            proof: ChipProof::OtherForm,
        }),
        (Act::ChipConfirmed, ChipFinding::Two { book: true }) => {
            Outcome::fact(Fact::ChipAccepted {
                visit: number,
                proof: ChipProof::TwoChips,
            })
        }
        (Act::ChipConfirmed, ChipFinding::NeedsSecond) => confirm(session, visit),
        (Act::NoChip, ChipFinding::Waiting) => Outcome::fact(Fact::ScanPassed { visit: number }),
        (Act::NoChip, ChipFinding::NothingFound) if judging::allows_without_chip(session) => {
            Outcome::fact(Fact::ChipAccepted {
                visit: number,
                proof: ChipProof::NotFound,
            })
        }
        (Act::NoChip, ChipFinding::NothingFound) => Outcome::refuse(Text::of("refused.no_chip")),
        _ => not_now(),
    }
}

fn type_in(session: &Session, visit: &Visit, typed: &str, at_ms: i64) -> Outcome {
    let number = match parse_printed(typed) {
        Ok(printed) => printed.number.to_string(),
        Err(_) => return Outcome::refuse(Text::of("refused.chip_typed")),
    };
    let mut after = visit.clone();
    let mut reads = ReadLog::clone(&visit.reads);
    if reads.typed(&number, at_ms).is_err() {
        return Outcome::refuse(Text::of("refused.chip_typed"));
    }
    after.reads = reads.into();
    let out = Outcome::fact(Fact::ChipTyped {
        visit: visit.number,
        number,
    });
    judge(session, &after, out)
}

/// Both measurers held the one read against the reader's display.
fn confirm(session: &Session, visit: &Visit) -> Outcome {
    let mut after = visit.clone();
    let Identity::NeedsSecondRead { number } = visit.reads.identity() else {
        return not_now();
    };
    let mut reads = ReadLog::clone(&visit.reads);
    reads.confirm(&number);
    after.reads = reads.into();
    let out = Outcome {
        items: vec![Item::Fact(Fact::ChipTyped {
            visit: visit.number,
            number: number.to_string(),
        })],
        ..Outcome::default()
    };
    judge(session, &after, out)
}
