//! `journal.append`: one durable act against a bare insert of the same bytes with
//! the same settings, in the same run, taken in turn.

use std::time::Instant;

use rusqlite::{Connection, params};
use standsquare_journal::record::Event;
use standsquare_journal::record::fact::Fact;
use standsquare_journal::store::{Item, Journal, Opening};

const ROUNDS: usize = 400;
const GOAL: f64 = 1.3;

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = tempfile::TempDir::new()?;
    let mut journal = Journal::open(
        &folder.path().join("journal.sqlite"),
        Opening {
            device_secret: [1; 32],
            at_ms: 0,
            entropy: [2; 32],
            software: "bench",
        },
    )?;
    let bare = Connection::open(folder.path().join("bare.sqlite"))?;
    for (pragma, value) in [
        ("locking_mode", "EXCLUSIVE"),
        ("journal_mode", "WAL"),
        ("synchronous", "FULL"),
        ("fullfsync", "ON"),
        ("checkpoint_fullfsync", "ON"),
        ("secure_delete", "ON"),
    ] {
        bare.pragma_update(None, pragma, value)?;
    }
    bare.execute_batch(
        "CREATE TABLE event (seq INTEGER PRIMARY KEY, hash BLOB NOT NULL, bytes BLOB NOT NULL) STRICT",
    )?;
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    for round in 0..ROUNDS {
        let fact = Fact::Placed {
            visit: round as u32,
            hoop: "h35".into(),
            seen: standsquare_journal::record::fact::Seen::NotFlat,
        };
        let bytes = Event {
            version: 1,
            at_ms: 1_795_597_200_000,
            fact: fact.clone(),
        }
        .encode();
        let begun = Instant::now();
        journal.commit(1_795_597_200_000, vec![Item::Fact(fact)])?;
        ours.push(begun.elapsed().as_secs_f64());
        let begun = Instant::now();
        let tx = bare.unchecked_transaction()?;
        tx.prepare_cached("INSERT INTO event (hash, bytes) VALUES (?, ?)")?
            .execute(params![[0u8; 32], bytes])?;
        tx.commit()?;
        theirs.push(begun.elapsed().as_secs_f64());
    }
    let ratio = median(ours) / median(theirs);
    let verdict = if ratio <= GOAL { "ok" } else { "short" };
    println!("journal.append {ratio:.3} {GOAL} {verdict}");
    Ok(())
}
