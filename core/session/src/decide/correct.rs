//! Putting right what was entered for a dog: what, why, and every measurer's signature
//! under it. What was wrong stays readable; nothing is edited.

use super::{Context, Outcome, dog, moved, not_now, sign};
use crate::act::{Act, CorrectionWhat};
use crate::judging::{self, NextPlacing};
use crate::state::{Closing, Correcting, Session, State, Step, Visit};
use crate::view::{Text, Tone};

use standsquare_journal::record::fact::{Correction, Fact, Putting, StatedPlacing};

/// Why a placing may be made void; the words are `correction.reason_<id>`. Common
/// practice, no source.
pub const REASONS_PLACING: &[&str] = &["moved", "stance", "gauge", "mistaken"];
/// Why the record book is looked at again. Common practice, no source.
pub const REASONS_BOOK: &[&str] = &["misread", "other_book"];
/// Why placings were another dog's. Common practice, no source.
pub const REASONS_MOVE: &[&str] = &["wrong_called", "changed_places"];

/// The reasons that there are for putting this right.
pub fn reasons(what: &Putting) -> &'static [&'static str] {
    match what {
        Putting::VoidPlacing { .. } => REASONS_PLACING,
        Putting::PapersAgain {} => REASONS_BOOK,
        Putting::MovePlacings { .. } => REASONS_MOVE,
    }
}

/// What can be put right for a dog as it stands.
///
/// Where each measurer makes their own placings, none is put right before all have
/// finished: its number, and what all sign, would tell how many the others made.
pub fn choices(session: &Session, visit: &Visit) -> Vec<CorrectionWhat> {
    let hidden = judging::is_independent(session) && visit.stated.is_none();
    let placings = visit.placings.iter().enumerate();
    let mut all: Vec<CorrectionWhat> = placings
        .filter(|(_, (_, seen, _))| seen.counts() && !hidden && visit.stopped.is_none())
        .map(|(n, _)| CorrectionWhat::VoidPlacing {
            number: n as u32 + 1,
        })
        .collect();
    if visit.measure.is_some() {
        all.push(CorrectionWhat::PapersAgain);
    }
    if !visit.placings.is_empty() && !hidden && visit.stopped.is_none() {
        all.push(CorrectionWhat::MovePlacings);
    }
    all
}

/// Whether something may be put right for this dog now.
pub fn may_ask(session: &Session, visit: &Visit) -> bool {
    let in_reach = match session.in_hand() {
        Some(in_hand) => in_hand.number == visit.number && !visit.signing_late,
        None => visit.step() == Step::Done,
    };
    let far_enough = matches!(
        visit.step(),
        Step::Stance | Step::Placing | Step::Sign | Step::BookLine | Step::Tell | Step::Done
    );
    let open = session.queue_open && session.closing == Closing::Open;
    open && in_reach && far_enough && !choices(session, visit).is_empty()
}

/// Whether the dog can be stated: its papers, its handler's answers and its chip are in, and
/// what was seen of it needs no further placing.
pub(super) fn is_ready(session: &Session, visit: &Visit) -> bool {
    visit.measure.is_some()
        && visit.handler_accepted
        && visit.chip.is_some()
        && is_decided(session, visit)
}

/// Whether what was seen of the dog needs no further placing.
pub(super) fn is_decided(session: &Session, visit: &Visit) -> bool {
    visit.stopped.is_some()
        || (!visit.placings.is_empty()
            && !matches!(judging::next(session, visit), NextPlacing::Place { .. }))
}

pub(super) fn decide(c: &Context, act: &Act) -> Outcome {
    let Some(session) = c.session() else {
        return not_now();
    };
    if let Act::AskCorrection { dog } = act {
        return match session.visit_of(dog) {
            Some(visit) if may_ask(session, visit) => Outcome::fact(Fact::CorrectionAsked {
                visit: visit.number,
            }),
            _ => not_now(),
        };
    }
    let Some((_, visit)) = c.at(Step::Correct) else {
        return not_now();
    };
    match (act, &visit.correcting) {
        (
            Act::ChooseCorrection { what },
            Some(Correcting::What | Correcting::Scan | Correcting::Why(_)),
        ) if choices(session, visit).contains(what) => {
            let visit = visit.number;
            Outcome::fact(match *what {
                CorrectionWhat::MovePlacings => Fact::MoveAsked { visit },
                CorrectionWhat::PapersAgain => Fact::CorrectionChosen {
                    visit,
                    what: Putting::PapersAgain {},
                },
                CorrectionWhat::VoidPlacing { number } => Fact::CorrectionChosen {
                    visit,
                    what: Putting::VoidPlacing { number },
                },
            })
        }
        (Act::CorrectionReason { reason }, Some(Correcting::Why(what))) => {
            put_up(session, visit, what, reason)
        }
        (Act::LeaveCorrection, Some(_)) if !may_leave(c.state, session, visit, c.stamp.at_ms) => {
            not_now()
        }
        (Act::LeaveCorrection, Some(_)) => Outcome::fact(Fact::CorrectionLeft {
            visit: visit.number,
        }),
        _ => not_now(),
    }
}

/// Whether a correction may be left as if nothing had been wrong: not once somebody has
/// signed it, unless somebody else cannot, because their PIN is out of tries or their key counts no more. What was
/// signed of it stays in the record and holds nothing.
pub fn may_leave(state: &State, session: &Session, visit: &Visit, now_ms: i64) -> bool {
    match &visit.correcting {
        Some(Correcting::Sign(.., signed)) if !signed.is_empty() => {
            let mut open = session.seated.iter().filter(|p| !signed.contains(p));
            open.any(|p| sign::cannot_sign(state, session, p, now_ms))
        }
        _ => true,
    }
}

fn put_up(session: &Session, visit: &Visit, what: &Putting, reason: &str) -> Outcome {
    let placing = match what {
        Putting::VoidPlacing { number } => visit.placings.get((*number as usize).wrapping_sub(1)),
        Putting::PapersAgain {} | Putting::MovePlacings { .. } => None,
    };
    if !reasons(what).contains(&reason) {
        return not_now();
    }
    let dog = session.dog(&visit.dog);
    let correction = Correction {
        session: session.id.into(),
        visit: visit.number,
        dog: dog.map(|d| d.name.clone()).unwrap_or_default(),
        chip: dog.map(|d| d.chip.clone()).unwrap_or_default(),
        what: what.clone(),
        placing: placing.map(|(hoop, seen, _)| StatedPlacing {
            hoop: hoop.clone(),
            seen: *seen,
        }),
        reason: reason.to_owned(),
        after_sign_off: visit.fully_signed,
        measurers: session.numbers(),
        demo: session.loaded.roster.demo,
    };
    Outcome::fact(Fact::CorrectionStated {
        correction: correction.encode(),
    })
}

/// All have signed the correction: it holds.
pub(super) fn done(
    c: &Context,
    session: &Session,
    visit: &Visit,
    correction: &Correction,
    out: Outcome,
) -> Outcome {
    let mut after = visit.clone();
    after.put_right(correction);
    if let (Putting::MovePlacings { visit: to, .. }, Some(read)) =
        (&correction.what, &visit.move_to)
    {
        return moved::finish(c, session, after, *to, read, out);
    }
    let out = if after.measure.is_some() && is_decided(session, &after) {
        sign::state_it(c, &after, out)
    } else {
        dog::hand_over(session, &after, out)
    };
    out.say(Tone::Care, Text::of("notice.put_right"))
}
