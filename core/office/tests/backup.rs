//! Backup and restore: everything comes back, from either engine into either; what is
//! damaged or would overwrite something is refused.

mod support;

use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::record::notice::{Says, Why};
use standsquare_office::accounts::{Role, Worker};
use standsquare_office::backup::{self, BackupFault, check, restore};
use standsquare_office::db::SqliteDb;
use standsquare_office::decide::Verdict;
use standsquare_office::keys::Owner;
use standsquare_office::{OfficeState, demo};
use standsquare_sync::log::Ask;
use standsquare_sync::{EnrolAsk, frame_id};
use support::*;

/// An office with some of everything in it.
fn full() -> (OfficeState, Vec<Pen>) {
    let office = office();
    let pens = vec![two_dogs(1), two_dogs(2)];
    for pen in &pens {
        held(&office, &pen.frames);
    }
    apart(|| {
        demo::staff(&office).expect("staff");
        office.extend_log().expect("logged");
        let undecided = office.undecided(9).expect("a list");
        let first = undecided.first().expect("something to decide");
        let worker = Worker {
            account: "idris".into(),
            name: "Idris Fell".into(),
            role: Role::Secretary,
        };
        office
            .decide(
                first.head,
                1,
                &first.points,
                Verdict::Stands,
                "seen it",
                &worker,
                5,
            )
            .expect("decided");
        phones_and_keys(&office, &worker);
    });
    (office, pens)
}

/// A phone that is enrolled, a code that is still good, and a key that is lost.
fn phones_and_keys(office: &OfficeState, by: &Worker) {
    for (n, secret) in [(5, [7; 16]), (6, [8; 16])] {
        let code = office.make_enrol_code("bram", "his", "https://office", secret, by, BEGIN_MS);
        let device = SigningKey::from_bytes(&[n; 32]);
        let key = device.verifying_key().to_bytes();
        let ask = EnrolAsk::of(&code.expect("a code"), key, BEGIN_MS);
        if n == 5 {
            let bytes = ask.sign(|bytes| device.sign(bytes).to_bytes());
            office.enrol(&bytes, BEGIN_MS).expect("enrolled");
        }
    }
    let key = person_key("bram").verifying_key().to_bytes();
    let owner = Owner::Person("bram".into());
    let says = Says::Revoked {
        from_ms: BEGIN_MS,
        why: Why::Lost,
    };
    office
        .speak_of_key(key, &owner, 1, says, "rang up", by, BEGIN_MS)
        .expect("said");
}

/// All that two offices show.
fn picture(office: &OfficeState, pens: &[Pen]) -> String {
    apart(|| {
        let frames: Vec<_> = pens
            .iter()
            .flat_map(|pen| pen.frames.iter().map(|f| frame_id(f)))
            .collect();
        let log = office.ask_log(&Ask { seen: 0, frames }).expect("answered");
        let sessions = office.sessions(9).expect("sessions");
        let session = office.session(SESSION).expect("a session");
        let decided: Vec<_> = session
            .1
            .iter()
            .map(|v| office.decisions(v.head).expect("decisions"))
            .collect();
        let phones = office.phones().expect("phones");
        let notices = office.notices(0).expect("notices");
        let edition = office.present_edition(BEGIN_MS).expect("a number");
        format!("{sessions:?} {session:?} {decided:?} {log:?} {phones:?} {notices:?} {edition}")
    })
}

#[test]
fn everything_comes_back_and_the_office_goes_on() {
    let (office, mut pens) = full();
    let dir = tempfile::tempdir().expect("a folder");
    let file = dir.path().join("office.backup");
    let counted = apart(|| backup::back_up(office.engine(), &file, 7)).expect("backed up");
    assert!(counted.tables >= 9, "{counted:?}");
    assert_eq!(check(&file).expect("whole"), counted);
    let before = picture(&office, &pens);

    // Into the engine under test, and into a file whatever that is.
    let other = dir.path().join("other.sqlite");
    let engines: [Box<dyn standsquare_office::db::Engine>; 2] = [
        engine(),
        Box::new(SqliteDb::open(&other).expect("a database")),
    ];
    for engine in engines {
        assert_eq!(
            apart(|| restore(engine.as_ref(), &file, "here")).expect("restored"),
            counted
        );
        let again = office_over(engine);
        assert_eq!(picture(&again, &pens), before);
        // What comes next follows on what was restored.
        let pen = &mut pens[0];
        let frame = pen.close();
        held(&again, &[frame]);
        pen.frames.pop();
        apart(|| again.sign_in("idris", demo::DEMO_ONLY_ACCOUNT.1, &[7; 32], 1)).expect("asked");
        assert!(
            apart(|| again.worker(&[7; 32], 2))
                .expect("asked")
                .is_some()
        );
        *pen = two_dogs(1);
    }
}

#[test]
fn nothing_is_overwritten() {
    let (office, _) = full();
    let dir = tempfile::tempdir().expect("a folder");
    let file = dir.path().join("office.backup");
    apart(|| backup::back_up(office.engine(), &file, 7)).expect("backed up");
    let fault = apart(|| restore(office.engine(), &file, "this office")).expect_err("not empty");
    assert!(matches!(fault, BackupFault::NotEmpty(_)), "{fault}");
    assert!(fault.to_string().contains("this office"));
}

#[test]
fn a_damaged_backup_is_refused_whole() {
    let (office, _) = full();
    let dir = tempfile::tempdir().expect("a folder");
    let file = dir.path().join("office.backup");
    apart(|| backup::back_up(office.engine(), &file, 7)).expect("backed up");
    let good = std::fs::read(&file).expect("read");
    let mut random = 11;
    for _ in 0..200 {
        let mut bad = good.clone();
        let at = (number(&mut random) % bad.len() as u64) as usize;
        match number(&mut random) % 3 {
            0 => bad.truncate(at),
            1 => bad[at] ^= 1 << (number(&mut random) % 8),
            _ => bad.push(0),
        }
        std::fs::write(&file, &bad).expect("written");
        let empty = office_over(Box::new(SqliteDb::in_memory().expect("a database")));
        // A flipped bit that changes nothing that is read is no damage: zstd has such.
        if restore(empty.engine(), &file, "here").is_err() {
            assert!(
                empty.sessions(9).expect("asked").is_empty(),
                "nothing is left behind"
            );
        } else {
            assert_eq!(empty.sessions(9).expect("asked").len(), 2);
        }
    }
    std::fs::write(&file, b"something else").expect("written");
    assert!(check(&file).is_err());
}
