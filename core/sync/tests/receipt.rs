//! Receipts: signed by the office that is expected, in one form, or worth nothing.

use ed25519_dalek::SigningKey;
use standsquare_sync::{Receipt, ReceiptFault};

fn office() -> SigningKey {
    SigningKey::from_bytes(&[3; 32])
}

fn key() -> [u8; 32] {
    office().verifying_key().to_bytes()
}

fn receipt() -> Vec<u8> {
    Receipt::sign(
        &office(),
        1_795_597_200_000,
        &[[1; 32], [2; 32]],
        &[([9; 32], "fork".into())],
    )
}

#[test]
fn what_is_signed_is_read() {
    let read = Receipt::verify(&receipt(), &key()).expect("a good receipt");
    assert_eq!(read.at_ms, 1_795_597_200_000);
    assert_eq!(read.held, [[1; 32], [2; 32]]);
    assert_eq!(read.refused, [([9; 32], "fork".to_owned())]);
    assert_eq!(read.office_key, key());
    assert_eq!(
        receipt(),
        receipt(),
        "the same receipt twice is the same bytes"
    );
}

#[test]
fn every_changed_bit_is_noticed() {
    let good = receipt();
    for at in 0..good.len() {
        for bit in 0..8 {
            let mut bad = good.clone();
            bad[at] ^= 1 << bit;
            assert!(
                Receipt::verify(&bad, &key()).is_err(),
                "byte {at}, bit {bit}"
            );
        }
    }
}

#[test]
fn every_cut_is_noticed() {
    let good = receipt();
    for end in 0..good.len() {
        assert!(
            Receipt::verify(&good[..end], &key()).is_err(),
            "cut at {end}"
        );
    }
    let spare = [&good[..], &[0]].concat();
    assert_eq!(
        Receipt::verify(&spare, &key()),
        Err(ReceiptFault::NotDeterministic)
    );
}

#[test]
fn another_office_is_noticed() {
    let other = SigningKey::from_bytes(&[4; 32]);
    let theirs = Receipt::sign(&other, 0, &[[1; 32]], &[]);
    assert_eq!(
        Receipt::verify(&theirs, &key()),
        Err(ReceiptFault::OtherOffice)
    );
    // The right key named, another one's signature under it.
    let end = theirs.len() - 64;
    let mut forged = receipt();
    let at = forged.len() - 64;
    forged[at..].copy_from_slice(&theirs[end..]);
    assert_eq!(Receipt::verify(&forged, &key()), Err(ReceiptFault::Forged));
}

#[test]
fn a_weak_key_signs_nothing() {
    // The neutral point: under lax rules everything is signed by it.
    let mut weak = [0; 32];
    weak[0] = 1;
    let mut bytes = receipt();
    let at = bytes
        .windows(32)
        .position(|w| w == key())
        .expect("the key is in it");
    bytes[at..at + 32].copy_from_slice(&weak);
    let end = bytes.len() - 64;
    bytes[end..].fill(0);
    bytes[end] = 1;
    assert_eq!(Receipt::verify(&bytes, &weak), Err(ReceiptFault::Forged));
}

#[test]
fn two_things_said_of_one_frame_are_noticed() {
    let twice = Receipt::sign(&office(), 0, &[[1; 32], [1; 32]], &[]);
    assert_eq!(
        Receipt::verify(&twice, &key()),
        Err(ReceiptFault::Contradictory)
    );
    let both = Receipt::sign(&office(), 0, &[[1; 32]], &[([1; 32], "fork".into())]);
    assert_eq!(
        Receipt::verify(&both, &key()),
        Err(ReceiptFault::Contradictory)
    );
}

#[test]
fn a_newer_receipt_is_called_newer() {
    let mut newer = receipt();
    newer[1] = 5;
    assert_eq!(
        Receipt::verify(&newer, &key()),
        Err(ReceiptFault::TooNew(5))
    );
}
