//! A measurer signs on their own phone: this phone shows exactly what is to be signed, theirs
//! shows it to them and gives their signature back. Neither needs a signal.
//!
//! It is offered where what is signed is on this glass already, for all who sit to see: a
//! dog's statement (where each makes their own placings, once the last one has made theirs),
//! a correction, the list at the close.

use standsquare_journal::record::CodeFault;
use standsquare_journal::record::elsewhere::{Answer, Ask, Shown, digest, signed_bytes};
use standsquare_journal::record::fact::{ALG_ED25519, Fact};
use standsquare_journal::record::notice::Standing;
use standsquare_journal::record::verify_signature;
use standsquare_journal::store::Item;

use super::sign::ToSign;
use super::{Context, Outcome, look, not_now, notices, sign};
use crate::act::Act;
use crate::looking::{Looking, ShownCodes};
use crate::qr;
use crate::show::signed_lines;
use crate::state::{Session, State};
use crate::view::{Cue, Text, Tone};

/// Whether this measurer may be asked to sign what lies on the glass on their own phone: the
/// office has said that a key other than the one here is theirs, and they have not signed.
pub(crate) fn may_sign_elsewhere(
    state: &State,
    session: &Session,
    person: &str,
    now_ms: i64,
) -> bool {
    let wants = |open: ToSign| {
        open.is_for(session, person) && !open.signed.iter().any(|signed| signed == person)
    };
    let here = state.keys.get(person);
    ToSign::of(session).is_some_and(wants)
        && state.ring.keys_of(person, now_ms).any(|k| Some(k) != here)
}

pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    match act {
        Act::SignElsewhere { person } => ask(c, person),
        Act::Sign { person, pin } => sign_for(c, person, pin),
        _ => not_now(),
    }
}

/// Whether somebody signs here for another phone.
pub(super) fn is_open(c: &Context) -> bool {
    matches!(c.looking.last(), Some(Looking::SignFor(..)))
}

/// What is to be signed, as codes.
fn ask(c: &mut Context, person: &str) -> Outcome {
    let Some((session, open)) = c.to_sign() else {
        return not_now();
    };
    if !may_sign_elsewhere(c.state, session, person, c.stamp.at_ms) {
        return not_now();
    }
    let text = Ask::of(person, c.journal.device_key(), open.head, open.bytes).code();
    let (Some(frames), Ok(shown)) = (qr::in_turn(&text), Shown::decode_strict(open.bytes)) else {
        return not_now();
    };
    let name = session.loaded.name_of(person).to_owned();
    let shown = ShownCodes {
        how: Text::of("codes.how_sign").plain("name", name),
        frames,
        since_ms: c.stamp.at_ms,
        at: 0,
        says: signed_lines(&session.loaded, &shown),
        answered: true,
        from_start: true,
        file: (format!("sign-{}.txt", open.visit()), text.into_bytes()),
    };
    look::open(c, Looking::Codes(Box::new(shown)));
    Outcome::default()
}

fn unread(fault: &CodeFault) -> Outcome {
    Outcome::refuse(Text::of(match fault {
        CodeFault::TooNew => "refused.code_too_new",
        CodeFault::Forged => "refused.code_forged",
        _ => "refused.code_damaged",
    }))
}

/// Another phone asks somebody to sign: they are shown what it showed.
pub(super) fn asked(c: &mut Context, text: &str) -> Outcome {
    let (ask, shown) = match Ask::read(text) {
        Ok(read) => read,
        Err(fault) => return unread(&fault),
    };
    if *ask.device_key == c.journal.device_key() {
        return Outcome::refuse(Text::of("refused.sign_own_phone"));
    }
    let Some(loaded) = c.loaded() else {
        return Outcome::refuse(Text::of("refused.no_roster"));
    };
    if loaded.person(&ask.person).is_none() || !c.state.keys.contains_key(&ask.person) {
        let name = loaded.name_of(&ask.person).to_owned();
        return Outcome::refuse(Text::of("refused.sign_no_key").plain("name", name));
    }
    if !shown.is_for(&ask.person) {
        let name = loaded.name_of(&ask.person).to_owned();
        return Outcome::refuse(Text::of("refused.sign_not_seated").plain("name", name));
    }
    let now = (c.stamp.at_ms, c.stamp.offset_min);
    if let Some(why) = notices::may_not_sit(c.state, loaded, &ask.person, now) {
        return Outcome::refuse(why);
    }
    look::open(c, Looking::SignFor(Box::new((ask, shown))));
    Outcome::default()
}

/// They sign it here.
fn sign_for(c: &mut Context, person: &str, pin: &str) -> Outcome {
    let Some(Looking::SignFor(asked)) = c.looking.last() else {
        return not_now();
    };
    let ask = asked.0.clone();
    let (Some(loaded), Some(key)) = (c.loaded(), c.state.keys.get(&ask.person)) else {
        return not_now();
    };
    if ask.person != person {
        return not_now();
    }
    let now = (c.stamp.at_ms, c.stamp.offset_min);
    if let Some(why) = notices::may_not_sit(c.state, loaded, person, now) {
        return Outcome::refuse(why);
    }
    let name = loaded.name_of(person).to_owned();
    let signature = match sign::open_key(c, &name, person, pin, &ask.bytes()) {
        Ok(signature) => signature,
        Err(out) => return out,
    };
    let answer = Answer {
        person: person.to_owned(),
        device_key: c.journal.device_key().into(),
        key: (*key).into(),
        digest: ask.digest,
        signature: signature.into(),
    };
    let text = answer.code();
    let Some(frames) = qr::in_turn(&text) else {
        return Outcome::refuse(Text::of("refused.not_now"));
    };
    c.looking.pop();
    c.looking.push(Looking::Codes(Box::new(ShownCodes {
        how: Text::of("codes.how_signed"),
        frames,
        since_ms: c.stamp.at_ms,
        at: 0,
        says: Vec::new(),
        answered: false,
        from_start: true,
        file: (format!("signature-{person}.txt"), text.into_bytes()),
    })));
    let mut out = Outcome::fact(Fact::SignedForOther {
        device_key: ask.device_key,
        person: person.to_owned(),
        statement: ask.statement.to_vec(),
        alg: ALG_ED25519,
        head: ask.head,
        signature: signature.into(),
    });
    // As at every sign-off: what this phone signed is whole and on its way. A seal would break off
    // what is being signed here; it goes with the next one then.
    let busy = |s: &Session| ToSign::of(s).is_some() || s.in_hand().is_some();
    if !c.session().is_some_and(busy) {
        out.items.push(Item::Seal { why: 1 });
    }
    out.play(Cue::Done)
}

/// The signature comes back.
pub(super) fn answered(c: &mut Context, text: &str) -> Outcome {
    let answer = match Answer::read(text) {
        Ok(read) => read,
        Err(fault) => return unread(&fault),
    };
    if *answer.device_key == c.journal.device_key() {
        return Outcome::refuse(Text::of("refused.sign_own_phone"));
    }
    let Some((session, open)) = c.to_sign() else {
        return Outcome::refuse(Text::of("refused.sign_nothing_open"));
    };
    let person = answer.person.as_str();
    let name = session.loaded.name_of(person).to_owned();
    if !open.is_for(session, person) {
        return Outcome::refuse(Text::of("refused.sign_not_seated").plain("name", name));
    }
    let over = signed_bytes(&open.head, open.bytes);
    if digest(&over) != *answer.digest {
        return Outcome::refuse(Text::of("refused.sign_other_text"));
    }
    if open.signed.iter().any(|p| p == person) {
        return Outcome::refuse(Text::of("refused.signed_already").plain("name", name));
    }
    let refused = match c.state.ring.standing(person, &answer.key, c.stamp.at_ms) {
        Standing::Good | Standing::RevokedLater { .. } => None,
        Standing::Unknown => Some("refused.sign_key_unknown"),
        _ => Some("refused.sign_key_no_more"),
    };
    if let Some(key) = refused {
        return Outcome::refuse(Text::of(key).plain("name", name));
    }
    if verify_signature(ALG_ED25519, &answer.key, &over, &answer.signature).is_err() {
        return Outcome::refuse(Text::of("refused.sign_forged"));
    }
    let fact = Fact::SignedElsewhere {
        visit: open.visit(),
        person: person.to_owned(),
        alg: ALG_ED25519,
        head: open.head.into(),
        signature: answer.signature,
        key: answer.key,
        device_key: answer.device_key,
    };
    let mut out = open.taken(c, session, fact);
    // What the last signature brings about is said in its place.
    if out.notice.is_none() {
        let came = Text::of("notice.signed_elsewhere").plain("name", name);
        out = out.say(Tone::Good, came);
    }
    c.looking.clear();
    out
}
