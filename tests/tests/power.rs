//! The power goes at every write and sync of the demo session, on a phone that holds an
//! older journal: that is migrated, the session measured, sent and acknowledged. Opened
//! again, the phone shows the last answered act or the one that was in flight, and the
//! chain verifies.
//!
//! By default few states are tried. `STANDSQUARE_CRASH_STATES=all` makes more than 20,000
//! and tries every one (or as many as it says, evenly spread).

#[path = "../../core/journal/tests/crash/disk.rs"]
mod disk;
#[path = "../../core/journal/tests/crash/shim.rs"]
#[allow(dead_code)] // shared with the journal's own crash test
mod shim;

use std::collections::{BTreeMap, HashSet};
use std::fs;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};

use disk::{Disk, Files};
use shim::Op;
use standsquare_journal::cli::verify_file;
use standsquare_session::{JOURNAL_FILE, Phone, Stamp, View};
use standsquare_tests::{Table, demo, lasting};
use tempfile::TempDir;

/// States tried where nothing else is asked for.
const BY_DEFAULT: usize = 60;
/// Chance selections at each step where many are asked for.
const SUBSETS: usize = 320;
/// Acts after which what everything comes to is kept: more often than a phone does it.
const KEPT_AT: usize = 8;
/// The secret of the held journals.
const SECRET: [u8; 32] = [3; 32];

fn folder() -> TempDir {
    let memory = Path::new("/dev/shm");
    match memory.is_dir() {
        true => TempDir::new_in(memory),
        false => TempDir::new(),
    }
    .expect("a folder")
}

fn put_down(dir: &Path, files: &Files) {
    for (suffix, content) in files {
        let name = format!("{JOURNAL_FILE}{suffix}");
        fs::write(dir.join(name), content).expect("writes");
    }
}

fn older() -> Files {
    let held = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("held-formats/journal-1.sqlite");
    Files::from([(String::new(), fs::read(held).expect("reads"))])
}

fn open(dir: &Path, stamp: &Stamp) -> Phone {
    Phone::open(dir, SECRET, stamp).expect("the phone opens")
}

fn shown(phone: &Phone) -> serde_json::Value {
    let view: View = phone.view();
    lasting(&view)
}

/// The session as it went to the disk.
struct Lived {
    /// What was done to the files, and each act noted when answered.
    ops: Vec<Op>,
    /// By the number of the last event after each act: what the phone showed then.
    shown: BTreeMap<u64, serde_json::Value>,
    /// Every event's bytes.
    events: Vec<Vec<u8>>,
    opened: Stamp,
}

/// The demo session, on a phone that holds a journal of format 1.
fn live(weak: bool) -> Lived {
    let dir = folder();
    put_down(dir.path(), &older());
    let mut table = Table::in_folder("the power goes", dir, SECRET);
    demo::whole(&mut table);
    let recording = table.recording();

    // Once more, written down.
    let dir = folder();
    put_down(dir.path(), &older());
    let mut shown_by = BTreeMap::new();
    shim::begin();
    let mut phone = open(dir.path(), &recording.opened);
    if weak {
        phone.weaken_for_test().expect("weakens");
    }
    let mut note = |phone: &Phone| {
        let seq = phone.journal().head().seq;
        shown_by.insert(seq, shown(phone));
        shim::answered(seq);
    };
    note(&phone);
    for (n, step) in recording.steps.iter().enumerate() {
        let seen = phone.view().revision;
        let answer = phone.apply(&step.act, seen, &step.stamp);
        answer.expect("the record holds");
        note(&phone);
        // What everything comes to is kept at ticks, which no recording has.
        if n % KEPT_AT == 0 {
            phone.keep_for_test().expect("keeps");
        }
    }
    assert_eq!(phone.view().outbox.waiting, 0, "the office has everything");
    let events = phone.journal().events().expect("reads");
    drop(phone);
    Lived {
        ops: shim::end(),
        shown: shown_by,
        events: events.into_iter().map(|e| e.bytes).collect(),
        opened: recording.opened.clone(),
    }
}

/// Gives every different state that the disk may be left in, with its number and what was
/// answered by then, always in the same order; how many there are.
fn each_state(
    lived: &Lived,
    (every, subsets): (usize, usize),
    mut take: impl FnMut(usize, u64, &Files),
) -> usize {
    let mut rng = fastrand::Rng::with_seed(0x706f_7765);
    let mut disk = Disk::holding(&older());
    // What the older journal held was answered long ago.
    disk.answered = lived.shown.keys().next().copied().unwrap_or_default();
    let mut seen = HashSet::new();
    for (step, op) in lived.ops.iter().enumerate() {
        disk.take(op);
        if step % every != 0 {
            continue;
        }
        for files in disk.states(subsets, &mut rng) {
            let mut hash = DefaultHasher::new();
            (disk.answered, &files).hash(&mut hash);
            if seen.insert(hash.finish()) {
                take(seen.len() - 1, disk.answered, &files);
            }
        }
    }
    seen.len()
}

/// Whether every answered act is there, and nothing else but the one in flight, whole.
fn kept(lived: &Lived, answered: u64, files: &Files) -> bool {
    let dir = folder();
    put_down(dir.path(), files);
    let phone = open(dir.path(), &lived.opened);
    let seq = phone.journal().head().seq;
    if phone.journal().salvage().is_some() || seq < answered {
        return false;
    }
    let next = lived.shown.keys().find(|s| **s > answered);
    assert!(
        seq == answered || Some(&seq) == next,
        "{answered} answered, {seq} there"
    );
    assert_eq!(shown(&phone), lived.shown[&seq], "another view at {seq}");
    let events = phone.journal().events().expect("reads");
    for (kept, lived) in events.iter().zip(&lived.events) {
        assert_eq!(kept.bytes, *lived, "event {} is another one", kept.seq);
    }
    drop(phone);
    let (report, whole) = verify_file(&dir.path().join(JOURNAL_FILE));
    assert!(whole, "{report}");
    true
}

fn wish() -> Option<String> {
    std::env::var("STANDSQUARE_CRASH_STATES").ok()
}

/// Tries states spread evenly over all there are: how many there are, how many were tried,
/// and how many of those lost something.
fn try_states(lived: &Lived, made: (usize, usize)) -> (usize, usize, usize) {
    let all = each_state(lived, made, |_, _, _| {});
    let count = match wish().as_deref() {
        Some("all") => all,
        Some(wish) => wish.parse().expect("a number of states, or all"),
        None => BY_DEFAULT,
    };
    let step = (all / count.max(1)).max(1);
    let (mut tried, mut lost) = (0, 0);
    each_state(lived, made, |n, answered, files| {
        if n % step == 0 {
            tried += 1;
            lost += usize::from(!kept(lived, answered, files));
        }
    });
    (all, tried, lost)
}

/// With its control: with synchronous=NORMAL the same must lose acts, or it shows nothing.
/// One test, because what is written down is the whole program's.
#[test]
fn whenever_the_power_goes_in_the_demo_session_the_last_answered_act_is_shown() {
    let large = wish().is_some();
    // At every so many steps, so many chance selections.
    let (full, normal) = match large {
        true => ((1, SUBSETS), (1, 1)),
        false => ((5, 1), (60, 0)),
    };
    let (all, tried, lost) = try_states(&live(false), full);
    println!("synchronous=FULL: {tried} of {all} states tried, {lost} lost an answered act");
    assert_eq!(lost, 0);
    let large = wish().is_some();
    assert!(
        !large || all >= 20_000,
        "only {all}: the session has become too short"
    );

    let (all, tried, lost) = try_states(&live(true), normal);
    println!("synchronous=NORMAL: {tried} of {all} states tried, {lost} lost an answered act");
    assert!(lost > tried / 4, "only {lost} of {tried}");
    assert!(
        !large || all >= 20_000,
        "only {all}: the session has become too short"
    );
}
