//! Every format that ever landed stays readable: `tests/held-formats` keeps one journal
//! of each.

use std::fs;
use std::path::{Path, PathBuf};

use rusqlite::Connection;
use standsquare_journal::cli::verify_file;
use standsquare_journal::record::verify_signature;
use standsquare_journal::store::Journal;
use tempfile::TempDir;

use crate::common::{Day, PINS, SECRET, again, fresh, told};

fn held() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/held-formats")
}

fn format_of(path: &Path) -> i64 {
    Connection::open(path)
        .and_then(|db| db.pragma_query_value(None, "user_version", |row| row.get(0)))
        .expect("a format")
}

fn format_at_hand() -> i64 {
    let (_dir, path, journal) = fresh();
    drop(journal);
    format_of(&path)
}

/// What every held journal holds.
fn fill(journal: &mut Journal) {
    let mut day = Day::new();
    day.set_up(journal, 3);
    for visit in 1..=3 {
        day.dog(journal, visit);
    }
    day.close(journal);
    assert!(journal.erase_subject(&[2; 16]).expect("erases"));
    // Since format 2.
    let kept = b"worked out of the first ten".to_vec();
    journal.keep(10, "held/1", kept).expect("keeps");
}

/// Writes the journal of the format at hand, if `STANDSQUARE_HOLD` asks for it and it is
/// not held yet.
fn hold(number: i64) {
    let at = held().join(format!("journal-{number}.sqlite"));
    if std::env::var_os("STANDSQUARE_HOLD").is_none() || at.exists() {
        return;
    }
    let (_dir, _path, mut journal) = fresh();
    fill(&mut journal);
    journal.export_to(&at).expect("writes");
    let report = verify_file(&at).0;
    fs::write(at.with_extension("txt"), report).expect("writes");
}

#[test]
fn every_format_that_landed_reads_verifies_and_is_written_on() {
    let at_hand = format_at_hand();
    hold(at_hand);
    for number in 1..=at_hand {
        let file = held().join(format!("journal-{number}.sqlite"));
        assert!(
            file.exists(),
            "no journal of format {number} is held: see tests/held-formats/README.md"
        );
        let (report, whole) = verify_file(&file);
        let kept = fs::read_to_string(file.with_extension("txt")).expect("its report");
        assert!(whole, "format {number}: {report}");
        assert_eq!(report, kept, "format {number} reads otherwise than it did");

        let dir = TempDir::new().expect("a folder");
        let path = dir.path().join("journal.sqlite");
        fs::copy(&file, &path).expect("copies");
        assert_eq!(format_of(&path), number, "the file held was changed");
        let mut journal = again(&path);
        assert!(journal.salvage().is_none(), "{:?}", journal.salvage());
        // What was kept may have been kept otherwise then: it counts, or is thrown away.
        let kept = (10, &b"worked out of the first ten"[..]);
        assert!(
            journal
                .kept("held/1")
                .is_none_or(|k| number >= 2 && k == kept)
        );
        let events = journal.events().expect("reads");
        assert!(report.contains(&format!("{} events", events.len())));
        let name = journal.subject(&[1; 16]).expect("reads");
        assert_eq!(name.as_deref(), Some(&b"Ferelith Quarrington"[..]));
        assert_eq!(journal.subject(&[2; 16]).expect("reads"), None);
        for (person, pin) in PINS {
            let key = journal.person_key(person).expect("reads").expect("a key");
            let signature = key.sign(pin, &SECRET, b"text").expect("its PIN opens it");
            verify_signature(1, &key.public(), b"text", &signature).expect("holds");
        }
        journal.commit(1, vec![told(4)]).expect("is written on");
        let mut day = Day::new();
        day.session(&mut journal);
        day.dog(&mut journal, 1);
        // What this format has, an older file has from now on.
        journal.keep(12, "now/1", vec![7]).expect("keeps");
        drop(journal);
        assert_eq!(format_of(&path), at_hand);
        let journal = again(&path);
        assert_eq!(journal.events().expect("reads")[..events.len()], events);
        assert_eq!(journal.kept("now/1"), Some((12, &[7][..])));
        let (report, whole) = verify_file(&path);
        assert!(whole, "{report}");
    }
}

#[test]
fn the_readme_names_every_held_file() {
    let readme = fs::read_to_string(held().join("README.md")).expect("reads");
    for entry in fs::read_dir(held()).expect("the folder") {
        let name = entry.expect("an entry").file_name();
        let name = name.to_str().expect("a name");
        assert!(name == "README.md" || readme.contains(name), "{name}");
    }
}
