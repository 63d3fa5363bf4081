//! The signed log: published vectors, and that no changed history or proof passes.

use ct_merkle::mem_backed_tree::MemoryBackedTree;
use ed25519_dalek::SigningKey;
use sha2::Sha256;
use standsquare_sync::log::{
    ASK_LIMIT, Ask, AskFault, Bundle, Checkpoint, InLog, LogFault, NoteFault, open_note, origin,
    sign_note,
};
use standsquare_sync::{Whereabouts, may_forget, whereabouts};

/// From the tests of golang.org/x/mod/sumdb/note, the format's first implementation.
const TEXT: &str = "If you think cryptography is the answer to your problem,\n\
                    then you don't know what your problem is.\n";
const NAME: &str = "PeterNeumann";
const SEED: [u8; 32] = [
    0x81, 0x0a, 0x14, 0x02, 0xd5, 0x14, 0x6c, 0x8d, 0x84, 0xf2, 0x44, 0x33, 0x30, 0xf5, 0x40, 0x80,
    0xeb, 0xf9, 0x8e, 0xe1, 0x7d, 0x9c, 0x74, 0xf6, 0x25, 0x2f, 0xc5, 0xd5, 0xc7, 0x28, 0x31, 0x73,
];
const LINE: &str = "\u{2014} PeterNeumann x08go/ZJkuBS9UG/SffcvIAQxVBtiFupLLr8pAcElZInNIuGUgYN1FF\
                    YC2pZSNXgKvqfqdngotpRZb6KE6RyyBwJnAM=\n";

#[test]
fn the_published_note_is_signed_and_opened() {
    let key = SigningKey::from_bytes(&SEED);
    let public = key.verifying_key().to_bytes();
    let note = format!("{TEXT}\n{LINE}");
    assert_eq!(sign_note(TEXT, NAME, &key), note);
    assert_eq!(open_note(&note, NAME, &public), Ok(TEXT));
    // Another's signature beside it is passed over.
    let other = SigningKey::from_bytes(&[9; 32]);
    let line = sign_note(TEXT, "somebody", &other).split_off(TEXT.len() + 1);
    assert_eq!(
        open_note(&format!("{TEXT}\n{line}{LINE}"), NAME, &public),
        Ok(TEXT)
    );
    assert_eq!(
        open_note(&format!("{TEXT}\n{line}"), NAME, &public),
        Err(NoteFault::NotSigned)
    );
    let changed = note.replace("cryptography", "cryptographY");
    assert_eq!(open_note(&changed, NAME, &public), Err(NoteFault::Forged));
    for end in 0..note.len() {
        if let Some(cut) = note.get(..end) {
            assert!(open_note(cut, NAME, &public).is_err(), "{cut}");
        }
    }
}

fn office() -> SigningKey {
    SigningKey::from_bytes(&[3; 32])
}

fn key() -> [u8; 32] {
    office().verifying_key().to_bytes()
}

fn frame(n: usize) -> [u8; 32] {
    let mut id = [0x77; 32];
    id[..8].copy_from_slice(&(n as u64).to_be_bytes());
    id
}

fn tree(size: usize) -> MemoryBackedTree<Sha256, [u8; 32]> {
    let mut tree = MemoryBackedTree::new();
    (0..size).for_each(|n| tree.push(frame(n)));
    tree
}

fn checkpoint(size: usize) -> Checkpoint {
    let root = (*tree(size).root().as_bytes()).into();
    Checkpoint {
        origin: origin("larkmere"),
        size: size as u64,
        root,
    }
}

fn hashes(bytes: &[u8]) -> Vec<[u8; 32]> {
    bytes
        .chunks(32)
        .map(|c| c.try_into().expect("a hash"))
        .collect()
}

/// An honest office's answer.
fn bundle(size: usize, seen: usize, frames: &[usize]) -> Bundle {
    let tree = tree(size);
    let consistency = match seen {
        0 => Vec::new(),
        _ => hashes(tree.prove_consistency(size - seen).as_bytes()),
    };
    let in_log = |n: &usize| InLog {
        frame: frame(*n),
        index: *n as u64,
        path: hashes(tree.prove_inclusion(*n).as_bytes()),
    };
    Bundle {
        checkpoint: checkpoint(size).sign(&office()),
        consistency,
        frames: frames.iter().map(in_log).collect(),
    }
}

fn verify(bundle: &Bundle, seen: Option<usize>) -> Result<(Checkpoint, Vec<[u8; 32]>), LogFault> {
    let seen = seen.map(checkpoint);
    Bundle::verify(&bundle.encode(), &origin("larkmere"), &key(), seen.as_ref())
}

#[test]
fn every_size_and_frame_is_proved() {
    for size in 1..20 {
        for seen in 0..=size {
            let all: Vec<_> = (0..size).collect();
            let (now, proved) = verify(&bundle(size, seen, &all), Some(seen)).expect("honest");
            assert_eq!((now, proved.len()), (checkpoint(size), size));
        }
    }
}

#[test]
fn a_log_that_lost_or_changed_something_is_caught() {
    // Shorter than it was.
    assert_eq!(
        verify(&bundle(7, 0, &[]), Some(9)),
        Err(LogFault::HistoryChanged)
    );
    // As long, with another history; longer, with another beginning.
    for size in [9, 14] {
        let mut other = MemoryBackedTree::<Sha256, [u8; 32]>::new();
        (0..size).for_each(|n| other.push(frame(n + 100)));
        let root = (*other.root().as_bytes()).into();
        let checkpoint = Checkpoint {
            origin: origin("larkmere"),
            size: size as u64,
            root,
        };
        let consistency = match size {
            9 => Vec::new(),
            _ => hashes(other.prove_consistency(size - 9).as_bytes()),
        };
        let bundle = Bundle {
            checkpoint: checkpoint.sign(&office()),
            consistency,
            frames: Vec::new(),
        };
        assert_eq!(verify(&bundle, Some(9)), Err(LogFault::HistoryChanged));
        assert!(
            verify(&bundle, None).is_ok(),
            "nobody who saw nothing can tell"
        );
    }
}

#[test]
fn a_changed_proof_proves_nothing() {
    let good = bundle(13, 5, &[6]);
    verify(&good, Some(5)).expect("honest");
    let mut bad = good.clone();
    bad.frames[0].frame = frame(7);
    assert_eq!(verify(&bad, Some(5)), Err(LogFault::NotProved));
    let mut bad = good.clone();
    bad.frames[0].index = 7;
    assert_eq!(verify(&bad, Some(5)), Err(LogFault::NotProved));
    for n in 0..good.frames[0].path.len() {
        let mut bad = good.clone();
        bad.frames[0].path[n][3] ^= 1;
        assert_eq!(verify(&bad, Some(5)), Err(LogFault::NotProved));
    }
    for n in 0..good.consistency.len() {
        let mut bad = good.clone();
        bad.consistency[n][3] ^= 1;
        assert_eq!(verify(&bad, Some(5)), Err(LogFault::HistoryChanged));
        bad.consistency.remove(n);
        assert_eq!(verify(&bad, Some(5)), Err(LogFault::HistoryChanged));
    }
}

#[test]
fn every_changed_bit_of_an_answer_is_noticed() {
    let good = bundle(13, 5, &[6]).encode();
    let seen = checkpoint(5);
    for at in 0..good.len() {
        let mut bad = good.clone();
        bad[at] ^= 1 << (at % 8);
        let answer = Bundle::verify(&bad, &origin("larkmere"), &key(), Some(&seen));
        assert!(answer.is_err(), "byte {at}");
    }
}

#[test]
fn another_office_or_another_log_is_noticed() {
    let bytes = bundle(13, 0, &[]).encode();
    let other = SigningKey::from_bytes(&[4; 32]).verifying_key().to_bytes();
    let by_other = Bundle::verify(&bytes, &origin("larkmere"), &other, None);
    assert_eq!(by_other, Err(LogFault::Checkpoint(NoteFault::NotSigned)));
    let of_other = Bundle::verify(&bytes, &origin("hollin"), &key(), None);
    assert_eq!(of_other, Err(LogFault::Checkpoint(NoteFault::NotSigned)));
}

#[test]
fn a_question_is_read_as_it_was_asked() {
    let ask = Ask {
        seen: 9,
        frames: vec![frame(1), frame(2)],
    };
    assert_eq!(Ask::decode_strict(&ask.encode()), Ok(ask.clone()));
    let many = Ask {
        seen: 0,
        frames: vec![frame(1); ASK_LIMIT + 1],
    };
    assert_eq!(Ask::decode_strict(&many.encode()), Err(AskFault::TooMany));
    let mut newer = ask.encode();
    newer[1] = 2;
    assert_eq!(Ask::decode_strict(&newer), Err(AskFault::TooNew(2)));
    let spare = [ask.encode(), vec![0]].concat();
    assert!(matches!(
        Ask::decode_strict(&spare),
        Err(AskFault::Unreadable(_))
    ));
}

#[test]
fn a_phone_forgets_only_what_is_in_the_log_and_only_later() {
    assert_eq!(whereabouts(false, false), Whereabouts::OnPhone);
    assert_eq!(whereabouts(true, false), Whereabouts::AtOffice);
    assert_eq!(whereabouts(true, true), Whereabouts::InLog);
    assert!(Whereabouts::OnPhone < Whereabouts::AtOffice);
    assert!(!may_forget(Whereabouts::AtOffice, 0, i64::MAX, 0));
    assert!(!may_forget(Whereabouts::InLog, 1_000, 1_099, 100));
    assert!(may_forget(Whereabouts::InLog, 1_000, 1_100, 100));
    assert!(
        !may_forget(Whereabouts::InLog, 1_000, 900, 100),
        "a clock that was set back"
    );
    assert!(
        !may_forget(Whereabouts::InLog, i64::MIN, i64::MAX, 100),
        "a clock gone mad"
    );
}
