//! The power goes at every step of a day: what was answered is there afterwards, at most
//! the one act in flight is missing, whole, and the chain verifies.
//!
//! By default few states are made and few of those tried. `STANDSQUARE_CRASH_STATES=all`
//! makes more than 20,000 and tries every one (or as many as it says, evenly spread).
#![cfg(feature = "store")]

#[path = "../checks/common.rs"]
#[allow(dead_code)] // shared with the other checks
mod common;
mod disk;
mod shim;

use std::collections::HashSet;
use std::fs;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use common::{Day, again, told};
use disk::{Disk, Files};
use shim::Op;
use standsquare_journal::store::{Item, Journal, StoreFault};
use tempfile::TempDir;

/// States tried where nothing else is asked for.
const BY_DEFAULT: usize = 200;

/// What is written down, and what is made to fail, is the whole program's: one at a time.
static ONE: Mutex<()> = Mutex::new(());

fn alone() -> MutexGuard<'static, ()> {
    ONE.lock().unwrap_or_else(PoisonError::into_inner)
}

const SUFFIXES: [&str; 3] = ["", "-wal", "-journal"];

fn beside(path: &Path, suffix: &str) -> PathBuf {
    PathBuf::from(format!("{}{suffix}", path.display()))
}

/// A folder in memory where the system has such: thousands of states pass through it.
fn folder() -> TempDir {
    let memory = Path::new("/dev/shm");
    match memory.is_dir() {
        true => TempDir::new_in(memory),
        false => TempDir::new(),
    }
    .expect("a folder")
}

/// A day as it was lived: what was done to the files, and each act noted when answered.
struct Lived {
    /// What was on the disk before.
    before: Files,
    ops: Vec<Op>,
    /// Every event's bytes.
    events: Vec<Vec<u8>>,
    /// Numbers of events after each act.
    steps: Vec<u64>,
}

/// A whole day on a disk that keeps only what it is made to: begun, dogs signed for, a
/// return acknowledged, the log moved into the file twice, somebody erased, closed, what
/// was worked out kept, opened again and written on.
fn live(weak: bool) -> Lived {
    lived(Files::new(), weak, |journal, day| {
        day.set_up(journal, 3);
        day.dog(journal, 1);
        journal.checkpoint().expect("checkpoints");
        day.dog(journal, 2);
        assert!(journal.erase_subject(&[2; 16]).expect("erases"));
        journal.checkpoint().expect("checkpoints");
        day.dog(journal, 3);
        day.close(journal);
        keep_here(journal);
    })
}

/// A day that begins with a file of format 1, found on the disk: migrated, another session
/// with dogs in it, sent and acknowledged.
fn live_on_from_format_1(weak: bool) -> Lived {
    // So many that there are states enough where all are wished for.
    let dogs = if wish().is_some() { 10 } else { 2 };
    let held =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/held-formats/journal-1.sqlite");
    let file = fs::read(held).expect("reads");
    lived(
        Files::from([(String::new(), file)]),
        weak,
        |journal, day| {
            keep_here(journal);
            day.session(journal);
            for dog in 1..=dogs {
                day.dog(journal, dog);
            }
            day.close(journal);
        },
    )
}

/// Only speed hangs on the row; the power may go while it is written too.
fn keep_here(journal: &mut Journal) {
    let seq = journal.head().seq;
    journal.keep(seq, "crash/1", vec![7; 3_000]).expect("keeps");
}

fn lived(before: Files, weak: bool, acts: impl FnOnce(&mut Journal, &mut Day)) -> Lived {
    let dir = folder();
    let path = dir.path().join("journal.sqlite");
    put_down(&path, &before);
    let mut day = Day::new();
    shim::begin();
    let mut journal = again(&path);
    shim::answered(journal.head().seq);
    if weak {
        journal.weaken_for_test().expect("weakens");
    }
    let note = |journal: &Journal| shim::answered(journal.head().seq);
    day.answered = Some(note);
    acts(&mut journal, &mut day);
    drop(journal);
    let mut journal = again(&path);
    if weak {
        journal.weaken_for_test().expect("weakens");
    }
    for visit in 4..20 {
        let items = vec![told(visit), Item::Seal { why: 3 }];
        journal.commit(1, items).expect("commits");
        note(&journal);
    }
    let ops = shim::end();
    let events = journal.events().expect("reads");
    let mut steps: Vec<u64> = ops
        .iter()
        .filter_map(|op| match op {
            Op::Answered { events } => Some(*events),
            _ => None,
        })
        .collect();
    steps.dedup();
    Lived {
        before,
        ops,
        events: events.into_iter().map(|e| e.bytes).collect(),
        steps,
    }
}

fn put_down(path: &Path, files: &Files) {
    for suffix in SUFFIXES {
        if let Some(content) = files.get(suffix) {
            fs::write(beside(path, suffix), content).expect("writes");
        }
    }
}

/// Gives every different state that the disk may be left in, with its number and what was
/// answered by then, always in the same order; how many there are.
fn each_state(lived: &Lived, made: Made, mut take: impl FnMut(usize, u64, &Files)) -> usize {
    let mut rng = fastrand::Rng::with_seed(0x706f_7765);
    let mut disk = Disk::holding(&lived.before);
    if !lived.before.is_empty() {
        // What the file held was answered long ago.
        disk.answered = lived.steps[0];
    }
    let mut seen = HashSet::new();
    for (step, op) in lived.ops.iter().enumerate() {
        disk.take(op);
        if step % made.every != 0 {
            continue;
        }
        for files in disk.states(made.subsets, &mut rng) {
            let mut hash = DefaultHasher::new();
            (disk.answered, &files).hash(&mut hash);
            if seen.insert(hash.finish()) {
                take(seen.len() - 1, disk.answered, &files);
            }
        }
    }
    seen.len()
}

/// Which states are made.
#[derive(Clone, Copy)]
struct Made {
    /// At every so many steps.
    every: usize,
    /// So many chance selections at each.
    subsets: usize,
}

fn wish() -> Option<String> {
    std::env::var("STANDSQUARE_CRASH_STATES").ok()
}

/// Opens the journal on states spread evenly over all there are: how many there are, and
/// what became of those tried.
fn try_states(lived: &Lived, made: Made) -> (usize, Vec<After>) {
    let all = each_state(lived, made, |_, _, _| {});
    let count = match wish().as_deref() {
        Some("all") => all,
        Some(wish) => wish.parse().expect("a number of states, or all"),
        None => BY_DEFAULT,
    };
    let step = (all / count.max(1)).max(1);
    let mut tried = Vec::new();
    each_state(lived, made, |n, answered, files| {
        if n % step == 0 {
            tried.push(open_after(lived, answered, files));
        }
    });
    (all, tried)
}

/// What became of one state when the journal was opened on it again.
#[derive(Debug, PartialEq)]
enum After {
    /// As it must be.
    Kept,
    /// Answered acts are not there; so many events are.
    Lost(u64),
    /// It was taken for damage: this was found wrong.
    Salvaged(String),
}

fn open_after(lived: &Lived, answered: u64, files: &Files) -> After {
    let dir = folder();
    let path = dir.path().join("journal.sqlite");
    put_down(&path, files);
    let mut journal = again(&path);
    let events = journal.events().expect("reads");
    let seq = journal.head().seq;
    if let Some(report) = journal.salvage() {
        return After::Salvaged(report.reason.clone());
    }
    if seq < answered {
        return After::Lost(seq);
    }
    // Exactly what was answered, or with it the one act that was in flight, whole.
    let next = lived.steps.iter().find(|s| **s > answered);
    assert!(
        seq == answered || Some(&seq) == next || answered == 0,
        "{answered} answered, {seq} there"
    );
    for (kept, lived) in events.iter().zip(&lived.events) {
        assert_eq!(kept.bytes, *lived, "event {} is another one", kept.seq);
    }
    journal.commit(1, vec![told(99)]).expect("is written on");
    After::Kept
}

/// Tries the states of a day, of which none may be bad; how many there are.
fn all_must_be_kept(what: &str, lived: &Lived, subsets: usize) -> usize {
    let (all, tried) = try_states(lived, Made { every: 1, subsets });
    let bad: Vec<&After> = tried.iter().filter(|a| **a != After::Kept).collect();
    println!(
        "{what}, synchronous=FULL: {} of {all} states tried, {} lost an answered act",
        tried.len(),
        bad.len()
    );
    assert!(bad.is_empty(), "{} of them: {:?}", bad.len(), bad[0]);
    all
}

#[test]
fn whatever_the_disk_was_left_in_every_answered_act_is_there() {
    let _alone = alone();
    let subsets = if wish().is_some() { 320 } else { 4 };
    let fresh = all_must_be_kept("begun", &live(false), subsets);
    let migrated = all_must_be_kept("migrated", &live_on_from_format_1(false), subsets);
    if wish().is_some() {
        assert!(
            fresh >= 20_000 && migrated >= 20_000,
            "only {fresh} and {migrated} states: the day has become too short"
        );
    }
}

/// The same with synchronous=NORMAL must fail, or the test shows nothing.
#[test]
fn with_less_than_full_syncs_the_same_test_finds_lost_acts() {
    let _alone = alone();
    let (every, subsets) = if wish().is_some() { (1, 20) } else { (40, 2) };
    for (what, lived) in [
        ("begun", live(true)),
        ("migrated", live_on_from_format_1(true)),
    ] {
        let (all, tried) = try_states(&lived, Made { every, subsets });
        let lost = tried.iter().filter(|a| **a != After::Kept).count();
        println!(
            "{what}, synchronous=NORMAL: {} of {all} states tried, {lost} lost an answered act",
            tried.len()
        );
        assert!(lost > tried.len() / 4, "only {lost} of {}", tried.len());
        if wish().is_some() {
            assert!(
                all >= 20_000,
                "only {all} states: the day has become too short"
            );
        }
    }
}

/// The disk fills at one write after another: told so, the act is not there, and the same
/// journal goes on once there is room.
#[test]
fn a_disk_that_fills_at_any_write_loses_nothing_and_the_journal_goes_on() {
    let _alone = alone();
    let dir = folder();
    let path = dir.path().join("journal.sqlite");
    shim::begin();
    let mut journal = again(&path);
    let mut told_full = 0;
    for write in 0..12 {
        let head = journal.head();
        shim::fail(shim::Fault::Full { write });
        let result = journal.commit(1, vec![told(1), Item::Seal { why: 1 }]);
        let used = shim::fail(shim::Fault::None);
        match result {
            Ok(_) => assert!(!used, "write {write} failed and was answered"),
            Err(StoreFault::DiskFull { .. }) => {
                told_full += 1;
                assert_eq!(journal.head(), head);
                journal.commit(1, vec![told(2)]).expect("goes on");
                assert_eq!(journal.head().seq, head.seq + 1);
            }
            Err(other) => panic!("write {write}: {other}"),
        }
    }
    assert!(told_full > 2, "only {told_full} writes were made to fail");
    let head = journal.head();
    drop(journal);
    shim::end();
    let journal = again(&path);
    assert_eq!((journal.head(), journal.salvage()), (head, None));
}

/// A sync fails: whether the act is on the disk is then open, so the journal says that it
/// must be opened again, writes nothing until then, and has lost nothing answered.
#[test]
fn after_a_failed_sync_the_journal_asks_to_be_opened_again() {
    let _alone = alone();
    let dir = folder();
    let path = dir.path().join("journal.sqlite");
    shim::begin();
    let mut journal = again(&path);
    for visit in 1..5 {
        journal.commit(1, vec![told(visit)]).expect("commits");
    }
    let answered = journal.head();
    shim::fail(shim::Fault::Sync);
    let fault = journal.commit(1, vec![told(5)]).expect_err("fails");
    assert!(shim::fail(shim::Fault::None), "no sync was made to fail");
    assert!(matches!(fault, StoreFault::Other { .. }), "{fault}");
    for _ in 0..2 {
        assert!(matches!(
            journal.commit(1, vec![told(6)]),
            Err(StoreFault::MustReopen { .. })
        ));
        assert!(matches!(
            journal.erase_subject(&[1; 16]),
            Err(StoreFault::MustReopen { .. })
        ));
    }
    drop(journal);
    shim::end();
    let mut journal = again(&path);
    assert!(journal.salvage().is_none());
    let seq = journal.head().seq;
    assert!(seq == answered.seq || seq == answered.seq + 1);
    journal.commit(1, vec![told(7)]).expect("goes on");
}
