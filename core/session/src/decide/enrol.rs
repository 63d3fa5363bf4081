//! Enrolling this phone at an office by its one-time code, and taking in what the office
//! then says: editions of the roster, and notices of keys.

use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::notice::Says;
use standsquare_journal::store::{Item, Journal};
use standsquare_sync::edition::{roster_digest, roster_text};
use standsquare_sync::enrol::CodeFault;
use standsquare_sync::{Edition, EnrolAsk, EnrolCode, Enrolment};

use super::office::clock;
use super::{Context, Outcome, notices, setup};
use crate::sending::ENROL_PATH;
use crate::state::State;
use crate::view::{Effect, Text, Tone};

/// Whether a text is an office's one-time code, of whatever version.
pub(super) fn is_code(text: &str) -> bool {
    EnrolCode::is_one(text)
}

/// A code was scanned, typed or opened: the office it names is asked.
pub(super) fn begin(c: &mut Context, text: &str) -> Outcome {
    let code = match EnrolCode::read(text) {
        Ok(code) => code,
        Err(CodeFault::TooNew) => return Outcome::refuse(Text::of("refused.enrol_too_new")),
        Err(_) => return Outcome::refuse(Text::of("refused.enrol_code")),
    };
    if c.state.is_record_of_another(&code.body) {
        return Outcome::refuse(Text::of("refused.other_office"));
    }
    let ask = EnrolAsk::of(&code, c.journal.device_key(), office_now(c));
    let body = ask.sign(|bytes| c.journal.sign_by_device(bytes));
    let address = code.address;
    let request = c.sending.enrol(address.clone(), ask, c.stamp.at_ms);
    // Whoever typed it has done with the field.
    c.looking.clear();
    let mut out = Outcome::default();
    out.effects.push(Effect::AskOffice {
        request,
        path: ENROL_PATH.into(),
        body,
        address,
    });
    out.say(Tone::Care, Text::of("notice.enrolling"))
}

/// The office's time as far as this phone knows it.
fn office_now(c: &Context) -> i64 {
    c.stamp.at_ms.saturating_sub(c.state.clock_ahead_ms)
}

/// The office answered to the code.
pub(super) fn answered(c: &mut Context, request: &str, status: u16, body: &[u8]) -> Outcome {
    let Some((address, ask)) = c.sending.enrolled(request) else {
        return Outcome::default();
    };
    match status {
        200 => {}
        403 => return Outcome::refuse(Text::of("refused.enrol_used")),
        429 => return Outcome::refuse(Text::of("refused.enrol_wait")),
        other => {
            let text = Text::of("notice.office_refused").count("status", i64::from(other));
            return Outcome::default().say(Tone::Bad, text);
        }
    }
    let Ok(said) = Enrolment::verify(body, &ask) else {
        return Outcome::refuse(Text::of("refused.receipt"));
    };
    c.sending.roster_wanted();
    let mut out = Outcome::fact(Fact::Enrolled {
        body: said.body.clone(),
        address,
        office_key: said.office_key.into(),
    });
    // Known from now on: the question for the roster comes with the office's time.
    out.items.extend(clock(c, request, said.at_ms));
    out.say(
        Tone::Good,
        Text::of("notice.enrolled").plain("body", said.body),
    )
}

/// The office could not be reached with the code.
pub(super) fn out_of_reach(c: &mut Context, request: &str) -> Outcome {
    match c.sending.enrolled(request) {
        Some(_) => Outcome::refuse(Text::of("refused.enrol_out_of_reach")),
        None => Outcome::default(),
    }
}

/// The roster in use as the office has its text, if that is still known.
pub(crate) fn held_text(state: &State, journal: &Journal) -> Option<String> {
    let loaded = state.roster.as_ref()?;
    let mut roster = loaded.roster.clone();
    for dog in &mut roster.dogs {
        let (id, _) = loaded.subject(&dog.id)?;
        dog.handler = String::from_utf8(journal.subject(&id).ok()??).ok()?;
    }
    Some(roster_text(&roster))
}

/// The office answered to the question for its roster.
pub(super) fn roster(c: &mut Context, request: &str, status: u16, body: &[u8]) -> Outcome {
    let now_ms = c.stamp.at_ms;
    if !c.sending.roster_answered(request) {
        return Outcome::default();
    }
    let Some(office) = c.state.enrolled.clone() else {
        return Outcome::default();
    };
    // What is wrong with the list is no business of whoever measures just now.
    let at_home = c.state.session.is_none();
    let refuse = |key: &str| match at_home {
        true => Outcome::refuse(Text::of(key)),
        false => Outcome::default(),
    };
    let edition = match (
        status,
        Edition::verify(body, &office.office_key, &office.body),
    ) {
        (200, Ok(edition)) if edition.number >= office.edition => edition,
        (401, _) => {
            c.sending.roster_failed(now_ms);
            return refuse("refused.enrol_clock");
        }
        (403, _) => {
            c.sending.roster_failed(now_ms);
            return refuse("refused.not_enrolled");
        }
        // An old answer played again, another's, or an office that has trouble.
        _ => {
            c.sending.roster_failed(now_ms);
            return Outcome::default();
        }
    };
    let mut out = Outcome::default();
    out.items.extend(clock(c, request, edition.at_ms));
    let mut said = None;
    for text in &edition.notices {
        let Ok((notice, Some(fact))) = notices::heard(c.state, text, office.office_key) else {
            continue;
        };
        out.items.push(Item::Fact(fact));
        if matches!(notice.says, Says::Revoked { .. }) {
            let name = c.loaded().map(|l| l.name_of(&notice.person).to_owned());
            said = Some(name.unwrap_or(notice.person));
        }
    }
    if at_home {
        out = taken(c, &edition, out);
    } else {
        // The day is measured by the roster that it began with; the next one after it.
        c.sending.roster_later(now_ms);
    }
    match said {
        Some(name) => out.say(Tone::Care, Text::of("notice.key_news").plain("name", name)),
        None => out,
    }
}

/// Puts an edition's roster beside what is to be recorded anyway.
fn taken(c: &mut Context, edition: &Edition, mut out: Outcome) -> Outcome {
    let now_ms = c.stamp.at_ms;
    let held = held_text(c.state, c.journal);
    let same = held
        .as_ref()
        .is_some_and(|t| roster_digest(t) == edition.digest);
    if !same {
        let Ok(text) = edition.take(held.as_deref()) else {
            // What is here is not what the office changed: the whole is asked for.
            c.sending.roster_whole(now_ms);
            return out;
        };
        let loaded = setup::load(c, &text);
        if loaded.items.is_empty() {
            c.sending.roster_failed(now_ms);
            out.notice = loaded.notice;
            return out;
        }
        out.items.extend(loaded.items);
        out.notice = loaded.notice;
    }
    c.sending.roster_later(now_ms);
    let known = c.state.enrolled.as_ref().map(|e| (e.edition, e.digest));
    if known != Some((edition.number, edition.digest)) {
        out.items.push(Item::Fact(Fact::EditionTaken {
            number: edition.number,
            digest: edition.digest.into(),
        }));
    }
    out
}
