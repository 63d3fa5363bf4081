//! Everything that the core says of an act is seen somewhere in the recorded sessions, and so
//! in the pictures of the screens.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use standsquare_session::{Phone, Recording};

const THE_OFFICE_SIGNS: &str = "the office must sign it: tests/tests/key_notices.rs";

/// What no recording shows, and why not.
const UNSEEN: &[(&str, &str)] = &[
    (
        "notice.salvaged",
        "the file must be damaged: the journal's tests damage it in every way",
    ),
    (
        "refused.slip_too_long",
        "a dog's name that no record book holds: version 15 takes more than 300 letters",
    ),
    ("refused.key", "the file of keys must be damaged"),
    ("refused.record", "the disk must fail"),
    (
        "notice.office_has_part",
        "the office must answer for a part only",
    ),
    (
        "notice.office_set_aside",
        "the office must set a run aside that this phone wrote whole",
    ),
    ("refused.office_key", "a roster without the office's key"),
    (
        "refused.no_chip",
        "rules that take no dog without a chip: tests/tests/which_dog.rs",
    ),
    (
        "refused.pack_unsupported",
        "rules of another kind: tests/tests/before_and_after.rs",
    ),
    (
        "notice.reader_speaks_other",
        "a reader that changes its form: tests/tests/pairing.rs",
    ),
    (
        "refused.book_code_no_queue",
        "a record book's code before the queue is open",
    ),
    (
        "notice.personal_erased",
        "the rules' years must pass, and the office's log have it: tests/tests/keeping.rs",
    ),
    ("notice.key_enrolled", THE_OFFICE_SIGNS),
    ("notice.key_known", THE_OFFICE_SIGNS),
    (
        "notice.key_news",
        "a key must be lost: tests/tests/enrolling.rs",
    ),
    ("refused.key_notice", THE_OFFICE_SIGNS),
    ("refused.key_revoked", THE_OFFICE_SIGNS),
    ("refused.key_over", THE_OFFICE_SIGNS),
    ("refused.key_not_yet", THE_OFFICE_SIGNS),
    ("refused.key_not_theirs", THE_OFFICE_SIGNS),
    ("refused.sign_key_over", THE_OFFICE_SIGNS),
    ("refused.sign_key_not_yet", THE_OFFICE_SIGNS),
    ("refused.sign_key_not_theirs", THE_OFFICE_SIGNS),
];

/// Of a hundred notices and refusals not listed above, so many at least are seen: a new one may
/// come a day before its recording.
const SEEN_OF_100: usize = 90;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Every `"notice.…"` and `"refused.…"` in the session's sources.
fn said(folder: &Path, into: &mut BTreeSet<String>) {
    for entry in fs::read_dir(folder).expect("the sources").flatten() {
        let path = entry.path();
        if path.is_dir() {
            said(&path, into);
        } else if path.extension().is_some_and(|e| e == "rs") {
            let text = fs::read_to_string(&path).expect("reads");
            let text = text.split("#[cfg(test)]").next().unwrap_or_default();
            for literal in text.split('"').skip(1).step_by(2) {
                let is_key = ["notice.", "refused."].iter().any(|p| {
                    literal
                        .strip_prefix(p)
                        .is_some_and(|k| k.bytes().all(|b| b.is_ascii_lowercase() || b == b'_'))
                });
                if is_key {
                    into.insert(literal.to_owned());
                }
            }
        }
    }
}

/// The notices of a recording, one after another.
fn shown(path: &Path) -> BTreeSet<String> {
    let recording = Recording::read(&fs::read_to_string(path).expect("reads")).expect("one");
    let dir = tempfile::TempDir::new().expect("a folder");
    let secret: [u8; 32] = recording.device_secret.clone().try_into().expect("32");
    let mut phone = Phone::open(dir.path(), secret, &recording.opened).expect("opens");
    let mut keys = BTreeSet::new();
    for step in &recording.steps {
        let seen = phone.view().revision;
        let answer = phone.apply(&step.act, seen, &step.stamp).expect("holds");
        let view = answer.view;
        keys.extend(view.notice.map(|n| n.text.key));
        // Why an offer may not be taken is told beside it.
        keys.extend(
            view.offers
                .into_iter()
                .filter_map(|o| o.why_not)
                .map(|w| w.key),
        );
    }
    keys
}

#[test]
fn every_refusal_is_in_a_recording() {
    let mut all = BTreeSet::new();
    said(&root().join("core/session/src"), &mut all);
    assert!(all.len() > 60, "only {} found", all.len());
    let mut seen = BTreeSet::new();
    for entry in fs::read_dir(root().join("tests/recorded"))
        .expect("recordings")
        .flatten()
    {
        let name = entry.file_name().into_string().expect("a name");
        if name.ends_with(".json") && !name.ends_with(".session.json") {
            seen.extend(shown(&entry.path()));
        }
    }
    let unseen: BTreeSet<&str> = UNSEEN.iter().map(|(key, _)| *key).collect();
    let wanted: Vec<&String> = all
        .iter()
        .filter(|k| !unseen.contains(k.as_str()))
        .collect();
    let missing: Vec<&&String> = wanted.iter().filter(|k| !seen.contains(**k)).collect();
    println!(
        "{} of {} notices and refusals are seen; not yet: {missing:?}",
        wanted.len() - missing.len(),
        all.len()
    );
    assert!(
        (wanted.len() - missing.len()) * 100 >= wanted.len() * SEEN_OF_100,
        "no recording shows {missing:?}: add them to tests/src/refused.rs"
    );
}
