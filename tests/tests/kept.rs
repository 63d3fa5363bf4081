//! What a phone keeps for speed is what its journal says: over random sessions, the state
//! it goes on with, the state it opens with, and the state worked out of the first event on
//! are one. `STANDSQUARE_SEED` sets where to begin, `STANDSQUARE_SESSIONS` how many
//! sessions (8 otherwise).

use std::fs;

use standsquare_session::{Act, Phone, Stamp};
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
    let opened = told(&phone);
    phone.rebuild_for_test().expect("reads");
    let rebuilt = told(&phone);
    for n in 0..going_on.len() {
        assert_eq!(opened[n], going_on[n], "{what}: opened, part {n}");
        assert_eq!(rebuilt[n], going_on[n], "{what}: rebuilt, part {n}");
    }
    // What was worked out anew is kept anew, to the same bytes.
    assert_eq!(
        phone.journal().kept_for_test(),
        t.phone().journal().kept_for_test(),
        "{what}"
    );
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
    assert_eq!(kept as u64, sessions, "nothing was kept");
}

fn is_asking(effect: &standsquare_session::view::Effect) -> bool {
    matches!(effect, standsquare_session::view::Effect::AskOffice { path, .. } if path == "/v1/frames")
}
