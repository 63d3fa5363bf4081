//! What the body knows of how its placings scatter.

use serde::{Deserialize, Serialize};

use crate::length::Length;
use crate::pack::read::{table, words};

/// Who sees, on the phone, how sure a category is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum ShownTo {
    /// Nobody: only the office's trainer.
    #[default]
    Nobody,
    /// The measurers, once all have signed.
    Measurers,
    /// The handler as well.
    Handler,
}

words!(ShownTo { "nobody" Nobody, "measurers" Measurers, "handler" Handler });

/// What the body knows of how its placings scatter, from its own data. It never changes a
/// category: it says how sure one is ([`crate::gauge`]).
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Sureness {
    /// Standard deviation of one placing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spread: Option<Length>,
    /// By how much placings read high, on the average of all measurers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reads_high: Option<Length>,
    /// By how much they read low instead.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reads_low: Option<Length>,
    /// How much lower than its limit a hoop would be made for guarded acceptance
    /// (JCGM 106:2012, 8.3): the risks are worked out with it as well as without.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub guard_band: Option<Length>,
    /// Who sees how sure a category is, once all measurers have signed.
    #[serde(default)]
    pub shown_to: ShownTo,
    /// What heights the dogs have that come to be measured.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub heights: Vec<HeightsBand>,
}

table!(Sureness {
    spread = None,
    reads_high = None,
    reads_low = None,
    guard_band = None,
    shown_to = ShownTo::default(),
    heights = Vec::new(),
});

/// Dogs of one stretch of heights.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct HeightsBand {
    /// Lower end.
    pub from: Length,
    /// Upper end.
    pub to: Length,
    /// How many dogs.
    pub dogs: u32,
}

table!(HeightsBand { from, to, dogs });
