//! `journal.append`: one durable act against a bare insert of the same bytes with
//! the same settings, in the same run, taken in turn.

use std::time::Instant;

use rusqlite::{Connection, params};
use standsquare_journal::record::Event;
use standsquare_journal::record::fact::{Fact, Seen};
use standsquare_journal::store::{Item, Journal, Opening};

const ROUNDS: usize = 600;
/// 2026-11-25T09:00:00Z.
const AT_MS: i64 = 1_795_597_200_000;
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
        ("foreign_keys", "ON"),
        ("secure_delete", "ON"),
        ("cell_size_check", "ON"),
    ] {
        bare.pragma_update(None, pragma, value)?;
    }
    bare.execute_batch(
        "CREATE TABLE event (seq INTEGER PRIMARY KEY, hash BLOB NOT NULL, bytes BLOB NOT NULL) STRICT",
    )?;
    let mut ratios = Vec::new();
    for round in 0..ROUNDS {
        let fact = Fact::Placed {
            visit: round as u32,
            hoop: "h35".into(),
            seen: Seen::NotFlat,
        };
        let bytes = Event {
            version: 1,
            at_ms: AT_MS,
            fact: fact.clone(),
        }
        .encode();
        let mut act = || -> Result<f64, Box<dyn std::error::Error>> {
            let begun = Instant::now();
            journal.commit(AT_MS, vec![Item::Fact(fact.clone())])?;
            Ok(begun.elapsed().as_secs_f64())
        };
        let insert = || -> Result<f64, Box<dyn std::error::Error>> {
            let begun = Instant::now();
            let tx = bare.unchecked_transaction()?;
            tx.prepare_cached("INSERT INTO event (hash, bytes) VALUES (?, ?)")?
                .execute(params![[0u8; 32], bytes])?;
            tx.commit()?;
            Ok(begun.elapsed().as_secs_f64())
        };
        // Neither always has the disk as the other left it.
        let (ours, theirs) = if round % 2 == 0 {
            let ours = act()?;
            (ours, insert()?)
        } else {
            let theirs = insert()?;
            (act()?, theirs)
        };
        ratios.push(ours / theirs);
    }
    // Each act is held against the insert beside it: a machine that is busy for a while
    // is so for both.
    let ratio = median(ratios);
    let verdict = if ratio <= GOAL { "ok" } else { "short" };
    println!("journal.append {ratio:.3} {GOAL} {verdict}");
    Ok(())
}
