//! Whether the rules let this dog be measured now, and what is to be pointed out if they do.

use chrono::NaiveDate;

use super::{Earlier, Purpose, before};
use crate::case::{Case, EarlierMeasure, GaugeHere, Identified, MeasurerHere, Seen, Tie};
use crate::dates::{Window, WindowPosition};
use crate::ids::GaugeId;
use crate::order::sort_by_key;
use crate::pack::{AgeBand, CountsFrom, Gauge, OtherMeasurers, Response, RulePack, Worth};
use crate::reason::Reason;
use crate::verdict::{Status, WhichMeasure};

/// What the rules say before anything is placed.
pub(crate) struct Admitted {
    pub measure: WhichMeasure,
    /// Earlier measures that count, in order of date.
    pub earlier: Vec<Earlier>,
    /// Days that the category may not outlast, with the clause that says so.
    pub caps: Vec<(NaiveDate, String)>,
    pub flags: Vec<Reason>,
    pub reasons: Vec<Reason>,
    pub refusals: Vec<Reason>,
    /// The age band today, with its clause.
    pub band: Option<(AgeBand, String)>,
    /// The second measure's window, where this is not the first.
    pub window: Option<Window>,
}

impl Admitted {
    pub(super) fn respond(&mut self, case: &Case, response: Response, reason: Reason) {
        match response {
            Response::Allowed => self.reasons.push(reason),
            Response::Flagged => self.flags.push(reason),
            Response::Refused => self.refusals.push(reason),
            Response::ProvisionalFor(span) => {
                let clause = reason.clause.clone();
                self.flags.push(reason);
                self.caps
                    .extend(span.after(case.today).map(|d| (d, clause)));
            }
        }
    }
}

/// Goes through everything that could keep this dog from being measured.
pub(crate) fn admit(pack: &RulePack, case: &Case) -> Admitted {
    let mut a = Admitted {
        measure: WhichMeasure::First,
        earlier: Vec::new(),
        caps: Vec::new(),
        flags: Vec::new(),
        reasons: Vec::new(),
        refusals: Vec::new(),
        band: None,
        window: None,
    };
    if !pack.is_valid_on(case.today) {
        let flag = Reason::new("rules-not-in-force", "pack.valid_from");
        a.flags.push(flag.with("date", case.today));
    }
    earlier(pack, case, &mut a);
    identity(pack, case, &mut a);
    age(pack, case, &mut a);
    again(pack, case, &mut a);
    window(pack, case, &mut a);
    by_eye(pack, case, &mut a);
    panel(pack, case, &mut a);
    measurers(pack, case, &mut a);
    gauges(pack, case, &mut a);
    a
}

fn by_eye(pack: &RulePack, case: &Case, a: &mut Admitted) {
    let Some(id) = &case.by_eye else { return };
    if !pack.category(id).is_some_and(|c| c.by_eye) {
        let reason = Reason::new("by-eye-not-allowed", format!("category[{id}].by_eye"));
        a.refusals.push(reason.with("category", id.clone()));
    }
}

fn earlier(pack: &RulePack, case: &Case, a: &mut Admitted) {
    // In order of date, and within a day of category, so that the order they come in never matters.
    let mut sorted: Vec<&EarlierMeasure> = case.earlier.iter().collect();
    sort_by_key(&mut sorted, |e| {
        (e.on, &e.category, e.status == Some(Status::Definitive))
    });
    for e in sorted {
        let Some(category) = pack.index_of(&e.category) else {
            let flag = Reason::new("unknown-category", "category");
            a.flags.push(flag.with("category", e.category.clone()));
            continue;
        };
        if e.on > case.today {
            let flag = Reason::new("earlier-in-future", "measures.needed");
            a.flags.push(flag.with("date", e.on));
        }
        let band = case.born.and_then(|born| band_on(pack, born, e.on));
        let worth = band.map(|(b, _)| b.worth_of(&e.category));
        // A panel may change what was provisional, too.
        let for_a_time = case.purpose != Purpose::Remeasure
            && matches!(worth, Some(Worth::Provisional | Worth::EventOnly));
        if e.for_event || for_a_time {
            continue;
        }
        let definitive = e.status == Some(Status::Definitive) || worth == Some(Worth::Definitive);
        a.earlier.push(Earlier {
            on: e.on,
            category,
            height: e.height,
            definitive,
            decided: definitive,
        });
    }
    // So many equal ones as the category needs are definitive whether or not anybody said so.
    let settled: Vec<bool> = a
        .earlier
        .iter()
        .map(|e| {
            let c = &pack.categories()[e.category];
            let needed = c.measures_needed.unwrap_or(pack.doc().measures.needed);
            let equal = a.earlier.iter().filter(|o| o.category == e.category);
            equal.count() >= needed as usize
        })
        .collect();
    for (e, settled) in a.earlier.iter_mut().zip(settled) {
        e.definitive |= settled;
    }
    a.measure = match case.purpose {
        Purpose::Remeasure => WhichMeasure::Panel,
        Purpose::ThisEvent => WhichMeasure::ThisEvent,
        Purpose::Measure => WhichMeasure::after(a.earlier.len()),
    };
    let reason = match a.measure {
        WhichMeasure::First => Reason::new("first-measure", "measures.needed"),
        WhichMeasure::Second => Reason::new("second-measure", "measures.needed"),
        WhichMeasure::Further(n) => {
            Reason::new("further-measure", "measures.needed").with("count", n)
        }
        WhichMeasure::Panel | WhichMeasure::ThisEvent => return,
    };
    a.reasons.push(reason);
}

fn identity(pack: &RulePack, case: &Case, a: &mut Admitted) {
    let rules = &pack.doc().identity;
    match &case.identity {
        Identified::Chip => {}
        Identified::Otherwise(how) if rules.alternatives.contains(how) => {
            let flag = Reason::new("identified-otherwise", "identity.alternatives");
            a.flags.push(flag.with("text", how.clone()));
        }
        Identified::Otherwise(_) | Identified::Not => {
            a.respond(
                case,
                rules.no_chip,
                Reason::new("no-chip", "identity.no_chip"),
            );
        }
    }
}

/// The band that a dog's age on a day falls in, with its number.
pub(super) fn band_on(
    pack: &RulePack,
    born: NaiveDate,
    day: NaiveDate,
) -> Option<(&AgeBand, usize)> {
    pack.doc().age.iter().zip(0..).find(|(band, _)| {
        band.from.after(born).is_some_and(|from| from <= day)
            && band
                .to
                .is_none_or(|to| to.after(born).is_some_and(|to| day < to))
    })
}

fn age(pack: &RulePack, case: &Case, a: &mut Admitted) {
    let doc = pack.doc();
    let Some(youngest) = doc.age.first() else {
        return;
    };
    let Some(born) = case.born else {
        let reason = Reason::new("birth-unknown", "age_rules.unknown");
        return a.respond(case, doc.age_rules.unknown, reason);
    };
    if born > case.today {
        let reason = Reason::new("birth-after-today", "age_rules.unknown").with("date", born);
        return a.respond(case, doc.age_rules.unknown, reason);
    }
    let from = youngest.from.after(born);
    if let Some(from) = from.filter(|from| case.today < *from) {
        let reason = Reason::new("too-young", "age[0].from").with("from", from);
        return a.respond(case, doc.age_rules.too_young, reason);
    }
    a.band = band_on(pack, born, case.today).map(|(b, i)| (b.clone(), format!("age[{i}].worth")));
}

fn again(pack: &RulePack, case: &Case, a: &mut Admitted) {
    let rules = &pack.doc().again;
    if case.earlier.iter().any(|e| e.on == case.today) {
        let reason = Reason::new("same-day-again", "again.same_day").with("date", case.today);
        a.respond(case, rules.same_day, reason);
    }
    a.reasons.extend(before::shown(case));
    let broken_off = u32::try_from(case.attempts.len()).unwrap_or(u32::MAX);
    if let Some(most) = rules.attempts
        && broken_off >= most
    {
        let reason = Reason::new("too-many-attempts", "again.attempts")
            .with("count", broken_off)
            .with("needed", most);
        a.respond(case, rules.too_many, reason);
    }
    let measures = &pack.doc().measures;
    let definitive = a.earlier.iter().rev().find(|e| e.definitive);
    if let (Some(e), Purpose::Measure) = (definitive, case.purpose) {
        let category = super::id(pack, e.category);
        let reason = Reason::new("already-definitive", "measures.after_definitive");
        let reason = reason.with("category", category);
        a.respond(case, measures.after_definitive, reason);
    }
    let last = case.earlier.iter().map(|e| e.on).max();
    let made = |id| match measures.other_measurers {
        OtherMeasurers::NotAsked => false,
        OtherMeasurers::NotTheLast => {
            let mut latest = case.earlier.iter().filter(|e| Some(e.on) == last);
            latest.any(|e| e.by.contains(id))
        }
        OtherMeasurers::NeverAgain => case.earlier.iter().any(|e| e.by.contains(id)),
    };
    if case.purpose == Purpose::Measure {
        for m in by_id(case).into_iter().filter(|m| made(&m.id)) {
            let reason = Reason::new("same-measurer-again", "measures.other_measurers");
            a.refusals.push(reason.with("measurer", m.id.clone()));
        }
    }
}

fn window(pack: &RulePack, case: &Case, a: &mut Admitted) {
    if case.purpose != Purpose::Measure {
        return;
    }
    let Some(first) = a.earlier.first().map(|e| e.on) else {
        return;
    };
    // Early and late are for the second measure; a dog already settled has none due.
    let settled = a.earlier.iter().any(|e| e.definitive);
    if a.earlier.len() != 1 || settled {
        return;
    }
    let (Some(rules), Some(w)) = (
        &pack.doc().measures.window,
        second_window(pack, first, case.born),
    ) else {
        return;
    };
    a.window = Some(w);
    let reason = |key, clause: &str| {
        Reason::new(key, clause)
            .with("from", w.from)
            .with("to", w.to)
    };
    match w.position(case.today) {
        WindowPosition::TooEarly => a.respond(
            case,
            rules.early,
            reason("second-too-early", "measures.window.early"),
        ),
        WindowPosition::InWindow => {
            a.reasons
                .push(reason("second-in-window", "measures.window.from"));
        }
        WindowPosition::Late => a.respond(
            case,
            rules.late,
            reason("second-late", "measures.window.late"),
        ),
    }
}

/// When the second measure of a dog first measured on `first` is due. `None` if the pack knows no
/// window, or counts from a birth that is not known.
pub fn second_window(pack: &RulePack, first: NaiveDate, born: Option<NaiveDate>) -> Option<Window> {
    let rules = pack.doc().measures.window.as_ref()?;
    let origin = match rules.counts_from {
        CountsFrom::FirstMeasure => first,
        CountsFrom::Birth => born?,
    };
    Window::after(origin, rules.from, rules.to)
}

/// Where a day lies against the second measure's window.
pub fn window_position(
    pack: &RulePack,
    first: NaiveDate,
    born: Option<NaiveDate>,
    day: NaiveDate,
) -> Option<WindowPosition> {
    second_window(pack, first, born).map(|w| w.position(day))
}

fn panel(pack: &RulePack, case: &Case, a: &mut Admitted) {
    if case.purpose == Purpose::ThisEvent && pack.doc().event_measure.is_none() {
        a.refusals
            .push(Reason::new("event-not-provided", "event_measure"));
    }
    if case.purpose != Purpose::Remeasure {
        return;
    }
    let Some(rules) = &pack.doc().remeasure else {
        a.refusals
            .push(Reason::new("panel-not-provided", "remeasure"));
        return;
    };
    if a.earlier.is_empty() {
        a.refusals.push(Reason::new(
            "panel-nothing-to-change",
            "remeasure.to_change",
        ));
    }
    let from = rules
        .from_age
        .zip(case.born)
        .and_then(|(age, born)| age.after(born));
    if let Some(from) = from.filter(|from| case.today < *from) {
        let reason = Reason::new("panel-too-young", "remeasure.from_age");
        a.refusals.push(reason.with("from", from));
    }
    let so_far = case.earlier.iter().filter(|e| e.by_panel).count();
    let so_far = u32::try_from(so_far).unwrap_or(u32::MAX);
    if rules.times.is_some_and(|most| so_far >= most) {
        let reason = Reason::new("panel-too-often", "remeasure.times");
        a.refusals.push(reason.with("count", so_far));
    }
}

/// The measurers at the table in order of their ids, so that where they stand never matters.
fn by_id(case: &Case) -> Vec<&MeasurerHere> {
    let mut all: Vec<&MeasurerHere> = case.measurers.iter().collect();
    sort_by_key(&mut all, |m| &m.id);
    all
}

fn measurers(pack: &RulePack, case: &Case, a: &mut Admitted) {
    let rules = &pack.doc().measurers;
    for m in by_id(case) {
        for tie in &m.ties {
            let c = &rules.conflict;
            let (key, clause, response) = match tie {
                Tie::OwnDog => ("tie-own-dog", "own_dog", c.own_dog),
                Tie::Household => ("tie-household", "household", c.household),
                Tie::Bred => ("tie-bred", "bred", c.bred),
                Tie::Trains => ("tie-trains", "trains", c.trains),
                Tie::SameClub => ("tie-same-club", "same_club", c.same_club),
            };
            let reason = Reason::new(key, format!("measurers.conflict.{clause}"));
            a.respond(case, response, reason.with("measurer", m.id.clone()));
        }
    }
    let (_, needed) = super::start(pack, case, &a.earlier);
    let here = case.measurers.len();
    let number = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    if here < needed {
        let zone = super::known_zone(pack, &a.earlier);
        let zone = zone.filter(|z| z.rules.measurers_needed.is_some());
        let clause = match (case.purpose, zone) {
            (Purpose::Remeasure, _) => "remeasure.panel".to_owned(),
            (Purpose::ThisEvent, _) => "event_measure.measurers".to_owned(),
            (Purpose::Measure, Some(zone)) => format!("{}.measurers_needed", zone.clause),
            (Purpose::Measure, None) => "measurers.needed".to_owned(),
        };
        let reason = Reason::new("more-measurers-needed", clause)
            .with("count", number(here))
            .with("needed", number(needed));
        a.respond(case, rules.fewer, reason);
    }
    let leading = number(case.measurers.iter().filter(|m| m.leading).count());
    if leading < rules.leading && case.purpose != Purpose::ThisEvent {
        let reason = Reason::new("leading-measurer-needed", "measurers.leading")
            .with("count", leading)
            .with("needed", rules.leading);
        a.respond(case, rules.fewer, reason);
    }
}

fn gauges(pack: &RulePack, case: &Case, a: &mut Admitted) {
    let used = |id: &GaugeId| {
        case.seen.iter().any(|s| match s {
            Seen::Placing(p) => p.gauge == *id,
            Seen::Reading(r) => r.gauge == *id,
        })
    };
    for g in pack.gauges().iter().filter(|g| used(&g.id)) {
        let here = case.gauges.iter().find(|h| h.gauge == g.id);
        for note in notes(g, here, case.today) {
            a.respond(case, note.response, note.reason);
        }
    }
}

/// Something about a gauge's last check, and what the pack does about it.
#[derive(Clone, Debug, PartialEq)]
pub struct GaugeNote {
    /// What it is.
    pub reason: Reason,
    /// What follows for a dog measured with it.
    pub response: Response,
}

/// What is to be said of a gauge on a day: no check on record, a check overdue, out of tolerance.
/// Empty for a gauge in order, and for one that the pack does not know.
pub fn check_gauge(pack: &RulePack, here: &GaugeHere, today: NaiveDate) -> Vec<GaugeNote> {
    pack.gauge(&here.gauge)
        .map_or_else(Vec::new, |g| notes(g, Some(here), today))
}

fn notes(g: &Gauge, here: Option<&GaugeHere>, today: NaiveDate) -> Vec<GaugeNote> {
    let mut notes = Vec::new();
    let about = |key, clause: &str| {
        Reason::new(key, format!("gauge[{}].{clause}", g.id)).with("gauge", g.id.clone())
    };
    if let Some(every) = g.check_every {
        let due = here.and_then(|h| h.checked).and_then(|on| every.after(on));
        let reason = match due {
            None => Some(about("gauge-not-checked", "check_every")),
            Some(due) if due < today => {
                Some(about("gauge-check-overdue", "check_every").with("date", due))
            }
            Some(_) => None,
        };
        notes.extend(reason.map(|reason| GaugeNote {
            reason,
            response: g.check_overdue,
        }));
    }
    // A scale's last check is judged where it was made; a hoop's height can be judged here.
    if let (Some(nominal), Some(tolerance), Some(height)) =
        (g.height, g.tolerance, here.and_then(|h| h.height))
        && nominal.apart(height) > tolerance
    {
        notes.push(GaugeNote {
            reason: about("gauge-out-of-tolerance", "tolerance").with("height", height),
            response: Response::Flagged,
        });
    }
    notes
}
