//! The record's form: one encoding for each content, any other refused; the chain and
//! its signatures.

use std::collections::BTreeSet;

use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::map::Map;
use standsquare_journal::record::fact::{ALG_ED25519, Correction, Fact, Statement};
use standsquare_journal::record::{
    ChainCheck, Event, Hash, RecordFault, chain, correction_bytes, genesis, practice_bytes,
    seal_bytes, sign_off_bytes, verify_signature,
};

use crate::common::{BEGIN_MS, statement};
use crate::every::{self, corrections};

#[test]
fn every_fact_comes_back_as_it_was_written() {
    let numbers: BTreeSet<u32> = every::facts().iter().map(every::number).collect();
    assert_eq!(numbers, (1..=every::LAST).collect());
    for event in every::events() {
        let bytes = event.encode();
        assert_eq!(Event::decode_strict(&bytes), Ok(event));
    }
    for statement in every::statements() {
        assert_eq!(Statement::decode_strict(&statement.encode()), Ok(statement));
    }
}

/// The same event in other bytes: the head of the array, the version and the moment each
/// in a longer form, an unknown element at the end of each array, an indefinite length.
#[test]
fn the_same_event_written_in_another_way_is_refused() {
    let event = Event {
        version: 1,
        at_ms: 7,
        fact: Fact::HandlerTold { visit: 7 },
    };
    assert_eq!(event.encode(), [0x83, 1, 7, 0x82, 0x18, 36, 0x81, 7]);
    let others: &[&[u8]] = &[
        &[0x98, 3, 1, 7, 0x82, 0x18, 36, 0x81, 7],
        &[0x99, 0, 3, 1, 7, 0x82, 0x18, 36, 0x81, 7],
        &[0x9f, 1, 7, 0x82, 0x18, 36, 0x81, 7, 0xff],
        &[0x83, 0x18, 1, 7, 0x82, 0x18, 36, 0x81, 7],
        &[0x83, 1, 0x18, 7, 0x82, 0x18, 36, 0x81, 7],
        &[
            0x83, 1, 0x1b, 0, 0, 0, 0, 0, 0, 0, 7, 0x82, 0x18, 36, 0x81, 7,
        ],
        &[0x83, 1, 7, 0x82, 0x19, 0, 36, 0x81, 7],
        &[0x83, 1, 7, 0x9f, 0x18, 36, 0x81, 7, 0xff],
        &[0x83, 1, 7, 0x82, 0x18, 36, 0x9f, 7, 0xff],
        &[0x83, 1, 7, 0x82, 0x18, 36, 0x82, 7, 0],
        &[0x83, 1, 7, 0x82, 0x18, 36, 0x82, 7, 0xf6],
        &[0x83, 1, 7, 0x83, 0x18, 36, 0x81, 7, 0],
        &[0x84, 1, 7, 0x82, 0x18, 36, 0x81, 7, 0],
        &[0x83, 1, 7, 0x82, 0x18, 36, 0x81, 7, 0],
        &[0x83, 1, 7, 0x82, 0x18, 36, 0x81],
        &[0x83, 0, 7, 0x82, 0x18, 36, 0x81, 7],
        &[0xc1, 0x83, 1, 7, 0x82, 0x18, 36, 0x81, 7],
        // A fact that there is not, and a map in place of the array.
        &[0x83, 1, 7, 0x82, 0x18, 99, 0x81, 7],
        &[0x83, 1, 7, 0x82, 0x18, 36, 0xa1, 0, 7],
        &[],
    ];
    for bytes in others {
        let fault = Event::decode_strict(bytes).expect_err("refused");
        assert!(
            matches!(fault, RecordFault::Form { .. }),
            "{bytes:x?}: {fault}"
        );
    }
}

#[test]
fn a_newer_version_is_named_as_such_whatever_it_holds() {
    for bytes in [
        &[0x83, 2, 7, 0x82, 0x18, 36, 0x81, 7][..],
        &[0x85, 2, 1, 1, 1, 1],
    ] {
        assert_eq!(
            Event::decode_strict(bytes),
            Err(RecordFault::TooNew { seq: 0, version: 2 })
        );
    }
}

#[test]
fn changed_bytes_are_refused_or_are_the_one_form_of_something_else() {
    let mut rng = fastrand::Rng::with_seed(0x6a6f_7572);
    let events: Vec<Vec<u8>> = every::events().iter().map(Event::encode).collect();
    let (mut refused, mut read) = (0, 0);
    for _ in 0..20_000 {
        let mut bytes = rng.choice(&events).expect("one").clone();
        bytes.truncate(400);
        for _ in 0..rng.usize(1..4) {
            let at = rng.usize(..bytes.len());
            match rng.u8(..3) {
                0 => bytes[at] ^= 1 << rng.u8(..8),
                1 => bytes.insert(at, rng.u8(..)),
                _ if bytes.len() > 1 => drop(bytes.remove(at)),
                _ => {}
            }
        }
        match Event::decode_strict(&bytes) {
            Ok(event) => {
                assert_eq!(event.encode(), bytes);
                read += 1;
            }
            Err(_) => refused += 1,
        }
    }
    assert!(
        refused > 1_000 && read > 1_000,
        "{refused} refused, {read} read"
    );
}

#[test]
fn any_bytes_are_refused_without_a_panic_or_read_as_they_are() {
    bolero::check!().with_iterations(20_000).for_each(|bytes| {
        if let Ok(event) = Event::decode_strict(bytes) {
            assert_eq!(event.encode(), bytes);
        }
        if let Ok(statement) = Statement::decode_strict(bytes) {
            assert_eq!(statement.encode(), bytes);
        }
        let _ = ChainCheck::new().feed(bytes);
    });
}

/// No two kinds of hashed or signed bytes can be the same, whatever is in them: each
/// begins with words of its own, and none of those words begins with another's.
#[test]
fn one_kind_of_signed_bytes_never_passes_for_another() {
    let head = [7; 32];
    let kinds = [
        seal_bytes(&head),
        sign_off_bytes(&head, b""),
        sign_off_bytes(&head, b"text"),
    ];
    assert_eq!(
        kinds[0],
        [b"standsquare/seal/\x01\x01".as_slice(), &head].concat()
    );
    assert_eq!(
        kinds[2],
        [b"standsquare/sign-off/\x01\x01".as_slice(), &head, b"text"].concat()
    );
    let words: [&[u8]; 5] = [
        b"standsquare/genesis/",
        b"standsquare/event/",
        b"standsquare/seal/",
        b"standsquare/sign-off/",
        b"standsquare/subject/",
    ];
    for (n, a) in words.iter().enumerate() {
        for b in &words[n + 1..] {
            assert!(!a.starts_with(b) && !b.starts_with(a));
        }
    }
    assert_ne!(genesis(), chain(&[0; 32], b""));
}

#[test]
fn an_algorithm_that_is_not_known_is_refused_wherever_it_stands() {
    let device = SigningKey::from_bytes(&[1; 32]);
    let key = device.verifying_key().to_bytes();
    let begun = |alg, hash_alg| {
        event(Fact::JournalBegun {
            device_key: key.into(),
            alg,
            journal: [2; 16].into(),
            software: "test".into(),
            hash_alg,
        })
    };
    for (alg, hash_alg) in [(0, 1), (2, 1), (1, 0), (1, 2)] {
        let fault = ChainCheck::new().feed(&begun(alg, hash_alg));
        assert!(matches!(fault, Err(RecordFault::Algorithm { seq: 1, .. })));
    }
    let signature = device.sign(b"text").to_bytes();
    assert_eq!(verify_signature(1, &key, b"text", &signature), Ok(()));
    assert!(matches!(
        verify_signature(2, &key, b"text", &signature),
        Err(RecordFault::Algorithm { alg: 2, .. })
    ));
}

/// With a key of small order, one signature would pass for every text under the plain
/// rules of RFC 8032.
#[test]
fn keys_of_small_order_are_refused() {
    // The neutral element, and the point of order two.
    let mut neutral = [0; 32];
    neutral[0] = 1;
    let mut order_two = [0xff; 32];
    order_two[0] = 0xec;
    order_two[31] = 0x7f;
    let mut signature = [0; 64];
    signature[0] = 1;
    for key in [neutral, order_two] {
        assert!(verify_signature(1, &key, b"any text", &signature).is_err());
        let begun = event(Fact::JournalBegun {
            device_key: key.into(),
            alg: 1,
            journal: [2; 16].into(),
            software: "test".into(),
            hash_alg: 1,
        });
        assert!(matches!(
            ChainCheck::new().feed(&begun),
            Err(RecordFault::Key { seq: 1, .. })
        ));
    }
}

fn event(fact: Fact) -> Vec<u8> {
    Event {
        version: 1,
        at_ms: BEGIN_MS,
        fact,
    }
    .encode()
}

/// A chain made by hand, without the store.
pub(crate) struct Hand {
    device: SigningKey,
    pub person: SigningKey,
    pub head: [u8; 32],
    check: ChainCheck,
}

impl Hand {
    pub fn new() -> Self {
        let device = SigningKey::from_bytes(&[1; 32]);
        let mut hand = Hand {
            person: SigningKey::from_bytes(&[2; 32]),
            head: genesis(),
            check: ChainCheck::new(),
            device,
        };
        let device_key = hand.device.verifying_key().to_bytes().into();
        hand.take(Fact::JournalBegun {
            device_key,
            alg: ALG_ED25519,
            journal: [2; 16].into(),
            software: "test".into(),
            hash_alg: 1,
        });
        hand.take(Fact::SessionBegun {
            session: [7; 16].into(),
            roster: [0; 32].into(),
            pack: [0; 32].into(),
            offset_min: 0,
            day: 0,
        });
        let key = hand.person.verifying_key().to_bytes().into();
        let person = "ottoline".to_owned();
        let alg = ALG_ED25519;
        hand.take(Fact::KeyMade { person, key, alg });
        hand
    }

    pub fn take(&mut self, fact: Fact) {
        let bytes = event(fact);
        self.check.feed(&bytes).expect("follows");
        self.head = chain(&self.head, &bytes);
        assert_eq!(self.check.head(), self.head);
    }

    pub fn refuse(&self, fact: Fact) -> RecordFault {
        let mut check = self.check.clone();
        let fault = check.feed(&event(fact)).expect_err("does not follow");
        // After a fault it stands where it stood.
        assert_eq!((check.head(), check.seq()), (self.head, self.check.seq()));
        assert_eq!(fault.seq(), Some(self.check.seq() + 1));
        fault
    }

    fn signed(&self, visit: u32, head: [u8; 32], bytes: &[u8]) -> Fact {
        Fact::Signed {
            visit,
            person: "ottoline".into(),
            alg: ALG_ED25519,
            head: head.into(),
            signature: self
                .person
                .sign(&sign_off_bytes(&head, bytes))
                .to_bytes()
                .into(),
        }
    }

    pub fn sealed(&self, head: [u8; 32]) -> Fact {
        Fact::Sealed {
            why: 1,
            alg: ALG_ED25519,
            head: head.into(),
            signature: self.device.sign(&seal_bytes(&head)).to_bytes().into(),
        }
    }
}

#[test]
fn a_correction_is_signed_over_its_own_bytes_and_never_as_a_statement() {
    let mut hand = Hand::new();
    let correction = corrections()[0].encode();
    hand.take(Fact::CorrectionStated {
        correction: correction.clone(),
    });
    let at = hand.head;
    let signed =
        |over: fn(&Hash, &[u8]) -> Vec<u8>, bytes: &[u8], head: Hash| Fact::CorrectionSigned {
            visit: 1,
            person: "ottoline".into(),
            alg: ALG_ED25519,
            head: head.into(),
            signature: hand.person.sign(&over(&head, bytes)).to_bytes().into(),
        };
    let other = corrections()[1].encode();
    for wrong in [
        signed(sign_off_bytes, &correction, at),
        signed(correction_bytes, &other, at),
        signed(correction_bytes, &correction, [1; 32]),
    ] {
        hand.refuse(wrong);
    }
    // Nor does it stand in for the dog's own sign-off.
    hand.refuse(hand.signed(1, at, &correction));
    let good = signed(correction_bytes, &correction, at);
    hand.take(good);
    let elsewhere = Correction {
        session: [9; 16].into(),
        ..corrections()[0].clone()
    };
    let fault = hand.refuse(Fact::CorrectionStated {
        correction: elsewhere.encode(),
    });
    assert!(fault.to_string().contains("another session"), "{fault}");
}

#[test]
fn a_record_of_practice_is_signed_over_its_own_bytes_alone() {
    let mut hand = Hand::new();
    let signed = |person: &str, over: Vec<u8>| Fact::PracticeSigned {
        person: person.into(),
        record: b"{\"a\":1}".to_vec(),
        alg: ALG_ED25519,
        signature: hand.person.sign(&over).to_bytes().into(),
    };
    let good = practice_bytes(b"{\"a\":1}");
    for wrong in [
        signed("ottoline", practice_bytes(b"{\"a\":2}")),
        signed("ottoline", sign_off_bytes(&hand.head, b"{\"a\":1}")),
        signed("nobody", good.clone()),
    ] {
        hand.refuse(wrong);
    }
    hand.take(signed("ottoline", good));
}

#[test]
fn a_sign_off_holds_only_over_the_statement_as_it_stands_now() {
    let mut hand = Hand::new();
    let (first, second) = (statement(1, 1).encode(), statement(1, 2).encode());
    hand.take(Fact::Stated {
        statement: first.clone(),
    });
    let at_first = hand.head;
    // Stated anew: the earlier statement cannot be signed any more.
    hand.take(Fact::Stated {
        statement: second.clone(),
    });
    let at_second = hand.head;
    let not_that =
        "event 6: the sign-off of ottoline does not hold: it is not over the statement last put up";
    let not_theirs = "event 6: the sign-off of ottoline does not hold: the signature is not theirs";
    let no_visit =
        "event 6: the sign-off of ottoline does not hold: no statement of that visit was put up";
    for (fact, why) in [
        (hand.signed(1, at_first, &first), not_that),
        (hand.signed(1, at_second, &first), not_theirs),
        (hand.signed(2, at_second, &second), no_visit),
    ] {
        assert_eq!(hand.refuse(fact).to_string(), why);
    }
    // Another's signature under their name.
    let other = Hand {
        person: SigningKey::from_bytes(&[3; 32]),
        ..Hand::new()
    };
    let fault = hand.refuse(other.signed(1, at_second, &second));
    assert_eq!(fault.to_string(), not_theirs);
    hand.take(hand.signed(1, at_second, &second));
    // A new session ends the old one's statements.
    hand.take(Fact::SessionBegun {
        session: [8; 16].into(),
        roster: [0; 32].into(),
        pack: [0; 32].into(),
        offset_min: 0,
        day: 0,
    });
    let fault = hand.refuse(hand.signed(1, at_second, &second));
    assert!(fault.to_string().contains("no statement of that visit"));
    // And a statement of the old session is out of place in the new one.
    let fault = hand.refuse(Fact::Stated { statement: first });
    assert_eq!(
        fault.to_string(),
        "event 8: the statement is of another session"
    );
}

#[test]
fn a_seal_holds_only_over_everything_before_it() {
    let mut hand = Hand::new();
    let before = hand.head;
    hand.take(Fact::QueueOpened {});
    let fault = hand.refuse(hand.sealed(before));
    assert!(matches!(fault, RecordFault::Seal { seq: 5, .. }), "{fault}");
    let other = Hand {
        device: SigningKey::from_bytes(&[9; 32]),
        ..Hand::new()
    };
    let fault = hand.refuse(other.sealed(hand.head));
    assert_eq!(
        fault.to_string(),
        "event 5: the seal is not signed by the device"
    );
    assert_eq!(hand.check.sealed_up_to(), 0);
    hand.take(hand.sealed(hand.head));
    assert_eq!(hand.check.sealed_up_to(), 5);
}

#[test]
fn a_journal_begins_once_and_with_whose_it_is() {
    let mut check = ChainCheck::new();
    assert!(matches!(
        check.feed(&event(Fact::QueueOpened {})),
        Err(RecordFault::Beginning { seq: 1, .. })
    ));
    let hand = Hand::new();
    let again = Fact::JournalBegun {
        device_key: hand.device.verifying_key().to_bytes().into(),
        alg: 1,
        journal: [2; 16].into(),
        software: "test".into(),
        hash_alg: 1,
    };
    assert!(matches!(
        hand.refuse(again),
        RecordFault::Beginning { seq: 4, .. }
    ));
}

#[test]
fn a_check_resumed_at_a_seal_goes_on_as_if_it_had_never_stopped() {
    let mut hand = Hand::new();
    let shown = statement(1, 1).encode();
    hand.take(Fact::Stated {
        statement: shown.clone(),
    });
    let at = hand.head;
    hand.take(hand.sealed(hand.head));
    let resume = |people: &Map<String, [u8; 32]>| {
        ChainCheck::resume(
            hand.device.verifying_key().to_bytes(),
            hand.head,
            hand.check.seq(),
            people.clone(),
        )
    };
    let people = hand.check.people();
    let signed = event(hand.signed(1, at, &shown));
    let mut told = resume(people).recall(1, at, shown.clone());
    assert_eq!(told.sealed_up_to(), hand.check.seq());
    told.feed(&signed).expect("follows");
    // What was put up before the place has to be told, and whose keys are known.
    assert!(resume(people).feed(&signed).is_err());
    let mut nobody = resume(&Map::new_vec()).recall(1, at, shown.clone());
    assert!(nobody.feed(&signed).is_err());
    hand.take(hand.signed(1, at, &shown));
    assert_eq!(told.head(), hand.head);
}
