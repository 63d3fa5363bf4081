//! A session that is signed once: keys opened at the start and after idling or handing
//! over, each dog confirmed by a tap, one list signed at the close.

use super::{Context, Outcome, not_now, sign};
use crate::act::Act;
use crate::state::{Closing, OpenList, Session, State, Visit};
use crate::view::{Cue, Text, Tone};

use standsquare_journal::record::fact::{ALG_ED25519, Fact, List, Listed};
use standsquare_journal::record::{statement_hash, unlock_bytes};
use standsquare_journal::store::Item;

/// Who has to open their key before the next dog is called: everybody at the table who can
/// sign here. Whoever cannot signs on paper.
pub fn must_unlock<'a>(state: &State, session: &'a Session, now_ms: i64) -> Vec<&'a String> {
    let between = session.queue_open
        && session.closing == Closing::Open
        && session.in_hand().is_none()
        && session.is_signed_once();
    let closed = |p: &&String| {
        between
            && !session.away.contains(*p)
            && !session.is_unlocked(p, now_ms)
            && !sign::cannot_sign(state, session, p, now_ms)
    };
    session.seated.iter().filter(closed).collect()
}

/// A measurer opens their key. Whoever was away is back with it: their PIN says so.
pub(super) fn unlock(c: &Context, person: &str, pin: &str) -> Outcome {
    let now_ms = c.stamp.at_ms;
    let Some(session) = c.session() else {
        return not_now();
    };
    let open = session.queue_open && session.closing == Closing::Open;
    if !open || !session.is_signed_once() || session.is_unlocked(person, now_ms) {
        return not_now();
    }
    let head = c.journal.head().hash;
    let signature = match sign::unlock(c, session, &[], person, pin, &unlock_bytes(&head)) {
        Ok(signature) => signature,
        Err(out) => return out,
    };
    let out = Outcome::fact(Fact::Unlocked {
        person: person.to_owned(),
        alg: ALG_ED25519,
        head: head.into(),
        signature: signature.into(),
    })
    .play(Cue::Done);
    if !session.away.contains(person) {
        return out;
    }
    out.and(Fact::SteppedAway {
        person: person.to_owned(),
        away: false,
    })
}

/// The phone is handed on: every key is closed.
pub(super) fn lock(c: &Context) -> Outcome {
    match c.session() {
        Some(s) if s.closing == Closing::Open && !s.unlocked.is_empty() => {
            Outcome::fact(Fact::Locked {}).say(Tone::Good, Text::of("notice.locked"))
        }
        _ => not_now(),
    }
}

/// A measurer confirms what the screen shows.
pub(super) fn confirm(c: &Context, session: &Session, visit: &Visit, person: &str) -> Outcome {
    let Some((.., head)) = &visit.stated else {
        return not_now();
    };
    if !session.is_tapped(visit) || !session.seated.iter().any(|p| p == person) {
        return not_now();
    }
    let name = session.loaded.name_of(person).to_owned();
    let mut there = visit.signed.iter().chain(&visit.confirmed);
    if there.any(|p| p == person) {
        return Outcome::refuse(Text::of("refused.signed_already").plain("name", name));
    }
    // The key was opened before the office's word came: what it would sign at the close does
    // not count, and so neither does the tap.
    if let Some(why) = super::may_not_sign(c.state, session, person, c.stamp.at_ms) {
        return Outcome::refuse(why);
    }
    if !session.is_unlocked(person, c.stamp.at_ms) {
        return Outcome::refuse(Text::of("refused.unlock_first").plain("name", name));
    }
    let mut out = Outcome::fact(Fact::Confirmed {
        visit: visit.number,
        person: person.to_owned(),
        head: (*head).into(),
    })
    .play(Cue::Done);
    let mut after = visit.clone();
    after.confirmed.push(person.to_owned());
    after.paper.remove(person);
    if after.is_answered() {
        out.items.push(Item::Seal { why: 1 });
    }
    out
}

/// The list that is being signed, if one is.
pub(super) fn open_list(session: &Session) -> Option<&OpenList> {
    let reviewing = session.closing == Closing::Reviewing;
    session.list.as_ref().filter(|_| reviewing)
}

/// Who signs something with this list, in the order seated.
pub fn signers<'a>(session: &'a Session, list: &List) -> Vec<&'a String> {
    let signs = |p: &&String| list.of(p).next().is_some();
    session.seated.iter().filter(signs).collect()
}

/// Puts the list up, or leaves it.
pub(super) fn list(c: &Context, act: &Act) -> Outcome {
    let Some(session) = c.session() else {
        return not_now();
    };
    match (act, open_list(session)) {
        (Act::LeaveList, Some(_)) => Outcome::fact(Fact::ListLeft {}),
        (Act::StateList, None) if session.closing == Closing::Reviewing => {
            if let Some(why) = super::may_not_close(session) {
                return Outcome::refuse(why);
            }
            let list = list_of(session);
            if list.dogs.is_empty() {
                return not_now();
            }
            Outcome::fact(Fact::ListStated {
                list: list.encode(),
            })
        }
        _ => not_now(),
    }
}

/// Every dog that somebody confirmed and has not signed, as it was shown to them.
fn list_of(session: &Session) -> List {
    let listed = |visit: &Visit| {
        let (statement, bytes, _) = visit.stated.as_ref()?;
        Some(Listed {
            visit: visit.number,
            dog: statement.dog.clone(),
            chip: statement.chip.clone(),
            outcome: statement.outcome.clone(),
            statement: statement_hash(bytes).into(),
            by: visit.confirmed.clone(),
        })
    };
    List {
        session: session.id.into(),
        dogs: session.to_be_listed().filter_map(listed).collect(),
        demo: session.loaded.roster.demo,
    }
}

/// A measurer whose PIN is out of tries, or whose key counts no more, has signed the list on numbered paper.
pub(super) fn sign_on_paper(c: &Context, person: &str, paper: &str) -> Outcome {
    let Some((session, open)) = c.session().and_then(|s| Some((s, open_list(s)?))) else {
        return not_now();
    };
    let theirs = open.list.of(person).next().is_some() && !open.answered.contains_key(person);
    if !theirs || !sign::cannot_sign(c.state, session, person, c.stamp.at_ms) {
        return not_now();
    }
    let Some(paper) = sign::paper_number(paper) else {
        return Outcome::refuse(Text::of("refused.paper_number"));
    };
    let out = Outcome::fact(Fact::ListOnPaper {
        person: person.to_owned(),
        paper: paper.to_owned(),
    });
    let out = out.say(Tone::Care, Text::of("notice.list_on_paper"));
    let mut out = out.play(Cue::Done);
    if open.answered.len() + 1 >= signers(session, &open.list).len() {
        out.items.push(Item::Seal { why: 1 });
    }
    out
}
