//! A second language (Python, its own CBOR, CDDL and Ed25519 libraries, reading the
//! published CDDL alone) agrees with this one about every event and every journal.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;

use ed25519_dalek::{Signer, SigningKey};
use rusqlite::{Connection, params};
use standsquare_journal::cli::verify_file;
use standsquare_journal::record::fact::{Correction, Fact, List, Statement};
use standsquare_journal::record::{Event, chain, genesis, sign_off_bytes};

use crate::common::{a_day, again};
use crate::every;

const PACKAGES: [&str; 5] = [
    "base45==0.4.4",
    "cbor2==6.3.0",
    "cddl-verifier==1.5.3",
    "cddlparser==0.6.0",
    "cryptography==50.0.2",
];

pub(crate) fn here(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// The other reader; `None` where it is left out by wish.
pub(crate) fn python() -> Option<Command> {
    // Made once: the checks here run side by side.
    static MADE: OnceLock<Result<Option<PathBuf>, String>> = OnceLock::new();
    let made = MADE.get_or_init(|| {
        let scratch = env!("CARGO_TARGET_TMPDIR");
        standsquare_reader::oracle::python(scratch, "journal", &PACKAGES)
    });
    match made {
        Ok(python) => python.as_ref().map(|python| {
            let mut command = Command::new(python);
            command.arg(here("tests/oracles/journal.py"));
            command
        }),
        Err(help) => panic!("{help}"),
    }
}

/// What the other reader says of events: whether each is one.
fn ask(events: &[Vec<u8>]) -> Option<Vec<bool>> {
    let mut child = python()?
        .arg("events")
        .arg(here("docs/journal.cddl"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("it starts");
    let mut stdin = child.stdin.take().expect("a pipe");
    let lines: String = events.iter().map(|e| hex(e) + "\n").collect();
    let feeding = std::thread::spawn(move || stdin.write_all(lines.as_bytes()));
    let out = child.wait_with_output().expect("it ends");
    feeding.join().expect("feeds").expect("feeds");
    assert!(out.status.success());
    let text = String::from_utf8(out.stdout).expect("text");
    let answers: Vec<bool> = text.lines().map(|l| l == "ok").collect();
    assert_eq!(answers.len(), events.len(), "{text}");
    Some(answers)
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

#[test]
fn the_published_cddl_describes_every_fact() {
    let events: Vec<Vec<u8>> = every::events().iter().map(Event::encode).collect();
    let Some(answers) = ask(&events) else { return };
    for (bytes, yes) in events.iter().zip(answers) {
        assert!(
            yes,
            "not by the CDDL: {}",
            hex(&bytes[..bytes.len().min(200)])
        );
    }
}

/// Changed events: both readers take the same ones.
#[test]
fn the_published_cddl_describes_nothing_else() {
    let mut rng = fastrand::Rng::with_seed(0x6364_646c);
    let whole: Vec<Vec<u8>> = every::events()
        .iter()
        .map(Event::encode)
        .filter(|e| e.len() < 400)
        .collect();
    let mut events = Vec::new();
    for _ in 0..600 {
        let mut bytes = rng.choice(&whole).expect("one").clone();
        let at = rng.usize(..bytes.len());
        match rng.u8(..3) {
            0 => bytes[at] = rng.u8(..),
            1 => bytes.insert(at, rng.u8(..)),
            _ => drop(bytes.remove(at)),
        }
        events.push(bytes);
    }
    let Some(answers) = ask(&events) else { return };
    let mut taken = 0;
    for (bytes, theirs) in events.iter().zip(answers) {
        let ours = match Event::decode_strict(bytes) {
            // The statement inside is read where it is followed.
            Ok(event) => match event.fact {
                Fact::Stated { statement } => Statement::decode_strict(&statement).is_ok(),
                Fact::CorrectionStated { correction } => {
                    Correction::decode_strict(&correction).is_ok()
                }
                Fact::ListStated { list } => List::decode_strict(&list).is_ok(),
                _ => true,
            },
            Err(_) => false,
        };
        assert_eq!(ours, theirs, "{}", hex(bytes));
        taken += u32::from(ours);
    }
    assert!((50..550).contains(&taken), "{taken} of 600 were taken");
}

#[test]
fn a_second_language_checks_a_notice_of_a_key() {
    let Some(mut command) = python() else { return };
    let key = SigningKey::from_bytes(&[0x0f; 32]).verifying_key();
    let mut child = command
        .arg("notice")
        .arg(here("docs/journal.cddl"))
        .arg(hex(&key.to_bytes()))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("it starts");
    let good = crate::notice::samples();
    let altered = good[0].replacen('0', "1", 1);
    let lines = [good.as_slice(), &[altered]].concat().join("\n");
    let mut stdin = child.stdin.take().expect("a pipe");
    stdin.write_all(lines.as_bytes()).expect("writes");
    drop(stdin);
    let out = child.wait_with_output().expect("it ends");
    let said = String::from_utf8(out.stdout).expect("text");
    let said: Vec<&str> = said.lines().collect();
    assert_eq!(said.len(), 4, "{said:?}");
    for (line, says) in said.iter().zip([
        "\"says\": [0, [null, 1000]]",
        "\"says\": [0, [2000, 1000]]",
        "\"says\": [1, [-1, 3]]",
    ]) {
        assert!(
            line.contains("\"person\": \"ottoline\"") && line.contains(says),
            "{line}"
        );
    }
    assert!(said[3].starts_with("no "), "{said:?}");
}

#[test]
fn a_second_language_checks_a_slip() {
    let Some(mut python) = python() else { return };
    let key = SigningKey::from_bytes(&[0x0f; 32]).verifying_key();
    let good = crate::slip::code(&crate::slip::slip());
    let forged = crate::slip::slip().code(&key.to_bytes(), |_| [7; 64]);
    let mut altered = good.clone();
    altered.replace_range(60..61, if &good[60..61] == "A" { "B" } else { "A" });
    let mut child = python
        .arg("slip")
        .arg(here("docs/journal.cddl"))
        .arg(hex(&key.to_bytes()))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("it starts");
    let mut stdin = child.stdin.take().expect("a pipe");
    writeln!(stdin, "{good}\n{forged}\n{altered}").expect("feeds");
    drop(stdin);
    let out = child.wait_with_output().expect("it ends");
    assert!(out.status.success());
    let text = String::from_utf8(out.stdout).expect("text");
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len(), 3, "{text}");
    for words in [
        "\"dog\": \"Pip\"",
        "\"chip\": \"999000000112233\"",
        "\"window-to\": 21512",
        "\"measurers\": [\"LM-014\", \"LM-022\"]",
        "\"demo\": true",
    ] {
        assert!(lines[0].contains(words), "{}", lines[0]);
    }
    assert!(lines[1..].iter().all(|l| l.starts_with("no ")), "{text}");
}

/// A journal in which somebody changed something and made the hashes follow.
pub(crate) fn meddled(from: &Path, to: &Path, change: impl Fn(u64, &mut Fact)) {
    let events = again(from).events().expect("reads");
    again(from).export_to(to).expect("copies");
    let db = Connection::open(to).expect("opens");
    let mut head = genesis();
    for stored in events {
        let mut event = Event::decode_strict(&stored.bytes).expect("an event");
        change(stored.seq, &mut event.fact);
        let bytes = event.encode();
        head = chain(&head, &bytes);
        db.execute(
            "UPDATE event SET hash = ?, bytes = ? WHERE seq = ?",
            params![head, bytes, stored.seq.cast_signed()],
        )
        .expect("changes");
    }
    db.execute("UPDATE head SET hash = ?", params![head])
        .expect("changes");
}

#[test]
fn a_second_language_verifies_a_journal_and_finds_what_was_changed() {
    let Some(mut python) = python() else { return };
    let (dir, path) = a_day(3);
    let at = |name: &str| dir.path().join(name);
    let impostor = SigningKey::from_bytes(&[0x77; 32]);
    let whole = at("whole.sqlite");
    meddled(&path, &whole, |_, _| {});
    // Each with a hash chain that follows; what does not is a seal or a sign-off.
    meddled(&path, &at("placing.sqlite"), |_, fact| {
        if let Fact::Placed { visit: 2, hoop, .. } = fact {
            *hoop = "h43".into();
        }
    });
    meddled(&path, &at("statement.sqlite"), |_, fact| {
        if let Fact::Stated { statement } = fact {
            let mut stated = Statement::decode_strict(statement).expect("a statement");
            stated.within_um = Some(430_000);
            *statement = stated.encode();
        }
    });
    meddled(&path, &at("person.sqlite"), |_, fact| {
        if let Fact::Signed { person, .. } = fact {
            *person = "ottoline".into();
        }
    });
    meddled(&path, &at("forged.sqlite"), |_, fact| {
        if let Fact::Signed {
            signature, head, ..
        } = fact
        {
            *signature = impostor.sign(&sign_off_bytes(head, b"")).to_bytes().into();
        }
    });
    // And one behind the last seal: that nobody can find, and both say how far it is sealed.
    let last = again(&path).sealed_up_to();
    meddled(&path, &at("unsealed.sqlite"), |seq, fact| {
        if seq > last {
            *fact = Fact::VenueSet {
                name: "elsewhere".into(),
            };
        }
    });
    let names = [
        "whole",
        "placing",
        "statement",
        "person",
        "forged",
        "unsealed",
    ];
    let files: Vec<PathBuf> = names.iter().map(|n| at(&format!("{n}.sqlite"))).collect();
    let out = python
        .arg("file")
        .arg(here("docs/journal.cddl"))
        .args(&files)
        .output()
        .expect("it runs");
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    let text = String::from_utf8(out.stdout).expect("text");
    let theirs: Vec<&str> = text.lines().collect();
    assert_eq!(theirs.len(), names.len());
    for ((name, file), theirs) in names.iter().zip(&files).zip(theirs) {
        let (report, ours) = verify_file(file);
        let whole = matches!(*name, "whole" | "unsealed");
        assert_eq!(ours, whole, "{name}: {report}");
        assert_eq!(
            theirs.contains("\"whole\": true"),
            whole,
            "{name}: {theirs}"
        );
        if whole {
            let events = again(&path).head().seq;
            assert!(theirs.contains(&format!("\"events\": {events}, \"sealed\": {last}")));
            assert_eq!(theirs.matches("\"bram\"").count(), 3);
            assert!(report.contains(&format!("up to event {last}")), "{report}");
        } else {
            // Both stop at the same event.
            let event = theirs.split("\"reason\": \"").nth(1).expect("a reason");
            let event = event.split(':').next().expect("event N");
            assert!(report.contains(event), "{name}: {event} not in {report}");
        }
    }
}
