//! A phone that knows nothing reads the office's one-time code, is enrolled, and from then
//! on is told the roster, what changes in it, and of keys that count no more. The office is
//! the real one, in the same process.

use ed25519_dalek::Signer;
use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::notice::{Says, Why};
use standsquare_office::OfficeState;
use standsquare_office::db::SqliteDb;
use standsquare_office::demo::demo_only_key;
use standsquare_office::keys::Owner;
use standsquare_session::view::Effect;
use standsquare_session::{Act, View};
use standsquare_sync::edition::Content;
use standsquare_sync::roster::Roster;
use standsquare_sync::{Edition, RosterAsk};
use standsquare_tests::{Table, demo, enrolled};
use std::path::Path;

/// The office whose database is this file, with this roster.
fn office_at(file: &Path, roster: Roster) -> OfficeState {
    let engine = SqliteDb::open(file).expect("opens");
    OfficeState::open(Box::new(engine), demo_only_key(), roster).expect("an office")
}

/// What the phone asks the office that enrolled it: the request's name and body.
fn asked(t: &Table, at: &str) -> (String, Vec<u8>) {
    let to = t.effects().iter().find_map(|e| match e {
        Effect::AskOffice { path, address, .. } if path == at => Some(address.as_str()),
        _ => None,
    });
    assert_eq!(to, Some("https://office.larkmere.example"));
    t.asked(at).expect("asked")
}

fn answer(t: &mut Table, request: String, body: Vec<u8>) -> &View {
    t.act(Act::OfficeAnswer {
        request,
        status: 200,
        body,
    })
}

/// The office answers to the question for its roster.
fn told(t: &mut Table) -> Edition {
    asked(t, "/v1/roster");
    let said = enrolled::told(t);
    Edition::verify(&said, &t.office.public_key(), "larkmere").expect("an edition")
}

/// Time passes until the roster is asked for again.
fn half_an_hour(t: &mut Table) {
    t.wait(30 * 60_000 + 1);
    t.act(Act::Tick);
}

#[test]
fn a_new_phone_is_enrolled_and_a_session_can_begin() {
    let mut t = Table::new("a new phone");
    enrolled::enrol(&mut t);
    assert_eq!(t.notice(), "notice.roster_loaded");
    assert_eq!(t.view().league, "Larkmere Agility League");
    t.kill_and_reopen();
    demo::set_up_here(&mut t);
    demo::pip(&mut t);
    // What is signed goes to the office that enrolled it.
    t.act(Act::NetworkChanged);
    let (request, body) = asked(&t, "/v1/frames");
    let at_ms = t.now_ms();
    let receipt = t.office.ingest(&body, at_ms).expect("taken in");
    answer(&mut t, request, receipt);
    assert_eq!(t.view().outbox.waiting, 0);
}

#[test]
fn what_did_not_change_is_not_sent_again() {
    let mut t = Table::new("nothing new");
    enrolled::enrol(&mut t);
    let seq = t.phone().state().seq;
    half_an_hour(&mut t);
    let (_, body) = asked(&t, "/v1/roster");
    let ask = RosterAsk::verify(&body, &t.office.public_key()).expect("an ask");
    assert!(ask.after > 0);
    let edition = told(&mut t);
    let Content::Changes(changes) = edition.content else {
        panic!("the whole again")
    };
    assert_eq!(*changes, Default::default());
    // Nor is it recorded again, and nobody is told.
    assert_eq!(t.phone().state().seq, seq);
}

#[test]
fn a_dog_entered_late_comes_as_a_change_and_stays_after_a_kill() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("office.sqlite");
    let mut t = Table::new("a late dog");
    t.office = office_at(&file, standsquare_office::demo::roster());
    enrolled::enrol(&mut t);
    let mut roster = standsquare_office::demo::roster();
    let mut late = roster.dogs[0].clone();
    late.id = "nettle".into();
    late.name = "Nettle".into();
    late.chip = "999000000700811".into();
    roster.dogs.push(late);
    t.office = office_at(&file, roster);
    half_an_hour(&mut t);
    let edition = told(&mut t);
    let Content::Changes(changes) = edition.content else {
        panic!("the whole again")
    };
    assert_eq!(changes.dogs.put.len(), 1);
    assert_eq!(changes.dogs.put[0].at, 6);
    assert_eq!((&changes.head, &changes.pack), (&None, &None));
    t.kill_and_reopen();
    let state = t.phone().state();
    let loaded = state.loaded().expect("a roster");
    assert!(loaded.dog("nettle").is_some());
    assert!(state.enrolled.as_ref().is_some_and(|e| e.edition > 0));
}

#[test]
fn a_key_that_counts_no_more_is_told_even_while_somebody_measures() {
    let mut t = Table::new("a lost key");
    enrolled::enrol(&mut t);
    demo::set_up_here(&mut t);
    let key = *t.phone().state().keys.get("bram").expect("a key");
    demo::pip(&mut t);
    t.act(Act::NetworkChanged);
    let (request, body) = asked(&t, "/v1/frames");
    let at_ms = t.now_ms();
    let receipt = t.office.ingest(&body, at_ms).expect("taken in");
    answer(&mut t, request, receipt);
    let says = Says::Revoked {
        from_ms: at_ms + 1,
        why: Why::Lost,
    };
    let owner = Owner::Person("bram".into());
    t.office
        .speak_of_key(
            key,
            &owner,
            1,
            says,
            "rang up",
            &enrolled::secretary(),
            at_ms + 1,
        )
        .expect("said");
    t.wait(60_000);
    t.act(Act::NetworkChanged);
    told(&mut t);
    assert_eq!(t.notice(), "notice.key_news");
    let facts = t.phone().journal().events().expect("reads");
    let noticed = facts
        .iter()
        .filter(|e| matches!(e.fact, Fact::KeyNoticed { .. }))
        .count();
    assert_eq!(noticed, 1);
    // The roster of the day stays what it was.
    let taken = facts
        .iter()
        .filter(|e| matches!(e.fact, Fact::RosterTaken { .. }))
        .count();
    assert_eq!(taken, 1);
}

/// The demo league's roster under another league's name.
fn another_leagues() -> String {
    let mut roster = standsquare_office::demo::roster();
    roster.league.id = "overmere".into();
    roster.office.key = hex::encode([3; 32]);
    serde_json::to_string(&roster).expect("JSON")
}

#[test]
fn one_leagues_record_is_not_gone_on_with_for_another() {
    let mut t = Table::new("two leagues");
    demo::set_up(&mut t);
    let code = enrolled::of_another_office().text();
    let refused = |t: &mut Table, act: Act| {
        t.act(act);
        assert_eq!(t.notice(), "refused.other_office");
        assert_eq!(t.asked("/v1/enrol"), None);
    };
    refused(&mut t, Act::BookCode { code: code.clone() });
    demo::pip(&mut t);
    t.tap("review_close");
    t.tap("close_session");
    t.tap("leave_session");
    // Its office takes in one unbroken record of its own league; so does the other one.
    refused(&mut t, Act::BookCode { code });
    let text = another_leagues();
    refused(&mut t, Act::LoadRoster { text });
    assert_eq!(t.view().league, "Larkmere Agility League");
}

#[test]
fn a_roster_that_somebody_loaded_since_is_not_taken_away() {
    let mut t = Table::new("a file");
    enrolled::enrol(&mut t);
    let text = another_leagues();
    t.act(Act::LoadRoster { text });
    assert_eq!(t.notice(), "notice.roster_loaded");
    half_an_hour(&mut t);
    t.act(Act::NetworkChanged);
    assert_eq!(t.asked("/v1/roster"), None);
    let state = t.phone().state();
    assert_eq!(state.loaded().expect("one").roster.league.id, "overmere");
}

#[test]
fn a_wrong_clock_is_known_before_the_roster_is_asked_for() {
    let mut t = Table::new("a wrong clock");
    t.act(Act::LoadRoster {
        text: enrolled::code(&t).text(),
    });
    let (request, body) = asked(&t, "/v1/enrol");
    let right_ms = t.now_ms() - 3 * 3_600_000;
    let said = t.office.enrol(&body, right_ms).expect("enrolled");
    answer(&mut t, request, said);
    let (request, body) = asked(&t, "/v1/roster");
    let said = t.office.answer_roster(&body, right_ms).expect("told");
    answer(&mut t, request, said);
    assert_eq!(t.notice(), "notice.roster_loaded");
    assert_eq!(t.phone().state().clock_ahead_ms, 3 * 3_600_000);
}

#[test]
fn where_even_the_whole_does_not_do_it_is_asked_for_later_and_not_never() {
    let mut t = Table::new("a roster that does not fit");
    enrolled::enrol(&mut t);
    half_an_hour(&mut t);
    let key = standsquare_office::demo::demo_only_key();
    let told = |t: &mut Table| {
        let (request, _) = asked(t, "/v1/roster");
        // Signed by the office, and not what it says it is.
        let edition = Edition {
            office_key: t.office.public_key(),
            body: "larkmere".into(),
            number: u64::MAX,
            digest: [5; 32],
            after: 0,
            at_ms: t.now_ms(),
            content: Content::Whole("{}".into()),
            notices: Vec::new(),
        };
        let bytes = edition.sign(|b| key.sign(b).to_bytes());
        answer(t, request, bytes);
    };
    told(&mut t);
    told(&mut t);
    assert_eq!(t.asked("/v1/roster"), None);
    t.wait(60_000);
    t.act(Act::Tick);
    enrolled::told(&mut t);
    assert_eq!(t.view().league, "Larkmere Agility League");
}

#[test]
fn an_office_that_does_not_know_the_phone_is_asked_less_and_less() {
    let mut t = Table::new("not enrolled any more");
    enrolled::enrol(&mut t);
    let mut asks = 0;
    t.wait(30 * 60_000);
    for _ in 0..4 * 60 {
        t.wait(60_000);
        t.act(Act::Tick);
        let Some((request, _)) = t.asked("/v1/roster") else {
            continue;
        };
        asks += 1;
        t.act(Act::OfficeAnswer {
            request,
            status: 403,
            body: Vec::new(),
        });
        assert_eq!(t.notice(), "refused.not_enrolled");
    }
    // 1, 2, 4, 8, 16 minutes, then every half hour, in four hours.
    assert!((8..=14).contains(&asks), "{asks}");
}
