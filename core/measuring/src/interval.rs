//! What is known of a height: an interval whose ends may be open, closed or missing.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::length::Length;

/// One end of an interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct End {
    /// Where the end lies.
    pub at: Length,
    /// Whether the height may be exactly there.
    pub closed: bool,
}

/// What is known of a height `h`, such as 35 cm < h ≤ 43 cm. A missing end means that nothing is
/// known on that side. Never empty: whatever would be empty is a [`Contradiction`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(try_from = "RawInterval")]
pub struct HeightInterval {
    lower: Option<End>,
    upper: Option<End>,
}

#[derive(Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct RawInterval {
    lower: Option<End>,
    upper: Option<End>,
}

impl TryFrom<RawInterval> for HeightInterval {
    type Error = &'static str;

    fn try_from(raw: RawInterval) -> Result<Self, Self::Error> {
        HeightInterval::new(raw.lower, raw.upper)
            .ok_or("the interval holds no height: its lower end must lie below its upper end")
    }
}

/// Two things said of one dog which can't both be true, such as flat at 35 cm and over at 43 cm.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Contradiction {
    /// What was known before.
    pub one: HeightInterval,
    /// What was said against it.
    pub other: HeightInterval,
}

impl HeightInterval {
    /// Nothing known.
    pub const UNKNOWN: HeightInterval = HeightInterval {
        lower: None,
        upper: None,
    };

    /// An interval from its ends, or none if it would hold no height.
    pub fn new(lower: Option<End>, upper: Option<End>) -> Option<Self> {
        if let (Some(low), Some(high)) = (lower, upper)
            && (low.at > high.at || (low.at == high.at && !(low.closed && high.closed)))
        {
            return None;
        }
        Some(HeightInterval { lower, upper })
    }

    /// `h ≤ at`: the base came down flat on a hoop of that height.
    pub const fn at_most(at: Length) -> Self {
        HeightInterval {
            lower: None,
            upper: Some(End { at, closed: true }),
        }
    }

    /// `h < at`: flat and clear of the dog, where the rules ask for that.
    pub const fn below(at: Length) -> Self {
        HeightInterval {
            lower: None,
            upper: Some(End { at, closed: false }),
        }
    }

    /// `h > at`: never flat on a hoop of that height.
    pub const fn above(at: Length) -> Self {
        HeightInterval {
            lower: Some(End { at, closed: false }),
            upper: None,
        }
    }

    /// `h ≥ at`.
    pub const fn at_least(at: Length) -> Self {
        HeightInterval {
            lower: Some(End { at, closed: true }),
            upper: None,
        }
    }

    /// Exactly `at`: a reading.
    pub const fn exactly(at: Length) -> Self {
        let end = Some(End { at, closed: true });
        HeightInterval {
            lower: end,
            upper: end,
        }
    }

    /// The lower end, if anything is known on that side.
    pub const fn lower(&self) -> Option<End> {
        self.lower
    }

    /// The upper end, if anything is known on that side.
    pub const fn upper(&self) -> Option<End> {
        self.upper
    }

    /// Whether a dog of exactly this height fits what is known.
    pub fn contains(&self, h: Length) -> bool {
        let above = self
            .lower
            .is_none_or(|end| h > end.at || (end.closed && h == end.at));
        let below = self
            .upper
            .is_none_or(|end| h < end.at || (end.closed && h == end.at));
        above && below
    }

    /// What is known when both hold, or the contradiction named.
    pub fn merge(&self, other: &HeightInterval) -> Result<HeightInterval, Contradiction> {
        // Of two lower ends the higher one says more; at the same place the open one does.
        let lower = tighter(self.lower, other.lower, |a, b| a > b);
        let upper = tighter(self.upper, other.upper, |a, b| a < b);
        HeightInterval::new(lower, upper).ok_or(Contradiction {
            one: *self,
            other: *other,
        })
    }

    /// Whether some height fits both.
    pub fn meets(&self, other: &HeightInterval) -> bool {
        self.merge(other).is_ok()
    }

    /// Whether every height that fits this one fits the other too.
    pub fn is_within(&self, other: &HeightInterval) -> bool {
        self.merge(other) == Ok(*self)
    }
}

fn tighter(
    a: Option<End>,
    b: Option<End>,
    says_more: impl Fn(Length, Length) -> bool,
) -> Option<End> {
    match (a, b) {
        (Some(a), Some(b)) if a.at == b.at => Some(End {
            at: a.at,
            closed: a.closed && b.closed,
        }),
        (Some(a), Some(b)) => Some(if says_more(a.at, b.at) { a } else { b }),
        (a, b) => a.or(b),
    }
}

impl fmt::Display for HeightInterval {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.lower, self.upper) {
            (None, None) => f.write_str("height unknown"),
            (Some(low), Some(high)) if low == high => write!(f, "h = {}", low.at),
            (Some(low), Some(high)) => {
                let (l, u) = (sign(low.closed), sign(high.closed));
                write!(f, "{} {l} h {u} {}", low.at.in_mm(), high.at)
            }
            (Some(low), None) => {
                write!(f, "h {} {}", if low.closed { "≥" } else { ">" }, low.at)
            }
            (None, Some(high)) => write!(f, "h {} {}", sign(high.closed), high.at),
        }
    }
}

fn sign(closed: bool) -> &'static str {
    if closed { "≤" } else { "<" }
}

#[cfg(test)]
mod tests {
    use super::*;

    const L35: Length = Length::from_mm(350);
    const L43: Length = Length::from_mm(430);

    #[test]
    fn two_hoops_narrow_to_an_interval() {
        let known = HeightInterval::above(L35)
            .merge(&HeightInterval::at_most(L43))
            .unwrap();
        assert_eq!(known.to_string(), "350 < h ≤ 430 mm");
        for (mm, fits) in [(350, false), (351, true), (430, true), (431, false)] {
            assert_eq!(known.contains(Length::from_mm(mm)), fits, "{mm}");
        }
        assert!(known.is_within(&HeightInterval::above(L35)));
        assert!(!HeightInterval::above(L35).is_within(&known));
    }

    #[test]
    fn flat_at_35_and_over_at_43_contradict() {
        let (a, b) = (HeightInterval::at_most(L35), HeightInterval::above(L43));
        assert_eq!(a.merge(&b), Err(Contradiction { one: a, other: b }));
        // At one place only both ends closed leave a height.
        assert!(HeightInterval::at_most(L35).meets(&HeightInterval::at_least(L35)));
        assert!(!HeightInterval::at_most(L35).meets(&HeightInterval::above(L35)));
        assert!(!HeightInterval::below(L35).meets(&HeightInterval::at_least(L35)));
    }

    #[test]
    fn the_open_end_says_more_at_the_same_place() {
        let both = HeightInterval::at_most(L35).merge(&HeightInterval::below(L35));
        assert_eq!(both, Ok(HeightInterval::below(L35)));
        assert!(HeightInterval::below(L35).is_within(&HeightInterval::at_most(L35)));
        assert!(!HeightInterval::at_most(L35).is_within(&HeightInterval::below(L35)));
    }

    #[test]
    fn an_end_belongs_to_its_interval_if_it_is_closed() {
        let (under, over) = (Length::from_mm(349), Length::from_mm(351));
        for (interval, below, at, above) in [
            (HeightInterval::at_least(L35), false, true, true),
            (HeightInterval::above(L35), false, false, true),
            (HeightInterval::at_most(L35), true, true, false),
            (HeightInterval::below(L35), true, false, false),
            (HeightInterval::exactly(L35), false, true, false),
            (HeightInterval::UNKNOWN, true, true, true),
        ] {
            let found = [under, L35, over].map(|h| interval.contains(h));
            assert_eq!(found, [below, at, above], "{interval}");
        }
    }

    #[test]
    fn shown_as_people_write_it() {
        assert_eq!(HeightInterval::UNKNOWN.to_string(), "height unknown");
        assert_eq!(HeightInterval::exactly(L35).to_string(), "h = 350 mm");
        assert_eq!(HeightInterval::at_least(L35).to_string(), "h ≥ 350 mm");
        assert_eq!(HeightInterval::above(L35).to_string(), "h > 350 mm");
        assert_eq!(HeightInterval::below(L35).to_string(), "h < 350 mm");
        assert_eq!(HeightInterval::at_most(L35).to_string(), "h ≤ 350 mm");
    }

    #[test]
    fn an_empty_interval_is_not_read() {
        let text =
            r#"{"lower":{"at":"430 mm","closed":true},"upper":{"at":"350 mm","closed":true}}"#;
        assert!(serde_json::from_str::<HeightInterval>(text).is_err());
        let known = HeightInterval::exactly(L35);
        let text = serde_json::to_string(&known).unwrap();
        assert_eq!(
            serde_json::from_str::<HeightInterval>(&text).unwrap(),
            known
        );
    }
}
