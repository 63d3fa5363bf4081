//! Practice: drills with a model dog, a trainee's own verdict on a real one, and a measurer's own
//! figures. Nothing here ever counts for a dog or reaches the return.

use super::{Context, Outcome, not_now, sign};
use crate::act::{Act, PlacingSeen};
use crate::days;
use crate::roster::Loaded;
use crate::state::{Closing, Drilling, Page, Session, State, Step, Visit};
use crate::view::{Cue, Text, Tone};

use standsquare_journal::record::fact::{ALG_ED25519, Fact, Seen};
use standsquare_journal::record::practice_bytes;
use standsquare_journal::store::Item;
use standsquare_measuring::gauge::practice::{Drill, DrillRecord, Plan};
use standsquare_measuring::{GaugeId, Length};

/// Placings of a drill. Own choice, no source: as many as a share needs to be told
/// (`Least::pairs`), and a quarter of an hour's work.
const PLACINGS: u32 = 20;
/// How far the model is from the hoop at most where the rules state no spread, micrometres. Own
/// choice, no source.
const REACH_UM: i64 = 15_000;
/// The step in which the model is set, micrometres: a millimetre, as rules and screens have it.
const STEP_UM: i64 = 1_000;

/// Whether the pages of practice can be opened: nothing is under way.
pub(crate) fn may_open(state: &State) -> bool {
    state.session.is_none()
        && state.practice.page.is_none()
        && !state.readers.open
        && state.roster.is_some()
}

/// The trainees who watch and have not yet said what they would have found of this dog. They may
/// from its stance on and until somebody has signed, so that it is their own.
pub(crate) fn may_shadow<'a>(session: &'a Session, visit: &Visit) -> Vec<&'a String> {
    let open = match visit.step() {
        Step::Stance | Step::Placing => true,
        Step::Sign => visit.is_untouched() && visit.stopped.is_none(),
        _ => false,
    };
    let watching = session.watching.iter();
    watching
        .filter(|p| open && !visit.shadows.contains_key(*p))
        .collect()
}

/// Who may sign a record of practice: measurers whose key is on this phone, but not one's own.
pub(crate) fn trainers<'a>(state: &State, loaded: &'a Loaded, person: &str) -> Vec<&'a str> {
    let people = loaded.roster.people.iter();
    people
        .filter(|p| p.role == "measurer" && p.id != person && state.keys.contains_key(&p.id))
        .map(|p| p.id.as_str())
        .collect()
}

/// Who may practise: trainees, and measurers who want to.
pub(crate) fn practises(role: &str) -> bool {
    matches!(role, "trainee" | "measurer")
}

pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    match act {
        Act::OpenPractice if may_open(c.state) => open(&Page::Practice),
        Act::OpenOwn { person } => match (&c.state.practice.page, is_known(c, person)) {
            (Some(Page::Practice), true) => open(&Page::Own(person.clone())),
            _ => not_now(),
        },
        Act::LeavePage => leave(c),
        Act::BeginDrill { gauge } => begin(c, gauge),
        Act::DrillSaw { seen } => saw(c, *seen),
        Act::LeaveDrill if c.state.practice.drill.is_some() => Outcome::fact(Fact::DrillLeft {}),
        Act::SignPractice { person, pin } => sign_record(c, person, pin),
        Act::TraineeWatches { person, here } => watches(c, person, *here),
        Act::OpenShadow { person } => match c.session().and_then(|s| Some((s, s.in_hand()?))) {
            Some((session, visit))
                if session.closing == Closing::Open
                    && c.state.practice.page.is_none()
                    && may_shadow(session, visit).contains(&person) =>
            {
                open(&Page::Shadow(person.clone()))
            }
            _ => not_now(),
        },
        Act::Shadow { category } => shadow(c, category),
        _ => not_now(),
    }
}

fn open(page: &Page) -> Outcome {
    Outcome::fact(page_fact(page.name(), page.person()))
}

fn page_fact(page: &str, person: &str) -> Fact {
    Fact::PageOpened {
        page: page.into(),
        person: person.into(),
    }
}

fn is_known(c: &Context, person: &str) -> bool {
    let known = c.loaded().and_then(|l| l.person(person));
    known.is_some_and(|p| practises(&p.role))
}

fn leave(c: &Context) -> Outcome {
    match (&c.state.practice.page, &c.state.practice.drill) {
        (Some(Page::Own(_)), None) => open(&Page::Practice),
        (Some(Page::Practice | Page::Shadow(_)), None) => Outcome::fact(page_fact("", "")),
        _ => not_now(),
    }
}

/// Three spreads where the rules state one, in whole steps, else our own choice.
fn reach_um(loaded: &Loaded) -> i64 {
    let stated = loaded.pack.doc().sureness.as_ref().and_then(|s| s.spread);
    stated.map_or(REACH_UM, |spread| {
        (3 * spread.micrometres() / STEP_UM).max(1) * STEP_UM
    })
}

fn begin(c: &mut Context, gauge: &str) -> Outcome {
    let (Some(Page::Own(person)), None) = (&c.state.practice.page, &c.state.practice.drill) else {
        return not_now();
    };
    let person = person.clone();
    let Some(loaded) = c.loaded() else {
        return not_now();
    };
    let (reach, pack) = (reach_um(loaded), loaded.pack.clone());
    let plan = Plan {
        gauge: GaugeId::from(gauge),
        placings: PLACINGS,
        reach: Length::from_nm(reach * 1_000),
        step: Length::from_nm(STEP_UM * 1_000),
    };
    let seed = u64::from_le_bytes(c.random.bytes());
    match Drill::new(&pack, plan, seed) {
        Ok(_) => Outcome::fact(Fact::DrillBegun {
            person,
            gauge: gauge.to_owned(),
            placings: PLACINGS,
            reach_um: reach,
            step_um: STEP_UM,
            seed,
        }),
        Err(_) => not_now(),
    }
}

fn saw(c: &Context, seen: PlacingSeen) -> Outcome {
    match &c.state.practice.drill {
        Some(drill) if !drill.is_done() => Outcome::fact(Fact::DrillAnswered {
            seen: match seen {
                PlacingSeen::BaseFlat => Seen::Flat,
                PlacingSeen::BaseNotFlat => Seen::NotFlat,
                PlacingSeen::DogMoved => Seen::Moved,
            },
        })
        .play(Cue::Done),
        _ => not_now(),
    }
}

/// The record of a drill, as a trainer signs it.
fn record(drilling: &Drilling, offset_min: i32) -> Option<Vec<u8>> {
    let record = DrillRecord {
        trainee: drilling.person.as_str().into(),
        on: days::of_moment(drilling.begun_ms, offset_min),
        rules: drilling.rules.clone(),
        drill: drilling.drill.clone(),
        answers: drilling.answers.clone(),
    };
    serde_json::to_vec(&record).ok()
}

fn sign_record(c: &Context, person: &str, pin: &str) -> Outcome {
    let Some(drilling) = &c.state.practice.drill else {
        return not_now();
    };
    let Some(loaded) = c.loaded() else {
        return not_now();
    };
    if !drilling.is_done()
        || drilling.signed_by.is_some()
        || !trainers(c.state, loaded, &drilling.person).contains(&person)
    {
        return not_now();
    }
    let Some(record) = record(drilling, c.stamp.offset_min) else {
        return not_now();
    };
    let name = loaded.name_of(person).to_owned();
    let now = (c.stamp.at_ms, c.stamp.offset_min);
    if let Some(why) = super::may_not_sit(c.state, loaded, person, now) {
        return Outcome::refuse(why);
    }
    match sign::open_key(c, &name, person, pin, &practice_bytes(&record)) {
        Ok(signature) => {
            let mut out = Outcome::fact(Fact::PracticeSigned {
                person: person.to_owned(),
                record,
                alg: ALG_ED25519,
                signature: signature.into(),
            })
            .say(Tone::Good, Text::of("notice.practice_signed"))
            .play(Cue::Done);
            // It goes to the office with what is sent next.
            out.items.push(Item::Seal { why: 1 });
            out
        }
        Err(out) => out,
    }
}

fn watches(c: &Context, person: &str, here: bool) -> Outcome {
    let Some(session) = c.session() else {
        return not_now();
    };
    let trainee = session.loaded.person(person);
    let there = session.watching.iter().any(|p| p == person);
    if session.queue_open || there == here || trainee.is_none_or(|p| p.role != "trainee") {
        return not_now();
    }
    Outcome::fact(Fact::TraineeWatches {
        person: person.to_owned(),
        here,
    })
}

fn shadow(c: &Context, category: &str) -> Outcome {
    let Some(Page::Shadow(person)) = &c.state.practice.page else {
        return not_now();
    };
    let Some((session, visit)) = c.session().and_then(|s| Some((s, s.in_hand()?))) else {
        return not_now();
    };
    let known = session.loaded.pack.categories().iter();
    if !known.into_iter().any(|k| k.id.as_str() == category) {
        return not_now();
    }
    Outcome::fact(Fact::Shadowed {
        visit: visit.number,
        person: person.clone(),
        category: category.to_owned(),
    })
    .and(page_fact("", ""))
    .say(Tone::Good, Text::of("notice.shadowed"))
}
