//! The files of a session: `session.json` and `return.csv`. The same facts give
//! the same bytes on every platform.

use serde::Serialize;

use crate::days;
use crate::judging;
use crate::state::{Closing, Session, Visit};

use standsquare_journal::record::fact::{ChipProof, Harm, Outcome, Seen, Statement, Whom};

/// What every file of the invented league says.
const DEMO_MARK: &str = "demo, not official";

#[derive(Serialize)]
struct SessionFile<'a> {
    format: u32,
    mark: &'a str,
    session: String,
    league: &'a str,
    rule_pack: PackLine<'a>,
    day: String,
    venue: &'a str,
    closed: bool,
    measurers: Vec<MeasurerLine<'a>>,
    dogs: Vec<DogLine<'a>>,
    not_seen: Vec<&'a str>,
    /// Those with no dog at the table.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    incidents: Vec<IncidentLine<'a>>,
}

#[derive(Serialize)]
struct PackLine<'a> {
    id: &'a str,
    edition: &'a str,
    sha256: String,
}

#[derive(Serialize)]
struct MeasurerLine<'a> {
    name: &'a str,
    number: &'a str,
}

#[derive(Serialize)]
struct DogLine<'a> {
    number: u32,
    name: &'a str,
    chip: &'a str,
    chip_proof: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    chip_read: Option<&'a str>,
    /// One of these three. Each is a field of its own: an enum that is flattened would bring
    /// a second writer along, through serde's own values.
    #[serde(skip_serializing_if = "Option::is_none")]
    category: Option<CategoryLine<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    not_today: Option<WhyLine<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    referred: Option<WhyLine<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    over_mm: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    within_mm: Option<String>,
    measure: u8,
    status: &'a str,
    reasons: Vec<ReasonLine>,
    flags: Vec<String>,
    placings: Vec<PlacingLine<'a>>,
    /// Numbers of the dogs for which placings of this one were entered first.
    #[serde(skip_serializing_if = "<[u32]>::is_empty")]
    placings_from: &'a [u32],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    placings_moved: Vec<MovedLine<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    second_measure: Option<WindowLine>,
    signed_by: Vec<&'a str>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    confirmed_by: Vec<&'a str>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    on_paper: Vec<PaperLine<'a>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    incidents: Vec<IncidentLine<'a>>,
}

#[derive(Serialize)]
struct IncidentLine<'a> {
    what: &'static str,
    to: &'static str,
    #[serde(skip_serializing_if = "str::is_empty")]
    words: &'a str,
}

#[derive(Serialize)]
struct PaperLine<'a> {
    name: &'a str,
    paper: &'a str,
}

#[derive(Serialize)]
struct CategoryLine<'a> {
    id: &'a str,
    label: &'a str,
}

#[derive(Serialize)]
struct WhyLine<'a> {
    reason: &'a str,
}

#[derive(Serialize)]
struct ReasonLine {
    key: String,
    clause: String,
}

#[derive(Serialize)]
struct PlacingLine<'a> {
    hoop: &'a str,
    seen: &'static str,
}

/// Placings that were entered for a dog and were another's.
#[derive(Serialize)]
struct MovedLine<'a> {
    /// That dog's number.
    to: u32,
    placings: Vec<PlacingLine<'a>>,
}

#[derive(Serialize)]
struct WindowLine {
    from: String,
    to: String,
}

/// How a chip number was proved, in words for files.
pub fn proof_word(proof: ChipProof) -> &'static str {
    match proof {
        ChipProof::Equal => "equal",
        ChipProof::MisKeyed => "mis-keyed in the book",
        ChipProof::Typed => "typed from the reader",
        ChipProof::NotFound => "none found",
        ChipProof::Different => "different",
        ChipProof::NotScanned => "not scanned",
        ChipProof::OtherForm => "same chip, other form",
        ChipProof::TwoChips => "two chips, one of them the book's",
    }
}

fn seen_word(seen: Seen) -> &'static str {
    match seen {
        Seen::Flat => "base flat",
        Seen::NotFlat => "base not flat",
        Seen::Moved => "dog moved",
        Seen::FlatVoid => "base flat, made void",
        Seen::NotFlatVoid => "base not flat, made void",
    }
}

/// Micrometres as millimetres, without a fraction where there is none.
fn millimetres(um: i64) -> String {
    let (whole, rest) = (um / 1000, (um % 1000).abs());
    if rest == 0 {
        return whole.to_string();
    }
    format!("{whole}.{rest:03}")
        .trim_end_matches('0')
        .to_owned()
}

fn day(number: i32) -> String {
    days::date(number).to_string()
}

fn mark(session: &Session) -> &'static str {
    if session.loaded.roster.demo {
        DEMO_MARK
    } else {
        ""
    }
}

/// Bites and falls of one visit, or of none (0).
fn incidents(session: &Session, visit: u32) -> Vec<IncidentLine<'_>> {
    let of = session.happened.iter().filter(|h| h.visit == visit);
    of.map(|h| IncidentLine {
        what: harm_word(h.what),
        to: whom_word(h.whom),
        words: &h.words,
    })
    .collect()
}

/// What happened, in files.
pub fn harm_word(what: Harm) -> &'static str {
    match what {
        Harm::Bite => "bite",
        Harm::Fall => "fall",
    }
}

/// To whom, in files.
pub fn whom_word(whom: Whom) -> &'static str {
    match whom {
        Whom::Measurer => "measurer",
        Whom::Handler => "handler",
        Whom::Dog => "dog",
        Whom::Other => "other",
    }
}

/// The flags of a row: what was signed, what happened after that, and whether a signature
/// is still awaited.
fn row_flags(session: &Session, visit: &Visit, statement: &Statement) -> Vec<String> {
    let mut flags = statement.flags.clone();
    for happened in session.happened.iter().filter(|h| h.visit == visit.number) {
        let flag = harm_word(happened.what);
        if !flags.iter().any(|f| f == flag) {
            flags.push(flag.into());
        }
    }
    if !visit.objections.is_empty() {
        flags.push("objection".into());
    }
    if visit.is_awaiting() {
        flags.push("awaiting-signature".into());
    }
    if visit.is_confirmed() {
        flags.push("list-not-signed".into());
    }
    if visit.is_settling() {
        flags.push("settling-unsigned".into());
    }
    flags
}

/// The visits that all have answered for, with their statements, in order.
fn signed(session: &Session) -> impl Iterator<Item = (&Visit, &Statement)> {
    session
        .visits
        .iter()
        .filter(|v| v.is_returned())
        .filter_map(|v| v.stated.as_ref().map(|(statement, ..)| (v, statement)))
}

/// `session.json`: dogs, categories, reasons, flags, who signed.
pub fn session_json(session: &Session) -> String {
    let loaded = &session.loaded;
    let dogs = signed(session)
        .map(|(visit, s)| DogLine {
            number: s.visit,
            name: &s.dog,
            chip: &s.chip,
            chip_proof: proof_word(s.proof),
            chip_read: s.chip_read.as_deref(),
            category: match &s.outcome {
                Outcome::Category { id, label } => Some(CategoryLine { id, label }),
                _ => None,
            },
            not_today: match &s.outcome {
                Outcome::NotToday { reason } => Some(WhyLine { reason }),
                _ => None,
            },
            referred: match &s.outcome {
                Outcome::Referred { reason } => Some(WhyLine { reason }),
                _ => None,
            },
            over_mm: s.over_um.map(millimetres),
            within_mm: s.within_um.map(millimetres),
            measure: s.measure,
            status: &s.status,
            reasons: judging::verdict(session, visit)
                .reasons
                .into_iter()
                .map(|r| ReasonLine {
                    key: r.text.key,
                    clause: r.clause,
                })
                .collect(),
            flags: row_flags(session, visit, s),
            placings: s
                .placings
                .iter()
                .map(|p| PlacingLine {
                    hoop: &p.hoop,
                    seen: seen_word(p.seen),
                })
                .collect(),
            placings_from: &visit.moved_here,
            placings_moved: visit
                .moved_away
                .iter()
                .map(|(to, placings)| MovedLine {
                    to: *to,
                    placings: placings
                        .iter()
                        .map(|(hoop, seen, _)| PlacingLine {
                            hoop,
                            seen: seen_word(*seen),
                        })
                        .collect(),
                })
                .collect(),
            second_measure: s.window_from.zip(s.window_to).map(|(from, to)| WindowLine {
                from: day(from),
                to: day(to),
            }),
            signed_by: visit
                .signed
                .iter()
                .map(|p| session.loaded.name_of(p))
                .collect(),
            confirmed_by: visit
                .confirmed
                .iter()
                .map(|p| session.loaded.name_of(p))
                .collect(),
            on_paper: visit
                .paper
                .iter()
                .map(|(person, paper)| PaperLine {
                    name: session.loaded.name_of(person),
                    paper,
                })
                .collect(),
            incidents: incidents(session, visit.number),
        })
        .collect();
    let file = SessionFile {
        format: 1,
        mark: mark(session),
        session: uuid::Uuid::from_bytes(session.id).to_string(),
        league: &loaded.roster.league.name,
        rule_pack: PackLine {
            id: loaded.pack.id(),
            edition: loaded.pack.edition(),
            sha256: hex::encode(loaded.pack_hash),
        },
        day: session.day.to_string(),
        venue: session.venue.as_deref().unwrap_or(""),
        closed: session.closing == Closing::Closed,
        measurers: session
            .seated
            .iter()
            .filter_map(|p| loaded.person(p))
            .map(|p| MeasurerLine {
                name: &p.name,
                number: &p.number,
            })
            .collect(),
        dogs,
        not_seen: session
            .not_seen
            .iter()
            .map(|id| loaded.dog(id).map_or(id.as_str(), |d| d.name.as_str()))
            .collect(),
        incidents: incidents(session, 0),
    };
    // Serialising plain structs to a string cannot fail.
    let mut text = serde_json::to_string_pretty(&file).unwrap_or_default();
    text.push('\n');
    text
}

/// The CSV's file name.
pub fn csv_name(session: &Session) -> String {
    named(session, "csv")
}

/// The return's file name with this ending.
pub fn named(session: &Session, ending: &str) -> String {
    format!(
        "return-{}-{}.{ending}",
        session.loaded.roster.league.id, session.day
    )
}

/// `return.csv` (RFC 4180): a row a dog.
pub fn return_csv(session: &Session) -> String {
    let head = [
        "mark",
        "league",
        "day",
        "venue",
        "session",
        "number",
        "dog",
        "chip",
        "chip_proof",
        "chip_read",
        "outcome",
        "category",
        "measure",
        "status",
        "flags",
        "second_from",
        "second_to",
        "signed_by",
    ];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for (visit, s) in signed(session) {
        let (outcome, category) = match &s.outcome {
            Outcome::Category { label, .. } => ("measured".to_owned(), label.clone()),
            Outcome::NotToday { reason } => (format!("not today: {reason}"), String::new()),
            Outcome::Referred { reason } => (format!("referred: {reason}"), String::new()),
        };
        rows.push(vec![
            mark(session).into(),
            session.loaded.roster.league.name.clone(),
            session.day.to_string(),
            session.venue.clone().unwrap_or_default(),
            uuid::Uuid::from_bytes(session.id).to_string(),
            s.visit.to_string(),
            s.dog.clone(),
            s.chip.clone(),
            proof_word(s.proof).into(),
            s.chip_read.clone().unwrap_or_default(),
            outcome,
            category,
            s.measure.to_string(),
            s.status.clone(),
            row_flags(session, visit, s).join(" "),
            s.window_from.map(day).unwrap_or_default(),
            s.window_to.map(day).unwrap_or_default(),
            visit
                .signed
                .iter()
                .map(|p| session.loaded.name_of(p).to_owned())
                .chain(
                    visit.confirmed.iter().map(|p| {
                        format!("{} (confirmed, list not signed)", session.loaded.name_of(p))
                    }),
                )
                .chain(visit.paper.iter().map(|(person, paper)| {
                    format!("{} (on paper {paper})", session.loaded.name_of(person))
                }))
                .collect::<Vec<_>>()
                .join("; "),
        ]);
    }
    for incident in incidents(session, 0) {
        let mut row = vec![String::new(); head.len()];
        for (at, cell) in [
            mark(session).to_owned(),
            session.loaded.roster.league.name.clone(),
            session.day.to_string(),
            session.venue.clone().unwrap_or_default(),
            uuid::Uuid::from_bytes(session.id).to_string(),
        ]
        .into_iter()
        .enumerate()
        {
            row[at] = cell;
        }
        row[10] = format!("{}: {}", incident.what, incident.to);
        rows.push(row);
    }
    let mut out = String::new();
    for row in &rows {
        write_row(&mut out, row);
    }
    out
}

/// A record of RFC 4180, section 2: cells that hold a comma, a quote or an end of line stand
/// in quotes, a quote in them twice.
///
/// The CSV library can tell numbers from texts as well and brings the reader of numbers for
/// it, 15 kB on a phone; a test holds this to it.
fn write_row(out: &mut String, cells: &[String]) {
    for (n, cell) in cells.iter().enumerate() {
        if n > 0 {
            out.push(',');
        }
        // A record of one empty cell would be an empty line.
        if cell.contains([',', '"', '\r', '\n']) || (cell.is_empty() && cells.len() == 1) {
            out.push('"');
            out.push_str(&cell.replace('"', "\"\""));
            out.push('"');
        } else {
            out.push_str(cell);
        }
    }
    out.push_str("\r\n");
}

#[cfg(test)]
mod tests {
    use super::write_row;

    #[test]
    fn rows_are_written_as_the_csv_library_writes_them() {
        let mut random = fastrand::Rng::with_seed(4180);
        let letters = [
            'a', 'Z', '7', ' ', ',', '"', '\r', '\n', ';', '\'', 'é', '\t', '#', '-',
        ];
        for _ in 0..20_000 {
            let cells: Vec<String> = (0..random.usize(1..5))
                .map(|_| {
                    let length = random.usize(..6);
                    (0..length)
                        .map(|_| *random.choice(letters.iter()).expect("a letter"))
                        .collect()
                })
                .collect();
            let mut theirs = csv::WriterBuilder::new()
                .terminator(csv::Terminator::CRLF)
                .from_writer(vec![]);
            theirs.write_record(&cells).expect("writes");
            let theirs = theirs.into_inner().expect("is there");
            let mut ours = String::new();
            write_row(&mut ours, &cells);
            assert_eq!(ours.as_bytes(), theirs, "{cells:?}");
        }
    }
}
