//! Errors in a telegram. Every one- and two-bit error in number and CRC is
//! caught, and so is any one in header and control bits. The trailer is
//! protected by nothing: errors there pass, and change no number.

use standsquare_chip::Refusal;
use standsquare_chip::telegram::{FDXB_BITS, FdxB, HDX_BITS, Hdx};
use standsquare_reader::telegram;

/// The telegrams that the errors are put into: the published ones, the edges,
/// and some from a seed.
fn words() -> Vec<u64> {
    let mut rng = fastrand::Rng::with_seed(5);
    let fixed = [
        0x8000_F9C0_0001_B669,
        0x8000_F9C0_0000_03F0,
        0x5555_5555_5555_5555,
        0,
        u64::MAX,
    ];
    fixed
        .into_iter()
        .chain((0..20).map(|_| rng.u64(..)))
        .collect()
}

fn flipped(bits: &[bool], at: &[usize]) -> Vec<bool> {
    let mut bits = bits.to_vec();
    for i in at {
        bits[*i] = !bits[*i];
    }
    bits
}

/// Every set of one or two of these places.
fn one_or_two(places: &[usize]) -> Vec<Vec<usize>> {
    let mut sets: Vec<Vec<usize>> = places.iter().map(|i| vec![*i]).collect();
    for (n, i) in places.iter().enumerate() {
        sets.extend(places[n + 1..].iter().map(|j| vec![*i, *j]));
    }
    sets
}

/// Where bit `n` of an FDX-B telegram's 104 content bits is on the air.
fn fdxb_place(n: usize) -> usize {
    11 + n + n / 8
}

#[test]
fn fdxb_one_and_two_bit_errors_in_number_and_crc() {
    let places: Vec<usize> = (0..80).map(fdxb_place).collect();
    let sets = one_or_two(&places);
    assert_eq!(sets.len(), 80 + 80 * 79 / 2);
    for word in words() {
        let good = telegram::fdxb(word, 0x00_016A);
        assert!(FdxB::from_air_bits(&good).is_ok());
        for set in &sets {
            assert_eq!(
                FdxB::from_air_bits(&flipped(&good, set)),
                Err(Refusal::CheckFailed),
                "{word:016X}, bits {set:?}"
            );
        }
    }
}

#[test]
fn fdxb_errors_that_touch_header_or_control_bits() {
    let content: Vec<usize> = (0..104).map(fdxb_place).collect();
    let frame: Vec<usize> = (0..FDXB_BITS).filter(|i| !content.contains(i)).collect();
    assert_eq!(frame.len(), 11 + 13);
    for word in words() {
        let good = telegram::fdxb(word, 0);
        for i in &frame {
            assert!(FdxB::from_air_bits(&flipped(&good, &[*i])).is_err());
            for j in (0..FDXB_BITS).filter(|j| j != i) {
                assert!(FdxB::from_air_bits(&flipped(&good, &[*i, j])).is_err());
            }
        }
    }
}

#[test]
fn fdxb_errors_in_the_trailer_pass_and_change_no_number() {
    let good = telegram::fdxb(words()[0], 0x00_016A);
    let was = FdxB::from_air_bits(&good).expect("good");
    for n in 80..104 {
        let got = FdxB::from_air_bits(&flipped(&good, &[fdxb_place(n)])).expect("unprotected");
        assert_eq!((got.code, got.crc), (was.code, was.crc));
        assert_ne!(got.trailer, was.trailer);
    }
}

#[test]
fn hdx_one_and_two_bit_errors_in_number_and_crc() {
    let places: Vec<usize> = (8..88).collect();
    let sets = one_or_two(&places);
    for word in words() {
        let good = telegram::hdx(word, 0);
        assert!(Hdx::from_air_bits(&good).is_ok());
        for set in &sets {
            assert_eq!(
                Hdx::from_air_bits(&flipped(&good, set)),
                Err(Refusal::CheckFailed)
            );
        }
        for i in 0..8 {
            assert_eq!(
                Hdx::from_air_bits(&flipped(&good, &[i])),
                Err(Refusal::TelegramBroken)
            );
        }
    }
}

#[test]
fn a_telegram_cut_short_or_run_on_is_refused() {
    let fdxb = telegram::fdxb(words()[0], 0);
    let hdx = telegram::hdx(words()[0], 0);
    for n in 0..FDXB_BITS {
        assert_eq!(FdxB::from_air_bits(&fdxb[..n]), Err(Refusal::Truncated));
    }
    for n in 0..HDX_BITS {
        assert_eq!(Hdx::from_air_bits(&hdx[..n]), Err(Refusal::Truncated));
    }
    let long = [fdxb.as_slice(), &[false]].concat();
    assert_eq!(FdxB::from_air_bits(&long), Err(Refusal::TooLong));
}
