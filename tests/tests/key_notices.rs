//! What the office says of a measurer's key, as a phone takes it in: by file or by code,
//! believed for the office's signature alone, and followed when measurers are seated.

use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::cli::{Office, verify_file_with};
use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::notice::{Notice, Says, Why};
use standsquare_session::view::{Screen, SeatWay};
use standsquare_session::{Act, JOURNAL_FILE};
use standsquare_tests::{Table, demo, once};

/// When every scripted session begins.
const BEGIN_MS: i64 = 1_795_597_200_000;
const DAY_MS: i64 = 86_400_000;

fn office() -> SigningKey {
    SigningKey::from_bytes(&[0x0f; 32])
}

fn roster() -> String {
    let mut roster = standsquare_office::demo::roster();
    roster.office.key = hex::encode(office().verifying_key().to_bytes());
    serde_json::to_string(&roster).expect("JSON")
}

fn signed(by: &SigningKey, person: &str, key: [u8; 32], says: Says) -> String {
    let notice = Notice {
        person: person.into(),
        number: "LM-014".into(),
        key: key.into(),
        says,
        at_ms: BEGIN_MS,
    };
    let public = by.verifying_key().to_bytes();
    notice.code(&public, |bytes| by.sign(bytes).to_bytes())
}

fn revoked(from_ms: i64, why: Why) -> Says {
    Says::Revoked { from_ms, why }
}

/// Up to choosing who measures; Ottoline has a key on this phone and sits nowhere.
fn at_the_seats() -> (Table, [u8; 32]) {
    let mut t = Table::new("keys");
    demo::set_up_with(&mut t, roster());
    demo::pip(&mut t);
    t.tap("review_close");
    t.tap("close_session");
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
    let key = t.phone().state().keys[&"ottoline".to_owned()];
    (t, key)
}

fn seat(t: &mut Table) -> bool {
    let before = t.view().revision;
    let person = "ottoline".into();
    t.act(Act::SeatMeasurer { person });
    t.view().revision != before
}

/// Why the screen says that Ottoline cannot be seated.
fn why_not(t: &Table) -> Option<String> {
    let Screen::Measurers { measurers } = &t.view().screen else {
        panic!("{:?}", t.view().screen);
    };
    let line = measurers.people.iter().find(|p| p.id == "ottoline");
    let why = line.expect("on the list").why_not.clone();
    why.map(|text| text.key)
}

#[test]
fn a_revoked_key_is_not_seated_and_it_says_what_to_do() {
    for why in [Why::Lost, Why::Exposed, Why::Replaced, Why::Ended] {
        let (mut t, key) = at_the_seats();
        let text = signed(&office(), "ottoline", key, revoked(BEGIN_MS - DAY_MS, why));
        t.act(Act::LoadRoster { text });
        assert_eq!(t.notice(), "notice.key_revoked");
        assert_eq!(why_not(&t).as_deref(), Some("refused.key_revoked"));
        t.kill_and_reopen();
        assert_eq!(why_not(&t).as_deref(), Some("refused.key_revoked"));
        assert!(!seat(&mut t));
        assert_eq!(t.notice(), "refused.key_revoked");
    }
}

#[test]
fn an_enrolled_key_is_seated_within_its_time_only() {
    let enrolled = |from_ms, until_ms| Says::Enrolled { from_ms, until_ms };
    for (says, why) in [
        (enrolled(BEGIN_MS - DAY_MS, None), None),
        (enrolled(BEGIN_MS - DAY_MS, Some(BEGIN_MS + DAY_MS)), None),
        (
            enrolled(BEGIN_MS + DAY_MS, None),
            Some("refused.key_not_yet"),
        ),
        (
            enrolled(BEGIN_MS - DAY_MS, Some(BEGIN_MS - 1)),
            Some("refused.key_over"),
        ),
        // Known to be revoked from tomorrow on: today it counts.
        (revoked(BEGIN_MS + DAY_MS, Why::Ended), None),
    ] {
        let (mut t, key) = at_the_seats();
        // Scanned this time, as it stands on the office's page.
        let code = signed(&office(), "ottoline", key, says);
        t.act(Act::BookCode { code });
        assert_eq!(why_not(&t).as_deref(), why, "{says:?}");
        assert_eq!(seat(&mut t), why.is_none(), "{says:?}");
    }
}

#[test]
fn a_key_that_is_somebody_elses_at_the_office_is_not_seated() {
    let (mut t, key) = at_the_seats();
    let says = Says::Enrolled {
        from_ms: 0,
        until_ms: None,
    };
    let text = signed(&office(), "bram", key, says);
    t.act(Act::LoadRoster { text });
    assert_eq!(why_not(&t).as_deref(), Some("refused.key_not_theirs"));
    assert!(!seat(&mut t));
}

#[test]
fn what_the_office_did_not_sign_is_refused_and_nothing_is_written() {
    let (mut t, key) = at_the_seats();
    let says = revoked(0, Why::Lost);
    let good = signed(&office(), "ottoline", key, says);
    let mut altered = good.clone();
    let last = altered.pop().expect("not empty");
    altered.push(if last == '0' { '1' } else { '0' });
    let before = t.view().revision;
    for text in [
        signed(&SigningKey::from_bytes(&[9; 32]), "ottoline", key, says),
        altered,
        good[..good.len() - 6].to_owned(),
        "SSK1:".to_owned(),
        good.replace("SSK1:", "SSK9:"),
    ] {
        t.act(Act::LoadRoster { text: text.clone() });
        assert_eq!(t.notice(), "refused.key_notice", "{text}");
        assert_eq!(t.view().revision, before, "{text}");
    }
    assert_eq!(why_not(&t), None);
    t.act(Act::LoadRoster { text: good.clone() });
    let after = t.view().revision;
    assert_eq!(after, before + 1);
    t.act(Act::LoadRoster {
        text: format!("  {good}\n"),
    });
    assert_eq!((t.notice(), t.view().revision), ("notice.key_known", after));
}

#[test]
fn journal_verify_hears_the_notices_in_the_chain() {
    let known = Office {
        keys: vec![office().verifying_key().to_bytes()],
        notices: Vec::new(),
    };
    for (from_ms, counts) in [(BEGIN_MS - DAY_MS, false), (BEGIN_MS + 10 * DAY_MS, true)] {
        let (mut t, key) = at_the_seats();
        let enrol = |person: &str, key| {
            let says = Says::Enrolled {
                from_ms: 0,
                until_ms: None,
            };
            signed(&office(), person, key, says)
        };
        let bram = t.phone().state().keys[&"bram".to_owned()];
        for text in [
            enrol("ottoline", key),
            enrol("bram", bram),
            signed(&office(), "ottoline", key, revoked(from_ms, Why::Lost)),
        ] {
            t.act(Act::LoadRoster { text });
        }
        t.kill_and_reopen();
        let (report, good) = verify_file_with(&t.dir().join(JOURNAL_FILE), &known);
        assert_eq!(good, counts, "{report}");
        assert_eq!(report.contains("DOES NOT COUNT"), !counts, "{report}");
    }
}

fn bram_of(t: &Table) -> [u8; 32] {
    t.phone().state().keys[&"bram".to_owned()]
}

fn sign(t: &mut Table, person: &str, pin: &str) {
    let (person, pin) = (person.into(), pin.into());
    t.act(Act::Sign { person, pin });
}

/// Rook's statement is on the glass, and nobody has signed it.
fn at_the_signature(t: &mut Table) {
    demo::to_the_chip(t, "rook");
    t.scan(&demo::chip_of("rook"));
    demo::to_the_hoop(t);
    t.tap("base_flat");
}

fn with_roster(text: String) -> Table {
    let mut t = Table::new("seated");
    demo::set_up_with(&mut t, text);
    t
}

/// What the signing screen says of Bram: why not, and whether paper is offered.
fn bram_on_glass(t: &Table) -> (Option<String>, bool) {
    let seats = match &t.view().screen {
        Screen::Sign { sign } => &sign.seats,
        Screen::SignList { sign_list } => &sign_list.seats,
        Screen::Correct { correct } => &correct.seats,
        other => panic!("{other:?}"),
    };
    let seat = seats.iter().find(|s| s.person == "bram").expect("sits");
    let why = seat.why_not.as_ref().map(|w| w.key.clone());
    (why, seat.way == SeatWay::Paper)
}

fn signed_by_bram(t: &Table) -> usize {
    let by = |f: &Fact| {
        matches!(f, Fact::Signed { person, .. } | Fact::Confirmed { person, .. }
            | Fact::CorrectionSigned { person, .. } | Fact::ListSigned { person, .. }
            | Fact::Unlocked { person, .. } if person == "bram")
    };
    t.whole().iter().filter(|f| by(f)).count()
}

#[test]
fn who_sits_signs_nothing_more_once_the_office_says_that_the_key_does_not_count() {
    let enrolled = |from_ms, until_ms| Says::Enrolled { from_ms, until_ms };
    let now = BEGIN_MS;
    for (person, says, why) in [
        ("bram", revoked(now, Why::Lost), "refused.sign_key_revoked"),
        ("bram", revoked(now, Why::Ended), "refused.sign_key_revoked"),
        ("bram", enrolled(0, Some(now)), "refused.sign_key_over"),
        (
            "bram",
            enrolled(now + DAY_MS, None),
            "refused.sign_key_not_yet",
        ),
        ("ottoline", enrolled(0, None), "refused.sign_key_not_theirs"),
    ] {
        let mut t = with_roster(roster());
        at_the_signature(&mut t);
        sign(&mut t, "ottoline", "4711");
        assert_eq!(bram_on_glass(&t), (None, false));
        let text = signed(&office(), person, bram_of(&t), says);
        t.act(Act::LoadRoster { text });
        assert_eq!(bram_on_glass(&t), (Some(why.into()), true));
        let before = (t.view().revision, t.whole().len());
        sign(&mut t, "bram", "2580");
        assert_eq!(t.notice(), why);
        // No try at the PIN is counted either: it was not asked.
        assert_eq!((t.view().revision, t.whole().len()), before);
        t.kill_and_reopen();
        assert_eq!(bram_on_glass(&t), (Some(why.into()), true));
        t.act(Act::SignOnPaper {
            person: "bram".into(),
            paper: "21".into(),
        });
        assert_eq!(t.notice(), "notice.signed_on_paper");
        demo::written_and_told(&mut t);
        assert_eq!(signed_by_bram(&t), 0);
        let dog = &t.json()["dogs"][0];
        assert_eq!(
            dog["flags"]
                .as_array()
                .map(|f| f.iter().any(|f| f == "awaiting-signature")),
            Some(true)
        );
        assert_eq!(dog["signed_by"][0], "Ottoline Marsh");
        // Taken up again, it still awaits; the other's signature is not lost.
        t.act(Act::Resume { dog: "rook".into() });
        sign(&mut t, "bram", "2580");
        assert_eq!(t.notice(), why);
        assert_eq!(signed_by_bram(&t), 0);
    }
}

#[test]
fn a_key_that_is_revoked_from_tomorrow_on_signs_today() {
    let mut t = with_roster(roster());
    at_the_signature(&mut t);
    let says = revoked(BEGIN_MS + DAY_MS, Why::Ended);
    let text = signed(&office(), "bram", bram_of(&t), says);
    t.act(Act::LoadRoster { text });
    t.both_sign();
    assert_eq!((signed_by_bram(&t), t.title()), (1, "title.book_line"));
}

#[test]
fn with_one_signature_neither_a_tap_nor_the_list_is_taken_and_nobody_is_held_up() {
    let mut one: serde_json::Value =
        serde_json::from_str(&once::roster_signed_once()).expect("JSON");
    one["office"]["key"] = hex::encode(office().verifying_key().to_bytes()).into();
    let mut t = with_roster(one.to_string());
    once::unlock(&mut t);
    once::dog_once(&mut t, "pip");
    let key = bram_of(&t);
    at_the_signature(&mut t);
    let opened = signed_by_bram(&t);
    let text = signed(&office(), "bram", key, revoked(BEGIN_MS, Why::Exposed));
    t.act(Act::LoadRoster { text });
    let refused = "refused.sign_key_revoked";
    t.act(Act::Confirm {
        person: "bram".into(),
    });
    assert_eq!(t.notice(), refused);
    t.act(Act::Confirm {
        person: "ottoline".into(),
    });
    let paper = |t: &mut Table, paper: &str| {
        let (person, paper) = ("bram".into(), paper.into());
        t.act(Act::SignOnPaper { person, paper });
    };
    paper(&mut t, "22");
    demo::written_and_told(&mut t);
    t.act(Act::LockPhone);
    t.act(Act::Unlock {
        person: "bram".into(),
        pin: "2580".into(),
    });
    assert_eq!(t.notice(), refused);
    // Only Ottoline has to open her key before the next dog.
    let (person, pin) = ("ottoline".into(), "4711".into());
    t.act(Act::Unlock { person, pin });
    assert_eq!(t.title(), "title.queue");
    t.tap("review_close");
    t.tap("sign_list");
    sign(&mut t, "ottoline", "4711");
    assert_eq!(bram_on_glass(&t), (Some(refused.into()), true));
    sign(&mut t, "bram", "2580");
    assert_eq!((t.notice(), signed_by_bram(&t)), (refused, opened));
    paper(&mut t, "23");
    t.tap("close_session");
    assert_eq!(t.title(), "title.return");
}

#[test]
fn a_correction_that_one_cannot_sign_is_left_and_changes_nothing() {
    let mut t = with_roster(roster());
    at_the_signature(&mut t);
    t.both_sign();
    let before = t.json();
    t.tap("put_right");
    for id in ["void_1", "stance"] {
        demo::choose(&mut t, id);
    }
    sign(&mut t, "ottoline", "4711");
    let text = signed(&office(), "bram", bram_of(&t), revoked(BEGIN_MS, Why::Lost));
    t.act(Act::LoadRoster { text });
    sign(&mut t, "bram", "2580");
    assert_eq!(t.notice(), "refused.sign_key_revoked");
    assert_eq!(
        bram_on_glass(&t),
        (Some("refused.sign_key_revoked".into()), false)
    );
    t.tap("leave_correction");
    assert_eq!(t.json(), before);
}
