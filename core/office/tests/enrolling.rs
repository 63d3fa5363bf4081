//! Enrolling phones by one-time codes, and what an enrolled phone is told of the roster.

mod support;

use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::record::notice::{Says, Why};
use standsquare_office::OfficeState;
use standsquare_office::accounts::{Role, Worker};
use standsquare_office::demo;
use standsquare_office::editions::RosterFault;
use standsquare_office::enrolling::{CodeFault, EnrolFault};
use standsquare_office::keys::Owner;
use standsquare_sync::edition::roster_digest;
use standsquare_sync::enrol::{ASK_FRESH_MS, CODE_GOOD_MS};
use standsquare_sync::roster::Roster;
use standsquare_sync::{Edition, EnrolAsk, EnrolCode, Enrolment, RosterAsk, SignedFault};
use support::*;

const ADDRESS: &str = "https://office.larkmere.example";

fn idris(role: Role) -> Worker {
    Worker {
        account: "idris".into(),
        name: "Idris Fell".into(),
        role,
    }
}

fn code(office: &OfficeState, secret: u8, now_ms: i64) -> EnrolCode {
    let by = idris(Role::Secretary);
    apart(|| {
        office.make_enrol_code(
            "ottoline",
            "Ottoline's phone",
            ADDRESS,
            [secret; 16],
            &by,
            now_ms,
        )
    })
    .expect("a code")
}

fn device(n: u8) -> SigningKey {
    SigningKey::from_bytes(&[n; 32])
}

fn ask(code: &EnrolCode, n: u8) -> (EnrolAsk, Vec<u8>) {
    let device = device(n);
    let ask = EnrolAsk::of(code, device.verifying_key().to_bytes(), BEGIN_MS);
    let bytes = ask.sign(|bytes| device.sign(bytes).to_bytes());
    (ask, bytes)
}

fn enrol(office: &OfficeState, bytes: &[u8], now_ms: i64) -> Result<Vec<u8>, EnrolFault> {
    apart(|| office.enrol(bytes, now_ms))
}

fn roster_ask(office: &OfficeState, n: u8, after: u64, at_ms: i64) -> Vec<u8> {
    let device = device(n);
    let ask = RosterAsk {
        office_key: office.public_key(),
        body: "larkmere".into(),
        device_key: device.verifying_key().to_bytes(),
        after,
        at_ms,
    };
    ask.sign(|bytes| device.sign(bytes).to_bytes())
}

fn edition(office: &OfficeState, n: u8, after: u64, at_ms: i64) -> Edition {
    let bytes = roster_ask(office, n, after, at_ms);
    let answer = apart(|| office.answer_roster(&bytes, at_ms)).expect("an edition");
    Edition::verify(&answer, &office.public_key(), "larkmere").expect("signed")
}

#[test]
fn a_phone_is_enrolled_by_its_code_and_then_told_the_roster() {
    let office = office();
    let code = code(&office, 7, BEGIN_MS);
    // As the phone reads it off the page.
    assert_eq!(EnrolCode::read(&code.text()), Ok(code.clone()));
    let (asked, bytes) = ask(&code, 5);
    let answer = enrol(&office, &bytes, BEGIN_MS + 1).expect("enrolled");
    let enrolment = Enrolment::verify(&answer, &asked).expect("signed by the office");
    assert_eq!(enrolment.person, "ottoline");

    let whole = edition(&office, 5, 0, BEGIN_MS + 2);
    assert_eq!(whole.number, enrolment.edition);
    let text = whole.take(None).expect("the whole");
    let roster: Roster = serde_json::from_str(&text).expect("a roster");
    // The phone's own slips count from now on.
    assert_eq!(roster.office.phones, [hex::encode(asked.device_key)]);
    assert_eq!(roster.dogs.len(), 6);
    // Nothing new: nothing is sent.
    let bytes = roster_ask(&office, 5, whole.number, BEGIN_MS + 3);
    let same = apart(|| office.answer_roster(&bytes, BEGIN_MS + 3)).expect("answered");
    assert!(same.len() < 300, "{}", same.len());

    // Another phone: the first one is told just that.
    let code = self::code(&office, 8, BEGIN_MS);
    let (other, bytes) = ask(&code, 6);
    enrol(&office, &bytes, BEGIN_MS + 4).expect("enrolled");
    let more = edition(&office, 5, whole.number, BEGIN_MS + 5);
    assert!(more.number > whole.number);
    let text = more.take(Some(&text)).expect("changes fit");
    assert_eq!(roster_digest(&text), more.digest);
    let roster: Roster = serde_json::from_str(&text).expect("a roster");
    assert!(
        roster
            .office
            .phones
            .contains(&hex::encode(other.device_key))
    );
}

#[test]
fn a_code_is_good_once_for_one_phone_and_a_short_time() {
    let office = office();
    let first = code(&office, 7, BEGIN_MS);
    let (_, bytes) = ask(&first, 5);
    enrol(&office, &bytes, BEGIN_MS).expect("enrolled");
    // The answer was lost on its way: the same phone asks again.
    enrol(&office, &bytes, BEGIN_MS + 1).expect("enrolled");
    assert_eq!(apart(|| office.phones()).expect("a list").len(), 1);
    // Another phone with the same code.
    let (_, other) = ask(&first, 6);
    assert!(matches!(
        enrol(&office, &other, BEGIN_MS),
        Err(EnrolFault::Code)
    ));
    // One that is over, by a millisecond and not before.
    let second = code(&office, 8, BEGIN_MS);
    let (_, late) = ask(&second, 6);
    let over = BEGIN_MS + CODE_GOOD_MS;
    assert!(matches!(enrol(&office, &late, over), Err(EnrolFault::Code)));
    enrol(&office, &late, over - 1).expect("just in time");
    // One that nobody made.
    let guess = EnrolCode {
        code: [9; 16],
        ..second
    };
    let (_, guessed) = ask(&guess, 4);
    assert!(matches!(
        enrol(&office, &guessed, BEGIN_MS),
        Err(EnrolFault::Code)
    ));
    assert_eq!(apart(|| office.phones()).expect("a list").len(), 2);
}

#[test]
fn many_wrong_codes_are_told_to_wait_and_a_right_one_is_taken_all_the_same() {
    let office = office();
    let good = code(&office, 7, BEGIN_MS);
    let mut waits = 0;
    for n in 0..40 {
        let guess = EnrolCode {
            code: [100 + n; 16],
            ..good.clone()
        };
        match enrol(&office, &ask(&guess, 5).1, BEGIN_MS) {
            Err(EnrolFault::Code) => assert_eq!(waits, 0),
            Err(EnrolFault::Wait) => waits += 1,
            other => panic!("{other:?}"),
        }
    }
    assert_eq!(waits, 10);
    enrol(&office, &ask(&good, 5).1, BEGIN_MS).expect("the right one");
    let guess = EnrolCode {
        code: [99; 16],
        ..good
    };
    let next_minute = enrol(&office, &ask(&guess, 5).1, BEGIN_MS + 60_000);
    assert!(matches!(next_minute, Err(EnrolFault::Code)));
}

#[test]
fn who_is_not_enrolled_or_was_reported_is_told_nothing() {
    let office = office();
    let refused = |bytes: &[u8], now_ms| apart(|| office.answer_roster(bytes, now_ms));
    let stranger = roster_ask(&office, 5, 0, BEGIN_MS);
    assert!(matches!(
        refused(&stranger, BEGIN_MS),
        Err(RosterFault::NotEnrolled)
    ));

    let code = code(&office, 7, BEGIN_MS);
    let (asked, bytes) = ask(&code, 5);
    enrol(&office, &bytes, BEGIN_MS).expect("enrolled");
    edition(&office, 5, 0, BEGIN_MS);
    // Somebody kept an ask and sends it again later.
    assert!(matches!(
        refused(&stranger, BEGIN_MS + ASK_FRESH_MS + 1),
        Err(RosterFault::Stale(_))
    ));
    // The phone is lost.
    let says = Says::Revoked {
        from_ms: BEGIN_MS + 10,
        why: Why::Lost,
    };
    let by = idris(Role::Secretary);
    apart(|| {
        office.speak_of_key(
            asked.device_key,
            &Owner::Phone,
            1,
            says,
            "rang up",
            &by,
            BEGIN_MS + 20,
        )
    })
    .expect("said");
    let ask = roster_ask(&office, 5, 0, BEGIN_MS + 30);
    assert!(matches!(
        refused(&ask, BEGIN_MS + 30),
        Err(RosterFault::NotEnrolled)
    ));
    // Its slips count no more elsewhere, and it is not enrolled again under the same key.
    let again = self::code(&office, 8, BEGIN_MS + 30);
    let (_, bytes) = self::ask(&again, 5);
    assert!(matches!(
        enrol(&office, &bytes, BEGIN_MS + 40),
        Err(EnrolFault::Reported)
    ));
    let (_, bytes) = self::ask(&again, 6);
    enrol(&office, &bytes, BEGIN_MS + 40).expect("another phone");
    let text = edition(&office, 6, 0, BEGIN_MS + 50)
        .take(None)
        .expect("whole");
    let roster: Roster = serde_json::from_str(&text).expect("a roster");
    assert_eq!(roster.office.phones.len(), 1);
}

#[test]
fn another_office_or_body_is_refused() {
    let office = office();
    let mine = code(&office, 7, BEGIN_MS);
    for (code, expected) in [
        (
            EnrolCode {
                office_key: [9; 32],
                ..mine.clone()
            },
            "another office",
        ),
        (
            EnrolCode {
                body: "elsewhere".into(),
                ..mine
            },
            "another body",
        ),
    ] {
        let fault = enrol(&office, &ask(&code, 5).1, BEGIN_MS).expect_err("refused");
        assert!(fault.to_string().contains(expected), "{fault}");
    }
    assert!(matches!(
        enrol(&office, b"nothing", BEGIN_MS),
        Err(EnrolFault::Ask(SignedFault::Unreadable { .. }))
    ));
    assert_eq!(apart(|| office.phones()).expect("a list"), []);
}

#[test]
fn a_code_that_would_not_do_is_not_made() {
    let office = office();
    let make = |person: &str, label: &str, address: &str, role| {
        let by = idris(role);
        let made = apart(|| office.make_enrol_code(person, label, address, [1; 16], &by, BEGIN_MS));
        made.expect_err("refused")
    };
    let secretary = Role::Secretary;
    assert!(matches!(
        make("nobody", "P", ADDRESS, secretary),
        CodeFault::Person
    ));
    assert!(matches!(
        make("", " ", ADDRESS, secretary),
        CodeFault::Label
    ));
    assert!(matches!(
        make("", &"x".repeat(61), ADDRESS, secretary),
        CodeFault::Label
    ));
    for address in ["", "office", "https://office/path", "javascript:x"] {
        let fault = make("", "P", address, secretary);
        assert!(matches!(fault, CodeFault::Address), "{address}");
    }
    for role in [Role::Reader, Role::Measurer, Role::Trainer] {
        assert!(matches!(
            make("", "P", ADDRESS, role),
            CodeFault::NotAllowed
        ));
    }
}

#[test]
fn what_changed_in_the_roster_itself_is_told_after_a_new_start() {
    let dir = tempfile::tempdir().expect("a folder");
    let open = |roster: Roster| {
        apart(|| {
            let db = standsquare_office::db::SqliteDb::open(&dir.path().join("office.sqlite"));
            let db = Box::new(db.expect("a database"));
            OfficeState::open(db, demo::demo_only_key(), roster).expect("it opens")
        })
    };
    let office = open(demo::roster());
    let first = apart(|| office.edition_after(0, BEGIN_MS)).expect("an edition");
    let first = Edition::verify(&first, &office.public_key(), "larkmere").expect("signed");
    let text = first.take(None).expect("whole");
    drop(office);

    let mut roster = demo::roster();
    roster.dogs.remove(2);
    roster.people[1].number = "LM-099".into();
    roster.pack.push_str("\n# a comment of a newer edition\n");
    let office = open(roster);
    let bytes = apart(|| office.edition_after(first.number, BEGIN_MS)).expect("an edition");
    let second = Edition::verify(&bytes, &office.public_key(), "larkmere").expect("signed");
    assert!(second.number > first.number && second.after == first.number);
    let taken = second.take(Some(&text)).expect("it fits");
    let taken: Roster = serde_json::from_str(&taken).expect("a roster");
    assert_eq!(
        (taken.dogs.len(), taken.people[1].number.as_str()),
        (5, "LM-099")
    );
    // A number that this office never gave: the whole.
    let odd = apart(|| office.edition_after(u64::MAX, BEGIN_MS)).expect("an edition");
    let odd = Edition::verify(&odd, &office.public_key(), "larkmere").expect("signed");
    assert_eq!(odd.after, 0);
}

#[test]
fn a_published_pack_comes_with_the_edition_of_its_first_day() {
    let office = office();
    let text = demo::roster().pack + "\n# as of a later day\n";
    let day = 86_400_000;
    let today = i32::try_from(BEGIN_MS.div_euclid(day)).expect("a day");
    let read = |after, now_ms| {
        let bytes = apart(|| office.edition_after(after, now_ms)).expect("an edition");
        Edition::verify(&bytes, &office.public_key(), "larkmere").expect("signed")
    };
    let first = read(0, BEGIN_MS);
    let held = first.take(None).expect("whole");
    let by = idris(Role::Secretary);
    apart(|| office.publish_pack(&text, today + 2, 1, &by, today, BEGIN_MS)).expect("published");
    // Not a day before it is in force.
    assert_eq!(read(first.number, BEGIN_MS + day).number, first.number);
    let second = read(first.number, BEGIN_MS + 2 * day);
    assert!(second.number > first.number && second.after == first.number);
    let taken = second.take(Some(&held)).expect("it fits");
    let roster: Roster = serde_json::from_str(&taken).expect("a roster");
    assert_eq!(roster.pack, text);
    assert_eq!(roster.dogs, demo::roster().dogs);
}
