//! Placings that were entered under the wrong dog: the dog to which they belong is scanned,
//! all sign, and they count for it from then on.

use super::{Context, Outcome, correct, sign};
use crate::judging;
use crate::show::grouped;
use crate::state::{MoveTo, Session, Visit};
use crate::view::{Cue, Text, Tone};

use standsquare_chip::{Checksum, Frame, Identity, Read};
use standsquare_journal::record::fact::{ChipProof, Fact, Putting, StatedPlacing};

/// A read while the other dog is to be scanned.
pub(super) fn scanned(c: &mut Context, out: Outcome, read: Read) -> Outcome {
    let log = c.reader.moving.take();
    let mut log = log.unwrap_or_default();
    log.take(Frame::Read(read.clone()));
    let identity = log.identity();
    c.reader.moving = Some(log);
    let number = match identity {
        Identity::Known { number, .. } => number.to_string(),
        Identity::TwoNumbers { .. } => {
            c.reader.moving = None;
            let why = Text::of("refused.move_two_numbers");
            return keep(out, Outcome::refuse(why));
        }
        _ => return out.say(Tone::Care, Text::of("chip.second_read")),
    };
    let Some((session, visit)) = c.session().and_then(|s| s.in_hand().map(|v| (s, v))) else {
        return out;
    };
    match whose(session, visit, &number) {
        Ok((dog, what)) => {
            let raw = read.raw.clone();
            let done = Outcome::fact(Fact::MoveRead {
                visit: visit.number,
                dog,
                raw,
                form: read.form.name().into(),
                number,
                verified: read.checksum == Checksum::Verified,
            })
            .and(Fact::CorrectionChosen {
                visit: visit.number,
                what,
            })
            .play(Cue::ChipMatches);
            c.reader.moving = None;
            keep(out, done)
        }
        Err(why) => {
            c.reader.moving = None;
            keep(out, Outcome::refuse(why))
        }
    }
}

fn keep(before: Outcome, mut then: Outcome) -> Outcome {
    let mut items = before.items;
    items.append(&mut then.items);
    Outcome { items, ..then }
}

/// The dog with this number, if the placings of `visit` can be its; or why not.
fn whose(session: &Session, visit: &Visit, number: &str) -> Result<(String, Putting), Text> {
    let Some(dog) = session.dog_of(number) else {
        return Err(Text::of("refused.move_unknown").plain("chip", grouped(number)));
    };
    let name = || dog.name.clone();
    if dog.id == visit.dog {
        return Err(Text::of("refused.move_same").plain("dog", name()));
    }
    let to = match session.visit_of(&dog.id) {
        Some(other) if other.parked && other.stopped.is_none() => other.number,
        Some(_) => return Err(Text::of("refused.move_answered").plain("dog", name())),
        None => match judging::refused(session, Some(dog)) {
            Some(why) => return Err(why),
            None => session.visits.len() as u32 + 1,
        },
    };
    let placings = visit.placings.iter().map(|(hoop, seen, _)| StatedPlacing {
        hoop: hoop.clone(),
        seen: *seen,
    });
    let what = Putting::MovePlacings {
        visit: to,
        dog: name(),
        chip: number.to_owned(),
        placings: placings.collect(),
    };
    Ok((dog.id.clone(), what))
}

/// All have signed: `from` is the visit without its placings, and the dog that was scanned
/// is the one at the table.
pub(super) fn finish(
    c: &Context,
    session: &Session,
    mut from: Visit,
    to: u32,
    read: &MoveTo,
    mut out: Outcome,
) -> Outcome {
    let known = session.visit_of(&read.dog);
    if known.is_none() {
        let Some((subject, commitment)) = session.loaded.subject(&read.dog) else {
            return super::not_now();
        };
        out = out.and(Fact::DogCalled {
            visit: to,
            dog: read.dog.clone(),
            subject: subject.into(),
            commitment: commitment.into(),
        });
    }
    out = out
        .and(Fact::PlacingsMoved {
            from: from.number,
            to,
        })
        .and(Fact::ChipRead {
            visit: to,
            raw: read.raw.clone(),
            form: read.form.clone(),
            number: read.number.clone(),
            verified: read.verified,
        })
        .and(Fact::ChipAccepted {
            visit: to,
            proof: ChipProof::Equal,
        });
    // Where its papers and its handler's answers are in, what it comes to is stated at once.
    if let Some(known) = known {
        let mut after = known.clone();
        after.receive(from.number, from.give());
        after.chip = Some(ChipProof::Equal);
        if correct::is_ready(session, &after) {
            out = sign::state_it(c, &after, out);
        }
    }
    out.say(Tone::Care, Text::of("notice.placings_moved"))
}
