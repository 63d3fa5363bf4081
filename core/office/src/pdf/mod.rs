//! Returns and histories as PDF files, for whoever files paper. They are copies to read:
//! what proves anything is the signed record, which the dossier holds.

mod draw;
mod layout;

use standsquare_journal::record::fact::Outcome;

use crate::appeals::{Noted, Step};
use crate::decide::Decision;
use crate::incidents::Incident;
use crate::pages::{DEMO_MARK, day, day_in_words, league, moment, session_id, signer, words};
use crate::read::{SessionLine, VisitLine};
use crate::state::OfficeState;
use draw::{Sheet, draw};
use layout::Block;

/// What every document begins with.
const COPY: &str = "A copy to read. What proves it is the signed record at the office, which \
                    every dog's dossier holds.";

fn sheet(office: &OfficeState, title: String, blocks: Vec<Block>, made_ms: i64) -> Sheet {
    Sheet {
        title,
        over: office.roster().office.name.clone(),
        mark: if office.roster().demo { DEMO_MARK } else { "" },
        made_ms,
        blocks,
    }
}

/// A session's return. `lines` holds it as each phone wrote it, at least one.
///
/// # Errors
/// What the library says, in words.
pub fn return_pdf(
    office: &OfficeState,
    lines: &[SessionLine],
    visits: &[VisitLine],
    happened: &[Incident],
    made_ms: i64,
) -> Result<Vec<u8>, String> {
    let Some(first) = lines.first() else {
        return Err("there is no such session".into());
    };
    let title = format!("return of {}, {}", day_in_words(first.day), first.venue);
    let mut blocks = vec![Block::Text(COPY.into())];
    blocks.push(Block::Facts(vec![
        ("League".into(), league(office, &first.league).into()),
        ("Session".into(), session_id(first.session)),
    ]));
    for line in lines {
        let own = |device: &[u8; 32], journal: &[u8; 16]| {
            *device == line.device_key && *journal == line.journal
        };
        let own_visits: Vec<_> = visits
            .iter()
            .filter(|v| own(&v.device_key, &v.journal))
            .collect();
        let closed = match line.closed_ms {
            Some(at_ms) => format!("closed {}", moment(at_ms, line.offset_min)),
            None => "not closed yet: more may come".into(),
        };
        let phone = hex::encode(&line.device_key[..4]);
        blocks.push(Block::Heading(format!(
            "As written by phone {phone}, {closed}"
        )));
        if own_visits.is_empty() {
            blocks.push(Block::Text("No dog has come in yet.".into()));
        }
        blocks.push(Block::Table {
            heads: vec![
                ("No.", 3.0),
                ("Dog", 9.0),
                ("Chip", 14.0),
                ("Height category", 13.0),
                ("Measure", 7.0),
                ("Second measure", 12.0),
                ("To look at", 20.0),
                ("Signed by", 18.0),
            ],
            rows: own_visits.iter().map(|v| dog_row(office, v)).collect(),
        });
        let here: Vec<_> = happened
            .iter()
            .filter(|i| own(&i.device_key, &i.journal))
            .collect();
        if !here.is_empty() {
            blocks.push(Block::Heading("Bites and falls".into()));
            blocks.push(incidents(line, &own_visits, &here));
        }
    }
    draw(&sheet(office, title, blocks, made_ms))
}

fn dog_row(office: &OfficeState, visit: &VisitLine) -> Vec<String> {
    let s = &visit.statement;
    let chip = if s.chip.is_empty() {
        "none in the book".into()
    } else {
        s.chip.clone()
    };
    let window = match (s.window_from, s.window_to) {
        (Some(from), Some(to)) => format!("{} to {}", day(from), day(to)),
        _ => String::new(),
    };
    let mut signed: Vec<String> = visit
        .signed
        .iter()
        .map(|by| format!("{}, {}", signer(office, by), by.number))
        .collect();
    if visit.signed.len() < s.measurers.len() {
        signed.push(format!("of {} measurers", s.measurers.len()));
    }
    vec![
        s.visit.to_string(),
        s.dog.clone(),
        format!("{chip}\n{}", words::proof(s.proof)),
        found(visit),
        words::measure(s.measure),
        window,
        points(visit),
        signed.join("\n"),
    ]
}

/// Category, status and height.
fn found(visit: &VisitLine) -> String {
    let s = &visit.statement;
    let outcome = words::outcome(&s.outcome);
    let more: Vec<String> = match &s.outcome {
        Outcome::Category { .. } => vec![words::status(&s.status), words::height(s)],
        _ => vec![words::height(s)],
    };
    let more = more.into_iter().filter(|m| !m.is_empty());
    std::iter::once(outcome)
        .chain(more)
        .collect::<Vec<_>>()
        .join("\n")
}

fn points(visit: &VisitLine) -> String {
    let mut points: Vec<String> = visit.points.iter().map(words::point).collect();
    if visit.weight > 0 {
        points.push("not decided".into());
    }
    points.join("\n")
}

fn incidents(line: &SessionLine, visits: &[&VisitLine], here: &[&Incident]) -> Block {
    let at_table = |number: i64| match number {
        0 => "between two dogs".to_owned(),
        n => visits
            .iter()
            .find(|v| i64::from(v.statement.visit) == n)
            .map_or(format!("visit {n}, not stated"), |v| {
                v.statement.dog.clone()
            }),
    };
    Block::Table {
        heads: vec![
            ("When", 2.0),
            ("What", 1.0),
            ("To whom", 2.0),
            ("At the table", 2.0),
            ("In words", 6.0),
        ],
        rows: here
            .iter()
            .map(|i| {
                vec![
                    moment(i.at_ms, line.offset_min),
                    words::harm(&i.what),
                    words::whom(&i.whom),
                    at_table(i.visit),
                    i.words.clone(),
                ]
            })
            .collect(),
    }
}

/// A measure with what was decided about it.
pub type WithDecisions = (VisitLine, Vec<Decision>, Vec<Noted>);

/// A dog's whole history: every measure of its chip, oldest first, with the decisions and
/// appeals about each.
///
/// # Errors
/// What the library says, in words.
pub fn history_pdf(
    office: &OfficeState,
    chip: &str,
    measures: &[WithDecisions],
    made_ms: i64,
) -> Result<Vec<u8>, String> {
    let mut names: Vec<_> = measures
        .iter()
        .map(|(m, ..)| m.statement.dog.as_str())
        .collect();
    names.sort_unstable();
    names.dedup();
    let title = format!("history of {}", names.join(" / "));
    let mut blocks = vec![Block::Text(COPY.into())];
    blocks.push(Block::Facts(vec![
        ("Chip".into(), chip.into()),
        ("Measures".into(), measures.len().to_string()),
    ]));
    let known = office.roster().dogs.iter().filter(|d| d.chip == chip);
    let earlier: Vec<_> = known
        .flat_map(|d| &d.earlier)
        .map(|m| vec![m.day.clone(), words::measure(m.measure), m.category.clone()])
        .collect();
    if !earlier.is_empty() {
        blocks.push(Block::Heading("Known before this office's records".into()));
        blocks.push(Block::Table {
            heads: vec![("Day", 1.0), ("Measure", 1.0), ("Found", 4.0)],
            rows: earlier,
        });
    }
    for (visit, decisions, steps) in measures {
        blocks.extend(one_measure(office, visit, decisions, steps));
    }
    draw(&sheet(office, title, blocks, made_ms))
}

fn one_measure(
    office: &OfficeState,
    visit: &VisitLine,
    decisions: &[Decision],
    steps: &[Noted],
) -> Vec<Block> {
    let s = &visit.statement;
    let mut facts = vec![
        ("Found".into(), found(visit).replace('\n', ", ")),
        ("Measure".into(), words::measure(s.measure)),
        ("Chip".into(), words::proof(s.proof).into()),
        ("Rules".into(), format!("{}, edition {}", s.pack, s.edition)),
    ];
    if let (Some(from), Some(to)) = (s.window_from, s.window_to) {
        facts.push((
            "Second measure".into(),
            format!("{} to {}", day(from), day(to)),
        ));
    }
    let signed: Vec<String> = visit
        .signed
        .iter()
        .map(|by| {
            let at = moment(by.signed_ms, visit.offset_min);
            format!("{}, {}, {at}", signer(office, by), by.number)
        })
        .collect();
    facts.push(("Signed by".into(), signed.join("\n")));
    if !visit.points.is_empty() {
        facts.push(("To look at".into(), points(visit)));
    }
    for d in decisions {
        let said = format!(
            "{}: {} ({}, {} UTC)",
            words::verdict(d.verdict),
            d.reason,
            d.name,
            moment(d.decided_ms, 0)
        );
        facts.push(("Decided".into(), said));
    }
    for noted in steps {
        let (what, said) = match &noted.step {
            Step::Objection { words } => ("Objection", words.clone()),
            Step::Appeal {
                words,
                interim,
                measurers,
            } => {
                let mut said = words.clone();
                if !interim.is_empty() {
                    said.push_str(&format!("; competes meanwhile as {interim}"));
                }
                if !measurers.is_empty() {
                    said.push_str(&format!("; to be measured by {measurers}"));
                }
                ("Appeal", said)
            }
            Step::Decided { outcome, reason } => {
                ("Appeal decided", format!("{}: {reason}", outcome.word()))
            }
        };
        facts.push((what.into(), format!("{said} ({})", day(noted.day))));
    }
    facts.push(("Record head".into(), hex::encode(visit.head)));
    vec![
        Block::Heading(format!("{}, {}", day_in_words(s.day), visit.venue)),
        Block::Facts(facts),
    ]
}
