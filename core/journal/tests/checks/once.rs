//! A session that is signed once: keys opened, statements confirmed by a tap, one list
//! signed at the close. What of it holds, and what does not.

use ed25519_dalek::Signer;
use standsquare_journal::cli::verify_file;
use standsquare_journal::record::fact::{ALG_ED25519, Fact, List, Statement};
use standsquare_journal::record::{
    Hash, correction_bytes, list_bytes, seal_bytes, sign_off_bytes, unlock_bytes,
};

use crate::common::{Day, PINS, a_day_signed_once, again, fresh, list_of, statement};
use crate::oracle::{here, meddled, python};
use crate::record::Hand;

fn unlocked(hand: &Hand, over: &[u8], head: Hash) -> Fact {
    Fact::Unlocked {
        person: "ottoline".into(),
        alg: ALG_ED25519,
        head: head.into(),
        signature: hand.person.sign(over).to_bytes().into(),
    }
}

fn confirmed(visit: u32, head: Hash) -> Fact {
    Fact::Confirmed {
        visit,
        person: "ottoline".into(),
        head: head.into(),
    }
}

fn list_signed(hand: &Hand, over: &[u8], head: Hash) -> Fact {
    Fact::ListSigned {
        person: "ottoline".into(),
        alg: ALG_ED25519,
        head: head.into(),
        signature: hand.person.sign(over).to_bytes().into(),
    }
}

fn by_ottoline(dogs: u32) -> List {
    let mut list = list_of(dogs);
    for dog in &mut list.dogs {
        dog.by = vec!["ottoline".into()];
    }
    list
}

fn stated(list: &List) -> Fact {
    Fact::ListStated {
        list: list.encode(),
    }
}

/// A chain in which two dogs stand stated and Ottoline's key is open; the statements' heads.
fn two_dogs() -> (Hand, [Hash; 2]) {
    let mut hand = Hand::new();
    let open = unlocked(&hand, &unlock_bytes(&hand.head), hand.head);
    hand.take(open);
    let heads = [1, 2].map(|visit| {
        hand.take(Fact::Stated {
            statement: statement(visit, 1).encode(),
        });
        hand.head
    });
    (hand, heads)
}

#[test]
fn a_key_is_opened_over_the_journal_as_it_stands() {
    let mut hand = Hand::new();
    let before = hand.head;
    hand.take(Fact::QueueOpened {});
    let over_both = [unlock_bytes(&hand.head), b"more".to_vec()].concat();
    for wrong in [
        unlocked(&hand, &unlock_bytes(&before), before),
        unlocked(&hand, &seal_bytes(&hand.head), hand.head),
        unlocked(&hand, &over_both, hand.head),
    ] {
        hand.refuse(wrong);
    }
    let open = unlocked(&hand, &unlock_bytes(&hand.head), hand.head);
    hand.take(open);
}

#[test]
fn only_what_was_shown_is_confirmed_and_only_with_an_open_key() {
    let (mut hand, [first, second]) = two_dogs();
    hand.refuse(confirmed(1, second));
    hand.refuse(confirmed(3, first));
    hand.take(confirmed(1, first));
    for locks in [
        Fact::Locked {},
        Fact::SteppedAway {
            person: "ottoline".into(),
            away: true,
        },
    ] {
        hand.take(locks);
        let fault = hand.refuse(confirmed(2, second));
        assert!(fault.to_string().contains("opened their key"), "{fault}");
        let open = unlocked(&hand, &unlock_bytes(&hand.head), hand.head);
        hand.take(open);
        hand.take(confirmed(2, second));
    }
    // Put right: the tap on the statement before it counts no more.
    hand.take(Fact::Stated {
        statement: statement(1, 2).encode(),
    });
    hand.refuse(confirmed(1, first));
}

#[test]
fn a_list_names_what_was_confirmed_as_it_stands() {
    let (mut hand, [first, second]) = two_dogs();
    let both = by_ottoline(2);
    let fault = hand.refuse(stated(&both));
    assert!(fault.to_string().contains("they did not"), "{fault}");
    hand.take(confirmed(1, first));
    hand.take(confirmed(2, second));
    // Another statement, another dog, somebody who confirmed nothing, another session.
    let mut wrong = vec![both.clone(); 3];
    wrong[0].dogs[1].statement = [0; 32].into();
    wrong[1].dogs[1].visit = 3;
    wrong[2].dogs[1].by.push("bram".into());
    wrong.push(List {
        session: [9; 16].into(),
        ..both.clone()
    });
    for list in &wrong {
        hand.refuse(stated(list));
    }
    hand.take(stated(&both));
    // Stated anew, dog 2 has to be confirmed and listed again.
    let (other, _) = two_dogs();
    assert!(other.head != hand.head);
    hand.take(Fact::Stated {
        statement: statement(2, 2).encode(),
    });
    hand.refuse(stated(&both));
    hand.take(stated(&by_ottoline(1)));
}

#[test]
fn a_list_is_signed_over_its_own_bytes_by_those_it_names() {
    let (mut hand, [first, second]) = two_dogs();
    hand.take(confirmed(1, first));
    hand.take(confirmed(2, second));
    let list = by_ottoline(2);
    let bytes = list.encode();
    hand.take(stated(&list));
    let at = hand.head;
    let other = by_ottoline(1).encode();
    for wrong in [
        list_signed(&hand, &list_bytes(&at, &other), at),
        list_signed(&hand, &sign_off_bytes(&at, &bytes), at),
        list_signed(&hand, &correction_bytes(&at, &bytes), at),
        list_signed(&hand, &list_bytes(&first, &bytes), first),
    ] {
        hand.refuse(wrong);
    }
    let good = list_signed(&hand, &list_bytes(&at, &bytes), at);
    // Left, or sealed meanwhile: it has to be put up anew.
    for ends in [Fact::ListLeft {}, hand.sealed(at)] {
        let (mut hand, heads) = two_dogs();
        hand.take(confirmed(1, heads[0]));
        hand.take(confirmed(2, heads[1]));
        hand.take(stated(&list));
        assert_eq!(hand.head, at);
        hand.take(ends);
        hand.refuse(good.clone());
    }
    hand.take(good);
    // A list in which somebody signs nothing is not theirs to sign.
    let mut nobodys = list.clone();
    for dog in &mut nobodys.dogs {
        dog.by.clear();
    }
    hand.take(stated(&nobodys));
    hand.refuse(list_signed(
        &hand,
        &list_bytes(&hand.head, &nobodys.encode()),
        hand.head,
    ));
}

#[test]
fn verify_tells_who_signed_which_dogs_with_the_list() {
    let (_dir, path) = a_day_signed_once(2);
    let (report, whole) = verify_file(&path);
    assert!(whole, "{report}");
    for words in [
        "4 sign-offs under 2 dogs hold",
        "opened their key",
        "confirmed dog 2: Pip, 999000000112233, Small",
        "signed the list: dogs 1, 2",
    ] {
        assert!(report.contains(words), "no '{words}' in {report}");
    }
    assert!(!report.contains("NO SIGNATURE"), "{report}");
    let (_dir, path, mut journal) = fresh();
    let mut day = Day::new();
    day.set_up(&mut journal, 1);
    day.unlock(&mut journal);
    day.dog_confirmed(&mut journal, 1);
    drop(journal);
    let unsigned = verify_file(&path).0;
    assert!(
        unsigned.contains("NO SIGNATURE yet, confirmed only: dogs 1"),
        "{unsigned}"
    );
}

#[test]
fn a_second_language_verifies_a_session_signed_once() {
    let Some(mut python) = python() else { return };
    let (dir, path) = a_day_signed_once(2);
    let at = |name: &str| dir.path().join(format!("{name}.sqlite"));
    let names = [
        "whole",
        "statement",
        "list",
        "person",
        "confirmed",
        "unlocked",
    ];
    meddled(&path, &at("whole"), |_, _| {});
    meddled(&path, &at("statement"), |_, fact| {
        if let Fact::Stated { statement } = fact {
            let mut stated = Statement::decode_strict(statement).expect("a statement");
            stated.within_um = Some(430_000);
            *statement = stated.encode();
        }
    });
    meddled(&path, &at("list"), |_, fact| {
        if let Fact::ListStated { list } = fact {
            *list = list_of(1).encode();
        }
    });
    meddled(&path, &at("person"), |_, fact| {
        if let Fact::ListSigned { person, .. } = fact {
            *person = "ottoline".into();
        }
    });
    meddled(&path, &at("confirmed"), |_, fact| {
        if let Fact::Confirmed { person, .. } = fact {
            *person = "wren".into();
        }
    });
    meddled(&path, &at("unlocked"), |_, fact| {
        if let Fact::Unlocked { signature, .. } = fact {
            *signature = [7; 64].into();
        }
    });
    let out = python
        .arg("file")
        .arg(here("docs/journal.cddl"))
        .args(names.map(at))
        .output()
        .expect("it runs");
    let errors = String::from_utf8_lossy(&out.stderr);
    assert!(out.status.success(), "{errors}");
    let text = String::from_utf8(out.stdout).expect("text");
    let theirs: Vec<&str> = text.lines().collect();
    assert_eq!(theirs.len(), names.len());
    let events = again(&path).head().seq;
    for (name, theirs) in names.iter().zip(theirs) {
        let (report, ours) = verify_file(&at(name));
        assert_eq!(ours, *name == "whole", "{name}: {report}");
        if ours {
            assert!(
                theirs.contains(&format!("\"events\": {events}")),
                "{theirs}"
            );
            for (person, _) in PINS {
                assert_eq!(theirs.matches(&format!("\"{person}\"")).count(), 2);
            }
        } else {
            assert!(theirs.contains("\"whole\": false"), "{name}: {theirs}");
            let event = theirs.split("\"reason\": \"").nth(1).expect("a reason");
            let event = event.split(':').next().expect("event N");
            assert!(report.contains(event), "{name}: {event} not in {report}");
        }
    }
}
