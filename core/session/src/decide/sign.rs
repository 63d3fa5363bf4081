//! What it comes to, and the two signatures under it.

use super::{Context, Outcome, correct, not_now, once, owner};
use crate::act::Act;
use crate::days;
use crate::judging;
use crate::state::{Correcting, Misses, OpenList, Session, State, Step, Visit};
use crate::view::{Cue, Text, Tone};

use standsquare_journal::record::elsewhere::signed_bytes;
use standsquare_journal::record::fact::{
    ALG_ED25519, ChipProof, Correction, Fact, Outcome as Ends, Seen, StatedPlacing, Statement,
};
use standsquare_journal::store::Item;

/// Wrong PINs in a row before a pause. Own choice, no source.
pub const TRIES: u32 = 5;
/// The pause after that, milliseconds. Own choice, no source: long enough that
/// four digits cannot be tried through in a day beside a table.
pub const LOCK_MS: i64 = 5 * 60 * 1000;

/// Wrong PINs still allowed now.
pub fn tries_left(state: &State, person: &str, now_ms: i64) -> u32 {
    match state.misses.get(person) {
        None => TRIES,
        Some(Misses { count, .. }) if *count < TRIES => TRIES - count,
        Some(Misses { last_ms, .. }) if now_ms.saturating_sub(*last_ms) >= LOCK_MS => 1,
        Some(_) => 0,
    }
}

/// Whether this measurer can put no signature under anything here now: no try at the PIN is
/// left, or the office says that their key does not count. Paper is what remains.
pub fn cannot_sign(state: &State, session: &Session, person: &str, now_ms: i64) -> bool {
    let key = || super::may_not_sign(state, session, person, now_ms);
    tries_left(state, person, now_ms) == 0 || key().is_some()
}

/// What the measurers are asked to sign for a visit as it stands.
pub fn statement_of(session: &Session, visit: &Visit) -> Statement {
    let loaded = &session.loaded;
    let dog = session.dog(&visit.dog);
    let verdict = judging::verdict(session, visit);
    let book = dog.map(|d| d.chip.clone()).unwrap_or_default();
    // Of several numbers read, the one that is not the book's is what has to be said.
    let mut heard = visit.reads.heard().iter().map(|h| h.number.to_string());
    let read = heard.clone().rfind(|n| *n != book).or(heard.next_back());
    Statement {
        session: session.id.into(),
        visit: visit.number,
        dog: dog.map(|d| d.name.clone()).unwrap_or_default(),
        proof: visit.chip.unwrap_or(match read {
            Some(_) => ChipProof::Different,
            None => ChipProof::NotScanned,
        }),
        chip_read: read.filter(|r| *r != book),
        chip: book,
        pack: loaded.pack.id().to_owned(),
        edition: loaded.pack.edition().to_owned(),
        day: days::number(session.day),
        outcome: match (&visit.stopped, &visit.disagreed) {
            (Some(reason), _) => Ends::NotToday {
                reason: reason.clone(),
            },
            (None, Some(_)) => Ends::Referred {
                reason: "measurers_disagree".into(),
            },
            (None, None) => verdict.outcome,
        },
        over_um: verdict.over_um,
        within_um: verdict.within_um,
        measure: visit.measure.unwrap_or(1),
        status: verdict.status,
        flags: verdict.flags,
        placings: visit
            .placings
            .iter()
            .map(|(hoop, seen, _)| StatedPlacing {
                hoop: hoop.clone(),
                seen: *seen,
            })
            .collect(),
        window_from: verdict.window.map(|(from, _)| days::number(from)),
        window_to: verdict.window.map(|(_, to)| days::number(to)),
        measurers: session.numbers(),
        demo: loaded.roster.demo,
        status_until: verdict.status_until.map(days::number),
    }
}

/// Adds the statement of `visit` to what is written.
pub(super) fn state_it(c: &Context, visit: &Visit, out: Outcome) -> Outcome {
    match c.session() {
        Some(session) => state_for(session, visit, out),
        None => not_now(),
    }
}

/// The same by a session as it will be.
pub(super) fn state_for(session: &Session, visit: &Visit, out: Outcome) -> Outcome {
    let cue = if visit
        .placings
        .last()
        .is_some_and(|(_, seen, _)| *seen == Seen::Moved)
    {
        Cue::Refused
    } else {
        Cue::Done
    };
    out.and(Fact::Stated {
        statement: statement_of(session, visit).encode(),
    })
    .play(cue)
}

pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    let Some((session, visit)) = c.at(Step::Sign) else {
        return not_now();
    };
    match act {
        Act::Confirm { person } => once::confirm(c, session, visit, person),
        Act::SignOnPaper { person, paper } => on_paper(c, session, visit, person, paper),
        Act::Disagree { person } => {
            if !visit.is_untouched() || visit.stopped.is_some() || visit.disagreed.is_some() {
                return not_now();
            }
            if !session.seated.contains(person) {
                return not_now();
            }
            let mut after = visit.clone();
            after.disagreed = Some(person.clone());
            let out = Outcome::fact(Fact::Disagreed {
                visit: visit.number,
                person: person.clone(),
            });
            state_it(c, &after, out).say(Tone::Care, Text::of("notice.disagreement"))
        }
        _ => not_now(),
    }
}

/// What lies on the glass to be signed with a measurer's own key, here or on their own phone.
pub(crate) struct ToSign<'a> {
    what: What<'a>,
    /// Its bytes.
    pub(super) bytes: &'a [u8],
    /// The head to sign.
    pub(super) head: [u8; 32],
    /// Who has answered for it.
    pub(super) signed: Vec<String>,
}

enum What<'a> {
    /// What a dog came to.
    Dog(&'a Visit),
    /// What puts something right that was entered for a dog.
    Correction(&'a Visit, &'a Correction),
    /// The list at the close.
    List(&'a OpenList),
}

impl<'a> ToSign<'a> {
    /// It, if anything does.
    pub(crate) fn of(session: &'a Session) -> Option<ToSign<'a>> {
        if let Some(open) = once::open_list(session) {
            return Some(ToSign {
                what: What::List(open),
                bytes: &open.bytes,
                head: open.head,
                signed: open.answered.keys().cloned().collect(),
            });
        }
        let visit = session.in_hand()?;
        let (what, bytes, head, signed) = match (visit.step(), &visit.correcting, &visit.stated) {
            (Step::Correct, Some(Correcting::Sign(correction, bytes, head, signed)), _) => {
                (What::Correction(visit, correction), bytes, head, signed)
            }
            (Step::Sign, _, Some((_, bytes, head))) if !session.is_tapped(visit) => {
                (What::Dog(visit), bytes, head, &visit.signed)
            }
            _ => return None,
        };
        Some(ToSign {
            what,
            bytes,
            head: *head,
            signed: signed.clone(),
        })
    }

    /// The dog's place in the day; 0 for the list.
    pub(super) fn visit(&self) -> u32 {
        match self.what {
            What::Dog(visit) | What::Correction(visit, _) => visit.number,
            What::List(_) => 0,
        }
    }

    /// Whether it wants this measurer's signature, whoever has given theirs.
    pub(super) fn is_for(&self, session: &Session, person: &str) -> bool {
        session.seated.iter().any(|p| p == person)
            && match self.what {
                What::List(open) => open.list.of(person).next().is_some(),
                _ => true,
            }
    }

    /// One more has signed it, which is this fact; and what comes of it, if they were the last.
    pub(super) fn taken(&self, c: &Context, session: &Session, fact: Fact) -> Outcome {
        let mut out = Outcome::fact(fact).play(Cue::Done);
        let all = match self.what {
            What::Dog(_) => session.seated.len(),
            What::Correction(_, correction) => correction.measurers.len(),
            What::List(open) => once::signers(session, &open.list).len(),
        };
        if self.signed.len() + 1 < all {
            return out;
        }
        if let What::Correction(visit, correction) = self.what {
            return correct::done(c, session, visit, correction, out);
        }
        out.items.push(Item::Seal { why: 1 });
        out
    }
}

/// A measurer signs what lies on the glass.
pub(super) fn sign(c: &Context, person: &str, pin: &str) -> Outcome {
    let Some((session, open)) = c.to_sign() else {
        return not_now();
    };
    if !open.is_for(session, person) {
        return not_now();
    }
    let over = signed_bytes(&open.head, open.bytes);
    let signature = match unlock(c, session, &open.signed, person, pin, &over) {
        Ok(signature) => signature.into(),
        Err(out) => return out,
    };
    let (visit, person, alg) = (open.visit(), person.to_owned(), ALG_ED25519);
    let head = open.head.into();
    let fact = match open.what {
        What::Dog(_) => Fact::Signed {
            visit,
            person,
            alg,
            head,
            signature,
        },
        What::Correction(..) => Fact::CorrectionSigned {
            visit,
            person,
            alg,
            head,
            signature,
        },
        What::List(_) => Fact::ListSigned {
            person,
            alg,
            head,
            signature,
        },
    };
    open.taken(c, session, fact)
}

/// The person's key is out of tries, or counts no more: they signed on paper, and the dog
/// awaits their signature here.
fn on_paper(c: &Context, session: &Session, visit: &Visit, person: &str, paper: &str) -> Outcome {
    let seated = session.seated.iter().any(|p| p == person);
    let mut there = visit.signed.iter().chain(&visit.confirmed);
    let answered = there.any(|p| p == person) || visit.paper.contains_key(person);
    if !seated || answered || !cannot_sign(c.state, session, person, c.stamp.at_ms) {
        return not_now();
    }
    let Some(paper) = paper_number(paper) else {
        return Outcome::refuse(Text::of("refused.paper_number"));
    };
    let mut out = Outcome::fact(Fact::SignedOnPaper {
        visit: visit.number,
        person: person.to_owned(),
        paper: paper.to_owned(),
    })
    .say(Tone::Care, Text::of("notice.signed_on_paper"))
    .play(Cue::Done);
    let answered = visit.signed.len() + visit.confirmed.len() + visit.paper.len();
    if answered + 1 >= session.seated.len() {
        out.items.push(Item::Seal { why: 1 });
    }
    out
}

/// The number printed on a paper, if it is one.
pub(super) fn paper_number(typed: &str) -> Option<&str> {
    let number = typed.trim();
    let digits = number.bytes().all(|b| b.is_ascii_digit());
    (digits && (1..=20).contains(&number.len())).then_some(number)
}

/// A signature with the person's own key, opened by their PIN; or what is said and
/// written instead.
pub(super) fn unlock(
    c: &Context,
    session: &Session,
    signed: &[String],
    person: &str,
    pin: &str,
    bytes: &[u8],
) -> Result<[u8; 64], Outcome> {
    let name = session.loaded.name_of(person).to_owned();
    if !session.seated.iter().any(|p| p == person) {
        return Err(not_now());
    }
    if signed.iter().any(|p| p == person) {
        return Err(Outcome::refuse(
            Text::of("refused.signed_already").plain("name", name),
        ));
    }
    if let Some(why) = super::may_not_sign(c.state, session, person, c.stamp.at_ms) {
        return Err(Outcome::refuse(why));
    }
    open_key(c, &name, person, pin, bytes)
}

/// A signature with a person's own key on this phone, opened by their PIN, or by what the
/// phone's biometrics gave up for its owner; or what is said and written instead.
pub(super) fn open_key(
    c: &Context,
    name: &str,
    person: &str,
    pin: &str,
    bytes: &[u8],
) -> Result<[u8; 64], Outcome> {
    let unlock = c.owner.unlock.as_ref();
    let tries = tries_left(c.state, person, c.stamp.at_ms);
    if tries == 0 && unlock.is_none() {
        return Err(Outcome::refuse(
            Text::of("refused.pin_pause")
                .plain("name", name)
                .count("minutes", LOCK_MS / 60_000),
        ));
    }
    let key = match unlock {
        None => c.journal.person_key(person),
        Some(_) => c.journal.owner_key(),
    };
    let key = match key {
        Ok(Some(key)) => key,
        Ok(None) if unlock.is_some() => return Err(owner::gone(person)),
        Ok(None) => return Err(Outcome::refuse(Text::of("refused.pin_lacking"))),
        Err(fault) => {
            return Err(Outcome::refuse(
                Text::of("refused.key").plain("reason", fault.to_string()),
            ));
        }
    };
    let secret = unlock.map_or(pin.as_bytes(), |u| u.as_slice());
    match key.sign(secret, c.device_secret, bytes) {
        Ok(signature) => Ok(signature),
        Err(_) if unlock.is_some() => Err(owner::gone(person)),
        Err(_) => {
            let mut out = Outcome::refuse(
                Text::of("refused.pin_wrong")
                    .plain("name", name)
                    .count("count", i64::from(tries) - 1),
            );
            out.items.push(Item::Fact(Fact::PinRefused {
                person: person.to_owned(),
            }));
            Err(out)
        }
    }
}
