//! What the office says of keys: signed, dated, in any order; and what `journal verify`
//! makes of it.

use std::fs;

use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::cli::{Office, verify_file, verify_file_with};
use standsquare_journal::record::CodeFault;
use standsquare_journal::record::notice::{KeyRing, Notice, Says, Standing, Why};
use standsquare_journal::store::Item;

use crate::common::{BEGIN_MS, Day, again, fresh, sha256};

fn office() -> SigningKey {
    SigningKey::from_bytes(&[0x0f; 32])
}

fn public() -> [u8; 32] {
    office().verifying_key().to_bytes()
}

fn code(notice: &Notice) -> String {
    notice.code(&public(), |bytes| office().sign(bytes).to_bytes())
}

fn notice(person: &str, key: [u8; 32], says: Says) -> Notice {
    Notice {
        person: person.into(),
        number: "LM-014".into(),
        key: key.into(),
        says,
        at_ms: 5_000,
    }
}

fn enrolled(from_ms: i64, until_ms: Option<i64>) -> Says {
    Says::Enrolled { from_ms, until_ms }
}

fn revoked(from_ms: i64, why: Why) -> Says {
    Says::Revoked { from_ms, why }
}

/// One of each kind, for another reader.
pub fn samples() -> Vec<String> {
    [
        enrolled(1_000, None),
        enrolled(1_000, Some(2_000)),
        revoked(-1, Why::Ended),
    ]
    .into_iter()
    .map(|says| code(&notice("ottoline", [7; 32], says)))
    .collect()
}

#[test]
fn a_notice_is_believed_for_the_offices_signature_alone() {
    for says in [enrolled(1, None), revoked(2, Why::Exposed)] {
        let said = notice("ottoline", [7; 32], says);
        let text = code(&said);
        assert!(Notice::is_one(&text));
        assert_eq!(Notice::check(&text, &[[1; 32], public()]), Ok(said.clone()));
        assert_eq!(Notice::check(&text, &[[1; 32]]), Err(CodeFault::UnknownKey));
        let other = SigningKey::from_bytes(&[0x10; 32]);
        let forged = said.code(&public(), |bytes| other.sign(bytes).to_bytes());
        assert_eq!(Notice::check(&forged, &[public()]), Err(CodeFault::Forged));
        // Cut anywhere, or a character changed, it is refused.
        for at in 0..text.len() {
            assert!(Notice::check(&text[..at], &[public()]).is_err());
            let other = if &text[at..=at] == "A" { "B" } else { "A" };
            let mut altered = text.clone();
            altered.replace_range(at..=at, other);
            assert!(Notice::check(&altered, &[public()]).is_err(), "{altered}");
        }
    }
    let later = "SSK2:ABC";
    assert!(Notice::is_one(later));
    assert_eq!(Notice::check(later, &[public()]), Err(CodeFault::TooNew));
    // A slip signed by the same office is no notice.
    let slip = crate::slip::code(&crate::slip::slip());
    let as_notice = slip.replacen("SSQ1:", "SSK1:", 1);
    assert_eq!(
        Notice::check(&as_notice, &[public()]),
        Err(CodeFault::Forged)
    );
}

/// Every order of what was said gives the same answers.
#[test]
fn a_ring_does_not_depend_on_the_order_in_which_notices_came() {
    let key = [7; 32];
    let said = [
        notice("ottoline", key, enrolled(100, Some(200))),
        notice("ottoline", key, enrolled(150, Some(300))),
        notice("ottoline", key, revoked(250, Why::Lost)),
        notice("ottoline", key, revoked(240, Why::Replaced)),
    ];
    let mut rings = Vec::new();
    for order in 0..24u32 {
        let mut left: Vec<&Notice> = said.iter().collect();
        let mut rest = order;
        let mut ring = KeyRing::default();
        while !left.is_empty() {
            let count = left.len() as u32;
            ring.take(left.remove((rest % count) as usize));
            rest /= count;
        }
        ring.take(&said[0]);
        rings.push(ring);
    }
    assert!(rings.iter().all(|ring| *ring == rings[0]));
    let at = |at_ms| rings[0].standing("ottoline", &key, at_ms);
    let (from_ms, why) = (240, Why::Replaced);
    assert_eq!(at(99), Standing::NotYet { from_ms: 100 });
    assert_eq!(at(100), Standing::RevokedLater { from_ms, why });
    assert_eq!(at(239), Standing::RevokedLater { from_ms, why });
    assert_eq!(at(240), Standing::Revoked { from_ms, why });
    assert_eq!(at(10_000), Standing::Revoked { from_ms, why });
    assert_eq!(rings[0].standing("bram", &key, 150), Standing::NotTheirs);
    assert_eq!(
        rings[0].standing("ottoline", &[8; 32], 150),
        Standing::Unknown
    );
}

#[test]
fn a_key_counts_while_it_is_enrolled_and_never_for_two() {
    let key = [7; 32];
    let mut ring = KeyRing::default();
    assert!(ring.is_empty());
    ring.take(&notice("ottoline", key, enrolled(100, Some(200))));
    let at = |ring: &KeyRing, at_ms| ring.standing("ottoline", &key, at_ms);
    assert!(!at(&ring, 99).counts() && at(&ring, 100).counts() && at(&ring, 199).counts());
    assert_eq!(at(&ring, 200), Standing::Over { until_ms: 200 });
    ring.take(&notice("ottoline", key, enrolled(100, None)));
    assert_eq!(at(&ring, 200), Standing::Good);
    ring.take(&notice("bram", key, enrolled(100, None)));
    assert_eq!(at(&ring, 150), Standing::NotTheirs);
    assert_eq!(ring.standing("bram", &key, 150), Standing::NotTheirs);
    let mut only_revoked = KeyRing::default();
    only_revoked.take(&notice("ottoline", key, revoked(100, Why::Lost)));
    assert_eq!(at(&only_revoked, 50), Standing::Unknown);
}

/// A day of two dogs; Bram's key is reported lost between them.
#[test]
fn verify_says_of_each_sign_off_how_its_key_stood() {
    let (_dir, path, mut journal) = fresh();
    let mut day = Day::new();
    day.set_up(&mut journal, 2);
    day.dog(&mut journal, 1);
    let between = journal.events().expect("reads").last().expect("one").at_ms + 1;
    day.dog(&mut journal, 2);
    day.close(&mut journal);
    let [ottoline, bram] = [0, 1].map(|n| day.keys[n].public());
    drop(journal);
    let (plain, whole) = verify_file(&path);
    assert!(whole && !plain.contains("key enrolled"), "{plain}");

    let said = [
        notice("ottoline", ottoline, enrolled(BEGIN_MS, None)),
        notice("bram", bram, enrolled(BEGIN_MS, None)),
    ];
    let mut known = Office {
        keys: vec![public()],
        notices: said.iter().map(code).collect(),
    };
    let (report, good) = verify_file_with(&path, &known);
    assert!(good, "{report}");
    assert_eq!(report.matches("; key enrolled\n").count(), 4, "{report}");

    // The revocation is kept in the journal's own file, as a text.
    let lost = code(&notice("bram", bram, revoked(between, Why::Lost)));
    let mut journal = again(&path);
    let text = Item::Blob {
        hash: sha256(lost.as_bytes()),
        bytes: lost.clone().into_bytes(),
    };
    journal.commit(1, vec![text]).expect("commits");
    drop(journal);
    let (report, good) = verify_file_with(&path, &known);
    assert!(!good, "{report}");
    assert!(
        report.starts_with("whole\nNOT ALL COUNTS: 1 sign-offs"),
        "{report}"
    );
    let lines: Vec<&str> = report.lines().filter(|l| l.contains("bram (")).collect();
    assert!(lines[0].ends_with("(lost), signed before"), "{report}");
    assert!(
        lines[1].contains("DOES NOT COUNT") && lines[1].ends_with("(lost), signed after"),
        "{report}"
    );

    // Nobody enrolled; and a notice that another office signed is told and not believed.
    known.notices.clear();
    let (report, good) = verify_file_with(&path, &known);
    assert!(!good && report.contains("enrolled no such key"), "{report}");
    known.keys = vec![[9; 32]];
    let (report, _) = verify_file_with(&path, &known);
    assert!(
        report.contains("a notice of a key is not believed"),
        "{report}"
    );
    // Without any office's key nothing is said of keys, and the journal is as whole as it was.
    let (report, whole) = verify_file_with(&path, &Office::default());
    assert!(whole && report.starts_with("whole\n44 events"), "{report}");
    assert!(fs::metadata(&path).is_ok());
}
