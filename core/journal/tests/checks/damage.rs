//! Damage is found, the file set aside whole, and what can be read carried over.
use std::fs;
use std::path::{Path, PathBuf};

use crate::common::{BEGIN_MS, Day, a_day, again, filled, fresh, opening, told};
use rusqlite::Connection;
use standsquare_journal::cli::verify_file;
use standsquare_journal::record::ChainCheck;
use standsquare_journal::record::fact::Fact;
use standsquare_journal::store::{Item, Journal, SalvageReport};

/// Changes the file as somebody with a database browser would.
fn meddle(path: &Path, sql: &str) {
    let db = Connection::open(path).expect("opens");
    let changed = db.execute(sql, []).expect("changes");
    assert!(changed > 0);
}

/// Opens a damaged journal: the report, and that it is whole again from now on.
fn salvaged(path: &Path) -> (Journal, SalvageReport) {
    let before = fs::read(path).unwrap_or_default();
    let journal = again(path);
    let report = journal.salvage().expect("a report").clone();
    assert!(
        fs::read(&report.set_aside).expect("kept") == before,
        "the file set aside is not as it was"
    );
    let mut check = ChainCheck::new();
    for event in journal.events().expect("reads") {
        check.feed(&event.bytes).expect("follows");
    }
    assert_eq!(check.seq(), check.sealed_up_to());
    drop(journal);
    let journal = again(path);
    assert!(journal.salvage().is_none(), "salvaged twice");
    (journal, report)
}

#[test]
fn a_changed_event_is_found_the_file_set_aside_and_the_good_part_carried_over() {
    let (_dir, path) = filled();
    meddle(
        &path,
        "UPDATE event SET bytes = (SELECT bytes FROM event WHERE seq = 10) WHERE seq = 14",
    );
    let (mut journal, report) = salvaged(&path);
    assert_eq!((report.events, report.left_behind), (13, 28));
    assert_eq!(journal.head().seq, 15);
    let last = journal.events_from(14).expect("reads");
    let Fact::Salvaged {
        set_aside,
        file,
        reason,
    } = &last[0].fact
    else {
        panic!("the chain does not say that it was salvaged");
    };
    assert_eq!(
        report.set_aside.file_name().unwrap().to_str(),
        Some(set_aside.as_str())
    );
    assert_eq!(
        **file,
        crate::common::sha256(&fs::read(&report.set_aside).unwrap())
    );
    assert!(reason.contains("event 14"), "{reason}");
    journal.commit(9, vec![told(99)]).expect("goes on");
    drop(journal);
    assert_eq!(again(&path).head().seq, 16);
}

#[test]
fn a_hash_that_rotted_by_itself_costs_no_event() {
    let (_dir, path) = filled();
    for seq in [14, 41] {
        meddle(
            &path,
            &format!("UPDATE event SET hash = zeroblob(32) WHERE seq = {seq}"),
        );
        let (journal, report) = salvaged(&path);
        assert_eq!(report.left_behind, 0);
        drop(journal);
    }
    assert_eq!(again(&path).head().seq, 45);
}

#[test]
fn the_last_events_cannot_vanish_unseen() {
    let (_dir, path) = filled();
    meddle(&path, "DELETE FROM event WHERE seq >= 40");
    let (_journal, report) = salvaged(&path);
    assert_eq!((report.events, report.left_behind), (39, 2));
}

#[test]
fn a_lost_text_key_or_handler_is_told_and_everything_else_kept() {
    for (sql, lost) in [
        (
            "DELETE FROM text WHERE length(bytes) > 2000",
            "1 rosters or rule packs",
        ),
        ("UPDATE text SET bytes = x'00'", "2 rosters or rule packs"),
        (
            "DELETE FROM subject WHERE id = zeroblob(0) OR 1",
            "2 handlers' details",
        ),
        (
            "UPDATE subject SET salt = zeroblob(32)",
            "2 handlers' details",
        ),
        (
            "UPDATE person SET salt = zeroblob(16) WHERE person = 'bram'",
            "1 measurers' keys",
        ),
    ] {
        let (_dir, path) = a_day(2);
        let events = again(&path).head().seq;
        meddle(&path, sql);
        let (_journal, report) = salvaged(&path);
        assert_eq!((report.events, report.left_behind), (events, 0), "{sql}");
        assert_eq!(report.also, [lost], "{sql}");
    }
}

#[test]
fn one_damaged_copy_of_the_devices_key_is_made_good_by_the_other() {
    for table in ["device", "device_spare"] {
        let (_dir, path) = filled();
        meddle(&path, &format!("UPDATE {table} SET sealed = zeroblob(48)"));
        let (journal, report) = salvaged(&path);
        assert_eq!((report.events, journal.head().seq), (41, 43));
    }
    // Both: nothing can be sealed any more, so a new journal begins beside the old one.
    let (_dir, path) = filled();
    for table in ["device", "device_spare"] {
        meddle(&path, &format!("UPDATE {table} SET sealed = zeroblob(48)"));
    }
    let (journal, report) = salvaged(&path);
    assert_eq!((report.events, report.left_behind), (0, 41));
    assert_eq!(journal.head().seq, 3);
    let old = standsquare_journal::store::read_without_secret(&report.set_aside);
    assert_eq!(old.expect("reads").len(), 41);
}

#[test]
fn bytes_that_are_no_database_are_set_aside_and_a_new_journal_begins() {
    let (_dir, path, journal) = fresh();
    drop(journal);
    fs::write(&path, vec![0x5a; 40_000]).expect("writes");
    let (journal, report) = salvaged(&path);
    assert_eq!((report.events, journal.head().seq), (0, 3));
}

#[test]
fn another_programs_database_is_left_as_it_is_and_set_aside() {
    let (_dir, path, journal) = fresh();
    drop(journal);
    fs::remove_file(&path).expect("removes");
    let db = Connection::open(&path).expect("makes");
    db.execute_batch("CREATE TABLE event (seq, hash, bytes); INSERT INTO event VALUES (1, 2, 3)")
        .expect("fills");
    drop(db);
    let (journal, report) = salvaged(&path);
    assert!(report.reason.contains("does not say that it is a journal"));
    assert_eq!((report.events, journal.head().seq), (0, 3));
}

#[test]
fn the_report_on_an_altered_journal_names_the_first_bad_event() {
    for (sql, words) in [
        ("DELETE FROM event WHERE seq = 30", "event 30 is missing"),
        (
            "UPDATE event SET bytes = x'8301008218248107' WHERE seq = 20",
            "event 20 is not the one that its hash was made of",
        ),
        (
            "DELETE FROM event WHERE seq > 40",
            "40 events can be read and 41 should be there",
        ),
        (
            "UPDATE event SET bytes = x'ff' WHERE seq = 5",
            "event 5: it does not read as an event",
        ),
    ] {
        let (_dir, path) = filled();
        meddle(&path, sql);
        let before = fs::read(&path).expect("reads");
        let (report, whole) = verify_file(&path);
        assert!(!whole && report.starts_with("NOT WHOLE"), "{report}");
        assert!(report.contains(words), "{words} not in: {report}");
        assert!(fs::read(&path).expect("reads") == before, "it was changed");
    }
    let (report, whole) = verify_file(Path::new("no/such/journal.sqlite"));
    assert!(!whole, "{report}");
}

/// A journal whose acts still stand in its log alone, as after a kill: the file, the log.
fn with_log(acts: u32) -> (tempfile::TempDir, PathBuf) {
    let (dir, path, mut journal) = fresh();
    journal.checkpoint().expect("checkpoints");
    for visit in 1..=acts {
        journal
            .commit(BEGIN_MS, vec![told(visit)])
            .expect("commits");
    }
    let killed = dir.path().join("killed");
    fs::create_dir(&killed).expect("a folder");
    let to = killed.join("journal.sqlite");
    fs::copy(&path, &to).expect("copies");
    let log = |p: &Path| PathBuf::from(format!("{}-wal", p.display()));
    fs::copy(log(&path), log(&to)).expect("copies");
    (dir, to)
}

const FRAME: usize = 24 + 4096;

#[test]
fn rot_in_the_middle_of_the_log_is_found_and_later_frames_make_up_for_it() {
    let (_dir, path) = with_log(12);
    assert_eq!(again(&path).head().seq, 13);
    for place in [
        4,
        20,
        32 + 5,
        32 + 9,
        32 + 17,
        32 + 2_000,
        32 + 3 * FRAME + 4_000,
    ] {
        let (_dir, path) = with_log(12);
        let log = PathBuf::from(format!("{}-wal", path.display()));
        let mut bytes = fs::read(&log).expect("reads");
        bytes[place] ^= 0x10;
        fs::write(&log, bytes).expect("writes");
        let (report, whole) = verify_file(&path);
        assert!(!whole, "byte {place}: {report}");
        let (journal, report) = salvaged(&path);
        assert_eq!((report.events, report.left_behind), (13, 0), "byte {place}");
        assert_eq!(journal.head().seq, 15);
    }
}

#[test]
fn a_log_cut_short_as_by_a_power_cut_is_no_damage() {
    for cut in [1, 100, 3_000, FRAME - 1, FRAME + 50] {
        let (_dir, path) = with_log(12);
        let log = PathBuf::from(format!("{}-wal", path.display()));
        let bytes = fs::read(&log).expect("reads");
        fs::write(&log, &bytes[..bytes.len() - cut]).expect("writes");
        let journal = again(&path);
        assert!(journal.salvage().is_none(), "cut {cut}");
        assert_eq!(journal.head().seq, 12, "cut {cut}: the one act in flight");
    }
}

#[test]
fn a_phone_that_dies_while_salvaging_takes_it_up_again() {
    // Every place where it can stop, made by hand: the note, the file moved, its log
    // moved, half a new file, the new file in place and not yet told.
    for stage in 0..5 {
        let (_dir, path) = with_log(12);
        let beside = |suffix: &str| PathBuf::from(format!("{}{suffix}", path.display()));
        let log = fs::read(beside("-wal")).expect("reads");
        let mut rotten = log.clone();
        rotten[32 + 2_000] ^= 1;
        fs::write(beside("-wal"), &rotten).expect("writes");
        fs::write(
            beside(".salvage"),
            ".damaged-7\nframe 1 of its log is damaged",
        )
        .expect("notes");
        if stage >= 1 {
            fs::rename(&path, beside(".damaged-7")).expect("moves");
        }
        if stage >= 2 {
            fs::rename(beside("-wal"), beside(".damaged-7-wal")).expect("moves");
        }
        if stage == 3 {
            fs::write(beside(".draft"), b"half a file").expect("writes");
            fs::write(beside(".reading-wal"), b"left over").expect("writes");
        }
        if stage == 4 {
            let (_other, whole) = with_log(12);
            let copy = path.with_file_name("copy");
            again(&whole).export_to(&copy).expect("copies");
            fs::rename(copy, &path).expect("moves");
        }
        let journal = again(&path);
        let report = journal.salvage().expect("a report");
        assert_eq!(
            (report.events, report.left_behind),
            (13, 0),
            "stage {stage}"
        );
        assert!(matches!(
            &journal.events_from(14).expect("reads")[..],
            [told, _] if matches!(&told.fact, Fact::Salvaged { set_aside, .. } if set_aside == "journal.sqlite.damaged-7")
        ));
        drop(journal);
        assert!(again(&path).salvage().is_none());
        assert!(fs::read(beside(".damaged-7-wal")).expect("kept") == rotten);
        for left in [".salvage", ".draft", ".reading"] {
            assert!(!beside(left).exists(), "stage {stage}: {left} is left over");
        }
    }
}

#[test]
fn a_day_goes_on_after_a_salvage_and_its_sign_offs_hold() {
    let (_dir, path, mut journal) = fresh();
    let mut day = Day::new();
    day.set_up(&mut journal, 3);
    day.dog(&mut journal, 1);
    drop(journal);
    meddle(
        &path,
        "UPDATE subject SET sum = zeroblob(32) WHERE id = (SELECT min(id) FROM subject)",
    );
    let (mut journal, report) = salvaged(&path);
    assert_eq!(report.also, ["1 handlers' details"]);
    day.dog(&mut journal, 2);
    day.close(&mut journal);
    journal
        .commit(BEGIN_MS, vec![Item::Seal { why: 3 }])
        .expect("commits");
    drop(journal);
    let (report, whole) = verify_file(&path);
    assert!(whole, "{report}");
    assert!(report.contains("4 sign-offs under 2 dogs hold"), "{report}");
    assert!(report.contains("the file was damaged"), "{report}");
    let _ = opening();
}
