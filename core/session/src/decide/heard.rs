//! The list of this table's dogs for another table, another table's list taken in, and what
//! the measurers say to a dog that was measured there.

use standsquare_journal::record::dogs::{Came, Dogs, MOST};
use standsquare_journal::record::fact::{Fact, Outcome as Ends};

use super::{Context, Outcome, codes, not_now, sign};
use crate::act::Act;
use crate::days;
use crate::judging::hides_others;
use crate::looking::{Looking, ShownCodes};
use crate::qr;
use crate::show::{code_line, moment};
use crate::state::{Session, Step, Visit, plain_number};
use crate::view::{Cue, Text, Tone};

/// Why a dog is stopped that was measured at another table.
const OTHER_TABLE: &str = "other_table";

/// A list older than this says nothing of the dogs that are here today. Own choice, no source:
/// a show of a week.
const OLDEST_MS: i64 = 7 * 24 * 60 * 60 * 1_000;

/// Another phone's clock may be ahead by this much. Own choice, no source.
const AHEAD_MS: i64 = 24 * 60 * 60 * 1_000;

/// Why no list can be shown, if none can.
pub(crate) fn nothing_to_list(session: &Session) -> Option<Text> {
    let any = listed(session).next().is_some();
    (!any).then(|| Text::of("refused.nothing_to_list"))
}

/// Dogs for which all have answered and that were not left to another table.
fn listed(session: &Session) -> impl Iterator<Item = &Visit> {
    let answered = session.visits.iter().filter(|v| v.is_answered());
    answered.filter(|v| v.stopped.as_deref() != Some(OTHER_TABLE))
}

/// The list of this table's dogs, as codes.
pub(super) fn list(c: &mut Context) -> Result<ShownCodes, Text> {
    let salt: [u8; 16] = c.random.bytes();
    let Some(session) = c.session().filter(|s| s.queue_open) else {
        return Err(Text::of("refused.nothing_to_list"));
    };
    if let Some(why) = nothing_to_list(session) {
        return Err(why);
    }
    let at_ms = c.stamp.at_ms;
    let mut list = Dogs {
        league: session.loaded.roster.league.id.clone(),
        session: session.id.into(),
        journal: c.journal.journal_id().into(),
        seq: c.state.seq,
        at_ms,
        salt: salt.into(),
        categories: Vec::new(),
        dogs: Vec::new(),
        demo: session.loaded.roster.demo,
    };
    let hides = hides_others(&session.loaded.pack);
    let mut without = 0;
    for visit in listed(session) {
        let Some((statement, ..)) = &visit.stated else {
            continue;
        };
        let came = match &statement.outcome {
            Ends::NotToday { .. } => Came::NotToday,
            _ if hides => Came::Untold,
            Ends::Category { id, .. } => Came::Category(id.clone()),
            Ends::Referred { .. } => Came::Referred,
        };
        let done_ms = visit.told_ms.unwrap_or(visit.on_surface_ms);
        let ago = at_ms.saturating_sub(done_ms).max(0) / 60_000;
        let read = statement.chip_read.as_deref();
        let mut numbers: Vec<String> = [Some(statement.chip.as_str()), read]
            .into_iter()
            .flatten()
            .filter_map(plain_number)
            .collect();
        numbers.dedup();
        if numbers.is_empty() {
            without += 1;
        }
        for number in numbers {
            list.add(&number, &came, u32::try_from(ago).unwrap_or(u32::MAX));
        }
    }
    // The latest dogs are those that may come to another table now.
    let over = list.dogs.len().saturating_sub(MOST);
    list.dogs.drain(..over);
    let key = c.journal.device_key();
    let text = list.code(&key, |bytes| c.journal.sign_by_device(bytes));
    let frames = qr::in_turn(&text).ok_or_else(|| Text::of("refused.not_now"))?;
    let mut says = vec![
        code_line(
            "codes.dogs",
            Text::of("codes.dogs_are").count("count", list.dogs.len() as i64),
        ),
        code_line("codes.made", moment(at_ms, session.offset_min)),
    ];
    if without > 0 {
        let left_out = Text::of("codes.without_chip").count("count", without);
        says.push(code_line("codes.left_out", left_out));
    }
    Ok(ShownCodes {
        how: Text::of("codes.how_dogs"),
        frames,
        since_ms: at_ms,
        at: 0,
        says,
        answered: false,
        from_start: true,
        file: (format!("dogs-{}.txt", session.day), text.into_bytes()),
    })
}

/// Another table's list was read.
pub(super) fn take(c: &mut Context, text: &str) -> Outcome {
    let Some(session) = c.session() else {
        return Outcome::refuse(Text::of("refused.list_no_session"));
    };
    let own = c.journal.device_key();
    let mut keys = session.loaded.phone_keys();
    keys.push(own);
    let (key, list) = match Dogs::check(text, &keys) {
        Ok(checked) => checked,
        Err(fault) => return codes::refused(&fault),
    };
    if key == own || *list.journal == c.journal.journal_id() {
        return Outcome::refuse(Text::of("refused.own_list"));
    }
    let league = &session.loaded.roster.league.id;
    if list.league != *league || list.demo != session.loaded.roster.demo {
        return Outcome::refuse(Text::of("refused.list_of_another_league"));
    }
    let age = c.stamp.at_ms.saturating_sub(list.at_ms);
    if !(-AHEAD_MS..=OLDEST_MS).contains(&age) {
        let day = days::of_moment(list.at_ms, session.offset_min);
        return Outcome::refuse(Text::of("refused.list_of_another_day").day("day", day));
    }
    if let Some(had) = session.list_of(&list.journal)
        && had.seq >= list.seq
    {
        return Outcome::default().say(Tone::Care, Text::of("notice.list_known"));
    }
    let Ok(message) = Dogs::message(text) else {
        return Outcome::refuse(Text::of("refused.code_damaged"));
    };
    let said = said_of(session, &list);
    let journal = list.journal;
    if matches!(c.looking.last(), Some(Looking::SlipCheck(_))) {
        c.looking.pop();
    }
    Outcome::fact(Fact::DogsHeard {
        device_key: key.into(),
        journal,
        list: message,
    })
    .say(Tone::Good, said)
    .play(Cue::ChipMatches)
}

/// How many dogs of it are still to come here.
fn said_of(session: &Session, list: &Dogs) -> Text {
    let here = session.loaded.roster.dogs.iter().filter(|d| {
        let number = plain_number(&d.chip);
        session.visit_of(&d.id).is_none() && number.is_some_and(|n| list.find(&n).is_some())
    });
    Text::of("notice.list_taken")
        .count("count", list.dogs.len() as i64)
        .plain("here", here.count().to_string())
}

/// What the measurers say to a dog that was measured at another table.
pub(super) fn answer(c: &mut Context, act: &Act) -> Outcome {
    let Some((_, visit)) = c.at(Step::Heard) else {
        return not_now();
    };
    let Some(elsewhere) = &visit.elsewhere else {
        return not_now();
    };
    let goes_on = matches!(act, Act::MeasureHereToo);
    let out = Outcome::fact(Fact::HeardAnswered {
        visit: visit.number,
        journal: elsewhere.journal.into(),
        goes_on,
    });
    if goes_on {
        return out;
    }
    let mut after = visit.clone();
    after.elsewhere = None;
    after.stopped = Some(OTHER_TABLE.into());
    let out = out.and(Fact::Stopped {
        visit: visit.number,
        reason: OTHER_TABLE.into(),
    });
    sign::state_it(c, &after, out)
}
