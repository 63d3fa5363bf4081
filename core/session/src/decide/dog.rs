//! One dog, from the queue to the handler being told; the chip and the
//! sign-off have files of their own.

use super::{Context, Outcome, chip, correct, not_now, once, sign};
use crate::act::{Act, BookState, PlacingSeen};
use crate::judging::{self, BookFinding, NextPlacing};
use crate::questions;
use crate::state::{Closing, Session, Step, Visit};
use crate::view::{Cue, Text, Tone};

use standsquare_journal::record::fact::{Fact, Found, Seen};

pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    match act {
        Act::CallDog { dog } => call(c, dog),
        Act::BookAgrees | Act::BookLine { .. } | Act::BookDone => papers(c, act),
        Act::HandlerAllClear | Act::HandlerAnswer { .. } | Act::HandlerDone => handler(c, act),
        Act::Settled => match c.at(Step::Settle) {
            Some((session, v)) => {
                let out = Outcome::fact(Fact::Settled { visit: v.number });
                // Placings that were entered under another dog may have settled it already.
                if !v.moved_here.is_empty() && correct::is_ready(session, v) {
                    return sign::state_it(c, v, out);
                }
                out
            }
            None => not_now(),
        },
        Act::StandsSquare => match c.at(Step::Stance) {
            Some((_, v)) => Outcome::fact(Fact::StoodSquare { visit: v.number }),
            None => not_now(),
        },
        Act::ChooseHoop { hoop } => choose_hoop(c, hoop),
        Act::Place { hoop, seen } => place(c, hoop, *seen),
        Act::UndoPlacing => undo(c),
        Act::BookWritten => match c.at(Step::BookLine) {
            Some((_, v)) => Outcome::fact(Fact::BookWritten { visit: v.number }),
            None => not_now(),
        },
        Act::HandlerTold => match c.at(Step::Tell) {
            Some((_, v)) => Outcome::fact(Fact::HandlerTold { visit: v.number }).play(Cue::Done),
            None => not_now(),
        },
        Act::Park => park(c),
        Act::TakeOver { person } => take_over(c, person),
        Act::Resume { dog } => resume(c, dog),
        Act::StepAway { person } => step_away(c, person, true),
        Act::ComeBack { person } => step_away(c, person, false),
        Act::AskNotToday | Act::KeepGoing | Act::NotToday { .. } => stop(c, act),
        _ => not_now(),
    }
}

fn call(c: &mut Context, dog: &str) -> Outcome {
    let Some(session) = c.session() else {
        return not_now();
    };
    if !session.queue_open || session.closing != Closing::Open || session.at_table.is_some() {
        return not_now();
    }
    let Some((subject, commitment)) = session.loaded.subject(dog) else {
        return not_now();
    };
    if let Some(why) = judging::may_not_call(session, dog) {
        return Outcome::refuse(why);
    }
    if let Some(out) = locked(c, session) {
        return out;
    }
    let visit = session.visits.len() as u32 + 1;
    c.reader.book_found = None;
    Outcome::fact(Fact::DogCalled {
        visit,
        dog: dog.to_owned(),
        subject: subject.into(),
        commitment: commitment.into(),
    })
}

/// What is said instead, where measurers have to open their keys before the next dog.
pub(super) fn locked(c: &Context, session: &Session) -> Option<Outcome> {
    let closed = once::must_unlock(c.state, session, c.stamp.at_ms);
    let name = session.loaded.name_of(closed.first()?).to_owned();
    let why = Text::of("refused.unlock_first").plain("name", name);
    Some(Outcome::refuse(why))
}

fn papers(c: &Context, act: &Act) -> Outcome {
    let Some((session, visit)) = c.at(Step::Papers) else {
        return not_now();
    };
    let items = judging::book_items(session, visit);
    let mut looked = visit.book.clone();
    let mut out = Outcome::default();
    match act {
        Act::BookLine { item, state } => {
            let found = match state {
                BookState::Agrees => Found::Agrees,
                BookState::Differs => Found::Differs,
                BookState::Missing => Found::Missing,
                BookState::Unseen => return not_now(),
            };
            if !items.iter().any(|i| i.id == *item) {
                return not_now();
            }
            return Outcome::fact(Fact::BookLooked {
                visit: visit.number,
                item: item.clone(),
                found,
            });
        }
        Act::BookAgrees => {
            // Everything not looked at one by one says what the screen shows.
            for item in &items {
                if !looked.contains_key(&item.id) {
                    looked.insert(item.id.clone(), Found::Agrees);
                    out = out.and(Fact::BookLooked {
                        visit: visit.number,
                        item: item.id.clone(),
                        found: Found::Agrees,
                    });
                }
            }
        }
        _ => {
            if items.iter().any(|i| !looked.contains_key(&i.id)) {
                return Outcome::refuse(Text::of("refused.book_unseen"));
            }
        }
    }
    match judging::book_finding(session, visit, &looked) {
        BookFinding::Measure { number, .. } => {
            let out = out.and(Fact::BookAccepted {
                visit: visit.number,
                measure: number,
            });
            // Looked at again after the dog was measured: what it comes to is stated anew.
            let mut after = visit.clone();
            after.book = looked;
            after.measure = Some(number);
            if after.stopped.is_some() || correct::is_ready(session, &after) {
                sign::state_it(c, &after, out)
            } else {
                out
            }
        }
        BookFinding::Refused { why } => Outcome::refuse(why),
    }
}

fn handler(c: &mut Context, act: &Act) -> Outcome {
    let Some((session, visit)) = c.at(Step::Handler) else {
        return not_now();
    };
    let number = visit.number;
    let mut answers = visit.answers.clone();
    let mut out = Outcome::default();
    match act {
        Act::HandlerAnswer { question, yes } => {
            if !questions::ALL.iter().any(|q| q.id == question) {
                return not_now();
            }
            return Outcome::fact(Fact::HandlerAnswered {
                visit: number,
                question: question.clone(),
                yes: *yes,
            });
        }
        Act::HandlerAllClear => {
            for q in questions::ALL {
                if !answers.contains_key(q.id) {
                    answers.insert(q.id.to_owned(), q.clear);
                    out = out.and(Fact::HandlerAnswered {
                        visit: number,
                        question: q.id.into(),
                        yes: q.clear,
                    });
                }
            }
        }
        _ => {}
    }
    if questions::ALL.iter().any(|q| !answers.contains_key(q.id)) {
        return Outcome::refuse(Text::of("refused.handler_unasked"));
    }
    if let Some(q) = questions::ALL
        .iter()
        .find(|q| q.stops && answers.get(q.id).is_some_and(|yes| *yes != q.clear))
    {
        return Outcome::refuse(Text::of(q.stop_key));
    }
    let out = out.and(Fact::HandlerAccepted { visit: number });
    if visit.chip.is_some() {
        // Its chip was read when placings of another dog's turned out to be its.
        let mut after = visit.clone();
        after.answers = answers;
        after.handler_accepted = true;
        return if correct::is_ready(session, &after) {
            sign::state_it(c, &after, out)
        } else {
            out
        };
    }
    // The handler may have held the dog to the reader already: what was read counts.
    chip::settle_if_clear(c, out)
}

fn choose_hoop(c: &Context, hoop: &str) -> Outcome {
    let visit = match c.at(Step::Placing).or_else(|| c.at(Step::Stance)) {
        Some((session, visit)) if judging::hoop_is_usable(session, hoop) => visit,
        Some(_) => return Outcome::refuse(Text::of("refused.hoop_not_good")),
        None => return not_now(),
    };
    Outcome::fact(Fact::HoopChosen {
        visit: visit.number,
        hoop: hoop.to_owned(),
    })
}

fn place(c: &mut Context, hoop: &str, seen: PlacingSeen) -> Outcome {
    let Some((session, visit)) = c.at(Step::Placing) else {
        return not_now();
    };
    if !judging::hoop_is_usable(session, hoop) {
        return Outcome::refuse(Text::of("refused.hoop_not_good"));
    }
    if let Some(away) = session.away.iter().next() {
        let name = session.loaded.name_of(away);
        return Outcome::refuse(Text::of("refused.measurer_away").plain("name", name));
    }
    let seen = match seen {
        PlacingSeen::BaseFlat => Seen::Flat,
        PlacingSeen::BaseNotFlat => Seen::NotFlat,
        PlacingSeen::DogMoved => Seen::Moved,
    };
    let placed = Fact::Placed {
        visit: visit.number,
        hoop: hoop.to_owned(),
        seen,
    };
    let mut after = visit.clone();
    after.placings.push((hoop.to_owned(), seen, c.stamp.at_ms));
    after.placed_by.push(visit.holder.clone());
    let out = Outcome::fact(placed);
    match judging::next(session, &after) {
        NextPlacing::Place { .. } => {
            let out = hand_over(session, &after, out);
            match seen {
                Seen::Moved => out.say(Tone::Care, Text::of("notice.placing_void")),
                _ => out,
            }
        }
        NextPlacing::Decided | NextPlacing::Impasse => sign::state_it(c, &after, out),
    }
}

/// Where it is another measurer's turn now, the phone goes to them.
pub(super) fn hand_over(session: &Session, after: &Visit, out: Outcome) -> Outcome {
    match judging::turn(session, after) {
        Some(to) => out.and(Fact::HandOver {
            visit: after.number,
            to,
        }),
        None => out,
    }
}

fn take_over(c: &Context, person: &str) -> Outcome {
    match c.at(Step::HandOver) {
        Some((_, visit)) if visit.hand_over.as_deref() == Some(person) => {
            let out = Outcome::fact(Fact::TakenOver {
                visit: visit.number,
                person: person.to_owned(),
            });
            // Handed over: who confirms later, opens their key again.
            match c.session() {
                Some(s) if !s.unlocked.is_empty() => out.and(Fact::Locked {}),
                _ => out,
            }
        }
        _ => not_now(),
    }
}

/// A measurer may not measure this dog: it is stopped for today at this table.
pub(super) fn may_not_measure(c: &Context, person: &str) -> Outcome {
    let Some((session, visit)) = c.session().and_then(|s| s.in_hand().map(|v| (s, v))) else {
        return not_now();
    };
    let early = visit.stated.is_none() && visit.step() != Step::Correct;
    if !early || !session.seated.iter().any(|p| p == person) {
        return not_now();
    }
    let reason = String::from("conflict");
    let mut after = visit.clone();
    after.stopped = Some(reason.clone());
    let out = Outcome::fact(Fact::Recused {
        visit: visit.number,
        person: person.to_owned(),
    })
    .and(Fact::Stopped {
        visit: visit.number,
        reason,
    });
    sign::state_it(c, &after, out)
}

fn undo(c: &Context) -> Outcome {
    let Some(visit) = c.session().and_then(|s| s.in_hand()) else {
        return not_now();
    };
    let in_step = match visit.step() {
        Step::Placing | Step::Stance => true,
        // The verdict is on the screen; once somebody has signed it, it stands.
        Step::Sign => visit.is_untouched() && visit.stopped.is_none(),
        _ => false,
    };
    if !in_step {
        return not_now();
    }
    let own = |n: usize| {
        let session = c.session();
        session.is_some_and(|s| judging::may_see(s, visit, n))
    };
    match visit.placings.last() {
        None => return not_now(),
        Some(_) if !own(visit.placings.len() - 1) => return not_now(),
        // Nobody discards an unwelcome result alone.
        Some((_, Seen::Flat, _)) => {
            return Outcome::refuse(Text::of("refused.flat_needs_both"));
        }
        Some((_, Seen::FlatVoid | Seen::NotFlatVoid, _)) => return not_now(),
        Some(_) => {}
    }
    Outcome::fact(Fact::PlacingTakenBack {
        visit: visit.number,
    })
    .say(Tone::Care, Text::of("notice.placing_taken_back"))
}

fn park(c: &Context) -> Outcome {
    let hand = c.session().and_then(|s| Some((s, s.in_hand()?)));
    let Some((session, visit)) = hand else {
        return not_now();
    };
    let before_sign_off = matches!(
        visit.step(),
        Step::Heard
            | Step::Newcomer
            | Step::Papers
            | Step::Handler
            | Step::Chip
            | Step::Settle
            | Step::Stance
            | Step::Placing
    );
    if !before_sign_off && !may_sign_later(session, visit) {
        return not_now();
    }
    Outcome::fact(Fact::Parked {
        visit: visit.number,
    })
}

/// Whether the sign-off of the dog in hand can be left for later: of one that awaited a
/// signature, and after the closing, where not all need be here.
pub(crate) fn may_sign_later(session: &Session, visit: &Visit) -> bool {
    visit.signing_late || (session.closing == Closing::Closed && visit.is_settling())
}

fn resume(c: &Context, dog: &str) -> Outcome {
    let Some(session) = c.session() else {
        return not_now();
    };
    if session.closing != Closing::Open || session.at_table.is_some() {
        return not_now();
    }
    if let Some(out) = locked(c, session) {
        return out;
    }
    match session.visit_of(dog) {
        Some(visit) if visit.parked || visit.is_awaiting() => Outcome::fact(Fact::Resumed {
            visit: visit.number,
        }),
        _ => not_now(),
    }
}

fn step_away(c: &Context, person: &str, away: bool) -> Outcome {
    match c.session() {
        Some(s)
            if s.queue_open
                && s.closing == Closing::Open
                && s.seated.iter().any(|p| p == person)
                && s.away.contains(person) != away =>
        {
            Outcome::fact(Fact::SteppedAway {
                person: person.to_owned(),
                away,
            })
        }
        _ => not_now(),
    }
}

fn stop(c: &mut Context, act: &Act) -> Outcome {
    let Some(visit) = c.session().and_then(|s| s.in_hand()) else {
        return not_now();
    };
    let number = visit.number;
    let may_stop = !visit.fully_signed
        && visit.is_untouched()
        && (visit.stopped.is_none() || visit.stated.is_none());
    match act {
        Act::AskNotToday if may_stop && !visit.stop_asked => {
            Outcome::fact(Fact::StopAsked { visit: number })
        }
        Act::KeepGoing if visit.stop_asked => Outcome::fact(Fact::StopLeft { visit: number }),
        Act::NotToday { reason } if visit.stop_asked => {
            if !questions::STOPS.contains(&reason.as_str()) {
                return not_now();
            }
            let mut after = visit.clone();
            after.stopped = Some(reason.clone());
            after.stop_asked = false;
            let out = Outcome::fact(Fact::Stopped {
                visit: number,
                reason: reason.clone(),
            });
            sign::state_it(c, &after, out)
        }
        _ => not_now(),
    }
}
