//! The file: durable, whole or not at all, its secrets sealed.
use std::fs;
use std::path::Path;

use crate::common::{SECRET, a_day, again, filled, fresh, opening, statement, subject, told};
use rusqlite::Connection;
use standsquare_journal::record::fact::{ALG_ED25519, Fact};
use standsquare_journal::record::{ChainCheck, sign_off_bytes};
use standsquare_journal::store::{
    Item, Journal, Opening, StoreFault, WrappedKey, make_person_key, read_without_secret,
    subject_commitment,
};

#[test]
fn what_was_committed_is_there_after_opening_again_and_verifies() {
    let (_dir, path) = filled();
    let journal = again(&path);
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
    assert_eq!((journal.head().seq, journal.sealed_up_to()), (41, 41));
}

#[test]
fn reading_from_a_number_on_gives_the_same_events_as_reading_all() {
    let (_dir, path) = a_day(2);
    let journal = again(&path);
    let all = journal.events().expect("reads");
    assert!(all.len() > 30);
    for from in 0..=all.len() + 2 {
        let part = journal.events_from(from as u64).expect("reads");
        assert_eq!(part, all[from.saturating_sub(1).min(all.len())..]);
    }
}

#[test]
fn a_list_of_items_is_written_whole_or_not_at_all() {
    let (_dir, path, mut journal) = fresh();
    journal.commit(1, vec![subject(1)]).expect("commits");
    let head = journal.head();
    // The same id again is refused, and the fact before it goes with it.
    assert!(matches!(
        journal.commit(1, vec![told(1), subject(1), told(2)]),
        Err(StoreFault::Refused { .. })
    ));
    assert_eq!(journal.head(), head);
    journal
        .commit(1, vec![told(3), Item::Seal { why: 1 }])
        .expect("the journal goes on");
    drop(journal);
    let facts: Vec<Fact> = again(&path)
        .events_from(2)
        .expect("reads")
        .into_iter()
        .map(|e| e.fact)
        .collect();
    assert_eq!(facts.len(), 2);
    assert_eq!(facts[0], Fact::HandlerTold { visit: 3 });
}

#[test]
fn what_would_not_verify_later_is_not_written() {
    let (_dir, path, mut journal) = fresh();
    let key = make_person_key("ottoline", "4711", &SECRET, [8; 32]).expect("a key");
    let shown = statement(1, 1).encode();
    let head = journal
        .commit(
            1,
            vec![
                Item::PersonKey(key.clone()),
                Item::Fact(Fact::KeyMade {
                    person: "ottoline".into(),
                    key: key.public().into(),
                    alg: ALG_ED25519,
                }),
                Item::Fact(Fact::Stated {
                    statement: shown.clone(),
                }),
            ],
        )
        .expect("commits");
    let other = statement(1, 2).encode();
    let signed = |text: &[u8]| {
        Item::Fact(Fact::Signed {
            visit: 1,
            person: "ottoline".into(),
            alg: ALG_ED25519,
            head: head.hash.into(),
            signature: key
                .sign("4711", &SECRET, &sign_off_bytes(&head.hash, text))
                .expect("signs")
                .into(),
        })
    };
    let refused = [
        vec![told(1), signed(&other)],
        vec![Item::Fact(Fact::Stated {
            statement: b"no statement".to_vec(),
        })],
        vec![Item::Blob {
            hash: [1; 32],
            bytes: b"a text of another hash".to_vec(),
        }],
        vec![Item::Fact(Fact::Sealed {
            why: 1,
            alg: ALG_ED25519,
            head: head.hash.into(),
            signature: [0; 64].into(),
        })],
    ];
    for items in refused {
        let fault = journal.commit(1, items).expect_err("refused");
        assert!(matches!(fault, StoreFault::Refused { .. }), "{fault}");
        assert_eq!(journal.head(), head);
    }
    journal.commit(1, vec![signed(&shown)]).expect("commits");
    drop(journal);
    assert_eq!(again(&path).head().seq, head.seq + 1);
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
    let newer = |path: &Path, outer: i64, inner: i64| {
        let db = Connection::open(path).expect("opens");
        db.pragma_update(None, "user_version", outer).expect("sets");
        db.execute("UPDATE head SET format = ?", [inner])
            .expect("sets");
    };
    newer(&path, 99, 99);
    assert!(matches!(
        Journal::open(&path, opening()),
        Err(StoreFault::TooNew { found: 99, .. })
    ));
    newer(&path, 2, 2);
    let journal = again(&path);
    assert!(journal.salvage().is_none());
    assert_eq!(journal.head().seq, 41);
}

#[test]
fn what_was_measured_can_be_read_when_the_phones_secret_is_lost() {
    let (_dir, path) = a_day(1);
    let events = again(&path).events().expect("reads");
    assert_eq!(read_without_secret(&path).expect("reads"), events);
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
    // Looking at it does not disturb it either.
    let (report, whole) = standsquare_journal::cli::verify_file(&path);
    assert!(whole, "{report}");
    assert!(report.contains("3 events"), "{report}");
    journal
        .commit(1, vec![told(3)])
        .expect("the first one goes on");
}

#[test]
fn what_is_past_its_keeping_goes_in_one_act_and_the_rest_stays() {
    let (_dir, path, mut journal) = fresh();
    let items = (1..=5).map(subject).collect();
    journal.commit(1, items).expect("commits");
    let id = |n: u8| [n; 16];
    assert_eq!(
        journal.subjects().expect("reads"),
        (1..=5).map(id).collect::<Vec<_>>()
    );
    let gone = journal.erase_subjects(&[id(1), id(9), id(3), id(1)]);
    assert_eq!(gone.expect("erases"), 2);
    assert_eq!(journal.erase_subjects(&[]).expect("erases"), 0);
    drop(journal);
    let journal = again(&path);
    assert!(journal.salvage().is_none());
    assert_eq!(journal.subjects().expect("reads"), [2, 4, 5].map(id));
    assert_eq!(journal.subject(&id(3)).expect("reads"), None);
    assert!(journal.subject(&id(4)).expect("reads").is_some());
}

#[test]
fn personal_data_is_sealed_and_erasing_it_leaves_a_chain_that_verifies() {
    let (dir, path, mut journal) = fresh();
    let name = b"Ferelith Quarrington".to_vec();
    let salt: [u8; 32] = std::array::from_fn(|n| n as u8 | 0x80);
    let key: [u8; 32] = std::array::from_fn(|n| n as u8 | 0x40);
    let called = Fact::DogCalled {
        visit: 1,
        dog: "pip".into(),
        subject: [1; 16].into(),
        commitment: subject_commitment(&name, &salt).into(),
    };
    let subject = Item::Subject {
        id: [1; 16],
        clear: name.clone(),
        salt,
        key,
        nonce: [5; 24],
    };
    journal
        .commit(1, vec![subject, Item::Fact(called), Item::Seal { why: 1 }])
        .expect("commits");
    assert_eq!(
        journal.subject(&[1; 16]).expect("reads"),
        Some(name.clone())
    );
    let row: Vec<Vec<u8>> = {
        let copy = dir.path().join("copy.sqlite");
        journal.export_to(&copy).expect("copies");
        let db = Connection::open(&copy).expect("opens");
        db.query_row("SELECT sealed, key, nonce FROM subject", [], |r| {
            Ok(vec![r.get(0)?, r.get(1)?, r.get(2)?])
        })
        .expect("a row")
    };
    let holds = |needle: &[u8]| {
        fs::read_dir(dir.path().join("deep"))
            .expect("a folder")
            .filter_map(|e| fs::read(e.ok()?.path()).ok())
            .any(|b| b.windows(needle.len()).any(|w| w == needle))
    };
    assert!(!holds(&name), "the name stands in the file in clear");
    assert!(!holds(&key), "its key stands in the file in clear");
    assert!(holds(&salt), "the salt is there before it is erased");
    assert!(row.iter().all(|column| holds(column)));
    assert!(journal.erase_subject(&[1; 16]).expect("erases"));
    assert!(!journal.erase_subject(&[1; 16]).expect("nothing to erase"));
    assert_eq!(journal.subject(&[1; 16]).expect("reads"), None);
    assert!(!holds(&salt), "its salt is still there");
    for column in &row {
        assert!(!holds(column), "a part of it is still there");
    }
    drop(journal);
    let journal = again(&path);
    assert!(journal.salvage().is_none());
    let (report, whole) = standsquare_journal::cli::verify_file(&path);
    assert!(whole, "{report}");
}

#[test]
fn a_measurers_key_comes_back_as_it_was_and_a_new_one_takes_its_place() {
    let (_dir, path, mut journal) = fresh();
    let key = |pin: &str, n: u8| make_person_key("bram", pin, &SECRET, [n; 32]).expect("a key");
    let (first, second) = (key("2580", 1), key("1379", 2));
    for key in [&first, &second] {
        journal
            .commit(1, vec![Item::PersonKey(key.clone())])
            .expect("commits");
    }
    drop(journal);
    let journal = again(&path);
    assert!(journal.salvage().is_none());
    let kept = journal.person_key("bram").expect("reads").expect("a key");
    assert_eq!(kept, second);
    assert!(kept.sign("2580", &SECRET, b"text").is_err());
    assert!(kept.sign("1379", &SECRET, b"text").is_ok());
    assert_eq!(journal.person_key("ottoline").expect("reads"), None);
}

#[test]
fn the_owners_second_wrapping_is_kept_beside_the_pins_and_goes_by_itself() {
    let (_dir, path, mut journal) = fresh();
    let key = |who: &str, n: u8| make_person_key(who, "2580", &SECRET, [n; 32]).expect("a key");
    let owner = |key: &WrappedKey| {
        let owner = key.for_owner("2580", &SECRET, &[7; 32], [9; 32]);
        Item::PersonKey(owner.expect("wrapped"))
    };
    let (bram, ottoline) = (key("bram", 1), key("ottoline", 2));
    for item in [
        Item::PersonKey(bram.clone()),
        Item::PersonKey(ottoline.clone()),
        owner(&bram),
        owner(&ottoline),
    ] {
        journal.commit(1, vec![item]).expect("commits");
    }
    drop(journal);
    let mut journal = again(&path);
    assert!(journal.salvage().is_none());
    let kept = journal.owner_key().expect("reads").expect("a key");
    assert_eq!(kept.public(), ottoline.public(), "one phone has one owner");
    assert!(kept.sign([7; 32], &SECRET, b"text").is_ok());
    assert_eq!(journal.person_key("bram").expect("reads"), Some(bram));
    for _ in 0..2 {
        let none = Item::PersonKey(WrappedKey::no_owner());
        journal.commit(1, vec![none]).expect("commits");
    }
    drop(journal);
    let journal = again(&path);
    assert!(journal.salvage().is_none());
    assert_eq!(journal.owner_key().expect("reads"), None);
    assert_eq!(
        journal.person_key("ottoline").expect("reads"),
        Some(ottoline)
    );
}

#[test]
fn a_copy_is_whole_and_verifies() {
    let (dir, path) = a_day(3);
    let journal = again(&path);
    let copy = dir.path().join("copy.sqlite");
    journal.export_to(&copy).expect("copies");
    assert!(
        journal.export_to(&copy).is_err(),
        "an existing file is not overwritten"
    );
    let (report, whole) = standsquare_journal::cli::verify_file(&copy);
    assert!(whole, "{report}");
    for words in [
        "6 sign-offs under 3 dogs hold",
        "ottoline (LM-014) signed dog 1: Pip, 999000000112233, Small",
        "bram (LM-022) signed dog 3: Pip, 999000000112233, Small",
    ] {
        assert!(report.contains(words), "{report}");
    }
}

#[cfg(unix)]
#[test]
fn a_full_disk_loses_nothing_that_was_answered() {
    // SQLite's own page limit stands in for the disk's end.
    let (_dir, path, mut journal) = fresh();
    let mut answered = 0;
    let pages = journal.pages_for_test().expect("pages");
    journal.limit_pages_for_test(pages + 3).expect("limits");
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
    assert_eq!(again(&path).head().seq, u64::from(answered) + 2);
}
