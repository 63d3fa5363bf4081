//! What is signed on the signer's own phone: in the journal that asked for it, and in the one
//! on the phone where it was signed.

use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::cli::{Office, verify_file, verify_file_with};
use standsquare_journal::record::elsewhere::{Ask, Shown, signed_bytes};
use standsquare_journal::record::fact::{ALG_ED25519, Fact, List};
use standsquare_journal::record::{
    Hash, RecordFault, correction_bytes, list_bytes, sign_off_bytes, statement_hash,
};

use crate::common::{a_day_with_another_phone, list_of, statement};
use crate::every::{corrections, lists};
use crate::oracle::{here, meddled, python};
use crate::record::Hand;

fn own() -> SigningKey {
    SigningKey::from_bytes(&[3; 32])
}

fn elsewhere(visit: u32, head: Hash, over: &[u8]) -> Fact {
    Fact::SignedElsewhere {
        visit,
        person: "ottoline".into(),
        alg: ALG_ED25519,
        head: head.into(),
        signature: own().sign(over).to_bytes().into(),
        key: own().verifying_key().to_bytes().into(),
        device_key: [9; 32].into(),
    }
}

fn for_other(hand: &Hand, shown: &[u8], over: &[u8], head: Hash) -> Fact {
    Fact::SignedForOther {
        device_key: [9; 32].into(),
        person: "ottoline".into(),
        statement: shown.to_vec(),
        alg: ALG_ED25519,
        head: head.into(),
        signature: hand.person.sign(over).to_bytes().into(),
    }
}

/// What is signed of bytes under a head.
type Over = fn(&Hash, &[u8]) -> Vec<u8>;

/// Everything that can be asked of another phone.
fn all_that_can_be_signed() -> Vec<(Vec<u8>, Over)> {
    let mut all: Vec<(Vec<u8>, Over)> = vec![(statement(1, 1).encode(), sign_off_bytes)];
    all.extend(
        corrections()
            .iter()
            .map(|c| (c.encode(), correction_bytes as _)),
    );
    all.extend(lists().iter().map(|l| (l.encode(), list_bytes as _)));
    all
}

#[test]
fn bytes_say_themselves_what_they_are_and_are_signed_by_that_name_alone() {
    let head = [8; 32];
    for (bytes, over) in all_that_can_be_signed() {
        assert_eq!(signed_bytes(&head, &bytes), over(&head, &bytes));
        let again = match Shown::decode_strict(&bytes).expect("reads") {
            Shown::Statement(it) => it.encode(),
            Shown::Correction(it) => it.encode(),
            Shown::List(it) => it.encode(),
        };
        assert_eq!(again, bytes);
        let ask = Ask::of("bram", [1; 32], head, &bytes);
        assert_eq!(ask.bytes(), over(&head, &bytes));
        assert_eq!(Ask::read(&ask.code()).expect("reads").0, ask);
        // Cut, lengthened, or called another kind by its first byte: nothing that is signed.
        let longer = [&bytes[..], &[0]].concat();
        assert!(Shown::decode_strict(&bytes[..bytes.len() - 1]).is_err());
        assert!(Shown::decode_strict(&longer).is_err());
        for first in (0..=u8::MAX).filter(|first| *first != bytes[0]) {
            let other = [&[first], &bytes[1..]].concat();
            assert!(Shown::decode_strict(&other).is_err(), "{first:#x}");
        }
    }
    assert!(Shown::decode_strict(&[]).is_err());
}

#[test]
fn from_another_phone_a_correction_is_signed_as_one_and_a_sign_off_as_one() {
    let mut hand = Hand::new();
    let stated = statement(1, 1).encode();
    hand.take(Fact::Stated {
        statement: stated.clone(),
    });
    let under = hand.head;
    let correction = corrections()[0].encode();
    hand.take(Fact::CorrectionStated {
        correction: correction.clone(),
    });
    let at = hand.head;
    let other = corrections()[1].encode();
    for wrong in [
        elsewhere(1, at, &sign_off_bytes(&at, &correction)),
        elsewhere(1, at, &sign_off_bytes(&at, &stated)),
        elsewhere(1, at, &correction_bytes(&at, &other)),
        elsewhere(1, under, &correction_bytes(&under, &correction)),
        elsewhere(1, under, &sign_off_bytes(&under, &correction)),
        elsewhere(1, [1; 32], &correction_bytes(&[1; 32], &correction)),
        // Of another dog, of none.
        elsewhere(2, at, &correction_bytes(&at, &correction)),
        elsewhere(0, at, &correction_bytes(&at, &correction)),
    ] {
        hand.refuse(wrong);
    }
    hand.take(elsewhere(1, at, &correction_bytes(&at, &correction)));
    hand.take(elsewhere(1, under, &sign_off_bytes(&under, &stated)));
    // A session later nothing of it is open.
    hand.take(Fact::SessionBegun {
        session: [8; 16].into(),
        roster: [0; 32].into(),
        pack: [0; 32].into(),
        offset_min: 0,
        day: 0,
    });
    hand.refuse(elsewhere(1, at, &correction_bytes(&at, &correction)));
}

#[test]
fn from_another_phone_a_list_is_signed_by_those_it_names() {
    let (mut hand, list) = with_a_list();
    let bytes = list.encode();
    let at = hand.head;
    let mut of_bram = elsewhere(0, at, &list_bytes(&at, &bytes));
    if let Fact::SignedElsewhere { person, .. } = &mut of_bram {
        *person = "bram".into();
    }
    for wrong in [
        of_bram,
        elsewhere(0, at, &sign_off_bytes(&at, &bytes)),
        elsewhere(0, at, &correction_bytes(&at, &bytes)),
        elsewhere(0, [1; 32], &list_bytes(&[1; 32], &bytes)),
        elsewhere(1, at, &list_bytes(&at, &bytes)),
    ] {
        hand.refuse(wrong);
    }
    let good = elsewhere(0, at, &list_bytes(&at, &bytes));
    // Left, or sealed meanwhile: it has to be put up anew.
    for ends in [Fact::ListLeft {}, hand.sealed(at)] {
        let (mut hand, _) = with_a_list();
        assert_eq!(hand.head, at);
        hand.take(ends);
        hand.refuse(good.clone());
    }
    hand.take(good);
}

/// A dog that Ottoline confirmed, and the list that names it.
fn with_a_list() -> (Hand, List) {
    let mut hand = Hand::new();
    let head = hand.head;
    let over = standsquare_journal::record::unlock_bytes(&head);
    hand.take(Fact::Unlocked {
        person: "ottoline".into(),
        alg: ALG_ED25519,
        head: head.into(),
        signature: hand.person.sign(&over).to_bytes().into(),
    });
    let stated = statement(1, 1).encode();
    let mut list = list_of(1);
    list.dogs[0].by = vec!["ottoline".into()];
    list.dogs[0].statement = statement_hash(&stated).into();
    hand.take(Fact::Stated { statement: stated });
    hand.take(Fact::Confirmed {
        visit: 1,
        person: "ottoline".into(),
        head: hand.head.into(),
    });
    hand.take(Fact::ListStated {
        list: list.encode(),
    });
    (hand, list)
}

#[test]
fn what_is_signed_for_another_phone_is_signed_as_what_it_is_and_for_oneself() {
    let head = [8; 32];
    let mut hand = Hand::new();
    for (bytes, over) in all_that_can_be_signed() {
        let fact = for_other(&hand, &bytes, &over(&head, &bytes), head);
        let hers = Shown::decode_strict(&bytes)
            .expect("reads")
            .is_for("ottoline");
        match hers {
            true => hand.take(fact),
            false => {
                let fault = hand.refuse(fact);
                assert!(matches!(fault, RecordFault::SignOff { .. }), "{fault}");
            }
        }
        for other in [sign_off_bytes, correction_bytes, list_bytes] {
            let signed = other(&head, &bytes);
            if signed != over(&head, &bytes) {
                hand.refuse(for_other(&hand, &bytes, &signed, head));
            }
        }
        let cut = &bytes[..bytes.len() - 1];
        hand.refuse(for_other(&hand, cut, &signed_bytes(&head, cut), head));
    }
}

#[test]
fn a_key_that_the_office_has_not_spoken_of_signs_neither_a_correction_nor_a_list() {
    let (_dir, path) = a_day_with_another_phone(corrections()[0].encode());
    let office = Office {
        keys: vec![[5; 32]],
        notices: Vec::new(),
    };
    let (report, whole) = verify_file_with(&path, &office);
    assert!(!whole, "{report}");
    for words in ["signed a correction of dog 1", "signed the list: dogs 1, 2"] {
        let mut lines = report.lines();
        let line = lines.find(|l| l.contains("own phone") && l.contains(words));
        assert!(
            line.is_some_and(|l| l.contains("DOES NOT COUNT")),
            "{report}"
        );
    }
}

#[test]
fn a_second_language_follows_signatures_from_and_for_other_phones() {
    let Some(mut python) = python() else { return };
    let (dir, path) = a_day_with_another_phone(corrections()[0].encode());
    let at = |name: &str| dir.path().join(format!("{name}.sqlite"));
    let names = [
        "whole",
        "correction",
        "list",
        "listed",
        "for-other",
        "visit",
    ];
    meddled(&path, &at("whole"), |_, _| {});
    meddled(&path, &at("correction"), |_, fact| {
        if let Fact::CorrectionStated { correction } = fact {
            *correction = corrections()[1].encode();
        }
    });
    meddled(&path, &at("list"), |_, fact| {
        if let Fact::SignedElsewhere {
            visit: 0,
            signature,
            ..
        } = fact
        {
            *signature = [7; 64].into();
        }
    });
    meddled(&path, &at("listed"), |_, fact| {
        if let Fact::SignedElsewhere {
            visit: 0, person, ..
        } = fact
        {
            *person = "wren".into();
        }
    });
    meddled(&path, &at("for-other"), |_, fact| {
        if let Fact::SignedForOther { statement, .. } = fact {
            *statement = list_of(1).encode();
        }
    });
    meddled(&path, &at("visit"), |_, fact| {
        if let Fact::SignedElsewhere {
            visit: visit @ 0, ..
        } = fact
        {
            *visit = 1;
        }
    });
    let out = python
        .arg("file")
        .arg(here("docs/journal.cddl"))
        .args(names.map(at))
        .output()
        .expect("it runs");
    let text = String::from_utf8(out.stdout).expect("text");
    let errors = String::from_utf8_lossy(&out.stderr);
    assert!(out.status.success(), "{errors}");
    let theirs: Vec<&str> = text.lines().collect();
    assert_eq!(theirs.len(), names.len());
    for (name, theirs) in names.iter().zip(theirs) {
        let (report, ours) = verify_file(&at(name));
        assert_eq!(ours, *name == "whole", "{name}: {report}");
        assert_eq!(theirs.contains("\"whole\": true"), ours, "{name}: {theirs}");
        if ours {
            // One under each dog of the list, and none under the correction.
            assert_eq!(theirs.matches("\"bram\"").count(), 2, "{theirs}");
            for words in [
                "bram (LM-022), on their own phone (0909090909090909…), signed the list: dogs 1, 2",
                "on their own phone (0909090909090909…), signed a correction of dog 1",
                "bram signed here for another phone (0a0a0a0a0a0a0a0a…): the list: dogs 1, 2",
                "bram signed here for another phone (0a0a0a0a0a0a0a0a…): a correction of dog 1",
            ] {
                assert!(report.contains(words), "no '{words}' in {report}");
            }
        } else {
            // Both stop at the same event.
            let event = theirs.split("\"reason\": \"").nth(1).expect("a reason");
            let event = event.split(':').next().expect("event N");
            assert!(report.contains(event), "{name}: {theirs}, {report}");
        }
    }
}
