//! The copy that a second phone keeps: given after each dog as bytes or codes, verified,
//! never overwritten by another history, and enough to go on from when the first is lost.

use std::fs;
use std::path::Path;

use fast_qr::{ECL, QRBuilder, Version};
use standsquare_journal::cli::verify_file;
use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::pieces::{Gathering, PIECE, PieceFault, pieces};
use standsquare_journal::record::run::{Copied, Run, RunFault};
use standsquare_journal::record::{ChainCheck, Event};
use standsquare_journal::store::{Copies, CopyFault, Item, Journal};
use tempfile::TempDir;

use crate::common::{Day, fresh, told};

const OWN: [u8; 16] = [0xee; 16];

fn copies() -> (TempDir, Copies) {
    let dir = TempDir::new().expect("a folder");
    let copies = Copies::open(&dir.path().join("copies")).expect("opens");
    (dir, copies)
}

fn after(journal: &Journal, held: u64) -> Vec<u8> {
    journal.copy_after(held).expect("reads").expect("a copy")
}

#[test]
fn a_day_is_copied_dog_by_dog_and_outlives_the_phone() {
    let (first, path, mut journal) = fresh();
    let (folder, copies) = copies();
    let mut day = Day::new();
    day.set_up(&mut journal, 3);
    assert_eq!(
        journal.copy_after(0).expect("reads"),
        None,
        "nothing is sealed"
    );
    let id = journal.journal_id();
    for visit in 1..=3 {
        day.dog(&mut journal, visit);
        let held = copies.held(&id).expect("reads");
        let taken = copies.take(&after(&journal, held), &OWN).expect("is taken");
        assert_eq!(taken.held, journal.sealed_up_to());
        assert_eq!((taken.journal, taken.new), (id, taken.held - held));
        // Everything again changes nothing.
        let again = copies.take(&after(&journal, 0), &OWN).expect("is taken");
        assert_eq!((again.new, again.held), (0, taken.held));
    }
    let sealed = journal.sealed_up_to();
    let events = journal.events_between(1, sealed).expect("reads");
    assert_eq!(journal.copy_after(sealed).expect("reads"), None);
    drop(journal);
    fs::remove_file(path).expect("the phone is lost");
    drop(first);

    // Another day, the same folder.
    let copies = Copies::open(&folder.path().join("copies")).expect("opens");
    assert_eq!(copies.journals().expect("reads"), vec![id]);
    let copied = copies.copied(&id).expect("reads").expect("a copy");
    assert!(copied.events().iter().eq(events.iter().map(|e| &e.bytes)));
    let mut check = ChainCheck::new();
    for bytes in copied.events() {
        check.feed(bytes).expect("follows");
    }
    assert_eq!((check.seq(), check.sealed_up_to()), (sealed, sealed));
    let file = fs::read_dir(folder.path().join("copies"))
        .expect("the folder")
        .next()
        .expect("a file")
        .expect("an entry")
        .path();
    let (report, whole) = verify_file(&file);
    assert!(whole, "{report}");
    assert!(report.contains("6 sign-offs under 3 dogs hold"), "{report}");
    assert!(
        report.contains("sealed by the device up to the last event"),
        "{report}"
    );
}

#[test]
fn a_gap_an_open_end_ones_own_and_another_journal_are_refused_in_words() {
    let (_dir, _path, mut journal) = fresh();
    for visit in 1..=4 {
        journal
            .commit(1, vec![told(visit), Item::Seal { why: 1 }])
            .expect("commits");
    }
    let (_folder, copies) = copies();
    let whole = Run::decode_strict(&after(&journal, 0)).expect("a run");
    let mut later = whole.clone();
    later.from_seq = 6;
    later.events.drain(..5);
    // Not from the beginning, and with nothing held.
    let refused = copies.take(&later.encode(), &OWN).expect_err("a gap");
    assert!(matches!(
        refused,
        CopyFault::Run(RunFault::Gap { held: 1, from: 5 })
    ));
    let mut two = whole.clone();
    two.events.truncate(3);
    copies.take(&two.encode(), &OWN).expect("is taken");
    let refused = copies.take(&later.encode(), &OWN).expect_err("a gap");
    assert_eq!(
        refused.to_string(),
        "events 4 to 5 are missing: ask the other phone for all after 3"
    );
    let mut open = whole.clone();
    open.events.pop();
    assert!(matches!(
        copies.take(&open.encode(), &OWN),
        Err(CopyFault::Run(RunFault::NotSealed))
    ));
    assert!(matches!(
        copies.take(&whole.encode(), &whole.journal),
        Err(CopyFault::OwnJournal)
    ));
    let mut posing = whole.clone();
    posing.journal = [3; 16];
    assert!(matches!(
        copies.take(&posing.encode(), &OWN),
        Err(CopyFault::Run(RunFault::OtherJournal))
    ));
    let mut altered = whole.clone();
    let last = altered.events.len() - 2;
    altered.events[last] = altered.events[last - 2].clone();
    assert!(copies.take(&altered.encode(), &OWN).is_err());
    for bytes in [&b""[..], b"x", &after(&journal, 0)[1..]] {
        assert!(matches!(
            copies.take(bytes, &OWN),
            Err(CopyFault::Run(RunFault::Unreadable(_)))
        ));
    }
    // Nothing of all that touched what was held.
    assert_eq!(copies.held(&whole.journal).expect("reads"), 3);
    copies.take(&whole.encode(), &OWN).expect("is taken");
    assert_eq!(copies.held(&whole.journal).expect("reads"), 9);
}

/// Two histories of one journal: a phone set back to an older backup and used on.
#[test]
fn another_history_is_kept_beside_the_first_and_told() {
    let (dir, path, mut journal) = fresh();
    journal
        .commit(1, vec![told(1), Item::Seal { why: 1 }])
        .expect("commits");
    drop(journal);
    let other = dir.path().join("other.sqlite");
    fs::copy(&path, &other).expect("copies");
    let go_on = |path: &Path, visit| {
        let mut journal = crate::common::again(path);
        journal
            .commit(1, vec![told(visit), Item::Seal { why: 1 }])
            .expect("commits");
        after(&journal, 0)
    };
    let (one, two) = (go_on(&path, 2), go_on(&other, 3));
    let (folder, copies) = copies();
    copies.take(&one, &OWN).expect("is taken");
    let fault = copies.take(&two, &OWN).expect_err("a fork");
    assert!(
        matches!(fault, CopyFault::Run(RunFault::Fork { seq: 4 })),
        "{fault}"
    );
    let id = Run::decode_strict(&one).expect("a run").journal;
    let copied = copies.copied(&id).expect("reads").expect("a copy");
    assert_eq!(copied.run().encode(), one);
    assert_eq!(copies.journals().expect("reads"), vec![id]);
    let kept: Vec<Vec<u8>> = fs::read_dir(folder.path().join("copies"))
        .expect("the folder")
        .map(|e| fs::read(e.expect("an entry").path()).expect("reads"))
        .collect();
    assert!(kept.contains(&one) && kept.contains(&two));
}

#[test]
fn a_copy_that_rotted_is_set_aside_and_begun_anew() {
    let (_dir, _path, mut journal) = fresh();
    journal
        .commit(1, vec![told(1), Item::Seal { why: 1 }])
        .expect("commits");
    let (folder, copies) = copies();
    let bytes = after(&journal, 0);
    copies.take(&bytes, &OWN).expect("is taken");
    let id = journal.journal_id();
    let file = fs::read_dir(folder.path().join("copies"))
        .expect("the folder")
        .next()
        .expect("a file")
        .expect("an entry")
        .path();
    let mut rotten = bytes.clone();
    rotten[100] ^= 1;
    fs::write(&file, &rotten).expect("writes");
    assert!(copies.held(&id).is_err());
    let taken = copies.take(&bytes, &OWN).expect("is taken");
    assert_eq!((taken.new, taken.held), (3, 3));
    let files = fs::read_dir(folder.path().join("copies")).expect("the folder");
    assert_eq!(files.count(), 2, "the rotten one is kept");
}

#[test]
fn every_flipped_bit_of_a_run_is_refused() {
    let (_dir, _path, mut journal) = fresh();
    let mut day = Day::new();
    day.set_up(&mut journal, 1);
    day.dog(&mut journal, 1);
    let bytes = after(&journal, 0);
    let whole = Run::decode_strict(&bytes).expect("a run");
    assert_eq!(whole.encode(), bytes);
    Copied::begin(&whole).expect("holds");
    let mut in_seal = 0;
    for bit in (0..bytes.len() * 8).step_by(17) {
        let mut bytes = bytes.clone();
        bytes[bit / 8] ^= 1 << (bit % 8);
        let taken = Run::decode_strict(&bytes).and_then(|run| Copied::begin(&run));
        // A seal is over all before it: its own time and reason only the next one covers.
        if let Ok(taken) = taken {
            let last = whole.events.len() - 1;
            assert_eq!(taken.events()[..last], whole.events[..last], "bit {bit}");
            let seal = |bytes: &[u8]| match Event::decode_strict(bytes).expect("reads").fact {
                Fact::Sealed {
                    head, signature, ..
                } => (head, signature),
                other => panic!("{other:?}"),
            };
            assert_eq!(seal(&taken.events()[last]), seal(&whole.events[last]));
            in_seal += 1;
        }
    }
    assert!(in_seal < 8, "{in_seal}");
}

#[test]
fn a_dogs_copy_passes_through_codes_in_any_order() {
    let (_dir, _path, mut journal) = fresh();
    let mut day = Day::new();
    day.set_up(&mut journal, 2);
    day.dog(&mut journal, 1);
    let held = journal.sealed_up_to();
    day.dog(&mut journal, 2);
    let bytes = after(&journal, held);
    let texts = pieces(&bytes).expect("fits");
    println!("a dog: {} bytes in {} codes", bytes.len(), texts.len());
    for text in &texts {
        QRBuilder::new(text.as_str())
            .ecl(ECL::L)
            .version(Version::V15)
            .build()
            .expect("fits a code of version 15");
    }
    let mut rng = fastrand::Rng::with_seed(5);
    for _ in 0..20 {
        let mut order: Vec<&String> = texts.iter().chain(&texts[..2]).collect();
        rng.shuffle(&mut order);
        let mut gathering = Gathering::default();
        let mut whole = None;
        for text in order {
            if let Some(bytes) = gathering.take(text).expect("is taken") {
                whole = Some(bytes);
            }
        }
        assert_eq!(whole.as_deref(), Some(&bytes[..]));
        assert_eq!(gathering.progress(), Some((texts.len(), texts.len())));
    }
    let mut gathering = Gathering::default();
    assert_eq!(gathering.progress(), None);
    gathering.take(&texts[0]).expect("is taken");
    let others = pieces(b"another copy").expect("fits");
    assert_eq!(gathering.take(&others[0]), Err(PieceFault::OtherWhole));
    assert_eq!(gathering.take("SSQ1:ABC"), Err(PieceFault::NotAPiece));
    assert!(matches!(
        gathering.take("SSC1:ABC!"),
        Err(PieceFault::Unreadable(_))
    ));
    assert_eq!(gathering.progress(), Some((1, texts.len())));
    // The ends: nothing, exactly one code, one byte more, too much.
    for (length, codes) in [(0, 1), (PIECE, 1), (PIECE + 1, 2), (PIECE * 1_000, 1_000)] {
        let texts = pieces(&vec![7; length]).expect("fits");
        assert_eq!(texts.len(), codes);
        let mut gathering = Gathering::default();
        let whole = texts.iter().find_map(|t| gathering.take(t).expect("taken"));
        assert_eq!(whole, Some(vec![7; length]));
    }
    assert_eq!(pieces(&[7; PIECE * 1_000 + 1]), Err(PieceFault::TooLong));
}
