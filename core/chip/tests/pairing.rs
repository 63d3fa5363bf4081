//! Finding a reader's profile by reading one known chip.

use standsquare_chip::{ChipNumber, Pairing, Profile, Proposal};
use standsquare_reader::encode::{encode, forms};
use standsquare_reader::noise::{cut, noise};

fn number(text: &str) -> ChipNumber {
    text.parse().expect("a number")
}

fn sample(form: &str) -> &'static str {
    if form.starts_with("line-legacy-9") {
        "123456789"
    } else if form.starts_with("line-legacy-10") {
        "0A1B2C3D4E"
    } else {
        "999000000112233"
    }
}

/// Profiles that cannot be told from each other by a whole frame: the first of
/// them is proposed and reads the others' frames alike.
fn alike(form: &str) -> String {
    match form {
        // The keyboard's Enter gives CR.
        "wedge-15" => "line-15-cr".to_owned(),
        other => other.replace("-left", "").replace("-right", ""),
    }
}

#[test]
fn every_form_is_found_in_two_reads_with_noise_between() {
    for form in &forms() {
        for seed in 0..50 {
            let mut rng = fastrand::Rng::with_seed(seed);
            let mut pairing = Pairing::default();
            assert_eq!(pairing.proposal(None), Proposal::Nothing { refused: 0 });
            let frame = encode(form, sample(form)).expect("a frame");
            let (profile, wanted) = (alike(form), number(sample(form)));
            for (read, at_ms) in [(1, 10_000), (2, 20_000)] {
                pairing.feed(&noise(form, &mut rng), at_ms - 5_000);
                pairing.tick(at_ms - 1_000);
                for piece in cut(&frame, &mut rng) {
                    pairing.feed(&piece, at_ms);
                }
                pairing.tick(at_ms + 1_000);
                let expected = match read {
                    1 => Proposal::ReadAgain {
                        profile: profile.clone(),
                        number: wanted.clone(),
                    },
                    _ => Proposal::Fits {
                        profile: profile.clone(),
                        number: wanted.clone(),
                    },
                };
                assert_eq!(
                    pairing.proposal(Some(&wanted)),
                    expected,
                    "{form}, seed {seed}"
                );
                // Sixteen hex digits need no known chip either; the declared
                // orders only disagree where the other one is refused.
                assert_eq!(pairing.proposal(None), expected, "{form}, seed {seed}");
            }
        }
    }
}

#[test]
fn a_bounce_is_no_second_read() {
    let mut pairing = Pairing::default();
    let frame = encode("line-15", "999000000112233").expect("a frame");
    pairing.feed(&frame, 0);
    pairing.feed(&frame, 50);
    assert!(matches!(
        pairing.proposal(None),
        Proposal::ReadAgain { profile, .. } if profile == "line-15"
    ));
}

#[test]
fn another_number_than_the_known_chips_is_told() {
    let mut pairing = Pairing::default();
    pairing.feed(&encode("line-15", "999000000112233").expect("a frame"), 0);
    let known = number("999000000445566");
    assert!(matches!(
        pairing.proposal(Some(&known)),
        Proposal::NotTheKnownChip { .. }
    ));
}

#[test]
fn two_chips_at_once_are_unclear() {
    let mut pairing = Pairing::default();
    pairing.feed(&encode("line-15", "999000000112233").expect("a frame"), 0);
    pairing.feed(&encode("line-15", "999000000445566").expect("a frame"), 10);
    assert!(matches!(pairing.proposal(None), Proposal::Unclear { .. }));
    let known = number("999000000112233");
    assert!(matches!(
        pairing.proposal(Some(&known)),
        Proposal::Unclear { .. }
    ));
}

/// Both bit orders are a plain number: the known chip decides which.
#[test]
fn a_bit_order_that_only_the_known_chip_tells() {
    let plain = "999000033554432";
    let mut pairing = Pairing::default();
    let bytes = format!("{:016X}\r\n", 999u64 << 38 | 33_554_432);
    for at_ms in [0, 10_000] {
        pairing.feed(bytes.as_bytes(), at_ms);
    }
    assert!(matches!(pairing.proposal(None), Proposal::Unclear { .. }));
    assert_eq!(
        pairing.proposal(Some(&number(plain))),
        Proposal::Fits {
            profile: "line-hex16-left".to_owned(),
            number: number(plain)
        }
    );
}

#[test]
fn half_a_frame_and_chatter_propose_nothing() {
    let mut pairing = Pairing::new(Profile::all());
    pairing.feed(b"READY\r\nBATT 83%\r\n", 0);
    assert_eq!(pairing.proposal(None), Proposal::Nothing { refused: 0 });
    pairing.feed(b"9990000001122", 10);
    pairing.link_lost();
    let Proposal::Nothing { refused } = pairing.proposal(None) else {
        panic!("half a number was taken");
    };
    assert!(refused > 0);
}
