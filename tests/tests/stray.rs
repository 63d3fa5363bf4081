//! Rain on the glass, gloves, a key pressed in a pocket: no act by a stray touch, and what
//! one accidental press does can be taken back.

use standsquare_session::Act;
use standsquare_session::act::TwoKeys;
use standsquare_session::view::{Effect, Screen};
use standsquare_tests::{Table, demo};

fn at_the_hoop() -> Table {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    demo::to_the_chip(&mut t, "pip");
    t.scan(&demo::chip_of("pip"));
    demo::to_the_hoop(&mut t);
    assert_eq!(t.title(), "title.placing");
    t
}

/// The next act comes so many milliseconds after the last one.
fn after(t: &mut Table, ms: i64) -> &mut Table {
    // The table's own step is a second and a half.
    t.wait(ms - 1_500);
    t
}

fn press(t: &mut Table, key: TwoKeys, ms: i64) {
    after(t, ms).act(Act::PressKey { key });
}

fn placings(t: &Table) -> usize {
    match &t.view().screen {
        Screen::Placing { placing } => placing.placings.len(),
        _ => panic!("not at the hoop: {}", t.title()),
    }
}

#[test]
fn a_tap_on_what_came_under_the_finger_just_before_does_nothing() {
    let mut t = at_the_hoop();
    t.tap("base_not_flat");
    assert_eq!(t.title(), "title.stance_again");
    let seq = t.view().revision;
    // The second half of a double tap falls on the next screen's main act.
    after(&mut t, 120).tap("stands_square");
    assert_eq!((t.title(), t.view().revision), ("title.stance_again", seq));
    // It did not lengthen the wait: a tap on purpose counts.
    after(&mut t, 180).tap("stands_square");
    assert_eq!(t.title(), "title.placing");
}

#[test]
fn neither_does_one_on_what_the_reader_changed_just_before() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    demo::to_the_chip(&mut t, "pip");
    t.scan_at_once(&demo::chip_of("pip"));
    assert_eq!(t.title(), "title.settle");
    let seq = t.view().revision;
    after(&mut t, 200).tap("settled");
    assert_eq!(t.view().revision, seq);
    after(&mut t, 200).tap("settled");
    assert_eq!(t.title(), "title.stance");
}

#[test]
fn a_clock_put_back_does_not_lock_the_glass() {
    let mut t = at_the_hoop();
    t.tap("base_not_flat");
    after(&mut t, -3_600_000).tap("stands_square");
    assert_eq!(t.title(), "title.placing");
}

#[test]
fn flat_by_a_key_wants_a_second_press_and_no_bounce_is_one() {
    let mut t = at_the_hoop();
    let seq = t.view().revision;
    press(&mut t, TwoKeys::First, 1_500);
    assert_eq!(t.notice(), "notice.flat_again");
    press(&mut t, TwoKeys::First, 80);
    press(&mut t, TwoKeys::First, 80);
    assert_eq!(t.view().revision, seq, "a bounce placed something");
    press(&mut t, TwoKeys::First, 700);
    assert_eq!(t.title(), "title.sign");
}

#[test]
fn one_press_alone_is_forgotten() {
    let mut t = at_the_hoop();
    let seq = t.view().revision;
    press(&mut t, TwoKeys::First, 1_500);
    press(&mut t, TwoKeys::First, 5_000);
    assert_eq!(t.view().revision, seq);
    assert_eq!(t.notice(), "notice.flat_again");
    // What was done in between makes it a first press again, and so does a kill.
    t.kill_and_reopen();
    press(&mut t, TwoKeys::First, 1_000);
    assert_eq!(t.view().revision, seq);
}

#[test]
fn not_flat_by_a_key_is_taken_back_by_a_tap() {
    let mut t = at_the_hoop();
    press(&mut t, TwoKeys::First, 1_500);
    press(&mut t, TwoKeys::Second, 1_000);
    assert_eq!(t.title(), "title.stance_again", "not flat, at once");
    t.tap("undo_placing");
    assert_eq!((t.title(), placings(&t)), ("title.placing", 0));
    press(&mut t, TwoKeys::First, 1_000);
    assert_eq!(
        t.notice(),
        "notice.flat_again",
        "the press before it is gone"
    );
}

#[test]
fn elsewhere_the_keys_say_nothing() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    let seq = t.view().revision;
    press(&mut t, TwoKeys::Second, 1_500);
    assert_eq!(t.view().revision, seq);
    assert_eq!(t.notice(), "refused.not_now");

    let mut t = at_the_hoop();
    let listens = |t: &Table| match &t.view().screen {
        Screen::Placing { placing } => placing.keys.is_some(),
        _ => false,
    };
    assert!(listens(&t));
    t.act(Act::StepAway {
        person: "bram".into(),
    });
    assert!(!listens(&t), "a measurer is away");
    press(&mut t, TwoKeys::Second, 1_500);
    assert_eq!(placings(&t), 0);
}

#[test]
fn a_code_that_stays_before_the_camera_is_read_once() {
    let mut t = Table::new("");
    t.act(Act::OpenSlipCheck);
    let read = |t: &mut Table, text: &str, ms: i64| {
        after(t, ms).act(Act::CheckSlip { text: text.into() });
        let heard = t.effects().iter().any(|e| matches!(e, Effect::Play { .. }));
        (t.notice().to_owned(), heard)
    };
    let (damaged, unknown) = ("SSP1:NOTHING", "SSO1:NEITHER");
    let (first, heard) = read(&mut t, damaged, 1_500);
    assert!(heard && first.starts_with("refused."), "{first}");
    // Twelve times a second, for a minute: it is said, and heard, once.
    for n in 0..720 {
        assert_eq!(read(&mut t, damaged, 80), (first.clone(), false), "{n}");
    }
    // Another code is read at once; and what was out of sight, or when something else was done.
    let other = read(&mut t, unknown, 80);
    assert!(other.1 && other.0.starts_with("refused."), "{other:?}");
    assert!(read(&mut t, damaged, 80).1);
    assert!(read(&mut t, damaged, 1_500).1);
    t.act(Act::OpenSlipCheck);
    assert!(read(&mut t, damaged, 700).1);
}
