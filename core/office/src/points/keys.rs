//! What a key that was reported leaves in doubt.

use chrono::DateTime;
use standsquare_journal::record::notice::{Standing, Why};

use super::{Measure, Point};
use crate::keys::Said;

/// A signature under a measure, as far as its key is concerned.
#[derive(Clone, Debug)]
pub struct Signer {
    /// Who: id in the roster.
    pub person: String,
    /// Their measurer's number.
    pub number: String,
    /// The key that they signed with, as far as it is known.
    pub key: Option<[u8; 32]>,
    /// It came from their own phone: the journal that it is in never made the key.
    pub elsewhere: bool,
    /// When, by the phone's clock, Unix milliseconds.
    pub signed_ms: i64,
    /// When it came in, by the office's clock; `None` where that does not matter.
    pub received_ms: Option<i64>,
}

/// The points of one measure that come of what was said of its keys.
pub(super) fn points_of_keys(measure: &Measure, said: &Said) -> Vec<Point> {
    let mut points = Vec::new();
    for signer in &measure.signers {
        let Some(key) = &signer.key else { continue };
        let against = said.against(&signer.person, key, signer.signed_ms, signer.elsewhere);
        let point = match against {
            Some(Standing::Unknown) => Some(("key-unknown", String::new())),
            Some(Standing::NotTheirs) => Some(("key-not-theirs", String::new())),
            Some(Standing::Revoked { from_ms, why }) => Some(("key-revoked", since(why, from_ms))),
            Some(Standing::Over { until_ms }) => {
                Some(("key-over", format!(", until {}", day(until_ms))))
            }
            Some(Standing::NotYet { from_ms }) => {
                Some(("key-not-yet", format!(", from {}", day(from_ms))))
            }
            Some(Standing::Good | Standing::RevokedLater { .. }) | None => {
                came_later(signer, said.revoked.get(key).copied())
            }
        };
        if let Some((kind, detail)) = point {
            points.push(Point {
                kind: kind.into(),
                detail: format!("{}{detail}", signer.number),
            });
        }
    }
    let (phone, _) = &measure.journal;
    if let Some((from_ms, why)) = said.revoked.get(phone)
        && measure.stated_ms >= *from_ms
    {
        points.push(Point {
            kind: "phone-revoked".into(),
            detail: since(*why, *from_ms).trim_start_matches(", ").into(),
        });
    }
    points
}

/// Signed before the key was lost, by a clock that whoever has the phone may set, and come
/// in after it: told, so that somebody asks the measurer.
fn came_later(signer: &Signer, revoked: Option<(i64, Why)>) -> Option<(&'static str, String)> {
    let (from_ms, why) = revoked?;
    let doubtful = matches!(why, Why::Lost | Why::Exposed);
    (doubtful && signer.received_ms.is_some_and(|at_ms| at_ms >= from_ms))
        .then(|| ("key-lost-before-it-came", since(why, from_ms)))
}

fn since(why: Why, from_ms: i64) -> String {
    format!(", {} since {}", why.word(), day(from_ms))
}

/// A moment as a day and a time, UTC.
fn day(at_ms: i64) -> String {
    DateTime::from_timestamp_millis(at_ms)
        .map(|at| at.format("%Y-%m-%d %H:%M UTC").to_string())
        .unwrap_or_default()
}
