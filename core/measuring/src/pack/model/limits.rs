//! Categories, gauges and the zones near a limit.

use serde::{Deserialize, Serialize};

use super::people::{Response, flagged};
use crate::dates::Span;
use crate::ids::{CategoryId, GaugeId, ProcedureId};
use crate::length::Length;
use crate::pack::read::{table, words};

/// Which side a dog exactly at a limit falls.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum AtLimit {
    /// It stays in the lower category: the category is h ≤ limit.
    #[default]
    Stays,
    /// It goes up: the category is h < limit.
    GoesUp,
}

words!(AtLimit { "stays" Stays, "goes-up" GoesUp });

/// What holds for all categories.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// Which side a dog exactly at a limit falls.
    #[serde(default)]
    pub at_limit: AtLimit,
}

table!(Limits { at_limit = AtLimit::default() });

/// A height category.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Category {
    /// Its id.
    pub id: CategoryId,
    /// The name shown.
    pub label: String,
    /// Its upper limit; the highest category has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub up_to: Option<Length>,
    /// Which side of `up_to` a dog exactly there falls, where it differs from `limits.at_limit`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_limit: Option<AtLimit>,
    /// Other categories such a dog may also run in.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub may_also_run_in: Vec<CategoryId>,
    /// Whether such a dog must be measured to run.
    #[serde(default = "yes")]
    pub must_be_measured: bool,
    /// How many equal measures settle this category, where it differs from `measures.needed`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measures_needed: Option<u32>,
    /// Fewer measures that settle it if the handler asks for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measures_on_request: Option<u32>,
    /// Such a dog may be placed in it by eye, unmeasured.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub by_eye: bool,
    /// Measurers that must be at the table for this category, where it is more than usual.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measurers_needed: Option<u32>,
}

table!(Category {
    id,
    label,
    up_to = None,
    at_limit = None,
    may_also_run_in = Vec::new(),
    must_be_measured = yes(),
    measures_needed = None,
    measures_on_request = None,
    by_eye = false,
    measurers_needed = None,
});

pub(super) fn yes() -> bool {
    true
}

/// What sort of gauge it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum GaugeKind {
    /// A hoop of fixed inside height: flat or not.
    Hoop,
    /// A stick or wicket with a scale: readings.
    Scale,
}

words!(GaugeKind { "hoop" Hoop, "scale" Scale });

/// A gauge of the rules (not one serial number).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Gauge {
    /// Its id.
    pub id: GaugeId,
    /// The name shown.
    pub label: String,
    /// Hoop or scale.
    pub kind: GaugeKind,
    /// A hoop's nominal inside height.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
    /// How far a checked hoop may be off its nominal height, or a scale off the true length.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<Length>,
    /// How often it must be checked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub check_every: Option<Span>,
    /// What an overdue check means.
    #[serde(default = "flagged")]
    pub check_overdue: Response,
}

table!(Gauge {
    id,
    label,
    kind,
    height = None,
    tolerance = None,
    check_every = None,
    check_overdue = flagged(),
});

/// Which height of a hoop makes the interval that is recorded. The category always comes from the
/// nominal height: the rules name the hoop.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum IntervalFrom {
    /// The nominal height.
    #[default]
    Nominal,
    /// The height found at the last check, where the session knows it.
    LastCheck,
}

words!(IntervalFrom { "nominal" Nominal, "last-check" LastCheck });

/// What a hoop says that comes down flat while touching the dog.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Touching {
    /// Flat is flat: h ≤ hoop.
    Within,
    /// Only flat and clear of the dog is 'flat': h < hoop. Touching counts as not flat.
    Over,
}

words!(Touching { "within" Within, "over" Over });

/// How hoops are read.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Hoops {
    /// Which height makes the interval.
    #[serde(default)]
    pub interval_from: IntervalFrom,
    /// What touching means; must be stated where a limit goes up and hoops decide.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub touching: Option<Touching>,
}

table!(Hoops { interval_from = IntervalFrom::default(), touching = None });

/// A zone near a limit with rules of its own.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Border {
    /// The category whose upper limit it lies about; none named: every limit.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub limits: Vec<CategoryId>,
    /// How far below the limit it reaches, that end included.
    pub below: Length,
    /// How far above the limit it reaches, that end included.
    pub above: Length,
    /// Another procedure for a dog known from an earlier measure to lie in it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub procedure: Option<ProcedureId>,
    /// How many equal measures settle a category there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measures_needed: Option<u32>,
    /// How many measurers must be at the table.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measurers_needed: Option<u32>,
    /// What `procedure` finds settles the category at once, whatever was found earlier.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub settles: bool,
}

table!(Border {
    limits = Vec::new(),
    below,
    above,
    procedure = None,
    measures_needed = None,
    measurers_needed = None,
    settles = false,
});
