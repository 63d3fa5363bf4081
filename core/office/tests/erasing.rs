//! What handlers said at the table goes when the rules have kept it long enough, and no sooner.

mod support;

use chrono::{Days, NaiveDate};
use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::subject_commitment;
use standsquare_office::OfficeState;
use standsquare_office::accounts::{Role, Worker};
use standsquare_office::appeals::{Decided, Step};
use standsquare_office::decide::Verdict;
use standsquare_sync::Spoken;
use support::*;

const PIP: &str = "999000000112233";
const WORDS: &str = "A lorry went by and she crouched.";

fn idris() -> Worker {
    Worker {
        account: "idris".into(),
        name: "Idris Fell".into(),
        role: Role::Secretary,
    }
}

/// Pip's measure with an objection and its words, as they are posted.
fn objected() -> (OfficeState, Vec<u8>) {
    objected_at(office(), WORDS)
}

fn objected_at(office: OfficeState, words: &str) -> (OfficeState, Vec<u8>) {
    let mut pen = Pen::new(1);
    pen.set_up();
    let statement = pen.statement(1, "Pip", PIP);
    pen.dog(&statement);
    let salt = [7; 32];
    pen.write(Fact::Objected {
        visit: 1,
        words: [8; 16].into(),
        commitment: subject_commitment(words.as_bytes(), &salt).into(),
    });
    pen.close();
    held(&office, &pen.frames);
    let spoken = Spoken {
        device_key: pen.device_key(),
        journal: pen.journal,
        id: [8; 16],
        salt,
        words: words.into(),
    };
    let bytes = spoken.encode();
    bring(&office, &bytes);
    (office, bytes)
}

/// The office answers that it has the words.
fn bring(office: &OfficeState, bytes: &[u8]) {
    let spoken = Spoken::decode_strict(bytes).expect("words");
    let named = subject_commitment(spoken.words.as_bytes(), &spoken.salt);
    assert_eq!(post(office, &[bytes.to_vec()]).held, [named]);
}

fn words(office: &OfficeState) -> (Option<String>, bool) {
    apart(|| {
        let visit = office.dog(PIP).expect("asked").remove(0);
        let objection = office.objections(&visit).expect("asked").remove(0);
        (objection.words, objection.erased_ms.is_some())
    })
}

/// How many words went on this day.
fn erased_on(office: &OfficeState, today: NaiveDate) -> usize {
    apart(|| office.erase_words(today, 9_000)).expect("erased")
}

/// The last day on which the demo's rules keep a handler's data of that session.
fn last_day(office: &OfficeState) -> NaiveDate {
    let day = NaiveDate::from_epoch_days(DAY).expect("a day");
    let rules = apart(|| office.rules()).expect("rules");
    rules.on(DAY).keep_personal().after(day).expect("a day")
}

fn decide(office: &OfficeState) {
    apart(|| {
        let pip = office.dog(PIP).expect("asked").remove(0);
        office
            .decide(
                pip.head,
                1,
                &pip.points,
                Verdict::Stands,
                "she stood square",
                &idris(),
                7,
            )
            .expect("decided");
    });
}

fn note(office: &OfficeState, nth: i64, step: &Step) {
    apart(|| {
        let pip = office.dog(PIP).expect("asked").remove(0);
        office
            .note_appeal(pip.head, nth, DAY + 1, step, &idris(), 8)
            .expect("noted");
    });
}

#[test]
fn words_go_the_day_after_their_time_and_are_not_taken_in_again() {
    let (office, bytes) = objected();
    decide(&office);
    let last = last_day(&office);
    assert_eq!(erased_on(&office, last), 0);
    assert_eq!(words(&office), (Some(WORDS.into()), false));
    let after = last + Days::new(1);
    assert_eq!(erased_on(&office, after), 1);
    assert_eq!(words(&office), (None, true));
    assert_eq!(erased_on(&office, after), 0);
    // A phone that never heard that they came, or a carried file, brings them once more: they
    // are answered as held, so that it stops, and stay erased.
    bring(&office, &bytes);
    assert_eq!(words(&office), (None, true));
    // That there was an objection stays, and what was decided.
    let pip = apart(|| office.dog(PIP)).expect("asked").remove(0);
    assert!(pip.points.iter().any(|p| p.kind == "objection"));
}

#[test]
fn what_waits_for_a_decision_keeps_its_words() {
    let (office, _) = objected();
    let late = last_day(&office) + Days::new(900);
    assert_eq!(erased_on(&office, late), 0);
    decide(&office);
    note(
        &office,
        1,
        &Step::Appeal {
            words: "She is smaller than that.".into(),
            interim: String::new(),
            measurers: String::new(),
        },
    );
    assert_eq!(erased_on(&office, late), 0);
    assert_eq!(words(&office), (Some(WORDS.into()), false));
    note(
        &office,
        2,
        &Step::Decided {
            outcome: Decided::Dismissed,
            reason: "Measured again, and the same.".into(),
        },
    );
    assert_eq!(erased_on(&office, late), 1);
}

#[test]
fn nothing_of_erased_words_is_left_in_the_file() {
    if on_postgres() {
        return;
    }
    let dir = tempfile::tempdir().expect("a folder");
    let file = dir.path().join("office.sqlite");
    let engine = standsquare_office::db::SqliteDb::open(&file).expect("opens");
    // So long that the engine lays it in a page of its own, which is left over then.
    let (office, _) = objected_at(office_over(Box::new(engine)), &WORDS.repeat(100));
    decide(&office);
    let there = || {
        ["office.sqlite", "office.sqlite-wal"].iter().any(|name| {
            let bytes = std::fs::read(dir.path().join(name)).unwrap_or_default();
            bytes.windows(WORDS.len()).any(|w| w == WORDS.as_bytes())
        })
    };
    assert!(there());
    let late = last_day(&office) + Days::new(1);
    assert_eq!(erased_on(&office, late), 1);
    assert!(!there());
}
