//! `return.csv` (RFC 4180): a row a dog that was signed by everybody at the table.

use standsquare_journal::record::fact::Outcome;

use super::{DEMO_MARK, day, league, session_id, signer, words};
use crate::db::DbFault;
use crate::incidents::Incident;
use crate::read::{SessionLine, VisitLine};
use crate::state::OfficeState;

/// The file's name for a session.
pub fn csv_name(line: &SessionLine) -> String {
    let league: String = line
        .league
        .chars()
        .filter(|c| c.is_ascii_alphanumeric() || *c == '-')
        .collect();
    format!("return-{league}-{}.csv", day(line.day))
}

impl OfficeState {
    /// A session's `return.csv`; `None` if nothing of it has come in.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn return_csv(&self, session: [u8; 16]) -> Result<Option<String>, DbFault> {
        let (lines, visits) = self.session(session)?;
        let happened = self.incidents(session)?;
        Ok((!lines.is_empty()).then(|| return_csv(self, &lines, &visits, &happened)))
    }
}

/// The file. Of one session written by one phone it is, byte for byte, what that phone
/// shares itself; of two phones, first one's rows, then the other's.
pub fn return_csv(
    office: &OfficeState,
    lines: &[SessionLine],
    visits: &[VisitLine],
    happened: &[Incident],
) -> String {
    let mut out = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
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
    let mut rows = vec![head.map(str::to_owned)];
    for line in lines {
        let own = visits.iter().filter(|v| {
            v.device_key == line.device_key
                && v.journal == line.journal
                && v.signed.len() >= v.statement.measurers.len()
        });
        let here: Vec<_> = happened
            .iter()
            .filter(|i| i.device_key == line.device_key && i.journal == line.journal)
            .collect();
        rows.extend(own.map(|visit| row(office, line, visit, &here)));
        let between = here.iter().filter(|i| i.visit == 0);
        rows.extend(between.map(|i| between_dogs(office, line, i)));
    }
    for row in &rows {
        // Writing to memory cannot fail, and every row has as many fields as the first.
        let _ = out.write_record(row);
    }
    out.into_inner()
        .ok()
        .and_then(|bytes| String::from_utf8(bytes).ok())
        .unwrap_or_default()
}

/// What a row of the return says first: of an invented league, that it is one.
fn mark(demo: bool) -> String {
    if demo {
        DEMO_MARK.into()
    } else {
        String::new()
    }
}

/// A row of what happened between two dogs.
fn between_dogs(office: &OfficeState, line: &SessionLine, happened: &Incident) -> [String; 18] {
    let mut row: [String; 18] = Default::default();
    row[0] = mark(office.roster().demo);
    row[1] = league(office, &line.league).to_owned();
    row[2] = day(line.day);
    row[3].clone_from(&line.venue);
    row[4] = session_id(line.session);
    row[10] = format!("{}: {}", happened.what, happened.whom);
    row
}

/// The flags of a row: what was signed, what happened after that, and whether the handler
/// objected (the words stay out of files).
fn flags(visit: &VisitLine, here: &[&Incident]) -> String {
    let mut flags = visit.statement.flags.clone();
    for happened in here {
        if happened.visit == i64::from(visit.statement.visit) && !flags.contains(&happened.what) {
            flags.push(happened.what.clone());
        }
    }
    if visit.points.iter().any(|p| p.kind == "objection") {
        flags.push("objection".into());
    }
    flags.join(" ")
}

fn row(
    office: &OfficeState,
    line: &SessionLine,
    visit: &VisitLine,
    here: &[&Incident],
) -> [String; 18] {
    let s = &visit.statement;
    let (outcome, category) = match &s.outcome {
        Outcome::Category { label, .. } => ("measured".to_owned(), label.clone()),
        Outcome::NotToday { reason } => (format!("not today: {reason}"), String::new()),
        Outcome::Referred { reason } => (format!("referred: {reason}"), String::new()),
    };
    let signed: Vec<_> = visit.signed.iter().map(|by| signer(office, by)).collect();
    [
        mark(s.demo),
        league(office, &line.league).to_owned(),
        day(line.day),
        line.venue.clone(),
        session_id(line.session),
        s.visit.to_string(),
        s.dog.clone(),
        s.chip.clone(),
        words::proof(s.proof).into(),
        s.chip_read.clone().unwrap_or_default(),
        outcome,
        category,
        s.measure.to_string(),
        s.status.clone(),
        flags(visit, here),
        s.window_from.map(day).unwrap_or_default(),
        s.window_to.map(day).unwrap_or_default(),
        signed.join("; "),
    ]
}
