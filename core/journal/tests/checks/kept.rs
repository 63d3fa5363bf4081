//! What is kept for speed: it changes nothing, whatever becomes of it; and the rest of a
//! large file is gone through behind the first view.

use std::path::Path;

use rusqlite::Connection;
use standsquare_journal::store::{Item, Journal, StoreFault};
use tempfile::TempDir;

use crate::common::{Day, a_day, again, fresh, opening, told};

/// Opened leaving what came before the kept row for later.
fn lazily(path: &Path) -> Journal {
    Journal::open_for_test(path, opening()).expect("opens")
}

fn kept_at(path: &Path, seq: u64) {
    let mut journal = again(path);
    journal
        .keep(seq, "test/1", b"worked out".to_vec())
        .expect("keeps");
}

fn meddle(path: &Path, sql: &str) {
    let db = Connection::open(path).expect("opens");
    db.execute_batch(sql).expect("meddles");
}

#[test]
fn what_is_kept_comes_back_and_another_edition_does_not() {
    let (_dir, path, mut journal) = fresh();
    for visit in 1..=9 {
        journal.commit(1, vec![told(visit)]).expect("commits");
    }
    assert_eq!(journal.kept("test/1"), None);
    journal.keep(4, "test/1", b"four".to_vec()).expect("keeps");
    journal.keep(7, "test/1", b"seven".to_vec()).expect("keeps");
    assert_eq!(journal.kept("test/1"), Some((7, &b"seven"[..])));
    drop(journal);
    let mut journal = lazily(&path);
    assert_eq!(journal.kept("test/1"), Some((7, &b"seven"[..])));
    assert_eq!(journal.kept("test/2"), None);
    // Going back is allowed, beyond the end and nothing are not.
    journal.keep(2, "test/2", b"two".to_vec()).expect("keeps");
    for seq in [0, 11] {
        assert!(matches!(
            journal.keep(seq, "test/2", Vec::new()),
            Err(StoreFault::Refused { .. })
        ));
    }
    drop(journal);
    let mut journal = lazily(&path);
    assert_eq!(journal.kept("test/2"), Some((2, &b"two"[..])));
    journal.forget_kept().expect("forgets");
    assert_eq!(journal.kept("test/2"), None);
    drop(journal);
    assert_eq!(again(&path).kept("test/2"), None);
}

/// The same journal whether opened whole or from the kept row on, wherever that stands:
/// the same head, and the same acts are taken and refused afterwards.
#[test]
fn a_journal_goes_on_the_same_from_any_kept_row() {
    let (_dir, path) = a_day(2);
    let whole = again(&path);
    let (head, sealed, events) = (whole.head(), whole.sealed_up_to(), whole.events());
    let events = events.expect("reads");
    drop(whole);
    for seq in 1..=head.seq {
        kept_at(&path, seq);
        let journal = lazily(&path);
        assert!(!journal.is_checked());
        assert_eq!(journal.head(), head, "kept at {seq}");
        assert_eq!(journal.sealed_up_to(), sealed, "kept at {seq}");
        assert_eq!(journal.events().expect("reads"), events, "kept at {seq}");
        let part = journal.events_between(seq, seq + 3).expect("reads");
        let end = (seq as usize + 3).min(events.len());
        assert_eq!(part, events[seq as usize - 1..end]);
    }
}

/// A sign-off that was put up before the kept row is signed after it.
#[test]
fn a_dog_signed_for_half_before_the_kept_row_is_signed_for_after_it() {
    let mut day = Day::new();
    let (_dir, path, mut journal) = fresh();
    day.set_up(&mut journal, 1);
    day.dog(&mut journal, 1);
    drop(journal);
    let events = again(&path).events().expect("reads");
    let stated = events
        .iter()
        .position(|e| {
            matches!(
                e.fact,
                standsquare_journal::record::fact::Fact::Stated { .. }
            )
        })
        .expect("a statement") as u64
        + 1;
    // The same events again in a new file of the same device, cut at the kept row.
    meddle(
        &path,
        &format!(
            "DELETE FROM event WHERE seq > {stated};
             UPDATE head SET seq = {stated}, hash = (SELECT hash FROM event WHERE seq = {stated});"
        ),
    );
    kept_at(&path, stated);
    let mut journal = lazily(&path);
    for event in &events[stated as usize..] {
        journal
            .commit(event.at_ms, vec![Item::Fact(event.fact.clone())])
            .expect("is taken as before");
    }
    assert_eq!(journal.events().expect("reads"), events);
}

#[test]
fn a_kept_row_that_was_changed_counts_for_nothing() {
    for sql in [
        "UPDATE kept SET bytes = x'00'",
        "UPDATE kept SET edition = 'test/9'",
        "UPDATE kept SET chain = x'80'",
        "UPDATE kept SET chain = zeroblob(length(chain))",
        "UPDATE kept SET sum = zeroblob(32)",
        "DELETE FROM kept",
    ] {
        let (_dir, path) = a_day(1);
        let head = again(&path).head();
        kept_at(&path, 5);
        meddle(&path, sql);
        let journal = lazily(&path);
        assert_eq!(journal.kept("test/1"), None, "{sql}");
        assert_eq!(journal.kept("test/9"), None, "{sql}");
        // There is nothing to begin from, so the file was gone through whole.
        assert!(journal.is_checked(), "{sql}");
        assert_eq!((journal.head(), journal.salvage()), (head, None), "{sql}");
    }
}

/// A row that was whole for another history of the same journal: the event it was worked
/// out up to is another one now.
#[test]
fn a_kept_row_of_another_history_counts_for_nothing() {
    let (_dir, path, mut journal) = fresh();
    journal.commit(1, vec![told(1)]).expect("commits");
    drop(journal);
    let dir = TempDir::new().expect("a folder");
    let other = dir.path().join("journal.sqlite");
    std::fs::copy(&path, &other).expect("copies");
    again(&path).commit(1, vec![told(2)]).expect("commits");
    again(&other).commit(1, vec![told(3)]).expect("commits");
    kept_at(&other, 3);
    meddle(
        &path,
        &format!(
            "ATTACH '{}' AS other; INSERT INTO main.kept SELECT * FROM other.kept",
            other.display()
        ),
    );
    let journal = lazily(&path);
    assert_eq!(journal.kept("test/1"), None);
    assert!(journal.is_checked() && journal.salvage().is_none());
}

#[test]
fn damage_before_the_kept_row_is_found_behind_the_first_view_and_salvaged() {
    for (sql, what) in [
        ("UPDATE event SET bytes = x'00' WHERE seq = 4", "event 4"),
        ("DELETE FROM event WHERE seq = 4", "event 4"),
        (
            "DELETE FROM subject WHERE id = x'01010101010101010101010101010101'",
            "missing",
        ),
        ("UPDATE text SET bytes = x'00'", "text"),
    ] {
        let (_dir, path) = a_day(2);
        let head = again(&path).head();
        kept_at(&path, 20);
        meddle(&path, sql);
        let mut journal = lazily(&path);
        assert!(journal.salvage().is_none() && !journal.is_checked());
        // Acts go on meanwhile.
        journal.commit(1, vec![told(7)]).expect("commits");
        let fault = loop {
            match journal.check_on(3) {
                Ok(done) => assert!(!done, "{sql}: not found"),
                Err(fault) => break fault,
            }
        };
        assert!(matches!(fault, StoreFault::Damaged { .. }), "{fault}");
        assert!(fault.to_string().contains(what), "{sql}: {fault}");
        journal.open_again(opening()).expect("opens again");
        let report = journal.salvage().expect("a report").clone();
        assert!(journal.is_checked());
        assert!(report.set_aside.exists());
        if what == "event 4" {
            assert_eq!(report.events, 3);
            assert_eq!(report.left_behind, head.seq + 1 - 3);
        } else {
            assert_eq!(report.events, head.seq + 1);
        }
        journal.commit(1, vec![told(8)]).expect("goes on");
    }
}

#[test]
fn a_sound_file_is_gone_through_in_pieces_while_acts_go_on() {
    let (_dir, path) = a_day(2);
    kept_at(&path, 9);
    let mut journal = lazily(&path);
    let mut pieces = 0;
    while !journal.check_on(4).expect("is sound") {
        pieces += 1;
        if pieces < 5 {
            journal.commit(1, vec![told(pieces)]).expect("commits");
        }
    }
    assert!(pieces > 10 && journal.is_checked());
    assert!(journal.check_on(1).expect("stays so"));
}

/// What the design promises of the connection (FULL is 2).
#[test]
fn each_commit_is_on_the_medium_before_it_is_answered() {
    let (_dir, _path, journal) = fresh();
    for (name, value) in [
        ("journal_mode", "wal"),
        ("synchronous", "2"),
        ("fullfsync", "1"),
        ("checkpoint_fullfsync", "1"),
        ("locking_mode", "exclusive"),
        ("secure_delete", "1"),
        ("trusted_schema", "0"),
    ] {
        assert_eq!(
            journal.setting_for_test(name).expect("says"),
            value,
            "{name}"
        );
    }
}
