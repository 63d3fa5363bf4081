//! The handler's slip: made, coded, checked, and every altered one refused.

use ed25519_dalek::{Signer, SigningKey};
use fast_qr::{ECL, QRBuilder};
use standsquare_journal::record::slip::{Slip, SlipFault, key_id};

fn office() -> SigningKey {
    SigningKey::from_bytes(&[0x0f; 32])
}

fn public() -> [u8; 32] {
    office().verifying_key().to_bytes()
}

pub fn slip() -> Slip {
    Slip {
        dog: "Pip".into(),
        chip: "999000000112233".into(),
        result: "Small".into(),
        status: "provisional".into(),
        day: 20_782,
        window_from: Some(21_147),
        window_to: Some(21_512),
        measurers: vec!["LM-014".into(), "LM-022".into()],
        pack: "larkmere-heights 2026".into(),
        demo: true,
    }
}

pub fn code(slip: &Slip) -> String {
    slip.code(&public(), |bytes| office().sign(bytes).to_bytes())
}

#[test]
fn a_slip_is_checked_with_the_offices_key_alone() {
    let code = code(&slip());
    assert_eq!(Slip::check(&code, &[[7; 32], public()]), Ok(slip()));
    assert_eq!(Slip::check(&code, &[]), Err(SlipFault::UnknownKey));
    assert_eq!(Slip::check(&code, &[[7; 32]]), Err(SlipFault::UnknownKey));
    assert_eq!(Slip::check(&format!(" {code}\n"), &[public()]), Ok(slip()));
}

#[test]
fn every_altered_character_is_noticed() {
    let code = code(&slip());
    let alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";
    for (at, was) in code.char_indices() {
        for other in alphabet.chars().filter(|c| *c != was).step_by(7) {
            let mut altered = code.clone();
            altered.replace_range(at..=at, &other.to_string());
            // Spaces round a code are no part of it.
            if altered.trim() != altered {
                continue;
            }
            assert!(Slip::check(&altered, &[public()]).is_err(), "{altered}");
        }
    }
    for cut in 0..code.len() {
        assert!(Slip::check(&code[..cut], &[public()]).is_err());
    }
}

#[test]
fn another_key_under_the_offices_id_and_another_purpose_are_refused() {
    let impostor = SigningKey::from_bytes(&[0x10; 32]);
    let forged = slip().code(&public(), |bytes| impostor.sign(bytes).to_bytes());
    assert_eq!(Slip::check(&forged, &[public()]), Err(SlipFault::Forged));
    // The office's signature over something else.
    let other = slip().code(&public(), |_| office().sign(b"a receipt").to_bytes());
    assert_eq!(Slip::check(&other, &[public()]), Err(SlipFault::Forged));
    assert_eq!(key_id(&public()).len(), 8);
}

#[test]
fn what_is_no_slip_says_so_and_a_later_one_asks_for_an_update() {
    let keys = [public()];
    for text in ["", "https://hollin.example", "SSQ:", "SSQX:ABC", "SSQ0:ABC"] {
        assert_eq!(
            Slip::check(text, &keys),
            Err(SlipFault::Other("a slip")),
            "{text}"
        );
    }
    assert_eq!(Slip::check("SSQ2:ABC", &keys), Err(SlipFault::TooNew));
    for text in ["SSQ1:", "SSQ1:ABC", "SSQ1::::", "SSQ1:a"] {
        assert!(
            matches!(Slip::check(text, &keys), Err(SlipFault::Unreadable(_))),
            "{text}"
        );
    }
    bolero::check!().with_iterations(2_000).for_each(|bytes| {
        let text = format!("SSQ1:{}", base45::encode(bytes));
        assert!(Slip::check(&text, &[public()]).is_err());
    });
}

/// Small enough for a phone's camera: QR version 15 at most, with a quarter of it spoilt
/// (level Q) for the shorter one.
#[test]
fn a_slip_fits_a_code_that_a_phone_reads() {
    let long = Slip {
        dog: "Bartholomew of the Long Meadow".into(),
        result: "Intermediate (further measure asked)".into(),
        measurers: vec!["LM-014/2026".into(), "LM-022/2026".into()],
        ..slip()
    };
    for (slip, level) in [(slip(), ECL::Q), (long, ECL::M)] {
        let text = code(&slip);
        let qr = QRBuilder::new(text.as_str()).ecl(level).build();
        let version = qr.expect("fits").version.expect("a version") as usize + 1;
        assert!(
            version <= 15,
            "{} characters, version {version}",
            text.len()
        );
    }
}

/// RFC 9285, section 4.3 and 4.4: its examples.
#[test]
fn base45_is_as_the_standard_lists_it() {
    for (text, coded) in [
        ("AB", "BB8"),
        ("Hello!!", "%69 VD92EX0"),
        ("base-45", "UJCLQE7W581"),
        ("ietf!", "QED8WEX0"),
    ] {
        assert_eq!(base45::encode(text), coded);
        assert_eq!(base45::decode(coded).expect("decodes"), text.as_bytes());
    }
    // Section 6: what decodes to more than two bytes hold is refused.
    for coded in [":::", "GGW", "A", "ab0"] {
        assert!(base45::decode(coded).is_err(), "{coded}");
    }
}

/// The signed structure (RFC 9052, section 4.4) of the published example `eddsa-sig-02` of
/// the repository that RFC 9052's appendix C names (cose-wg/Examples); and COSE with other
/// algorithms or keys is never a slip.
#[test]
fn what_is_signed_is_as_the_standard_lists_it() {
    use coset::{CoseSign1, TaggedCborSerializable};
    let message = "D28443A10127A10445336434343854546869732069732074686520636F6E74656E742E5872\
                   988240A3A2F189BD486DE14AA77F54686C576A09F2E7ED9BAE910DF9139C2AC3BE7C27B7E1\
                   0A20FA17C9D57D3510A2CF1F634BC0345AB9BE00849842171D1E9E98B2674C0E38BFCF6C55\
                   7A1692B01B71015A47AC9F7748840CAD1DA80CBB5B349309FEBB912672B377C8B2072AF159\
                   8B3700";
    let signed = "846A5369676E61747572653143A101274054546869732069732074686520636F6E74656E742E";
    let bytes = hex(message);
    let read = CoseSign1::from_tagged_slice(&bytes).expect("a message");
    assert_eq!(read.tbs_data(b""), hex(signed));
    assert_eq!(read.to_tagged_vec().expect("writes"), bytes);
    let text = format!("SSQ1:{}", base45::encode(&bytes));
    assert_eq!(Slip::check(&text, &[public()]), Err(SlipFault::UnknownKey));
}

fn hex(text: &str) -> Vec<u8> {
    (0..text.len())
        .step_by(2)
        .map(|at| u8::from_str_radix(&text[at..at + 2], 16).expect("hex"))
        .collect()
}
