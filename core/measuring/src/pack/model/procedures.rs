//! How a category is found at the table.

use crate::pack::Plain;
use serde::{Deserialize, Serialize};

use crate::ids::{GaugeId, ProcedureId};
use crate::length::Length;
use crate::pack::read::{Take, Wrong, only, table, word, words};

/// How a category is found at the table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Procedure {
    /// Its id.
    pub id: ProcedureId,
    /// The gauges it uses; none named: all of the kind it needs.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub gauges: Vec<GaugeId>,
    /// When the dog is repositioned.
    #[serde(default)]
    pub reposition: Reposition,
    /// Where to go on when this one leaves a doubt: mixed valid placings on one hoop, or an impasse.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub in_doubt: Option<ProcedureId>,
    /// What an impasse means where nothing follows.
    #[serde(default)]
    pub impasse: OnImpasse,
    /// Placings of hoops.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub placings: Option<Placings>,
    /// Readings of a scale.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub readings: Option<Readings>,
}

table!(Procedure {
    id,
    gauges = Vec::new(),
    reposition = Reposition::default(),
    in_doubt = None,
    impasse = OnImpasse::default(),
    placings = None,
    readings = None,
});

/// When the dog is repositioned between placings or readings.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Reposition {
    /// After every one that did not settle it.
    #[default]
    AfterEach,
    /// Never demanded.
    Never,
    /// After these, counted from 1.
    After(Vec<u32>),
}

impl Take for Reposition {
    fn take(value: Option<&Plain>, wrong: &mut Wrong) -> Self {
        if let Some(which) = only(value, "after") {
            return Reposition::After(Vec::take(Some(which), wrong));
        }
        match word(value, &["after-each", "never"], wrong) {
            0 => Reposition::AfterEach,
            _ => Reposition::Never,
        }
    }
}

/// What an impasse means where no procedure follows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum OnImpasse {
    /// Not measured today; counts as an attempt.
    #[default]
    NotToday,
    /// The body decides.
    Refer,
    /// The higher of the categories left.
    Higher,
    /// The lower of the categories left.
    Lower,
}

words!(OnImpasse { "not-today" NotToday, "refer" Refer, "higher" Higher, "lower" Lower });

/// Which of the placings of one hoop settle it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum FlatRule {
    /// One base flat and the dog is within; never flat in `needed` valid placings and it is over.
    OneSettles,
    /// More than half of `needed` valid placings decide.
    Majority,
}

words!(FlatRule { "one-settles" OneSettles, "majority" Majority });

/// Which hoop is proposed first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum HoopOrder {
    /// The smallest that still tells something.
    #[default]
    SmallestFirst,
    /// The largest that still tells something.
    LargestFirst,
}

words!(HoopOrder { "smallest-first" SmallestFirst, "largest-first" LargestFirst });

/// Placings of hoops.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Placings {
    /// Valid placings of one hoop, the first included.
    pub needed: u32,
    /// The most placings of one hoop, void ones included; without a result by then: impasse.
    pub maximum: u32,
    /// Which of them settle it.
    pub flat: FlatRule,
    /// Which hoop first.
    #[serde(default)]
    pub order: HoopOrder,
}

table!(Placings { needed, maximum, flat, order = HoopOrder::default() });

/// Which way a reading is rounded to the step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Rounding {
    /// Down.
    Down,
    /// Up.
    Up,
    /// To the nearest, a half up.
    Nearest,
}

words!(Rounding { "down" Down, "up" Up, "nearest" Nearest });

/// How readings become one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum ReadingRule {
    /// The exact arithmetic mean.
    Mean,
    /// The middle one; of an even number the mean of the middle two.
    Median,
    /// The one that comes most often, at least twice; where two come equally often: impasse.
    Mode,
    /// The lowest.
    Lowest,
    /// The highest.
    Highest,
}

words!(ReadingRule {
    "mean" Mean,
    "median" Median,
    "mode" Mode,
    "lowest" Lowest,
    "highest" Highest,
});

/// What is recorded of a decided reading.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum RecordAs {
    /// The reading.
    #[default]
    Reading,
    /// The step it lies in, such as 46 to 47 cm.
    Interval,
}

words!(RecordAs { "reading" Reading, "interval" Interval });

/// Readings of a scale.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Readings {
    /// Valid readings before the rule is applied.
    pub needed: u32,
    /// The most valid readings, where an impasse asks for more.
    pub maximum: u32,
    /// The most readings in all, void ones included; without a result by then: impasse.
    pub most_in_all: u32,
    /// The step of the scale as it is written down.
    pub step: Length,
    /// Which way to the step.
    pub round: Rounding,
    /// How they become one.
    pub decide: ReadingRule,
    /// Readings in different categories, too, are an impasse.
    #[serde(default)]
    pub same_category: bool,
    /// After `maximum` readings the last one alone decides, instead of an impasse.
    #[serde(default)]
    pub last_decides: bool,
    /// Stop early when this many first readings agree on a category.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stop_early: Option<StopEarly>,
    /// What is recorded.
    #[serde(default)]
    pub record_as: RecordAs,
}

table!(Readings {
    needed,
    maximum,
    most_in_all,
    step,
    round,
    decide,
    same_category = false,
    last_decides = false,
    stop_early = None,
    record_as = RecordAs::default(),
});

/// When readings may stop early.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct StopEarly {
    /// After this many valid readings.
    pub after: u32,
    /// If every one of them is further than this from every limit.
    pub clear_by: Length,
}

table!(StopEarly { after, clear_by });
