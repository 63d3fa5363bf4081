//! The code by which a second phone joins a session: read as it was signed, and no other.

use bolero::{TypeGenerator, check};
use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::record::CodeFault;
use standsquare_journal::record::pair::Pairing;

const TIMES: usize = 20_000;

fn device() -> SigningKey {
    SigningKey::from_bytes(&[0x1d; 32])
}

fn public() -> [u8; 32] {
    device().verifying_key().to_bytes()
}

fn pairing() -> Pairing {
    Pairing {
        league: "larkmere".into(),
        session: [1; 16].into(),
        journal: [2; 16].into(),
        pack: [3; 32].into(),
        venue: "Hollin Field".into(),
        day: 20_782,
        offset_min: 60,
        demo: true,
    }
}

fn code(pairing: &Pairing) -> String {
    pairing.code(&public(), |bytes| device().sign(bytes).to_bytes())
}

#[test]
fn it_is_read_as_it_was_signed_and_goes_in_one_code() {
    let text = code(&pairing());
    let read = Pairing::check(&text, &[[7; 32], public()]);
    assert_eq!(read, Ok((public(), pairing())));
    assert_eq!(Pairing::check(&text, &[]), Err(CodeFault::UnknownKey));
    // What a code of version 10 takes at level M (ISO/IEC 18004, table 7).
    assert!(text.len() <= 311, "{}", text.len());
    let newer = text.replacen("SSP1:", "SSP2:", 1);
    assert_eq!(Pairing::check(&newer, &[public()]), Err(CodeFault::TooNew));
    // A list of dogs under the same key is no such code, and the other way round.
    let list = text.replacen("SSP1:", "SSD1:", 1);
    assert!(!Pairing::is_one(&list) && Pairing::is_one(&newer));
    assert!(standsquare_journal::record::dogs::Dogs::check(&list, &[public()]).is_err());
}

#[test]
fn what_no_phone_writes_is_refused_though_it_is_signed() {
    let spoil: [fn(&mut Pairing); 3] = [
        |p| p.offset_min = 1_441,
        |p| p.venue = "x".repeat(401),
        |p| p.venue = "Hollin\nField".into(),
    ];
    for spoilt in spoil {
        let mut pairing = pairing();
        spoilt(&mut pairing);
        let refused = Pairing::check(&code(&pairing), &[public()]);
        assert!(
            matches!(refused, Err(CodeFault::Unreadable(_))),
            "{refused:?}"
        );
    }
}

/// What somebody does to a text.
#[derive(Debug, TypeGenerator)]
struct Hostile {
    any: Vec<u8>,
    at: u16,
    with: u8,
    cut: u16,
}

/// Any bytes, and a good text with a character changed and cut: no panic, and nothing is
/// believed that the device did not sign.
#[test]
fn fuzz_texts() {
    let text = code(&pairing());
    check!()
        .with_iterations(TIMES)
        .with_type()
        .for_each(|h: &Hostile| {
            let any = String::from_utf8_lossy(&h.any);
            assert!(Pairing::check(&any, &[public()]).is_err());
            assert!(Pairing::check(&format!("SSP1:{any}"), &[public()]).is_err());
            let mut altered = text.clone().into_bytes();
            let at = usize::from(h.at) % altered.len();
            altered[at] = h.with;
            altered.truncate(usize::from(h.cut) % (text.len() + 1));
            let altered = String::from_utf8_lossy(&altered).into_owned();
            if altered.trim() != text {
                assert!(Pairing::check(&altered, &[public()]).is_err(), "{altered}");
            }
        });
}
