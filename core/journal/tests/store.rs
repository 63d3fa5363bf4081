//! The file: durable, whole or not at all, damage found and set aside.
#![cfg(feature = "store")]

use std::fs;
use std::path::PathBuf;

use rusqlite::Connection;
use standsquare_journal::record::fact::{
    ALG_ED25519, ChipProof, Fact, Outcome, Seen, StatedPlacing, Statement,
};
use standsquare_journal::record::{ChainCheck, Event, sign_off_bytes};
use standsquare_journal::store::{
    Item, Journal, Opening, StoreFault, make_person_key, subject_commitment,
};
use tempfile::TempDir;

const SECRET: [u8; 32] = [3; 32];

fn opening() -> Opening<'static> {
    Opening {
        device_secret: SECRET,
        at_ms: 1_000,
        entropy: [5; 32],
        software: "test",
    }
}

fn fresh() -> (TempDir, PathBuf, Journal) {
    let dir = TempDir::new().expect("a folder");
    let path = dir.path().join("deep/journal.sqlite");
    let journal = Journal::open(&path, opening()).expect("opens");
    (dir, path, journal)
}

fn told(visit: u32) -> Item {
    Item::Fact(Fact::HandlerTold { visit })
}

fn filled() -> (TempDir, PathBuf) {
    let (dir, path, mut journal) = fresh();
    for visit in 1..=20 {
        journal
            .commit(2_000, vec![told(visit), Item::Seal { why: 1 }])
            .expect("commits");
    }
    drop(journal);
    (dir, path)
}

#[test]
fn what_was_committed_is_there_after_opening_again_and_verifies() {
    let (_dir, path) = filled();
    let journal = Journal::open(&path, opening()).expect("opens");
    let events = journal.events().expect("reads");
    assert_eq!(events.len(), 41);
    assert!(journal.salvage().is_none());
    let mut check = ChainCheck::new();
    for event in &events {
        check.feed(&event.bytes).expect("follows");
        assert_eq!(check.head(), event.hash);
    }
    assert_eq!(
        (check.sealed_up_to(), check.device_key()),
        (41, Some(journal.device_key()))
    );
    assert_eq!(journal.head().seq, 41);
}

#[test]
fn a_list_of_items_is_written_whole_or_not_at_all() {
    let (_dir, path, mut journal) = fresh();
    let subject = || Item::Subject {
        id: [1; 16],
        clear: b"A handler".to_vec(),
        salt: [2; 32],
        key: [4; 32],
        nonce: [5; 24],
    };
    journal.commit(1, vec![subject()]).expect("commits");
    let head = journal.head();
    // The same id again is refused, and the fact before it goes with it.
    assert!(
        journal
            .commit(1, vec![told(1), subject(), told(2)])
            .is_err()
    );
    assert_eq!(journal.head(), head);
    journal
        .commit(1, vec![told(3)])
        .expect("the journal goes on");
    drop(journal);
    let journal = Journal::open(&path, opening()).expect("opens");
    let facts: Vec<Fact> = journal
        .events_from(2)
        .expect("reads")
        .into_iter()
        .map(|e| e.fact)
        .collect();
    assert_eq!(facts, [Fact::HandlerTold { visit: 3 }]);
}

#[test]
fn a_changed_event_is_found_the_file_set_aside_and_the_good_part_carried_over() {
    let (_dir, path) = filled();
    let db = Connection::open(&path).expect("opens");
    let changed = db
        .execute(
            "UPDATE event SET bytes = (SELECT bytes FROM event WHERE seq = 10) WHERE seq = 14",
            [],
        )
        .expect("changes");
    assert_eq!(changed, 1);
    drop(db);
    let before = fs::read(&path).expect("reads");
    let mut journal = Journal::open(&path, opening()).expect("opens all the same");
    let report = journal.salvage().expect("a report").clone();
    assert_eq!((report.events, report.left_behind), (13, 28));
    assert_eq!(fs::read(&report.set_aside).expect("kept"), before);
    assert_eq!(journal.head().seq, 13);
    journal.commit(9, vec![told(99)]).expect("goes on");
    drop(journal);
    let journal = Journal::open(&path, opening()).expect("opens");
    assert!(journal.salvage().is_none());
    assert_eq!(journal.head().seq, 14);
}

#[test]
fn bytes_that_are_no_database_are_set_aside_and_a_new_journal_begins() {
    let dir = TempDir::new().expect("a folder");
    let path = dir.path().join("journal.sqlite");
    fs::write(&path, vec![0x5a; 40_000]).expect("writes");
    let journal = Journal::open(&path, opening()).expect("opens all the same");
    let report = journal.salvage().expect("a report");
    assert_eq!(fs::read(&report.set_aside).expect("kept").len(), 40_000);
    assert_eq!((report.events, journal.head().seq), (0, 1));
}

#[test]
fn another_phones_secret_or_a_newer_format_is_refused_and_nothing_is_touched() {
    let (_dir, path) = filled();
    let other = Opening {
        device_secret: [9; 32],
        ..opening()
    };
    assert!(matches!(
        Journal::open(&path, other),
        Err(StoreFault::WrongDeviceSecret {})
    ));
    let db = Connection::open(&path).expect("opens");
    db.pragma_update(None, "user_version", 99).expect("sets");
    drop(db);
    assert!(matches!(
        Journal::open(&path, opening()),
        Err(StoreFault::TooNew {
            found: 99,
            known: 1
        })
    ));
    let db = Connection::open(&path).expect("opens");
    db.pragma_update(None, "user_version", 1).expect("sets");
    drop(db);
    assert_eq!(
        Journal::open(&path, opening()).expect("opens").head().seq,
        41
    );
}

#[test]
fn a_second_process_is_told_that_the_journal_is_held() {
    let (_dir, path, mut journal) = fresh();
    journal.commit(1, vec![told(1)]).expect("commits");
    assert!(matches!(
        Journal::open(&path, opening()),
        Err(StoreFault::Busy { .. })
    ));
    journal
        .commit(1, vec![told(2)])
        .expect("the first one goes on");
}

#[test]
fn personal_data_is_sealed_and_erasing_it_leaves_a_chain_that_verifies() {
    let (dir, path, mut journal) = fresh();
    let name = b"Ferelith Quarrington".to_vec();
    let commitment = subject_commitment(&name, &[2; 32]);
    let called = Fact::DogCalled {
        visit: 1,
        dog: "pip".into(),
        subject: [1; 16].into(),
        commitment: commitment.into(),
    };
    let subject = Item::Subject {
        id: [1; 16],
        clear: name.clone(),
        salt: [2; 32],
        key: [4; 32],
        nonce: [5; 24],
    };
    journal
        .commit(1, vec![subject, Item::Fact(called), Item::Seal { why: 1 }])
        .expect("commits");
    assert_eq!(
        journal.subject(&[1; 16]).expect("reads"),
        Some(name.clone())
    );
    let holds = |needle: &[u8]| {
        fs::read_dir(dir.path().join("deep"))
            .expect("a folder")
            .filter_map(|e| fs::read(e.ok()?.path()).ok())
            .any(|b| b.windows(needle.len()).any(|w| w == needle))
    };
    assert!(!holds(&name), "the name stands in the file in clear");
    assert!(holds(&[4; 32]), "its key is there before it is erased");
    journal.erase_subject(&[1; 16]).expect("erases");
    assert_eq!(journal.subject(&[1; 16]).expect("reads"), None);
    assert!(!holds(&[4; 32]), "its key is still there");
    assert!(!holds(&[2; 32]), "its salt is still there");
    drop(journal);
    let journal = Journal::open(&path, opening()).expect("opens");
    assert!(journal.salvage().is_none());
}

/// A statement of the first dog, in which the measure's number may vary.
fn statement(measure: u8) -> Vec<u8> {
    Statement {
        session: [0; 16].into(),
        visit: 1,
        dog: "Pip".into(),
        chip: "999000000112233".into(),
        proof: ChipProof::Equal,
        chip_read: None,
        pack: "larkmere".into(),
        edition: "1".into(),
        day: 20_782,
        outcome: Outcome::Category {
            id: "small".into(),
            label: "Small".into(),
        },
        over_um: None,
        within_um: Some(350_000),
        measure,
        status: "provisional".into(),
        flags: Vec::new(),
        placings: vec![StatedPlacing {
            hoop: "h35".into(),
            seen: Seen::Flat,
        }],
        window_from: None,
        window_to: None,
        measurers: vec!["LM-1".into()],
        demo: true,
        status_until: None,
    }
    .encode()
}

#[test]
fn a_sign_off_by_another_key_or_over_another_statement_does_not_follow() {
    let (_dir, _path, mut journal) = fresh();
    let key = make_person_key("ottoline", "4711", &SECRET, [8; 32]).expect("a key");
    let made = Fact::KeyMade {
        person: "ottoline".into(),
        key: key.public().into(),
        alg: ALG_ED25519,
    };
    let shown = statement(1);
    let stated = Fact::Stated {
        statement: shown.clone(),
    };
    let head = journal
        .commit(
            1,
            vec![
                Item::PersonKey(key.clone()),
                Item::Fact(made),
                Item::Fact(stated),
            ],
        )
        .expect("commits");
    let signed = |person: &str, visit: u32, head: [u8; 32], text: &[u8]| {
        let fact = Fact::Signed {
            visit,
            person: person.into(),
            alg: ALG_ED25519,
            head: head.into(),
            signature: key
                .sign("4711", &SECRET, &sign_off_bytes(&head, text))
                .expect("signs")
                .into(),
        };
        Event {
            version: 1,
            at_ms: 1,
            fact,
        }
        .encode()
    };
    let mut check = ChainCheck::new();
    for event in journal.events().expect("reads") {
        check.feed(&event.bytes).expect("follows");
    }
    for (bad, why) in [
        (
            signed("ottoline", 1, head.hash, &statement(2)),
            "event 4: the sign-off of ottoline does not hold: the signature is not theirs",
        ),
        (
            signed("bram", 1, head.hash, &shown),
            "event 4: the sign-off of bram does not hold: no key of theirs is on record",
        ),
        (
            signed("ottoline", 1, [0; 32], &shown),
            "event 4: the sign-off of ottoline does not hold: it is not over the statement last put up",
        ),
        (
            signed("ottoline", 2, head.hash, &shown),
            "event 4: the sign-off of ottoline does not hold: no statement of that visit was put up",
        ),
    ] {
        let fault = check.clone().feed(&bad).expect_err("does not follow");
        assert_eq!(fault.to_string(), why);
    }
    check
        .feed(&signed("ottoline", 1, head.hash, &shown))
        .expect("follows");
}

#[test]
fn a_copy_is_whole_and_verifies() {
    let (dir, path) = filled();
    let journal = Journal::open(&path, opening()).expect("opens");
    let copy = dir.path().join("copy.sqlite");
    journal.export_to(&copy).expect("copies");
    assert!(
        journal.export_to(&copy).is_err(),
        "an existing file is not overwritten"
    );
    let (report, ok) = standsquare_journal::cli::verify_file(&copy);
    assert!(ok, "{report}");
    assert!(report.contains("41 events"), "{report}");
}

#[test]
fn the_report_on_an_altered_journal_names_the_first_bad_event() {
    let (_dir, path) = filled();
    let db = Connection::open(&path).expect("opens");
    db.execute("DELETE FROM event WHERE seq = 30", [])
        .expect("changes");
    drop(db);
    let (report, ok) = standsquare_journal::cli::verify_file(&path);
    assert!(!ok);
    assert!(report.contains("event 30 is missing"), "{report}");
}

#[cfg(unix)]
#[test]
fn a_full_disk_loses_nothing_that_was_answered() {
    // SQLite's own page limit stands in for the disk's end.
    let (_dir, path, mut journal) = fresh();
    let mut answered = 0;
    let db_limit = |journal: &mut Journal| {
        journal
            .limit_pages_for_test(journal.pages_for_test().expect("pages") + 3)
            .expect("limits");
    };
    db_limit(&mut journal);
    let fault = loop {
        match journal.commit(1, vec![told(answered + 1)]) {
            Ok(_) => answered += 1,
            Err(fault) => break fault,
        }
    };
    assert!(matches!(fault, StoreFault::DiskFull { .. }), "{fault:?}");
    // Room again: the act is done once more, nothing is missing, nothing is double.
    journal.limit_pages_for_test(1_000_000).expect("limits");
    journal
        .commit(1, vec![told(answered + 1)])
        .expect("commits");
    drop(journal);
    let journal = Journal::open(&path, opening()).expect("opens");
    assert_eq!(journal.head().seq, u64::from(answered) + 2);
}
