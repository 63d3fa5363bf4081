//! What a real office makes, as the phone's core takes it in: notices of keys, an enrolment
//! and editions of the roster.

use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::record::notice::{Says, Why};
use standsquare_office::OfficeState;
use standsquare_office::accounts::{Role, Worker};
use standsquare_office::keys::Owner;
use standsquare_session::Act;
use standsquare_session::view::Screen;
use standsquare_sync::{Edition, EnrolAsk, EnrolCode, Enrolment, RosterAsk};
use standsquare_tests::{Table, demo};

/// When every scripted session begins.
const BEGIN_MS: i64 = 1_795_597_200_000;
const DAY_MS: i64 = 86_400_000;

fn idris() -> Worker {
    Worker {
        account: "idris".into(),
        name: "Idris Fell".into(),
        role: Role::Secretary,
    }
}

/// The whole roster as this office gives it to a phone.
fn roster_of(office: &OfficeState) -> String {
    let bytes = office.edition_after(0, BEGIN_MS).expect("an edition");
    let edition = Edition::verify(&bytes, &office.public_key(), "larkmere").expect("signed");
    edition.take(None).expect("the whole")
}

/// A day of one dog, measured, closed and sent.
fn send_a_day(t: &mut Table) {
    demo::pip(t);
    for id in ["review_close", "close_session", "send_return"] {
        t.tap(id);
    }
    t.office_answers();
}

#[test]
fn a_phone_follows_what_the_office_says_of_a_key() {
    let mut t = Table::new("office-keys");
    let office = t.office.clone();
    demo::set_up_with(&mut t, roster_of(&office));
    send_a_day(&mut t);
    let key = t.phone().state().keys[&"ottoline".to_owned()];
    let says = Says::Revoked {
        from_ms: BEGIN_MS - DAY_MS,
        why: Why::Lost,
    };
    let owner = Owner::Person("ottoline".into());
    let said = office
        .speak_of_key(key, &owner, 1, says, "rang up", &idris(), BEGIN_MS)
        .expect("said");
    // Everything that she signed since is to be decided about.
    let undecided = office.undecided(9).expect("a list");
    assert!(
        undecided
            .iter()
            .all(|v| v.points.iter().any(|p| p.kind == "key-revoked"))
    );
    assert!(!undecided.is_empty());

    t.act(Act::LoadRoster { text: said.text });
    assert_eq!(t.notice(), "notice.key_revoked");
    t.tap("leave_session");
    for id in ["start_session", "set_venue"] {
        t.tap(id);
    }
    for x_mdeg in [420, 180] {
        t.act(Act::LevelReading { x_mdeg, y_mdeg: 0 });
    }
    t.tap("surface_done");
    for hoop in ["h35", "h43"] {
        let hoop = hoop.into();
        t.act(Act::HoopLooked { hoop, good: true });
    }
    t.tap("hoops_done");
    let Screen::Measurers { measurers } = &t.view().screen else {
        panic!("{:?}", t.view().screen);
    };
    let line = measurers.people.iter().find(|p| p.id == "ottoline");
    let why = line
        .expect("on the list")
        .why_not
        .clone()
        .expect("not to be seated");
    assert_eq!(why.key, "refused.key_revoked");
}

#[test]
fn a_phone_enrols_and_measures_by_the_roster_it_was_given() {
    let mut t = Table::new("office-enrols");
    let office = t.office.clone();
    let made = office.make_enrol_code(
        "",
        "the table's",
        "http://127.0.0.1:1",
        [7; 16],
        &idris(),
        0,
    );
    let code = EnrolCode::read(&made.expect("a code").text()).expect("read");
    let device = SigningKey::from_bytes(&[5; 32]);
    let sign = |bytes: &[u8]| device.sign(bytes).to_bytes();
    let ask = EnrolAsk::of(&code, device.verifying_key().to_bytes(), 1);
    let answer = office.enrol(&ask.sign(sign), 1).expect("enrolled");
    let enrolment = Enrolment::verify(&answer, &ask).expect("signed");
    let question = RosterAsk {
        office_key: code.office_key,
        body: code.body.clone(),
        device_key: ask.device_key,
        after: 0,
        at_ms: enrolment.at_ms,
    };
    let answer = office.answer_roster(&question.sign(sign), 1).expect("told");
    let edition = Edition::verify(&answer, &code.office_key, &code.body).expect("signed");
    demo::set_up_with(&mut t, edition.take(None).expect("the whole"));
    send_a_day(&mut t);
    assert_eq!(t.view().outbox.waiting, 0);
    assert_eq!(office.sessions(9).expect("a list").len(), 1);
}
