//! A measurer's own phone: what its key store gives up only to its owner's biometrics opens
//! their key in place of the PIN, and nobody else's. See decision 25.

use zeroize::Zeroizing;

use standsquare_journal::record::fact::Fact;
use standsquare_journal::store::{Item, WrappedKey};

use super::{Context, Outcome, elsewhere, look, not_now, sign};
use crate::act::Act;
use crate::looking::Looking;
use crate::roster::Loaded;
use crate::state::State;
use crate::view::{Cue, Effect, Text, Tone};

/// What the moment knows of the owner's biometrics. No record holds it: after a kill they are
/// asked for again.
#[derive(Default)]
pub struct Owner {
    /// The phone has them, and somebody enrolled.
    pub can: bool,
    /// For what they were asked.
    asked: Option<Asked>,
    /// What they gave up, while an act is done with it.
    pub(super) unlock: Option<Zeroizing<Vec<u8>>>,
}

struct Asked {
    /// The record as it was seen: what is opened is opened for what was on the glass.
    revision: u64,
    person: String,
    /// The second wrapping that is written once the key store has its unlock.
    new: Option<WrappedKey>,
}

impl Owner {
    /// Something else was done meanwhile: what is given up now is for nothing any more.
    pub(super) fn forget(&mut self) {
        self.asked = None;
    }
}

/// Why biometrics open nobody's key here, if they do not.
pub(crate) fn may_own(loaded: Option<&Loaded>) -> Option<Text> {
    let may = loaded.is_none_or(|l| l.pack.may_open_by_biometrics());
    (!may).then(|| Text::of("refused.owner_pack"))
}

/// Whether they open this person's.
pub(crate) fn owner_opens(
    state: &State,
    owner: &Owner,
    loaded: Option<&Loaded>,
    person: &str,
) -> bool {
    owner.can && state.owner.as_deref() == Some(person) && may_own(loaded).is_none()
}

/// Opens the page on which a measurer says with their PIN that the phone is theirs; or takes
/// it back, for which nobody need be asked.
pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    if !matches!(c.looking.last(), Some(Looking::Settings)) {
        return not_now();
    }
    match (act, &c.state.owner) {
        (Act::OwnPhone { person }, None) if c.owner.can && c.state.keys.contains_key(person) => {
            if let Some(why) = may_own(c.loaded()) {
                return Outcome::refuse(why);
            }
            look::open(c, Looking::OwnPhone(person.clone()));
            Outcome::default()
        }
        (Act::NotOwnPhone, Some(person)) => {
            off(person).say(Tone::Good, Text::of("notice.not_own_phone"))
        }
        _ => not_now(),
    }
}

/// The biometrics open no key any more.
fn off(person: &str) -> Outcome {
    Outcome {
        items: vec![Item::PersonKey(WrappedKey::no_owner())],
        ..Outcome::default()
    }
    .and(Fact::PhoneOwner {
        person: person.to_owned(),
        on: false,
    })
}

/// The same because they fail: the PIN is there as before.
pub(super) fn gone(person: &str) -> Outcome {
    off(person)
        .say(Tone::Care, Text::of("notice.owner_gone"))
        .play(Cue::Refused)
}

/// The measurer's PIN: their key is wrapped once more. Nothing is written before the key
/// store has what opens it.
pub(super) fn set_up(c: &mut Context, person: &str, pin: &str) -> Outcome {
    let name = c.loaded().map_or(person, |l| l.name_of(person)).to_owned();
    if !matches!(c.looking.last(), Some(Looking::OwnPhone(p)) if p == person) {
        return not_now();
    }
    // The PIN, with its tries.
    if let Err(out) = sign::open_key(c, &name, person, pin, &[]) {
        return out;
    }
    let (unlock, entropy): ([u8; 32], [u8; 32]) = (c.random.bytes(), c.random.bytes());
    let unlock = Zeroizing::new(unlock);
    let key = c.journal.person_key(person).ok().flatten();
    let new = key.and_then(|k| k.for_owner(pin, c.device_secret, &unlock, entropy).ok());
    if new.is_none() {
        return not_now();
    }
    ask_for(c, person, new, "owner.keep", unlock.to_vec())
}

/// In place of the PIN.
pub(super) fn ask(c: &mut Context, person: &str) -> Outcome {
    if !owner_opens(c.state, c.owner, c.loaded(), person) {
        return not_now();
    }
    ask_for(c, person, None, "owner.open", Vec::new())
}

fn ask_for(
    c: &mut Context,
    person: &str,
    new: Option<WrappedKey>,
    why: &str,
    keep: Vec<u8>,
) -> Outcome {
    let name = c.loaded().map_or(person, |l| l.name_of(person)).to_owned();
    c.owner.asked = Some(Asked {
        revision: c.state.revision,
        person: person.to_owned(),
        new,
    });
    let mut out = Outcome::default();
    out.effects.push(Effect::AskOwner {
        why: Text::of(why).plain("name", name),
        keep,
    });
    out
}

/// The key store answers: with what it gave up, or that there is nothing to give up any more.
/// What was asked for is done, if it is still on the glass.
pub(super) fn answer(c: &mut Context, secret: Option<&[u8]>) -> Outcome {
    let Some(Asked {
        revision,
        person,
        new,
    }) = c.owner.asked.take()
    else {
        return Outcome::default();
    };
    if revision != c.state.revision {
        return not_now();
    }
    let Some(secret) = secret else {
        return match new {
            Some(_) => Outcome::refuse(Text::of("refused.owner_not_kept")),
            None => gone(&person),
        };
    };
    if let Some(new) = new {
        if new.sign(secret, c.device_secret, &[]).is_err() {
            return Outcome::refuse(Text::of("refused.owner_not_kept"));
        }
        c.looking.pop();
        return Outcome {
            items: vec![
                Item::PersonKey(new),
                Item::Fact(Fact::PhoneOwner { person, on: true }),
            ],
            ..Outcome::default()
        }
        .say(Tone::Good, Text::of("notice.own_phone"))
        .play(Cue::Done);
    }
    let pin = String::new();
    let act = if elsewhere::is_open(c) {
        Act::Sign { person, pin }
    } else if c.state.practice.page.is_some() {
        Act::SignPractice { person, pin }
    } else if c.to_sign().is_some() {
        Act::Sign { person, pin }
    } else {
        Act::Unlock { person, pin }
    };
    c.owner.unlock = Some(Zeroizing::new(secret.to_vec()));
    let mut out = super::decide(c, &act);
    c.owner.unlock = None;
    // The signature is the first of what is written; this belongs to it.
    let signed = match out.items.first() {
        Some(Item::Fact(fact)) => fact.key_opened_by(),
        _ => None,
    };
    if let Some(person) = signed.map(str::to_owned) {
        let by_owner = Item::Fact(Fact::OpenedByOwner { person });
        out.items.insert(1, by_owner);
    }
    out
}
