//! The list of a table's dogs: made, coded, cut into pieces, and every altered one refused.

use bolero::{TypeGenerator, check};
use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::record::CodeFault;
use standsquare_journal::record::dogs::{Came, Dogs, MOST};
use standsquare_journal::record::pieces::{Gathering, text_of, texts};

/// Times that each fuzzer runs with `cargo test`.
const TIMES: usize = 20_000;

fn device() -> SigningKey {
    SigningKey::from_bytes(&[0x1d; 32])
}

fn public() -> [u8; 32] {
    device().verifying_key().to_bytes()
}

fn number(n: usize) -> String {
    format!("999000000{n:06}")
}

fn list(dogs: usize) -> Dogs {
    let mut list = Dogs {
        league: "larkmere".into(),
        session: [1; 16].into(),
        journal: [2; 16].into(),
        seq: 90,
        at_ms: 1_795_597_200_000,
        salt: [3; 16].into(),
        categories: Vec::new(),
        dogs: Vec::new(),
        demo: true,
    };
    for n in 0..dogs {
        let came = match n % 5 {
            0 => Came::Category("small".into()),
            1 => Came::Category("medium".into()),
            2 => Came::NotToday,
            3 => Came::Untold,
            _ => Came::Referred,
        };
        list.add(&number(n), &came, n as u32);
    }
    list
}

fn code(list: &Dogs) -> String {
    list.code(&public(), |bytes| device().sign(bytes).to_bytes())
}

#[test]
fn what_is_put_in_is_found_and_nothing_else() {
    let list = list(60);
    let (key, read) = Dogs::check(&code(&list), &[[7; 32], public()]).expect("it holds");
    assert_eq!((key, &read), (public(), &list));
    for n in 0..60 {
        let (came, at_ms) = read.find(&number(n)).expect("it is in it");
        assert_eq!(at_ms, 1_795_597_200_000 - n as i64 * 60_000);
        let wanted = [
            Came::Category("small".into()),
            Came::Category("medium".into()),
            Came::NotToday,
            Came::Untold,
            Came::Referred,
        ];
        assert_eq!(came, wanted[n % 5]);
    }
    for n in 60..2_000 {
        assert_eq!(read.find(&number(n)), None, "{n}");
    }
    let message = Dogs::message(&code(&list)).expect("a message");
    assert_eq!(Dogs::again(&message), Ok(list));
}

/// No number stands in it in the clear.
#[test]
fn who_reads_the_code_reads_no_number() {
    let message = Dogs::message(&code(&list(60))).expect("a message");
    for n in 0..60 {
        let (text, wide) = (number(n), number(n).parse::<u64>().expect("digits"));
        for shown in [text.as_bytes(), &wide.to_be_bytes()[1..]] {
            assert!(!message.windows(shown.len()).any(|w| w == shown), "{text}");
        }
    }
}

#[test]
fn another_devices_and_altered_lists_are_refused() {
    let text = code(&list(3));
    assert_eq!(Dogs::check(&text, &[]), Err(CodeFault::UnknownKey));
    assert_eq!(Dogs::check(&text, &[[7; 32]]), Err(CodeFault::UnknownKey));
    let newer = text.replacen("SSD1:", "SSD2:", 1);
    assert_eq!(Dogs::check(&newer, &[public()]), Err(CodeFault::TooNew));
    assert!(Dogs::is_one(&newer) && Dogs::is_one(&text) && !Dogs::is_one("SSQ1:"));
    for (at, was) in text.char_indices() {
        for other in "07AZ $%:".chars().filter(|c| *c != was) {
            let mut altered = text.clone();
            altered.replace_range(at..=at, &other.to_string());
            if altered.trim() == altered {
                assert!(Dogs::check(&altered, &[public()]).is_err(), "{altered}");
            }
        }
    }
    for cut in 0..text.len() {
        assert!(Dogs::check(&text[..cut], &[public()]).is_err());
    }
}

#[test]
fn what_no_phone_writes_is_refused_though_it_is_signed() {
    let spoil: [fn(&mut Dogs); 5] = [
        |l| *l = list(MOST + 1),
        |l| l.categories.clear(),
        |l| l.dogs[0].came = u32::MAX,
        |l| l.at_ms = i64::MAX,
        |l| l.at_ms = -1,
    ];
    for spoilt in spoil {
        let mut list = list(10);
        spoilt(&mut list);
        let refused = Dogs::check(&code(&list), &[public()]);
        assert!(
            matches!(refused, Err(CodeFault::Unreadable(_))),
            "{refused:?}"
        );
    }
}

#[test]
fn a_long_list_goes_in_pieces_in_any_order_and_a_short_one_in_one() {
    let short = code(&list(2));
    assert_eq!(texts(&short, 311, 176), Ok(vec![short.clone()]));
    for dogs in [20, 60, MOST] {
        let text = code(&list(dogs));
        let pieces = texts(&text, 311, 176).expect("pieces");
        // What a code of version 10 takes at level M (ISO/IEC 18004, table 7).
        assert!(pieces.iter().all(|p| p.len() <= 311));
        let mut gathering = Gathering::default();
        let mut whole = None;
        for (n, piece) in pieces.iter().enumerate().rev() {
            assert!(whole.is_none());
            assert!(gathering.missing().count() == if n + 1 == pieces.len() { 0 } else { n + 1 });
            whole = gathering.take(piece).expect("a piece");
        }
        assert_eq!(text_of(&whole.expect("whole")), Some(text));
    }
    assert_eq!(text_of(b"SSD1"), None);
    assert_eq!(text_of(&[0x84, 1, 2, 3, 4, 5]), None);
}

/// What somebody does to a text.
#[derive(Debug, TypeGenerator)]
struct Hostile {
    dogs: u8,
    any: Vec<u8>,
    at: u16,
    with: u8,
    cut: u16,
}

/// Any bytes, and a good text with a character changed and cut: no panic, and nothing is
/// believed that the device did not sign.
#[test]
fn fuzz_texts() {
    let keys = [public()];
    check!()
        .with_iterations(TIMES)
        .with_type()
        .for_each(|h: &Hostile| {
            let _ = Dogs::check(&String::from_utf8_lossy(&h.any), &keys);
            let _ = Dogs::again(&h.any);
            let _ = text_of(&h.any);
            let wild = format!("SSD1:{}", base45_of(&h.any));
            assert!(Dogs::check(&wild, &keys).is_err());
            let text = code(&list(usize::from(h.dogs % 8)));
            let mut altered = text.clone().into_bytes();
            let at = usize::from(h.at) % altered.len();
            altered[at] = h.with;
            altered.truncate(usize::from(h.cut) % (text.len() + 1));
            let altered = String::from_utf8_lossy(&altered).into_owned();
            if altered.trim() != text {
                assert!(Dogs::check(&altered, &keys).is_err(), "{altered}");
            }
        });
}

/// base45 (RFC 9285), written again: the crate's own is what is tested.
fn base45_of(bytes: &[u8]) -> String {
    const ALPHABET: &[u8; 45] = b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";
    let mut out = String::new();
    for pair in bytes.chunks(2) {
        let (mut n, digits) = match *pair {
            [a, b] => (usize::from(a) * 256 + usize::from(b), 3),
            [a] => (usize::from(a), 2),
            _ => continue,
        };
        for _ in 0..digits {
            out.push(char::from(ALPHABET[n % 45]));
            n /= 45;
        }
    }
    out
}
