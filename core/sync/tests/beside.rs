//! Two phones' results of one dog: what they come to, against an oracle written another way;
//! and the office's answer, signed, altered and cut.

use std::collections::BTreeSet;

use ed25519_dalek::{Signer, SigningKey};
use standsquare_sync::beside::{
    Beside, BesideAsk, LEFT, Paired, Side, Told, ToldDog, compare, settling,
};

const CAME: [&str; 5] = [
    "category:small",
    "category:medium",
    "not-today:nervous",
    "referred:rules",
    LEFT,
];

/// What a phone may have on record of a dog: what it found, and what it settled.
fn sides() -> Vec<(String, Vec<String>)> {
    let mut all = Vec::new();
    for came in CAME {
        let mut settled: Vec<Option<(bool, &str)>> = vec![None];
        for named in CAME {
            settled.extend([true, false].map(|here| Some((here, named))));
        }
        for one in settled {
            let mut flags = vec!["near-limit".to_owned()];
            if let Some((here, named)) = one {
                flags.extend(settling(here, &[0xab; 32], named));
            }
            all.push((came.to_owned(), flags));
        }
    }
    all
}

fn exchanged(found: Beside) -> Beside {
    match found {
        Beside::FirstStands => Beside::SecondStands,
        Beside::SecondStands => Beside::FirstStands,
        same => same,
    }
}

/// The same in other words: every side votes for whose result stands, where it names what
/// the other one has; the result stands that all votes are for.
fn oracle(first: &(String, Vec<String>), second: &(String, Vec<String>)) -> Beside {
    if [first, second].iter().any(|s| s.0 == LEFT) {
        return Beside::Left;
    }
    if first.0 == second.0 {
        return Beside::Corroborated;
    }
    let vote = |own: &(String, Vec<String>), other: &(String, Vec<String>)| {
        let ends = format!(":{}", other.0);
        let named = own
            .1
            .iter()
            .any(|f| f.starts_with("settles:") && f.ends_with(&ends));
        let own_stands = own.1.contains(&"settled-here".to_owned());
        named.then_some(if own_stands {
            own.0.clone()
        } else {
            other.0.clone()
        })
    };
    let votes: BTreeSet<String> = [vote(first, second), vote(second, first)]
        .into_iter()
        .flatten()
        .collect();
    match votes.iter().collect::<Vec<_>>()[..] {
        [one] if *one == first.0 => Beside::FirstStands,
        [_] => Beside::SecondStands,
        _ => Beside::Disputed,
    }
}

#[test]
fn every_pair_comes_to_what_the_oracle_says_whoever_compares() {
    let all = sides();
    let mut found = [0; 5];
    for first in &all {
        for second in &all {
            let [a, b] = [first, second].map(|(came, flags)| Side { came, flags });
            let came = compare(&a, &b);
            assert_eq!(came, oracle(first, second), "{first:?} {second:?}");
            assert_eq!(compare(&b, &a), exchanged(came), "{first:?} {second:?}");
            found[came as usize] += 1;
        }
    }
    assert!(found.iter().all(|n| *n > 0), "{found:?}");
}

fn office() -> SigningKey {
    SigningKey::from_bytes(&[0x0f; 32])
}

fn told(dogs: u32) -> Told {
    Told {
        office_key: office().verifying_key().to_bytes().into(),
        session: [1; 16].into(),
        at_ms: 1_795_597_200_000,
        phones: vec![Paired {
            device_key: [2; 32].into(),
            journal: [3; 16].into(),
        }],
        dogs: (0..dogs)
            .map(|visit| ToldDog {
                device_key: [2; 32].into(),
                journal: [3; 16].into(),
                visit,
                chip: format!("999000000{visit:06}"),
                came: "category:small".into(),
                statement: [4; 32].into(),
                settles: settling(true, &[5; 32], "category:medium").to_vec(),
            })
            .collect(),
        forked: vec![[6; 32].into()],
    }
}

#[test]
fn an_answer_is_read_as_it_was_signed_and_no_altered_one() {
    let key = office().verifying_key().to_bytes();
    let whole = told(3);
    let bytes = whole.sign(|b| office().sign(b).to_bytes());
    assert_eq!(Told::verify(&bytes, &key, &[1; 16]), Ok(whole.clone()));
    assert_eq!(Told::again(&bytes), Ok(whole.clone()));
    assert!(Told::verify(&bytes, &key, &[9; 16]).is_err());
    assert!(Told::verify(&bytes, &[9; 32], &[1; 16]).is_err());
    for cut in 0..bytes.len() {
        assert!(Told::verify(&bytes[..cut], &key, &[1; 16]).is_err());
    }
    for at in 0..bytes.len() {
        for flip in [0x01, 0x80] {
            let mut altered = bytes.clone();
            altered[at] ^= flip;
            assert!(Told::verify(&altered, &key, &[1; 16]).is_err(), "byte {at}");
        }
    }
    assert!(whole.says_what(&Told {
        at_ms: 0,
        ..whole.clone()
    }));
    assert!(!whole.says_what(&told(2)));
}

/// A dog takes so much: a day of sixty is told in a few packets.
#[test]
fn a_day_is_told_in_little() {
    let bytes = told(60).sign(|b| office().sign(b).to_bytes());
    assert!(bytes.len() < 60 * 200 + 300, "{}", bytes.len());
}

#[test]
fn who_asks_is_who_signed_and_only_just_now() {
    let device = SigningKey::from_bytes(&[7; 32]);
    let office_key = office().verifying_key().to_bytes();
    let ask = BesideAsk {
        office_key,
        device_key: device.verifying_key().to_bytes(),
        session: [1; 16],
        at_ms: 1_795_597_200_000,
    };
    let bytes = ask.sign(|b| device.sign(b).to_bytes());
    assert_eq!(BesideAsk::verify(&bytes, &office_key), Ok(ask.clone()));
    assert!(BesideAsk::verify(&bytes, &[3; 32]).is_err());
    let other = ask.sign(|b| office().sign(b).to_bytes());
    assert!(BesideAsk::verify(&other, &office_key).is_err());
    for at in 0..bytes.len() {
        let mut altered = bytes.clone();
        altered[at] ^= 1;
        assert!(BesideAsk::verify(&altered, &office_key).is_err());
        assert!(BesideAsk::verify(&bytes[..at], &office_key).is_err());
    }
    assert!(ask.is_fresh(ask.at_ms + 15 * 60_000));
    assert!(!ask.is_fresh(ask.at_ms + 15 * 60_000 + 1));
    assert!(!ask.is_fresh(ask.at_ms - 15 * 60_000 - 1));
}
