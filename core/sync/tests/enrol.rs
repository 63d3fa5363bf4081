//! Enrolment and questions for the roster: read back as written, by whom they are meant for,
//! in one form, or refused; never a panic.

use ed25519_dalek::{Signer, SigningKey};
use proptest::prelude::*;
use standsquare_sync::enrol::{ASK_FRESH_MS, CodeFault};
use standsquare_sync::{EnrolAsk, EnrolCode, Enrolment, RosterAsk, SignedFault};

fn office() -> SigningKey {
    SigningKey::from_bytes(&[3; 32])
}

fn device() -> SigningKey {
    SigningKey::from_bytes(&[5; 32])
}

fn public(key: &SigningKey) -> [u8; 32] {
    key.verifying_key().to_bytes()
}

fn code() -> EnrolCode {
    EnrolCode {
        address: "https://office.larkmere.example:8443".into(),
        body: "larkmere".into(),
        office_key: public(&office()),
        code: [7; 16],
        until_ms: 1_795_597_200_000,
    }
}

fn ask() -> EnrolAsk {
    EnrolAsk::of(&code(), public(&device()), 1_795_597_000_000)
}

fn enrolment() -> Enrolment {
    Enrolment {
        office_key: public(&office()),
        body: "larkmere".into(),
        device_key: public(&device()),
        person: "ottoline".into(),
        edition: 4,
        at_ms: 1_795_597_000_500,
    }
}

fn roster_ask() -> RosterAsk {
    RosterAsk {
        office_key: public(&office()),
        body: "larkmere".into(),
        device_key: public(&device()),
        after: 4,
        at_ms: 1_795_597_000_000,
    }
}

fn by(key: &SigningKey) -> impl FnOnce(&[u8]) -> [u8; 64] + '_ {
    |bytes| key.sign(bytes).to_bytes()
}

#[test]
fn a_code_is_read_back_and_small_enough_for_a_camera() {
    let text = code().text();
    assert_eq!(EnrolCode::read(&format!(" {text}\n")), Ok(code()));
    assert!(EnrolCode::is_one(&text));
    // Version 15 of ISO/IEC 18004 holds 367 such signs at level Q.
    assert!(text.len() < 367, "{}", text.len());
    assert!(
        text.chars()
            .all(|c| "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:".contains(c))
    );
}

#[test]
fn a_code_that_is_none_says_why() {
    let text = code().text();
    assert_eq!(EnrolCode::read("SSK1:ABC"), Err(CodeFault::Other));
    assert_eq!(EnrolCode::read(""), Err(CodeFault::Other));
    assert_eq!(
        EnrolCode::read(&text.replace("SSE1:", "SSE2:")),
        Err(CodeFault::TooNew)
    );
    for bad in [
        text.replace("SSE1:", "SSE01:"),
        text[..text.len() - 3].to_owned(),
        text.to_lowercase(),
        format!("{text}0"),
    ] {
        assert!(EnrolCode::read(&bad).is_err(), "{bad}");
    }
    for address in [
        "",
        "office",
        "ftp://office",
        "https://",
        "https://office/path",
        "https://somebody@office",
        "https://off ice",
        "https://office#there",
    ] {
        let other = EnrolCode {
            address: address.into(),
            ..code()
        };
        assert!(EnrolCode::read(&other.text()).is_err(), "{address}");
    }
    let nobody = EnrolCode {
        body: String::new(),
        ..code()
    };
    assert!(EnrolCode::read(&nobody.text()).is_err());
}

#[test]
fn what_is_signed_is_read_by_whom_it_is_meant_for() {
    let bytes = ask().sign(by(&device()));
    assert_eq!(EnrolAsk::verify(&bytes, &public(&office())), Ok(ask()));
    assert_eq!(
        EnrolAsk::verify(&bytes, &[9; 32]),
        Err(SignedFault::OtherOffice)
    );
    // Another device cannot enrol this one's key.
    let forged = ask().sign(by(&office()));
    assert_eq!(
        EnrolAsk::verify(&forged, &public(&office())),
        Err(SignedFault::Forged)
    );

    let bytes = enrolment().sign(by(&office()));
    assert_eq!(Enrolment::verify(&bytes, &ask()), Ok(enrolment()));
    let forged = enrolment().sign(by(&device()));
    assert_eq!(Enrolment::verify(&forged, &ask()), Err(SignedFault::Forged));
    // An answer to somebody else is none to us.
    let other = EnrolAsk {
        device_key: [1; 32],
        ..ask()
    };
    assert!(Enrolment::verify(&bytes, &other).is_err());
    let other = EnrolAsk {
        body: "elsewhere".into(),
        ..ask()
    };
    assert!(Enrolment::verify(&bytes, &other).is_err());

    let bytes = roster_ask().sign(by(&device()));
    assert_eq!(
        RosterAsk::verify(&bytes, &public(&office())),
        Ok(roster_ask())
    );
    assert_eq!(
        RosterAsk::verify(&bytes, &[9; 32]),
        Err(SignedFault::OtherOffice)
    );
}

#[test]
fn one_never_passes_for_another() {
    // The two asks have bodies of the same kind of parts: their domains tell them apart.
    let roster = roster_ask().sign(by(&device()));
    let enrol = ask().sign(by(&device()));
    assert!(EnrolAsk::verify(&roster, &public(&office())).is_err());
    assert!(RosterAsk::verify(&enrol, &public(&office())).is_err());
    assert!(Enrolment::verify(&enrol, &ask()).is_err());
}

#[test]
fn every_changed_bit_and_every_cut_is_noticed() {
    type Reads = fn(&[u8]) -> bool;
    let all: [(Vec<u8>, Reads); 3] = [
        (ask().sign(by(&device())), |b| {
            EnrolAsk::verify(b, &public(&office())).is_ok()
        }),
        (enrolment().sign(by(&office())), |b| {
            Enrolment::verify(b, &ask()).is_ok()
        }),
        (roster_ask().sign(by(&device())), |b| {
            RosterAsk::verify(b, &public(&office())).is_ok()
        }),
    ];
    for (good, reads) in all {
        assert!(reads(&good));
        for at in 0..good.len() {
            assert!(!reads(&good[..at]), "cut at {at}");
            for bit in 0..8 {
                let mut bad = good.clone();
                bad[at] ^= 1 << bit;
                assert!(!reads(&bad), "byte {at}, bit {bit}");
            }
        }
        assert!(!reads(&[&good[..], &[0]].concat()));
    }
}

#[test]
fn a_newer_one_is_called_newer() {
    let mut newer = ask().sign(by(&device()));
    newer[1] = 5;
    let fault = EnrolAsk::verify(&newer, &public(&office())).expect_err("newer");
    assert!(
        matches!(fault, SignedFault::TooNew { found: 5, .. }),
        "{fault}"
    );
}

#[test]
fn an_ask_is_fresh_for_a_while_either_way() {
    let ask = roster_ask();
    for (off, fresh) in [
        (0, true),
        (ASK_FRESH_MS, true),
        (-ASK_FRESH_MS, true),
        (ASK_FRESH_MS + 1, false),
        (-ASK_FRESH_MS - 1, false),
    ] {
        assert_eq!(ask.is_fresh(ask.at_ms + off), fresh, "{off}");
    }
    let far = RosterAsk {
        at_ms: i64::MIN,
        ..ask
    };
    assert!(!far.is_fresh(i64::MAX));
}

proptest! {
    #[test]
    fn any_bytes_are_refused(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        prop_assert!(EnrolAsk::verify(&bytes, &public(&office())).is_err());
        prop_assert!(RosterAsk::verify(&bytes, &public(&office())).is_err());
        prop_assert!(Enrolment::verify(&bytes, &ask()).is_err());
    }

    #[test]
    fn any_text_is_a_code_in_its_one_form_or_refused(text in "(SSE1:)?[0-9A-Z $%*+./:-]{0,120}") {
        if let Ok(read) = EnrolCode::read(&text) {
            prop_assert_eq!(read.text(), text.trim());
        }
    }

    #[test]
    fn any_code_is_read_back(
        body in "[a-z]{1,20}", host in "[a-z.]{1,40}", key: [u8; 32], code: [u8; 16], until: i64,
    ) {
        let made = EnrolCode {
            address: format!("https://{host}"), body, office_key: key, code, until_ms: until,
        };
        prop_assert_eq!(EnrolCode::read(&made.text()), Ok(made));
    }
}
