//! The copy after each dog, by codes: what the second phone keeps is enough for the office.

use standsquare_journal::cli::verify_file;
use standsquare_journal::record::kept::Receipt;
use standsquare_session::view::{Effect, Screen};
use standsquare_session::{Act, JOURNAL_FILE};
use standsquare_sync::{Limits, frames_of};
use standsquare_tests::copies::*;
use standsquare_tests::elsewhere::read;
use standsquare_tests::tables::{codes_shown, measured};
use standsquare_tests::{Table, demo};

fn with_pip() -> Table {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    measured(&mut t, "pip");
    t
}

/// A camera sees the same codes again and again: only a new one is heard.
#[test]
fn a_part_that_is_read_again_says_the_same_and_makes_no_sound() {
    let codes = copy_of(&mut with_pip());
    let mut other = other_phone();
    let mut hold = |n: usize| {
        read(&mut other, &codes[n..=n]);
        let played = other.effects().iter();
        let played = played.filter(|e| matches!(e, Effect::Play { .. })).count();
        (played, other.view().notice.clone().expect("a notice"))
    };
    let first = hold(3);
    assert_eq!(first.0, 1);
    assert_eq!(hold(3), (0, first.1.clone()));
    let second = hold(0);
    assert_eq!(second.0, 1);
    assert_ne!(second.1, first.1);
    assert_eq!(hold(3), (0, second.1));
}

fn settings_lines(t: &mut Table) -> Vec<(String, i64)> {
    use standsquare_session::view::ArgValue;
    t.act(Act::OpenSettings);
    let Screen::Settings { settings } = &t.view().screen else {
        panic!("{:?}", t.view().screen);
    };
    let copies = settings
        .sections
        .iter()
        .filter(|s| s.heading.key == "settings.copies");
    let lines: Vec<_> = copies
        .flat_map(|s| &s.lines)
        .map(|l| match l.heading.args[0].value {
            ArgValue::Count { n } => (l.heading.key.clone(), n),
            _ => panic!("{:?}", l.heading),
        })
        .collect();
    t.tap("leave_look");
    lines
}

/// The file that this phone hands on.
fn handed(t: &mut Table) -> Vec<u8> {
    t.act(Act::OpenSettings);
    t.tap("carry_copies");
    let shared = t.effects().iter().find_map(|e| match e {
        Effect::Share { name, bytes, .. } if name.starts_with("copies-") => Some(bytes.clone()),
        _ => None,
    });
    t.tap("leave_look");
    shared.expect("a file")
}

#[test]
fn a_lost_phones_dogs_come_to_the_office_from_the_second_phone() {
    let mut t = with_pip();
    let mut other = other_phone();
    let only_here = |t: &Table| {
        let state = t.phone().state();
        state.dogs_only_here(state.session.as_ref().expect("there"))
    };
    assert_eq!(only_here(&t), 1);
    let codes = copy_of(&mut t);
    assert!(codes.len() > 5, "{}", codes.len());
    // In any order, some twice, with an end of the app in between: begun again.
    read(&mut other, &codes[..2]);
    other.kill_and_reopen();
    let mut mixed: Vec<String> = codes.iter().rev().cloned().collect();
    mixed.insert(3, codes[codes.len() - 1].clone());
    read(&mut other, &mixed);
    assert_eq!(other.notice(), "notice.copy_kept");
    let answer = answer_of(&mut other);
    assert_eq!(only_here(&t), 1, "until the other phone says so");
    read(&mut t, &answer);
    assert_eq!((t.notice(), only_here(&t)), ("notice.copy_there", 0));
    // Nothing new to show.
    t.tap("show_copy");
    assert_eq!(t.notice(), "notice.copy_there");
    measured(&mut t, "rook");
    let more = copy_of(&mut t);
    assert!(more.len() < codes.len());
    read(&mut other, &more);
    let answer = answer_of(&mut other);
    read(&mut t, &answer);
    assert_eq!(
        settings_lines(&mut other),
        [("settings.copied_dogs".to_owned(), 2)]
    );
    other.kill_and_reopen();
    assert_eq!(
        settings_lines(&mut other),
        [("settings.copied_dogs".to_owned(), 2)]
    );
    // The first phone is lost. The office takes the copy in as that phone's own frames.
    let file = handed(&mut other);
    other
        .office
        .import(&file, other.now_ms(), &mut |_, _| {})
        .expect("taken");
    let device = t.phone().journal().device_key();
    let sessions = other.office.sessions(9).expect("a list");
    assert_eq!((sessions.len(), sessions[0].device_key), (1, device));
    let (_, visits) = other.office.session(sessions[0].session).expect("there");
    let dogs: Vec<_> = visits
        .iter()
        .map(|v| (v.statement.dog.as_str(), v.signed.len()))
        .collect();
    assert_eq!(dogs, [("Pip", 2), ("Rook", 2)]);
    // And the frames are the very ones that the phone itself would send: found again, it
    // brings nothing that stands beside them.
    t.office = other.office.clone();
    demo::close_and_send(&mut t);
    assert_eq!(other.office.set_aside(9).expect("a list").len(), 0);
    t.kill_and_reopen();
    let (report, whole) = verify_file(&t.dir().join(JOURNAL_FILE));
    assert!(whole, "{report}");
}

#[test]
fn what_does_not_follow_is_refused_and_nothing_kept_is_lost() {
    let mut t = with_pip();
    let mut other = other_phone();
    let first = copy_of(&mut t);
    read(&mut t, &first);
    assert_eq!(t.notice(), "refused.sign_own_phone");
    t.tap("leave_look");
    let mut third = Table::with_secret("", [13; 32]);
    // What the other phone has, this one does not: the second part alone is not enough.
    read(&mut other, &first);
    let answer = answer_of(&mut other);
    read(&mut t, &answer);
    measured(&mut t, "rook");
    let second = copy_of(&mut t);
    read(&mut third, &second);
    assert_eq!(third.notice(), "refused.copy_gap");
    t.tap("copy_whole");
    let whole = codes_shown(&mut t);
    t.tap("leave_look");
    read(&mut third, &whole);
    assert_eq!(third.notice(), "notice.copy_kept");
    read(&mut other, &second);
    assert_eq!(
        settings_lines(&mut other),
        [("settings.copied_dogs".to_owned(), 2)]
    );
    // An answer about nothing that this phone has written.
    let journal = t.phone().journal().journal_id();
    for (held, head, why) in [
        (3, [7; 32], "refused.copy_fork"),
        (u64::MAX, [7; 32], "refused.copy_fork"),
        (0, [7; 32], "refused.copy_fork"),
    ] {
        let receipt = Receipt {
            journal: journal.into(),
            held,
            head: head.into(),
        };
        t.act(Act::CheckSlip {
            text: receipt.code(),
        });
        assert_eq!(t.notice(), why);
    }
    let receipt = Receipt {
        journal: [1; 16].into(),
        held: 3,
        head: [7; 32].into(),
    };
    t.act(Act::CheckSlip {
        text: receipt.code(),
    });
    assert_eq!(t.notice(), "refused.copy_other");
    t.act(Act::CheckSlip {
        text: "SSR1:%%%".into(),
    });
    assert_eq!(t.notice(), "refused.code_damaged");
}

#[test]
fn every_code_of_a_copy_is_one_that_a_camera_takes_in_the_sun() {
    let mut t = with_pip();
    t.tap("show_copy");
    for _ in 0..40 {
        let Screen::Codes { codes } = &t.view().screen else {
            panic!("{:?}", t.view().screen);
        };
        // Version 10 of ISO/IEC 18004 has 57 modules a side.
        assert!(codes.code.side <= 57, "{}", codes.code.side);
        t.act(Act::Tick);
    }
}

#[test]
fn the_frames_are_cut_as_the_phone_cuts_them() {
    let mut t = with_pip();
    let mut other = other_phone();
    let codes = copy_of(&mut t);
    read(&mut other, &codes);
    answer_of(&mut other);
    let file = handed(&mut other);
    t.tap("leave_look");
    t.act(Act::Tick);
    let (_, body) = t.asked("/v1/frames").expect("it is sent");
    let chain = standsquare_journal::record::chain;
    let read = |bytes: &[u8]| frames_of(bytes, Limits::carried(), Some(chain)).expect("frames");
    assert_eq!(read(&file), read(&body));
}

#[test]
fn a_low_battery_is_said_once_puts_the_copy_in_reach_and_records_nothing() {
    use standsquare_session::view::Role;
    let mut t = with_pip();
    let roles = |t: &Table| ["give_copy", "show_copy"].map(|id| t.offer(id).role);
    let low = |t: &Table| {
        t.view()
            .cautions
            .iter()
            .any(|c| c.key == "caution.battery_low")
    };
    assert_eq!(roles(&t), [Role::Quiet, Role::Quiet]);
    let before = t.whole().len();
    let told = |t: &mut Table, percent, charging| {
        t.act(Act::Battery { percent, charging });
    };
    told(&mut t, 60, false);
    assert!(!low(&t) && t.notice() != "notice.battery_low");
    told(&mut t, 14, false);
    assert_eq!(t.notice(), "notice.battery_low");
    assert_eq!((low(&t), roles(&t)), (true, [Role::Other, Role::Other]));
    // It takes no tap away and is not said at each percent.
    demo::to_the_chip(&mut t, "moss");
    told(&mut t, 13, false);
    assert_ne!(t.notice(), "notice.battery_low");
    assert!(!low(&t), "at the table nothing stands in the way");
    told(&mut t, 13, true);
    assert_eq!(
        t.whole()
            .iter()
            .skip(before)
            .filter(|f| format!("{f:?}").contains("attery"))
            .count(),
        0
    );
    // Where nothing is on this phone only, nothing is to be done in a hurry.
    let mut empty = Table::new("");
    demo::set_up(&mut empty);
    told(&mut empty, 5, false);
    assert_ne!(empty.notice(), "notice.battery_low");
    told(&mut empty, 255, true);
    assert!(!low(&empty));
}
