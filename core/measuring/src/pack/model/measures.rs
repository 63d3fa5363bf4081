//! How many measures, at which ages, and what becomes of differing ones.

use serde::{Deserialize, Serialize};

use super::people::{Response, flagged, refused};
use crate::dates::Span;
use crate::ids::{CategoryId, ProcedureId};
use crate::pack::read::{table, words};

/// What a window counts from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum CountsFrom {
    /// The day of the first measure.
    FirstMeasure,
    /// The day of birth.
    Birth,
}

words!(CountsFrom { "first-measure" FirstMeasure, "birth" Birth });

/// When the second measure is due.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct SecondWindow {
    /// What it counts from.
    pub counts_from: CountsFrom,
    /// How long until its first day.
    pub from: Span,
    /// How long until its last day.
    pub to: Span,
    /// Before it.
    #[serde(default = "refused")]
    pub early: Response,
    /// After it.
    #[serde(default = "flagged")]
    pub late: Response,
}

table!(SecondWindow { counts_from, from, to, early = refused(), late = flagged() });

/// What becomes of measures that differ.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Differ {
    /// The body decides.
    #[default]
    Refer,
    /// A further measure decides: the category that comes more often.
    FurtherDecides,
    /// The lower counts.
    LowerCounts,
    /// The higher counts.
    HigherCounts,
    /// The latest counts.
    LatestCounts,
}

words!(Differ {
    "refer" Refer,
    "further-decides" FurtherDecides,
    "lower-counts" LowerCounts,
    "higher-counts" HigherCounts,
    "latest-counts" LatestCounts,
});

/// Which category holds for today while something is open.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Today {
    /// The lower of them.
    Lower,
    /// The higher of them.
    #[default]
    Higher,
    /// The one held before today, if any; else the higher.
    Earlier,
    /// The one found today; between measurers, the higher.
    Latest,
}

words!(Today { "lower" Lower, "higher" Higher, "earlier" Earlier, "latest" Latest });

/// What a measure is worth while more are needed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Meanwhile {
    /// Good until the window of the next measure ends (without a window: this event only).
    #[default]
    UntilWindowEnds,
    /// Good for this event only.
    EventOnly,
}

words!(Meanwhile { "until-window-ends" UntilWindowEnds, "event-only" EventOnly });

/// Whether whoever measured a dog before may measure it again.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum OtherMeasurers {
    /// They may.
    #[default]
    NotAsked,
    /// Not those of the last measure.
    NotTheLast,
    /// None of those of any earlier measure.
    NeverAgain,
}

words!(OtherMeasurers {
    "not-asked" NotAsked,
    "not-the-last" NotTheLast,
    "never-again" NeverAgain,
});

/// How many measures, when, and what becomes of differing ones.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Measures {
    /// The procedure to start with.
    pub procedure: ProcedureId,
    /// How many equal measures settle a category for good.
    pub needed: u32,
    /// When the second is due.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub window: Option<SecondWindow>,
    /// What a measure is worth until then.
    #[serde(default)]
    pub meanwhile: Meanwhile,
    /// When they differ.
    #[serde(default)]
    pub differ: Differ,
    /// Which category holds for today when they differ.
    #[serde(default)]
    pub differ_today: Today,
    /// Whether whoever measured the dog before may measure it again.
    #[serde(default)]
    pub other_measurers: OtherMeasurers,
    /// Where more than one is needed: one at least must be made at this age or later.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub one_from_age: Option<Span>,
    /// Another measure of a dog whose category is definitive.
    #[serde(default = "flagged")]
    pub after_definitive: Response,
}

table!(Measures {
    procedure,
    needed,
    window = None,
    meanwhile = Meanwhile::default(),
    differ = Differ::default(),
    differ_today = Today::default(),
    other_measurers = OtherMeasurers::default(),
    one_from_age = None,
    after_definitive = flagged(),
});

/// What a measure in an age band is worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Worth {
    /// It counts as one of the measures needed.
    Counts,
    /// It is good until the band ends and counts for nothing later.
    Provisional,
    /// It settles the category at once.
    Definitive,
    /// This event only.
    EventOnly,
}

words!(Worth {
    "counts" Counts,
    "provisional" Provisional,
    "definitive" Definitive,
    "event-only" EventOnly,
});

/// What a measure at an age is worth.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct AgeBand {
    /// The age from which it holds, that birthday included.
    pub from: Span,
    /// The age at which it ends, that day excluded; none: for life.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<Span>,
    /// What it is worth.
    pub worth: Worth,
    /// A provisional measure is good for this long from its day, instead of to the end of the band.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub good_for: Option<Span>,
    /// Categories for which the band makes no difference: such a measure counts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub except: Vec<CategoryId>,
}

table!(AgeBand { from, to = None, worth, good_for = None, except = Vec::new() });

impl AgeBand {
    /// What a measure that found this category is worth at this age.
    pub fn worth_of(&self, category: &CategoryId) -> Worth {
        if self.except.contains(category) {
            Worth::Counts
        } else {
            self.worth
        }
    }
}

/// Ages outside the bands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct AgeRules {
    /// Younger than the first band.
    #[serde(default = "refused")]
    pub too_young: Response,
    /// The date of birth is not known.
    #[serde(default = "flagged")]
    pub unknown: Response,
}

table!(AgeRules { too_young = refused(), unknown = flagged() });

impl Default for AgeRules {
    fn default() -> Self {
        AgeRules {
            too_young: Response::Refused,
            unknown: Response::Flagged,
        }
    }
}

/// Measuring again by a panel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Remeasure {
    /// How many measurers, each once.
    pub panel: u32,
    /// How many of them must find the same other category to change it.
    pub to_change: u32,
    /// The procedure each uses; none: the usual one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub procedure: Option<ProcedureId>,
    /// Not before this age.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from_age: Option<Span>,
    /// How often in a dog's life.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub times: Option<u32>,
}

table!(Remeasure { panel, to_change, procedure = None, from_age = None, times = None });

/// Measuring a dog for one event only, by its judge.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct EventMeasure {
    /// How many measurers it takes.
    pub measurers: u32,
}

table!(EventMeasure { measurers });

/// The same dog again on one day, and attempts broken off.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Again {
    /// Again on the day of an earlier measure, at this table or another.
    #[serde(default = "refused")]
    pub same_day: Response,
    /// How many attempts may be broken off ('not today').
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub attempts: Option<u32>,
    /// An attempt beyond that.
    #[serde(default = "flagged")]
    pub too_many: Response,
}

table!(Again { same_day = refused(), attempts = None, too_many = flagged() });

impl Default for Again {
    fn default() -> Self {
        Again {
            same_day: Response::Refused,
            attempts: None,
            too_many: Response::Flagged,
        }
    }
}
