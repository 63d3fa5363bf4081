//! The two keys: a small clicker, or the volume keys. They stand for the placing's two
//! results and for nothing else, so that a key pressed in a pocket does nothing.

use crate::act::{Act, PlacingSeen, TwoKeys};
use crate::judging::{self, NextPlacing};
use crate::state::Step;
use crate::view::{Text, Tone};

use super::{Context, Outcome, dog, not_now};

/// A second press within so many milliseconds is the first one's bounce. Own choice.
const BOUNCE_MS: i64 = 250;

/// A second press after so many milliseconds is a first one again. Own choice.
const TOGETHER_MS: i64 = 4_000;

/// What the keys remember between two presses. No record holds it: after a kill the
/// first press is wanted again.
#[derive(Debug, Default)]
pub struct Keys {
    /// When 'flat' was pressed first, and the record's newest event then.
    pressed: Option<(i64, u64)>,
}

/// One press. 'Not flat' can be taken back by a tap, so it holds at once; 'flat' can be
/// made void only by both measurers, so it wants a second press.
pub(super) fn press(c: &mut Context, key: TwoKeys) -> Outcome {
    let Some((session, visit)) = c.at(Step::Placing) else {
        return not_now();
    };
    let NextPlacing::Place { hoop, .. } = judging::next(session, visit) else {
        return not_now();
    };
    let seq = c.state.revision;
    let before = c.keys.pressed.take();
    let seen = match key {
        TwoKeys::Second => PlacingSeen::BaseNotFlat,
        TwoKeys::First => {
            let waited = before.filter(|(_, at)| *at == seq);
            let waited = waited.map(|(ms, _)| c.stamp.at_ms.saturating_sub(ms));
            match waited {
                Some(ms) if (BOUNCE_MS..=TOGETHER_MS).contains(&ms) => PlacingSeen::BaseFlat,
                Some(ms) if (0..BOUNCE_MS).contains(&ms) => {
                    c.keys.pressed = before;
                    return asked_again();
                }
                _ => {
                    c.keys.pressed = Some((c.stamp.at_ms, seq));
                    return asked_again();
                }
            }
        }
    };
    dog::decide(c, &Act::Place { hoop, seen })
}

fn asked_again() -> Outcome {
    Outcome::default().say(Tone::Care, Text::of("notice.flat_again"))
}
