//! What somebody looks at beside the session: a slip, an earlier session, a dog's history,
//! the settings. Of the moment and never recorded (decision 13): a killed app comes back to
//! what the session itself shows.

use standsquare_journal::record::elsewhere::{Ask, Shown};
use standsquare_journal::record::slip::Slip;

use crate::state::Session;
use crate::view::{QrMatrix, StatementLine, Text};

/// One thing looked at. They lie on each other; leaving one shows the one under it.
pub enum Looking {
    /// A dog's slip.
    Slip(Box<GivenSlip>),
    /// A slip is checked; the answer, once there is one.
    SlipCheck(Option<Checked>),
    /// An earlier session.
    Past(Box<Session>),
    /// What this phone knows of a dog.
    History(Box<History>),
    /// The settings, and what is on this phone.
    Settings,
    /// The phone is somebody's own: their PIN is asked for. Their id in the roster.
    OwnPhone(String),
    /// Somebody was bitten or fell: what and whom is being chosen.
    Incident,
    /// A handler objects to what was found of their dog: its id in the session under way.
    Objection(String),
    /// Codes for another phone to read.
    Codes(Box<ShownCodes>),
    /// Another phone asks a measurer to sign: what it asks, and what it shows with it.
    SignFor(Box<(Ask, Shown)>),
}

/// Codes that are shown in turn for another phone's camera.
pub struct ShownCodes {
    /// Who is to read them, and what comes of it.
    pub how: Text,
    /// The codes, in order.
    pub frames: Vec<QrMatrix>,
    /// Since when this one is shown, Unix milliseconds.
    pub since_ms: i64,
    /// Which one, from 0.
    pub at: usize,
    /// What they say, in words.
    pub says: Vec<StatementLine>,
    /// The other phone answers with codes of its own.
    pub answered: bool,
    /// It is everything: nothing more could be shown.
    pub from_start: bool,
    /// File name and content of the same, to be carried in another way.
    pub file: (String, Vec<u8>),
}

/// How long a code is out of the camera's sight before it is read anew, milliseconds. Own
/// choice, no source: longer than a hand's tremble or a passer-by, shorter than a look at what
/// came of it.
const OUT_OF_SIGHT_MS: i64 = 1_500;

/// The code that was read last. A camera reads one that stays before it many times a second: it
/// is taken once, until another is read, something else is done, or it was out of sight.
#[derive(Debug, Default)]
pub struct InSight(Option<(String, i64)>);

impl InSight {
    /// Whether this code, read at this moment, is the last one, which has stayed.
    pub fn stays(&mut self, text: &str, now_ms: i64) -> bool {
        let last = self.0.replace((text.to_owned(), now_ms));
        last.is_some_and(|(last, at_ms)| {
            last == text && now_ms.saturating_sub(at_ms).saturating_abs() < OUT_OF_SIGHT_MS
        })
    }

    /// Something else is done.
    pub fn forget(&mut self) {
        self.0 = None;
    }
}

/// How long each of several codes is shown at least, milliseconds. Own choice, no source: two
/// to three looks of a camera that takes a few pictures a second.
const EACH_MS: i64 = 800;

impl ShownCodes {
    /// Time has passed: once this code was shown long enough, the next one's turn has come. It
    /// goes by turns and not by the clock alone, so that ticks that keep step with the codes
    /// never pass over the same one each time.
    pub fn turn(&mut self, now_ms: i64) {
        if now_ms.saturating_sub(self.since_ms).saturating_abs() >= EACH_MS {
            self.since_ms = now_ms;
            self.at = (self.at + 1) % self.frames.len().max(1);
        }
    }
}

/// A slip as it is given to a handler.
pub struct GivenSlip {
    /// The dog: its id in the session under way.
    pub dog: String,
    /// What it says.
    pub slip: Slip,
    /// Its code.
    pub code: QrMatrix,
}

/// What came of checking a slip.
pub struct Checked {
    /// The key of the words.
    pub key: &'static str,
    /// What it says, if it is genuine.
    pub slip: Option<Slip>,
}

/// What this phone knows of a dog.
pub struct History {
    /// Its chip's number, as the record book has it.
    pub chip: String,
    /// Its name; empty where nothing is known.
    pub name: String,
    /// Newest first.
    pub measures: Vec<Known>,
}

/// One measure that this phone knows of.
pub struct Known {
    /// Its day.
    pub day: chrono::NaiveDate,
    /// Where; empty if unknown.
    pub venue: String,
    /// What it came to.
    pub outcome: crate::view::Text,
    /// First, second or further.
    pub number: u8,
    /// What to notice.
    pub notes: Vec<crate::view::Text>,
    /// Whether the office holds it; `None` for what the office's roster told.
    pub at_office: Option<bool>,
}

#[cfg(test)]
mod tests {
    use super::{EACH_MS, InSight, OUT_OF_SIGHT_MS, ShownCodes};
    use crate::view::{QrMatrix, Text};

    #[test]
    fn whatever_the_ticks_every_code_has_its_turn_in_the_first_round() {
        for (count, tick) in (1..=45).flat_map(|n| [200, 800, 1_000, 1_500, 4_000].map(|t| (n, t)))
        {
            let frame = QrMatrix {
                side: 0,
                modules: Vec::new(),
            };
            let mut shown = ShownCodes {
                how: Text::of("codes.how_sign"),
                frames: vec![frame; count],
                since_ms: 0,
                at: 0,
                says: Vec::new(),
                answered: true,
                from_start: true,
                file: (String::new(), Vec::new()),
            };
            let (mut now, mut seen) = (0, vec![0]);
            while seen.len() < count {
                now += tick;
                shown.turn(now);
                if seen.last() != Some(&shown.at) {
                    seen.push(shown.at);
                }
            }
            assert_eq!(
                seen,
                (0..count).collect::<Vec<_>>(),
                "{count} codes, {tick} ms"
            );
            // A clock that is set back holds none of them for long.
            let before = shown.at;
            shown.turn(now - 3_600_000);
            assert_eq!(shown.at, (before + 1) % count);
            shown.turn(now - 3_600_000 + EACH_MS);
            assert_eq!(shown.at, (before + 2) % count);
        }
    }

    #[test]
    fn a_code_that_stays_is_read_once_and_one_that_comes_back_again() {
        // However long it stays; then after a look away, another one, and the first one again.
        let stays = (0..50).map(|n| ("one", 10_000 + n * 200));
        let away = 10_000 + 49 * 200 + OUT_OF_SIGHT_MS;
        let after = [("one", away), ("two", away + 1), ("one", away + 2)];
        let mut sight = InSight::default();
        let taken: Vec<i64> = stays
            .chain(after)
            .filter(|(text, at_ms)| !sight.stays(text, *at_ms))
            .map(|(_, at_ms)| at_ms)
            .collect();
        assert_eq!(taken, [10_000, away, away + 1, away + 2]);
        sight.forget();
        assert!(!sight.stays("one", away + 3));
        // A clock that is set back hides none of them.
        assert!(!sight.stays("one", away - 3_600_000));
    }
}
