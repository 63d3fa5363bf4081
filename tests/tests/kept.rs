//! What a phone keeps for speed is what its journal says: over random sessions, and after
//! every act of the recorded ones, the state it goes on with, the state it opens with, and
//! the state worked out of the first event on are one. `STANDSQUARE_SEED` sets where to begin, `STANDSQUARE_SESSIONS` how many
//! sessions (8 otherwise).

use std::fs;

use standsquare_session::state::State;
use standsquare_session::{Act, Phone, Recording, Stamp};
use standsquare_tests::{Table, demo};
use tempfile::TempDir;

/// SplitMix64: small, and the same everywhere.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % sides
    }
}

fn setting(name: &str, otherwise: u64) -> u64 {
    std::env::var(name)
        .ok()
        .and_then(|v| v.parse().ok())
        .unwrap_or(otherwise)
}

/// Everything that a phone can be asked.
fn told(phone: &Phone) -> [String; 4] {
    [
        format!("{:#?}", phone.state()),
        serde_json::to_string_pretty(&phone.view().screen).expect("a view is JSON"),
        phone.session_json(),
        phone.return_csv(),
    ]
}

/// The phone's file as it is now, opened elsewhere: with what is kept, then without.
fn compare(t: &Table, what: &str) {
    let going_on = told(t.phone());
    let dir = TempDir::new().expect("a folder");
    for name in ["journal.sqlite", "journal.sqlite-wal"] {
        let from = t.dir().join(name);
        if from.exists() {
            fs::copy(from, dir.path().join(name)).expect("copies");
        }
    }
    let stamp = Stamp {
        at_ms: 1_795_600_000_000,
        offset_min: 60,
        entropy: vec![9; 32],
    };
    let mut phone = Phone::open(dir.path(), [7; 32], &stamp).expect("opens");
    same(&told(&phone), &going_on, &format!("{what}: opened"));
    phone.keep_for_test().expect("keeps");
    same(&told(&phone), &going_on, &format!("{what}: kept"));
    drop(phone);
    let mut phone = Phone::open(dir.path(), [7; 32], &stamp).expect("opens");
    same(&told(&phone), &going_on, &format!("{what}: opened again"));
    let kept = phone.journal().kept_for_test();
    phone.rebuild_for_test().expect("reads");
    same(&told(&phone), &going_on, &format!("{what}: rebuilt"));
    // What was worked out anew is kept anew, to the same bytes.
    phone.keep_for_test().expect("keeps");
    assert_eq!(phone.journal().kept_for_test(), kept, "{what}");
}

fn same(one: &[String; 4], other: &[String; 4], what: &str) {
    for (n, (one, other)) in one.iter().zip(other).enumerate() {
        assert_eq!(one, other, "{what}, part {n}");
    }
}

fn dog(t: &mut Table, dice: &mut Dice, name: &str) {
    demo::to_the_chip(t, name);
    t.scan(&demo::chip_of(name));
    if dice.roll(4) == 0 {
        t.tap("not_today");
        let reason = "nervous".into();
        t.act(Act::NotToday { reason });
    } else {
        demo::to_the_hoop(t);
        if dice.roll(3) == 0 {
            t.tap("base_not_flat");
            t.tap("undo_placing");
        }
        t.tap("base_flat");
    }
    if dice.roll(3) == 0 {
        let (person, pin) = ("bram".into(), "0000".into());
        t.act(Act::Sign { person, pin });
    }
    demo::sign_and_tell(t);
}

#[test]
fn what_is_kept_is_what_the_journal_says_over_random_sessions() {
    let seed = setting("STANDSQUARE_SEED", 1);
    let sessions = setting("STANDSQUARE_SESSIONS", 8);
    let mut dice = Dice(seed);
    let mut t = Table::new("");
    compare(&t, "nothing yet");
    let mut kept = 0;
    for n in 0..sessions {
        let what = |at: &str| format!("seed {seed}, session {n}, {at}");
        demo::set_up(&mut t);
        compare(&t, &what("open"));
        kept += usize::from(t.phone().journal().kept_for_test().is_some());
        for name in ["pip", "moss", "juno"] {
            if dice.roll(3) > 0 {
                dog(&mut t, &mut dice, name);
            }
            if dice.roll(4) == 0 {
                compare(&t, &what(name));
            }
            if dice.roll(4) == 0 {
                t.act(Act::SendReturn);
                if t.effects().iter().any(is_asking) && dice.roll(3) > 0 {
                    t.office_answers();
                    if dice.roll(2) == 0 {
                        t.log_answers_if_asked();
                    }
                    compare(&t, &what("answered"));
                }
            }
            if dice.roll(6) == 0 {
                t.kill_and_reopen();
                t.reader_connects();
            }
        }
        t.tap("review_close");
        t.tap("close_session");
        compare(&t, &what("closed"));
        if dice.roll(2) == 0 {
            t.tap("send_return");
            if dice.roll(3) > 0 {
                t.office_answers();
            }
        }
        t.tap("leave_session");
        compare(&t, &what("left"));
        // What an earlier session left unsent may go from the home screen.
        if dice.roll(3) == 0 {
            t.act(Act::SendReturn);
            if t.effects().iter().any(is_asking) {
                t.office_answers();
            }
            compare(&t, &what("sent from home"));
        }
    }
    assert!(kept > 0, "nothing was kept");
}

fn is_asking(effect: &standsquare_session::view::Effect) -> bool {
    matches!(effect, standsquare_session::view::Effect::AskOffice { path, .. } if path == "/v1/frames")
}

fn contains(bytes: &[u8], text: &str) -> bool {
    bytes
        .windows(text.len())
        .any(|part| part == text.as_bytes())
}

/// Every recorded session, the state put away and taken up after each act, and worked out of
/// the first event on: all three are one, and what is shown of them.
#[test]
fn what_is_kept_is_what_the_journal_says_after_every_recorded_act() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/recorded");
    let (mut acts, mut names) = (0, 0);
    for entry in fs::read_dir(folder).expect("the folder") {
        let at = entry.expect("an entry").path();
        let name = at.display().to_string();
        if !name.ends_with(".json") || name.ends_with(".session.json") {
            continue;
        }
        let text = fs::read_to_string(&at).expect("reads");
        let recording = Recording::read(&text).expect("a recording");
        let dir = TempDir::new().expect("a folder");
        let secret = recording
            .device_secret
            .clone()
            .try_into()
            .expect("32 bytes");
        let mut phone = Phone::open(dir.path(), secret, &recording.opened).expect("opens");
        let mut handlers: Vec<String> = Vec::new();
        for (n, step) in recording.steps.iter().enumerate() {
            let seen = phone.view().revision;
            let at_before = phone.journal().head().seq;
            phone.apply(&step.act, seen, &step.stamp).expect("holds");
            if let Act::LoadRoster { text } = &step.act {
                let roster: serde_json::Value = serde_json::from_str(text).unwrap_or_default();
                let dogs = roster["dogs"].as_array().into_iter().flatten();
                handlers.extend(dogs.filter_map(|d| d["handler"].as_str().map(Into::into)));
            }
            // Nothing recorded, nothing changed.
            if phone.journal().head().seq == at_before {
                continue;
            }
            let what = format!("{name}, act {n}");
            let (debug, screen) = state_and_screen(&phone);
            let kept = phone.state().put_away();
            for handler in handlers.iter().filter(|h| !h.is_empty()) {
                assert!(
                    !contains(&kept, handler),
                    "{what}: {handler} is in what is kept"
                );
                names += 1;
            }
            phone.keep_for_test().expect("keeps");
            let taken_up = state_and_screen(&phone);
            assert_eq!(taken_up.0, debug, "{what}: taken up");
            assert_eq!(taken_up.1, screen, "{what}: taken up");
            phone.rebuild_for_test().expect("reads");
            let rebuilt = state_and_screen(&phone);
            assert_eq!(rebuilt.0, debug, "{what}: rebuilt");
            assert_eq!(rebuilt.1, screen, "{what}: rebuilt");
            assert_eq!(phone.state().put_away(), kept, "{what}: put away again");
            acts += 1;
        }
        cut_short(&phone, &name);
    }
    assert!(acts > 500 && names > 500, "{acts} acts, {names} names");
}

fn state_and_screen(phone: &Phone) -> (String, String) {
    let screen = serde_json::to_string(&phone.view()).expect("a view is JSON");
    (format!("{:?}", phone.state()), screen)
}

/// Of bytes that end too soon, or too late, or with one changed, nothing is taken up by
/// mistake, and none of them is the program's end.
fn cut_short(phone: &Phone, name: &str) {
    let device = (phone.journal().device_key(), phone.journal().journal_id());
    let whole = phone.state().put_away();
    assert!(State::take_up(device, &whole).is_some(), "{name}");
    for end in (0..whole.len()).step_by(7) {
        assert!(
            State::take_up(device, &whole[..end]).is_none(),
            "{name}, {end}"
        );
        let mut changed = whole.clone();
        changed[end] ^= 0x81;
        let _ = State::take_up(device, &changed);
    }
    let longer = [whole.as_slice(), &[0]].concat();
    assert!(State::take_up(device, &longer).is_none(), "{name}");
    assert!(
        State::take_up(([1; 32], device.1), &whole).is_none(),
        "{name}"
    );
}
