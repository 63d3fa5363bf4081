//! `return.csv` (RFC 4180): a row a dog that was signed by everybody at the table.

use standsquare_journal::record::fact::Outcome;

use super::{DEMO_MARK, day, league, session_id, signer, words};
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

/// The file. Of one session written by one phone it is, byte for byte, what that phone
/// shares itself; of two phones, first one's rows, then the other's.
pub fn return_csv(office: &OfficeState, lines: &[SessionLine], visits: &[VisitLine]) -> String {
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
        rows.extend(own.map(|visit| row(office, line, visit)));
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

fn row(office: &OfficeState, line: &SessionLine, visit: &VisitLine) -> [String; 18] {
    let s = &visit.statement;
    let (outcome, category) = match &s.outcome {
        Outcome::Category { label, .. } => ("measured".to_owned(), label.clone()),
        Outcome::NotToday { reason } => (format!("not today: {reason}"), String::new()),
        Outcome::Referred { reason } => (format!("referred: {reason}"), String::new()),
    };
    let signed: Vec<_> = visit.signed.iter().map(|by| signer(office, by)).collect();
    [
        if s.demo {
            DEMO_MARK.into()
        } else {
            String::new()
        },
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
        s.flags.join(" "),
        s.window_from.map(day).unwrap_or_default(),
        s.window_to.map(day).unwrap_or_default(),
        signed.join("; "),
    ]
}
