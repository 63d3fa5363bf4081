//! `journal.open`: from nothing to the first view of a phone with 10,000 dogs in 200
//! sessions, against plain SQL that opens a file with the same settings and reads the rows
//! which that view needs, in the same run, taken in turn.
//!
//! What that view needs is the session under way as it was recorded, the roster and the
//! handlers' data. The phone reads less of it, since what the session comes to is kept: how
//! it stands against plain SQL that reads only the very rows which it reads itself is told
//! beside it.

use std::path::Path;
use std::time::Instant;

use rusqlite::Connection;
use standsquare_session::view::Screen;
use standsquare_session::{JOURNAL_FILE, Phone};
use standsquare_tests::filled::{self, SECRET, stamp};

type Fallible<T> = Result<T, Box<dyn std::error::Error>>;

const SESSIONS: u32 = 200;
const ROUNDS: u64 = 41;
const GOAL: f64 = 2.0;

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

/// The phone's way: everything is checked that it says is checked.
fn first_view(dir: &Path, n: u64) -> Fallible<f64> {
    let begun = Instant::now();
    let phone = Phone::open(dir, SECRET, &stamp(1_000 + n))?;
    let view = phone.view();
    let took = begun.elapsed().as_secs_f64();
    match view.screen {
        Screen::Queue { queue } if queue.done.len() == filled::A_SESSION as usize => Ok(took),
        other => Err(format!("not the queue: {other:?}").into()),
    }
}

/// Plain SQL: the same settings, the same rows, nothing checked and nothing understood.
fn plain(dir: &Path, from: &str) -> Fallible<f64> {
    let begun = Instant::now();
    let db = Connection::open(dir.join(JOURNAL_FILE))?;
    for (pragma, value) in [
        ("locking_mode", "EXCLUSIVE"),
        ("journal_mode", "WAL"),
        ("synchronous", "FULL"),
        ("fullfsync", "ON"),
        ("checkpoint_fullfsync", "ON"),
        ("foreign_keys", "ON"),
        ("secure_delete", "ON"),
        ("trusted_schema", "OFF"),
        ("cell_size_check", "ON"),
    ] {
        db.pragma_update(None, pragma, value)?;
    }
    let mut bytes = 0;
    let mut read = |sql: &str, from: i64| -> Fallible<()> {
        let mut find = db.prepare(sql)?;
        let columns = find.column_count();
        let wanted = find.parameter_count();
        let mut rows = match wanted {
            0 => find.query([])?,
            _ => find.query([from])?,
        };
        while let Some(row) = rows.next()? {
            for n in 0..columns {
                let value: rusqlite::types::Value = row.get(n)?;
                if let rusqlite::types::Value::Blob(blob) = value {
                    bytes += blob.len();
                }
            }
        }
        Ok(())
    };
    read("SELECT * FROM head", 0)?;
    read("SELECT * FROM device", 0)?;
    read("SELECT * FROM kept", 0)?;
    let whole = from == SESSION;
    let from = written_down(dir, from)?;
    read("SELECT seq, hash, bytes FROM event WHERE seq >= ?", from)?;
    if whole {
        read("SELECT * FROM text", 0)?;
    }
    read("SELECT * FROM subject", 0)?;
    let took = begun.elapsed().as_secs_f64();
    if whole && bytes < 100_000 {
        return Err(format!("only {bytes} bytes were read").into());
    }
    Ok(took)
}

/// The event with which the session under way begins.
const SESSION: &str = "session";

/// The event after what is kept.
const REST: &str = "rest";

/// Written down once by [`main`], so that finding it is not part of what is measured.
fn written_down(dir: &Path, what: &str) -> Fallible<i64> {
    Ok(std::fs::read_to_string(dir.join(what))?.parse()?)
}

fn main() -> Fallible<()> {
    let dir = tempfile::TempDir::new()?;
    let (sessions, rounds) = match std::env::args().nth(1) {
        Some(sessions) => (sessions.parse()?, ROUNDS),
        None => (SESSIONS, ROUNDS),
    };
    filled::fill(dir.path(), sessions);
    let phone = Phone::open(dir.path(), SECRET, &stamp(3))?;
    let kept = phone.journal().kept_for_test().ok_or("nothing is kept")?.0;
    let events = phone.journal().head().seq;
    let begun = phone.state().session.as_ref().ok_or("no session")?.from_seq;
    drop(phone);
    std::fs::write(dir.path().join(SESSION), begun.to_string())?;
    std::fs::write(dir.path().join(REST), (kept + 1).to_string())?;
    let (mut ours, mut theirs, mut least) = (Vec::new(), Vec::new(), Vec::new());
    for n in 0..rounds {
        // Neither always has the pages as the other left them.
        if n % 2 == 0 {
            ours.push(first_view(dir.path(), n)?);
            theirs.push(plain(dir.path(), SESSION)?);
            least.push(plain(dir.path(), REST)?);
        } else {
            least.push(plain(dir.path(), REST)?);
            theirs.push(plain(dir.path(), SESSION)?);
            ours.push(first_view(dir.path(), n)?);
        }
    }
    let against = |plain: &[f64]| median(ours.iter().zip(plain).map(|(a, b)| a / b).collect());
    let (ratio, least_ratio) = (against(&theirs), against(&least));
    let ms = |times: Vec<f64>| median(times) * 1_000.0;
    eprintln!(
        "{} events, {} of them since what is kept; first view {:.2} ms, plain SQL {:.2} ms; \
         plain SQL reading only what the phone reads {:.2} ms, ratio {least_ratio:.3}",
        events,
        events - kept,
        ms(ours),
        ms(theirs),
        ms(least)
    );
    let verdict = if ratio <= GOAL { "ok" } else { "short" };
    println!("journal.open {ratio:.3} {GOAL} {verdict}");
    Ok(())
}
