//! One bit of a journal's file flips: that is found, or it changes nothing.
//!
//! `STANDSQUARE_FLIPS` says how many bits to try in each file, spread evenly over it; the
//! default is small.

use std::fs;
use std::path::{Path, PathBuf};

use standsquare_journal::cli::verify_file;
use standsquare_journal::store::{Journal, Stored};
use tempfile::TempDir;

use crate::common::{Day, PINS, again, fresh, opening, told};

/// Everything that a journal can be asked.
#[derive(PartialEq)]
struct Held {
    events: Vec<Stored>,
    texts: Vec<Option<Vec<u8>>>,
    subjects: Vec<Option<Vec<u8>>>,
    keys: Vec<Option<standsquare_journal::store::WrappedKey>>,
    device: [u8; 32],
    id: [u8; 16],
}

fn held(journal: &Journal, texts: &[[u8; 32]]) -> Held {
    Held {
        events: journal.events().expect("reads"),
        texts: texts
            .iter()
            .map(|hash| journal.blob(hash).expect("reads"))
            .collect(),
        subjects: (1..=3)
            .map(|n| journal.subject(&[n; 16]).expect("reads"))
            .collect(),
        keys: PINS
            .iter()
            .map(|(person, _)| journal.person_key(person).expect("reads"))
            .collect(),
        device: journal.device_key(),
        id: journal.journal_id(),
    }
}

fn texts(journal: &Journal) -> Vec<[u8; 32]> {
    use standsquare_journal::record::fact::Fact;
    journal
        .events()
        .expect("reads")
        .into_iter()
        .filter_map(|e| match e.fact {
            Fact::RosterTaken { roster, pack, .. } => Some([*roster, *pack]),
            _ => None,
        })
        .flatten()
        .collect()
}

fn wal(path: &Path) -> PathBuf {
    PathBuf::from(format!("{}-wal", path.display()))
}

fn bits_to_try(bits: usize) -> impl Iterator<Item = usize> {
    let wish = std::env::var("STANDSQUARE_FLIPS").ok();
    let count = wish.map_or(250, |w| w.parse().expect("a number of bits"));
    // Not a round number, or every try would hit the same place of a byte.
    let step = (bits / count.max(1)).max(1) | 1;
    (0..bits).step_by(step)
}

/// What a flip came to.
#[derive(Default, Debug)]
struct Came {
    found: usize,
    harmless: usize,
    last_act: usize,
}

/// Flips one bit after another of `file` (the journal's or its log's) and opens.
/// `in_last_act` tells of a bit whether it lies in the last transaction of a log.
fn flip_each(path: &Path, file: &Path, in_last_act: &dyn Fn(usize) -> bool) -> Came {
    let whole = fs::read(file).expect("reads");
    let beside: Vec<(PathBuf, Vec<u8>)> = [path.to_owned(), wal(path)]
        .into_iter()
        .filter_map(|p| Some((p.clone(), fs::read(p).ok()?)))
        .collect();
    let reference = {
        let copy = copy(&beside, file, &whole);
        let journal = again(&copy.1);
        held(&journal, &texts(&journal))
    };
    let names = {
        let copy = copy(&beside, file, &whole);
        texts(&again(&copy.1))
    };
    let mut came = Came::default();
    for bit in bits_to_try(whole.len() * 8) {
        let mut bytes = whole.clone();
        bytes[bit / 8] ^= 1 << (bit % 8);
        let (dir, path) = copy(&beside, file, &bytes);
        let what = format!("bit {} of byte {} of {}", bit % 8, bit / 8, file.display());
        match Journal::open(&path, opening()) {
            Err(_) => came.found += 1,
            Ok(journal) if journal.salvage().is_some() => {
                came.found += 1;
                // What was carried over is the beginning of what there was.
                let report = journal.salvage().expect("a report");
                let events = journal.events().expect("reads");
                let kept = report.events as usize;
                assert!(kept <= reference.events.len(), "{what}");
                assert!(events[..kept] == reference.events[..kept], "{what}");
            }
            Ok(mut journal) => {
                let now = held(&journal, &names);
                if in_last_act(bit) && now != reference {
                    let all = &reference.events;
                    assert_eq!(now.events.len() + 1, all.len(), "{what}");
                    assert!(now.events[..] == all[..all.len() - 1], "{what}");
                    came.last_act += 1;
                    continue;
                }
                assert!(now == reference, "silently another journal: {what}");
                journal.commit(1, vec![told(9)]).expect("is written on");
                drop(journal);
                let journal = again(&path);
                assert!(journal.salvage().is_none(), "damaged later: {what}");
                assert_eq!(journal.head().seq, reference.events.len() as u64 + 1);
                drop(journal);
                let (report, ok) = verify_file(&path);
                assert!(ok, "{what}: {report}");
                came.harmless += 1;
            }
        }
        drop(dir);
    }
    came
}

/// A copy in which `file` has these bytes.
fn copy(beside: &[(PathBuf, Vec<u8>)], file: &Path, bytes: &[u8]) -> (TempDir, PathBuf) {
    let memory = Path::new("/dev/shm");
    let dir = match memory.is_dir() {
        true => TempDir::new_in(memory),
        false => TempDir::new(),
    }
    .expect("a folder");
    for (path, content) in beside {
        let name = path.file_name().expect("a name");
        let content = if path == file { bytes } else { content };
        fs::write(dir.path().join(name), content).expect("writes");
    }
    let path = dir.path().join("journal.sqlite");
    (dir, path)
}

fn a_day() -> (TempDir, PathBuf, Journal) {
    let (dir, path, mut journal) = fresh();
    let mut day = Day::new();
    day.set_up(&mut journal, 3);
    day.dog(&mut journal, 1);
    day.dog(&mut journal, 2);
    day.close(&mut journal);
    (dir, path, journal)
}

#[test]
fn a_flipped_bit_in_the_file_is_found_or_changes_nothing() {
    let (_dir, path, mut journal) = a_day();
    journal.erase_subject(&[3; 16]).expect("erases");
    drop(journal);
    let came = flip_each(&path, &path, &|_| false);
    println!("bits of the file: {came:?}");
    assert!(came.found > came.harmless / 4, "{came:?}");
    assert_eq!(came.last_act, 0);
}

/// While a journal is in use its newest acts stand in its log. There a flipped bit is found
/// too, but for the last act alone: SQLite cannot tell it from one that was never finished,
/// and nor can we. The threat model says so.
#[test]
fn a_flipped_bit_in_the_log_is_found_or_changes_nothing_or_costs_the_last_act() {
    let (_dir, path, mut journal) = a_day();
    journal.checkpoint().expect("checkpoints");
    for visit in 1..=8 {
        journal.commit(1, vec![told(visit)]).expect("commits");
    }
    // As after a kill: copied while it is open.
    let dir = TempDir::new().expect("a folder");
    let killed = dir.path().join("journal.sqlite");
    fs::copy(&path, &killed).expect("copies");
    fs::copy(wal(&path), wal(&killed)).expect("copies");
    let log = fs::read(wal(&killed)).expect("reads");
    // The last transaction begins behind the last but one frame that ends one.
    const FRAME: usize = 24 + 4096;
    let ends: Vec<usize> = (0..(log.len() - 32) / FRAME)
        .filter(|n| log[32 + n * FRAME + 4..32 + n * FRAME + 8] != [0; 4])
        .collect();
    let last = 32 + (ends[ends.len() - 2] + 1) * FRAME;
    let came = flip_each(&killed, &wal(&killed), &|bit| bit / 8 >= last);
    println!("bits of the log: {came:?}");
    assert!(came.found > 0 && came.last_act > 0, "{came:?}");
}
