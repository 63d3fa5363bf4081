//! Looking at something beside the session, and a bite or a fall, which is recorded.

use super::{Context, Outcome, codes, heard, not_now, pair, sign};
use crate::act::Act;
use crate::calendar;
use crate::days;
use crate::looking::{Checked, GivenSlip, Looking};
use crate::past;
use crate::qr;
use crate::show::sheets;
use crate::state::{Closing, Happened, Session, State, Step, Visit};
use crate::view::{Cue, Effect, Text, Tone};

use standsquare_journal::record::fact::{Fact, Harm, Outcome as Ends, Statement, Whom};
use standsquare_journal::record::slip::{Slip, SlipFault};
use standsquare_journal::store::StoreFault;

/// Whom a bite can happen to, in the order shown.
pub(crate) const BITTEN: &[&str] = &["measurer", "handler", "other", "dog"];
/// Whom a fall can happen to, in the order shown.
pub(crate) const FALLEN: &[&str] = &["dog", "handler", "measurer", "other"];

/// Characters of an incident's words. Own choice: a few sentences.
const WORDS: usize = 400;

/// What is taken while something is looked at: what the world sends, and what goes to the
/// office. Everything else belongs to what lies under it.
pub(super) fn goes_on(act: &Act) -> bool {
    act.is_of_the_world() || matches!(act, Act::SendReturn | Act::LoadRoster { .. })
}

/// Whether a bite or a fall can be recorded: from the opened queue to the closing.
pub(crate) fn may_happen(state: &State) -> bool {
    let session = state.session.as_ref();
    session.is_some_and(|s| s.queue_open && s.closing != Closing::Closed)
}

/// The visit of which a slip can be given: all have signed here.
pub(crate) fn may_have_slip<'a>(session: &'a Session, dog: &str) -> Option<&'a Visit> {
    session.visit_of(dog).filter(|v| v.is_signed())
}

pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    match act {
        Act::LeaveLook => {
            c.looking.pop();
            return Outcome::default();
        }
        Act::OpenSlip { dog } => match given(c, dog) {
            Ok((_, slip)) => open(c, Looking::Slip(Box::new(slip))),
            Err(out) => return out,
        },
        Act::PrintSlip { dog } => return print(c, dog),
        Act::CalendarEntry { dog, summary } => return entry(c, dog, summary),
        Act::OpenSlipCheck => open(c, Looking::SlipCheck(None)),
        Act::CheckSlip { text } => return check(c, text),
        Act::OpenDogsList => match heard::list(c) {
            Ok(shown) => open(c, Looking::Codes(Box::new(shown))),
            Err(why) => return Outcome::refuse(why),
        },
        Act::ShareCodes => return codes::share(c),
        Act::OpenPairing => return pair::open(c),
        Act::SettleDispute { dog, here } => return pair::settle(c, dog, *here),
        Act::OpenPast { session } => match past::left(c.state, c.journal, session) {
            Ok(Some(session)) => open(c, Looking::Past(Box::new(session))),
            Ok(None) => return Outcome::refuse(Text::of("refused.session_unknown")),
            Err(fault) => return unreadable(&fault),
        },
        Act::OpenHistory { chip } => match past::history(c.state, c.journal, chip) {
            Ok(history) => open(c, Looking::History(Box::new(history))),
            Err(fault) => return unreadable(&fault),
        },
        Act::OpenSettings if c.session().is_none_or(|s| s.in_hand().is_none()) => {
            open(c, Looking::Settings);
        }
        Act::OpenIncident if may_happen(c.state) => open(c, Looking::Incident),
        Act::RecordIncident { what, whom, words } => return happened(c, what, whom, words),
        _ => return not_now(),
    }
    Outcome::default()
}

/// The same thing twice is one: a second tap lays nothing on top.
pub(super) fn open(c: &mut Context, what: Looking) {
    let kind = std::mem::discriminant(&what);
    if let Some(top) = c.looking.last_mut()
        && std::mem::discriminant(top) == kind
    {
        *top = what;
    } else {
        c.looking.push(what);
    }
}

fn unreadable(fault: &StoreFault) -> Outcome {
    Outcome::refuse(Text::of("refused.record").plain("reason", fault.to_string()))
}

/// What a statement came to, as a slip says it: the category's label, or a fixed word
/// with its reason.
fn result(statement: &Statement) -> String {
    match &statement.outcome {
        Ends::Category { label, .. } => label.clone(),
        Ends::NotToday { reason } => format!("not-today:{reason}"),
        Ends::Referred { reason } => format!("referred:{reason}"),
    }
}

fn slip_of(s: &Statement) -> Slip {
    Slip {
        dog: s.dog.clone(),
        chip: s.chip.clone(),
        result: result(s),
        status: s.status.clone(),
        day: s.day,
        window_from: s.window_from,
        window_to: s.window_to,
        measurers: s.measurers.clone(),
        pack: format!("{} {}", s.pack, s.edition),
        demo: s.demo,
    }
}

fn given<'a>(c: &'a Context, dog: &str) -> Result<(&'a Visit, GivenSlip), Outcome> {
    let session = c.session().ok_or_else(not_now)?;
    let not_yet = || Outcome::refuse(Text::of("refused.slip_not_signed"));
    let visit = may_have_slip(session, dog).ok_or_else(not_yet)?;
    let (statement, ..) = visit.stated.as_ref().ok_or_else(not_yet)?;
    let slip = slip_of(statement);
    let code = qr::matrix(&c.journal.slip(&slip))
        .ok_or_else(|| Outcome::refuse(Text::of("refused.slip_too_long")))?;
    let given = GivenSlip {
        dog: dog.to_owned(),
        slip,
        code,
    };
    Ok((visit, given))
}

fn print(c: &Context, dog: &str) -> Outcome {
    let (session, (visit, given)) = match (c.session(), given(c, dog)) {
        (Some(session), Ok(given)) => (session, given),
        (_, Err(out)) => return out,
        (None, _) => return not_now(),
    };
    let mut out = Outcome::default();
    out.effects.push(Effect::Print {
        name: format!("slip-{}-{}.pdf", session.day, visit.number),
        sheet: sheets::of_slip(session, visit, &given),
    });
    out
}

fn entry(c: &Context, dog: &str, summary: &str) -> Outcome {
    let Some(session) = c.session() else {
        return not_now();
    };
    let stated = may_have_slip(session, dog).and_then(|v| Some((v, v.stated.as_ref()?)));
    let Some((visit, (statement, ..))) = stated else {
        return Outcome::refuse(Text::of("refused.slip_not_signed"));
    };
    let (Some(from), Some(to)) = (statement.window_from, statement.window_to) else {
        return not_now();
    };
    let id = uuid::Uuid::from_bytes(session.id);
    let summary = match summary.trim() {
        "" => &statement.dog,
        said => said,
    };
    let text = calendar::entry(
        &format!("{id}-{}", visit.number),
        c.stamp.at_ms,
        days::date(from),
        days::date(to),
        summary,
    );
    let mut out = Outcome::default();
    out.effects.push(Effect::Share {
        name: format!("second-measure-{}-{}.ics", session.day, visit.number),
        media_type: "text/calendar".into(),
        bytes: text.into_bytes(),
    });
    out
}

fn check(c: &mut Context, text: &str) -> Outcome {
    if !matches!(c.looking.last(), Some(Looking::SlipCheck(_))) {
        return not_now();
    }
    let checked = checked(c, text);
    let cue = match checked.slip {
        Some(_) => Cue::ChipMatches,
        None => Cue::ChipDiffers,
    };
    open(c, Looking::SlipCheck(Some(checked)));
    Outcome::default().play(cue)
}

/// Checks a slip with the office's key, with those of the phones that the roster names,
/// and with this phone's own.
fn checked(c: &Context, text: &str) -> Checked {
    let loaded = c.loaded();
    let office = loaded.and_then(|l| l.office_key());
    let phones = loaded.map(|l| l.phone_keys()).unwrap_or_default();
    let by = |keys: &[[u8; 32]]| Slip::check(text, keys);
    let genuine = |key, slip| Checked {
        key,
        slip: Some(slip),
    };
    if let Some(slip) = office.and_then(|key| by(&[key]).ok()) {
        return genuine("slip.by_office", slip);
    }
    if let Ok(slip) = by(&[c.journal.device_key()]) {
        return genuine("slip.by_this_phone", slip);
    }
    let key = match by(&phones) {
        Ok(slip) => return genuine("slip.by_known_phone", slip),
        // A key of the office's or this phone's own under a signature that is not theirs.
        Err(SlipFault::UnknownKey) => {
            let own: Vec<_> = office.into_iter().chain([c.journal.device_key()]).collect();
            match by(&own) {
                Err(SlipFault::UnknownKey) if loaded.is_none() => "slip.no_roster",
                Err(SlipFault::UnknownKey) => "slip.unknown_key",
                _ => "slip.forged",
            }
        }
        Err(SlipFault::Other(_)) => "slip.no_slip",
        Err(SlipFault::TooNew) => "slip.too_new",
        Err(SlipFault::Forged) => "slip.forged",
        Err(_) => "slip.unreadable",
    };
    Checked { key, slip: None }
}

fn happened(c: &mut Context, what: &str, whom: &str, words: &str) -> Outcome {
    let (harm, among) = match what {
        "bite" => (Harm::Bite, BITTEN),
        "fall" => (Harm::Fall, FALLEN),
        _ => return not_now(),
    };
    if !may_happen(c.state) || !among.contains(&whom) {
        return not_now();
    }
    let whom = match whom {
        "measurer" => Whom::Measurer,
        "handler" => Whom::Handler,
        "dog" => Whom::Dog,
        _ => Whom::Other,
    };
    let words = words.trim();
    if words.chars().count() > WORDS {
        return Outcome::refuse(Text::of("refused.words_long").count("most", WORDS as i64));
    }
    let Some(session) = c.session() else {
        return not_now();
    };
    let visit = session.in_hand();
    let happened = Happened {
        visit: visit.map_or(0, |v| v.number),
        what: harm,
        whom,
        words: words.to_owned(),
    };
    let out = Outcome::fact(Fact::Incident {
        visit: happened.visit,
        what: harm,
        whom,
        words: happened.words.clone(),
    });
    // What nobody has signed yet is stated anew, with it.
    let anew = visit.filter(|v| {
        let on_it = v.step() == Step::Sign || v.step() == Step::Correct;
        on_it && v.stated.is_some() && v.is_untouched()
    });
    let out = match anew {
        Some(visit) if visit.correcting.is_none() => {
            let mut after = session.clone();
            after.happened.push(happened);
            sign::state_for(&after, visit, out)
        }
        _ => out,
    };
    if matches!(c.looking.last(), Some(Looking::Incident)) {
        c.looking.pop();
    }
    out.say(Tone::Care, Text::of("notice.incident"))
        .play(Cue::Done)
}
