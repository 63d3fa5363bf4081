//! The questions that the session puts to `standsquare-measuring`: it hands over
//! what the journal says of a dog and turns the answers into messages. No rule
//! is decided here.

mod again;
mod beside;
mod book;
mod sure;

pub use again::again;
pub use beside::{beside, disputed, may_settle, only_there};
pub use book::{BookFinding, book_finding, book_items};
pub use sure::{hides_earlier, hides_others, how_sure, reasons_to_show};

use chrono::NaiveDate;
use standsquare_chip::Form;
use standsquare_journal::record::fact::{ChipProof, Outcome as Ends, Seen};
use standsquare_measuring as measuring;
use standsquare_measuring::{
    Base, Case, EarlierMeasure, GaugeHere, Identified, Length, MeasurerHere, Next, Outcome,
    Placing, PlacingResult, Response, RulePack, Status, Tie, VoidReason,
};
use standsquare_sync::beside::settling;
use standsquare_sync::roster::Dog;

use crate::state::{Session, Settles, Visit};
use crate::view::{Reason, Text};

/// What to do with the hoop.
pub enum NextPlacing {
    /// Lower this one.
    Place {
        /// Its id in the roster.
        hoop: String,
        /// Valid placings on it so far.
        valid: u32,
        /// Valid ones wanted, if none is flat.
        needed: u32,
        /// Others that may be used now, ids in the roster.
        others: Vec<String>,
        /// Whose turn it is, where each measurer makes their own.
        by: Option<String>,
    },
    /// A category is found, or the rules say who decides.
    Decided,
    /// Nothing can come of more placings.
    Impasse,
}

/// A verdict in the session's terms.
pub struct Judged {
    /// What it came to.
    pub outcome: Ends,
    /// More than, micrometres.
    pub over_um: Option<i64>,
    /// At most, micrometres.
    pub within_um: Option<i64>,
    /// The status's id.
    pub status: String,
    /// Until when, if provisional.
    pub status_until: Option<NaiveDate>,
    /// For the office.
    pub flags: Vec<String>,
    /// Why.
    pub reasons: Vec<Reason>,
    /// When the second measure is due.
    pub window: Option<(NaiveDate, NaiveDate)>,
}

/// A length as views carry it.
pub fn micrometres(length: Length) -> i64 {
    length.micrometres()
}

fn day(text: &str) -> Option<NaiveDate> {
    measuring::dates::day(text)
}

/// A reason of the rules as a message; ids become the labels and names that
/// people know.
fn message(session: &Session, reason: &measuring::Reason) -> Text {
    let loaded = &session.loaded;
    let mut text = Text::of(&format!("reason.{}", reason.key));
    for (name, arg) in &reason.args {
        use measuring::Arg;
        text = match arg {
            Arg::Text(t) => text.plain(name, t.clone()),
            Arg::Length(l) => text.length(name, l.micrometres()),
            Arg::Date(d) => text.day(name, *d),
            Arg::Count(n) => text.count(name, *n),
            Arg::Category(id) => text.plain(name, label(&loaded.pack, id)),
            Arg::Gauge(id) => text.plain(
                name,
                loaded
                    .pack
                    .gauge(id)
                    .map_or_else(|| id.to_string(), |g| g.label.clone()),
            ),
            Arg::Measurer(id) => text.plain(name, loaded.name_of(id.as_str())),
            Arg::Interval(known) => text.plain(name, in_centimetres(known)),
            other => text.plain(name, other.to_string()),
        };
    }
    text
}

/// `35 cm < h ≤ 43 cm`: screens show centimetres.
fn in_centimetres(known: &measuring::HeightInterval) -> String {
    let less = |closed: bool| if closed { "≤" } else { "<" };
    let lower = known
        .lower()
        .map(|e| format!("{} cm {} ", e.at.in_cm(), less(e.closed)));
    let upper = known
        .upper()
        .map(|e| format!(" {} {} cm", less(e.closed), e.at.in_cm()));
    format!(
        "{}h{}",
        lower.unwrap_or_default(),
        upper.unwrap_or_default()
    )
}

fn label(pack: &RulePack, id: &measuring::CategoryId) -> String {
    pack.category(id)
        .map_or_else(|| id.to_string(), |c| c.label.clone())
}

/// What measuring has to know of a dog before anything is seen at the table.
fn case_of(session: &Session, dog: &str) -> Case {
    case_for(session, session.dog(dog))
}

fn case_for(session: &Session, known: Option<&Dog>) -> Case {
    let loaded = &session.loaded;
    let mut case = Case::new(session.day);
    case.born = known.and_then(|d| day(&d.born));
    case.earlier = known
        .map(|d| d.earlier.as_slice())
        .unwrap_or_default()
        .iter()
        .filter_map(|e| {
            Some(EarlierMeasure {
                on: day(&e.day)?,
                category: e.category.as_str().into(),
                height: None,
                by: Vec::new(),
                status: None,
                by_panel: false,
                for_event: false,
            })
        })
        .collect();
    case.measurers = session
        .seated
        .iter()
        .map(|person| {
            let mut here = MeasurerHere::new(person.as_str());
            if known.is_some_and(|d| d.household_of.contains(person)) {
                here.ties.push(Tie::Household);
            }
            here
        })
        .collect();
    case.gauges = loaded
        .roster
        .hoops
        .iter()
        .filter(|h| session.hoops.get(&h.id) != Some(&false))
        .map(|h| GaugeHere {
            gauge: h.gauge.as_str().into(),
            checked: day(&h.checked),
            height: None,
        })
        .collect();
    case
}

fn case(session: &Session, visit: &Visit) -> Case {
    let mut case = case_for(session, again::known(session, visit).as_deref());
    if visit.chip == Some(ChipProof::NotFound) {
        case.identity = Identified::Not;
    }
    // Working together, both watch the same placings: they stand under the first seat.
    let first = session.seated.first().cloned().unwrap_or_default();
    let by_whom = |n: usize| match visit.placed_by.get(n) {
        Some(Some(person)) => person.as_str(),
        _ => first.as_str(),
    };
    case.seen = visit
        .placings
        .iter()
        .enumerate()
        .filter_map(|(n, (hoop, seen, at))| {
            let void = |seen| PlacingResult::Void {
                seen,
                reason: void_reason(visit.voided.get(&(n as u32 + 1))),
            };
            let gauge = session.loaded.hoop(hoop)?.gauge.as_str().into();
            let result = match seen {
                Seen::Flat => PlacingResult::Flat,
                Seen::NotFlat => PlacingResult::NotFlat,
                Seen::Moved => PlacingResult::Void {
                    seen: Base::NotSeen,
                    reason: VoidReason::Moved,
                },
                Seen::FlatVoid => void(Base::Flat),
                Seen::NotFlatVoid => void(Base::NotFlat),
            };
            Some(measuring::Seen::Placing(Placing {
                gauge,
                result,
                by: by_whom(n).into(),
                at: Some(*at),
            }))
        })
        .collect();
    case.stopped = visit.stopped.clone();
    case
}

fn void_reason(id: Option<&String>) -> VoidReason {
    match id.map_or("", String::as_str) {
        "moved" => VoidReason::Moved,
        "stance" => VoidReason::Stance,
        "gauge" => VoidReason::Gauge,
        "mistaken" => VoidReason::Mistaken,
        other => VoidReason::Other(other.to_owned()),
    }
}

/// Why a dog may not be called now, if it may not.
pub fn may_not_call(session: &Session, dog: &str) -> Option<Text> {
    if session.visit_of(dog).is_some() {
        return Some(Text::of("refused.seen_today"));
    }
    refused(session, session.dog(dog))
}

/// Why the rules do not let this dog be measured now, if they do not.
pub fn refused(session: &Session, dog: Option<&Dog>) -> Option<Text> {
    match measuring::progress(&session.loaded.pack, &case_for(session, dog)).next {
        Next::Refused(why) => why.first().map(|r| message(session, r)),
        _ => None,
    }
}

/// What is known of a dog before today, for the queue.
pub fn known_before(session: &Session, dog: &str) -> Option<Text> {
    let last = session.dog(dog)?.earlier.last()?;
    if hides_earlier(session, session.visit_of(dog)) {
        return Some(Text::of("queue.earlier_hidden").day("day", day(&last.day)?));
    }
    Some(
        Text::of("queue.earlier")
            .plain(
                "category",
                label(&session.loaded.pack, &last.category.as_str().into()),
            )
            .day("day", day(&last.day)?),
    )
}

/// Something to notice about a hoop, such as a check that is due.
pub fn hoop_note(session: &Session, hoop: &str) -> Option<Text> {
    let gauge = session.loaded.hoop(hoop)?.gauge.clone();
    let mut case = Case::new(session.day);
    case.gauges = case_of(session, "").gauges;
    case.measurers = session
        .seated
        .iter()
        .map(|p| MeasurerHere::new(p.as_str()))
        .collect();
    let verdict = measuring::judge(&session.loaded.pack, &case);
    verdict
        .flags
        .iter()
        .find(|f| {
            f.key.starts_with("gauge-")
                && f.args
                    .values()
                    .any(|a| matches!(a, measuring::Arg::Gauge(id) if id.as_str() == gauge))
        })
        .map(|f| message(session, f))
}

/// Whether this hoop was found good today.
pub fn hoop_is_usable(session: &Session, hoop: &str) -> bool {
    session.loaded.hoop(hoop).is_some() && session.hoops.get(hoop) == Some(&true)
}

/// Whether the pack lets a dog be measured of which no chip was found.
pub fn allows_without_chip(session: &Session) -> bool {
    session.loaded.pack.doc().identity.no_chip != Response::Refused
}

fn hoop_for(session: &Session, gauge: &measuring::GaugeId) -> Option<String> {
    session
        .loaded
        .roster
        .hoops
        .iter()
        .find(|h| h.gauge == gauge.as_str() && hoop_is_usable(session, &h.id))
        .map(|h| h.id.clone())
}

/// Whether each measurer makes their own placings, the later ones not knowing the
/// earlier ones' results.
pub fn is_independent(session: &Session) -> bool {
    session.loaded.pack.working() == measuring::Working::Independently
}

/// Who has the phone.
pub fn holder<'a>(session: &'a Session, visit: &'a Visit) -> Option<&'a String> {
    visit.holder.as_ref().or(session.seated.first())
}

/// Who takes the phone now, if it is another measurer's turn.
pub fn turn(session: &Session, visit: &Visit) -> Option<String> {
    match next(session, visit) {
        NextPlacing::Place { by: Some(by), .. } if holder(session, visit) != Some(&by) => Some(by),
        _ => None,
    }
}

/// Whether the one who has the phone may see this placing (its index, from 0): until all
/// is decided, only their own.
pub fn may_see(session: &Session, visit: &Visit, n: usize) -> bool {
    if !is_independent(session) || visit.stated.is_some() {
        return true;
    }
    let by = visit.placed_by.get(n).and_then(|by| by.as_ref());
    by.or(session.seated.first()) == holder(session, visit)
}

/// What to do with the hoop next.
pub fn next(session: &Session, visit: &Visit) -> NextPlacing {
    let progress = measuring::progress(&session.loaded.pack, &case(session, visit));
    match progress.next {
        Next::Place {
            gauge,
            valid_so_far,
            needed,
            by,
            ..
        } => {
            let mut others: Vec<String> = progress
                .other_gauges
                .iter()
                .filter_map(|g| hoop_for(session, g))
                .collect();
            let Some(mut hoop) = hoop_for(session, &gauge) else {
                return NextPlacing::Impasse;
            };
            let (mut valid, wanted) = (valid_so_far, needed);
            if let Some(chosen) = &visit.chosen
                && let Some(at) = others.iter().position(|o| o == chosen)
            {
                std::mem::swap(&mut hoop, &mut others[at]);
                valid = visit
                    .placings
                    .iter()
                    .enumerate()
                    .filter(|(n, (h, seen, _))| {
                        *h == hoop && seen.counts() && may_see(session, visit, *n)
                    })
                    .count() as u32;
            }
            NextPlacing::Place {
                hoop,
                valid,
                needed: wanted,
                others,
                // To the rules it is the same who begins: it is who has the phone.
                by: match by.filter(|_| is_independent(session)) {
                    Some(_) if visit.placings.is_empty() => holder(session, visit).cloned(),
                    by => by.map(|by| by.as_str().to_owned()),
                },
            }
        }
        Next::Impasse(_) => NextPlacing::Impasse,
        // Readings are not taken by this version's screens; a pack that wants them is
        // refused when the roster is loaded.
        _ => NextPlacing::Decided,
    }
}

/// The verdict on a visit as it stands.
pub fn verdict(session: &Session, visit: &Visit) -> Judged {
    let pack = &session.loaded.pack;
    let verdict = measuring::judge(pack, &case(session, visit));
    let outcome = match &verdict.outcome {
        Outcome::Category(id) => Ends::Category {
            id: id.to_string(),
            label: label(pack, id),
        },
        Outcome::NotToday => Ends::NotToday {
            reason: visit.stopped.clone().unwrap_or_else(|| "impasse".into()),
        },
        Outcome::Refused => Ends::Referred {
            reason: "rules".into(),
        },
        Outcome::NotYet => Ends::Referred {
            reason: "unfinished".into(),
        },
    };
    let (status, status_until) = match verdict.status {
        Some(Status::ThisEventOnly) => ("this-event-only", None),
        Some(Status::ProvisionalUntil(until)) => ("provisional", Some(until)),
        Some(Status::Definitive) => ("definitive", None),
        Some(Status::Referred) => ("referred", None),
        None => ("", None),
    };
    let end = |e: Option<measuring::End>| e.map(|e| e.at.micrometres());
    Judged {
        outcome,
        over_um: end(verdict.interval.and_then(|i| i.lower())),
        within_um: end(verdict.interval.and_then(|i| i.upper())),
        status: status.into(),
        status_until,
        flags: flags(session, visit, &verdict),
        reasons: reasons(session, &verdict),
        window: verdict.second_window.map(|w| (w.from, w.to)),
    }
}

fn reasons(session: &Session, verdict: &measuring::Verdict) -> Vec<Reason> {
    let reason = |r: &measuring::Reason| Reason {
        text: message(session, r),
        clause: r.clause.clone(),
    };
    verdict.reasons.iter().map(reason).collect()
}

fn reasons_of(session: &Session, case: &Case) -> Vec<Reason> {
    reasons(session, &measuring::judge(&session.loaded.pack, case))
}

/// What the office has to look at: what the rules flag, and how the dog was known.
fn flags(session: &Session, visit: &Visit, verdict: &measuring::Verdict) -> Vec<String> {
    let mut flags: Vec<String> = verdict.flags.iter().map(|f| f.key.to_string()).collect();
    match visit.chip {
        Some(ChipProof::MisKeyed) => flags.push("chip-mis-keyed".into()),
        Some(ChipProof::Typed) => flags.push("chip-typed".into()),
        Some(ChipProof::OtherForm) => flags.push("chip-other-form".into()),
        Some(ChipProof::TwoChips) => flags.push("chip-two".into()),
        Some(ChipProof::NotFound) => flags.push("chip-not-found".into()),
        _ => {}
    }
    if visit.chip.is_none()
        && visit.reads.heard().iter().any(|h| {
            session
                .dog(&visit.dog)
                .is_none_or(|d| d.chip != h.number.to_string())
        })
    {
        flags.push("chip-differs".into());
    }
    if visit.taken_back > 0 {
        flags.push("placing-taken-back".into());
    }
    if session.is_newcomer(&visit.dog) {
        flags.push("not-on-list".into());
    }
    for happened in session.happened.iter().filter(|h| h.visit == visit.number) {
        let flag = crate::files::harm_word(happened.what);
        if !flags.iter().any(|f| f == flag) {
            flags.push(flag.into());
        }
    }
    if visit.corrections > 0 {
        flags.push("corrected".into());
    }
    if !visit.moved_away.is_empty() {
        flags.push("placings-moved-away".into());
    }
    if !visit.moved_here.is_empty() {
        flags.push("placings-moved-here".into());
    }
    if visit.elsewhere.as_ref().is_some_and(|e| e.goes_on) {
        flags.push("measured-elsewhere".into());
    }
    if let Some(Settles {
        stands_here,
        theirs,
        came,
    }) = &visit.settles
    {
        flags.extend(settling(*stands_here, theirs, came));
    }
    if visit.disagreed.is_some() {
        flags.push("measurers-differ".into());
    }
    for finding in book::findings(session, visit, &visit.book).findings {
        let key = finding.reason.key.to_string();
        if !flags.contains(&key) {
            flags.push(key);
        }
    }
    if book::differs_unexplained(session, visit) && !flags.iter().any(|f| f == "book-differs") {
        flags.push("book-differs".into());
    }
    flags
}

/// What a chip number itself shows (a test number, a shared code).
pub fn chip_flags(number: &str) -> Vec<Text> {
    Form::Decimal15
        .parse(number.as_bytes())
        .map(|parsed| parsed.flags)
        .unwrap_or_default()
        .into_iter()
        .map(|flag| Text::of(&format!("chip_flag.{}", flag.name())))
        .collect()
}
