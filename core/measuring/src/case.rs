//! One dog at the table: everything that a verdict rests on.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::ids::{CategoryId, GaugeId, MeasurerId};
use crate::interval::HeightInterval;
use crate::length::Length;
use crate::verdict::Status;

/// One dog at the table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Case {
    /// The session's day, in its own time zone.
    pub today: NaiveDate,
    /// The dog's date of birth, if known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub born: Option<NaiveDate>,
    /// How the dog was identified.
    #[serde(default)]
    pub identity: Identified,
    /// What it was brought for.
    #[serde(default)]
    pub purpose: Purpose,
    /// The handler asks for what the pack grants on request.
    #[serde(default)]
    pub on_request: bool,
    /// Earlier measures, from the record book and the office, in any order.
    #[serde(default)]
    pub earlier: Vec<EarlierMeasure>,
    /// The days of earlier attempts broken off ('not today').
    #[serde(default)]
    pub attempts: Vec<NaiveDate>,
    /// What was placed and read before: at another table, on another day, before a 'not today'.
    /// Shown with the verdict, never judged by.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub seen_before: Vec<SeenBefore>,
    /// The measurers at the table for this dog.
    #[serde(default)]
    pub measurers: Vec<MeasurerHere>,
    /// The gauges at hand, with their last checks. A gauge left out has no check on record.
    #[serde(default)]
    pub gauges: Vec<GaugeHere>,
    /// Placings and readings in the order in which they were made.
    #[serde(default)]
    pub seen: Vec<Seen>,
    /// Measurers who work together but are not satisfied with what the placings give.
    #[serde(default)]
    pub dissent: Vec<Dissent>,
    /// The category the dog was placed in by eye, unmeasured, where the pack allows that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by_eye: Option<CategoryId>,
    /// Broken off: 'not today', with the reason.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stopped: Option<String>,
}

impl Case {
    /// A dog of which nothing is known yet, its chip read.
    pub fn new(today: NaiveDate) -> Self {
        Case {
            today,
            born: None,
            identity: Identified::Chip,
            purpose: Purpose::Measure,
            on_request: false,
            earlier: Vec::new(),
            attempts: Vec::new(),
            seen_before: Vec::new(),
            measurers: Vec::new(),
            gauges: Vec::new(),
            seen: Vec::new(),
            dissent: Vec::new(),
            by_eye: None,
            stopped: None,
        }
    }
}

/// How the dog was identified.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Identified {
    /// By its chip.
    #[default]
    Chip,
    /// By something else, such as `tattoo`.
    Otherwise(String),
    /// Not at all.
    Not,
}

/// What the dog was brought for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Purpose {
    /// The measure that is due.
    #[default]
    Measure,
    /// Measuring again by a panel.
    Remeasure,
    /// A measure for this event only.
    ThisEvent,
}

/// An earlier measure.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct EarlierMeasure {
    /// Its day.
    pub on: NaiveDate,
    /// The category found.
    pub category: CategoryId,
    /// What was known of the height, where it was written down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<HeightInterval>,
    /// Who measured.
    #[serde(default)]
    pub by: Vec<MeasurerId>,
    /// Its status, where it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub status: Option<Status>,
    /// Made for one event only: it counts for nothing later.
    #[serde(default)]
    pub for_event: bool,
    /// Made by a panel on remeasuring.
    #[serde(default)]
    pub by_panel: bool,
}

/// What was placed and read of this dog at one time before.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct SeenBefore {
    /// The day.
    pub on: NaiveDate,
    /// Placings and readings in the order in which they were made.
    pub seen: Vec<Seen>,
}

/// A measurer who is not satisfied with what the placings give.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Dissent {
    /// Who.
    pub by: MeasurerId,
    /// The category they hold to be right, if they name one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub category: Option<CategoryId>,
}

/// A measurer at the table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct MeasurerHere {
    /// Who.
    pub id: MeasurerId,
    /// Of the leading grade, where the pack knows one.
    #[serde(default)]
    pub leading: bool,
    /// Their ties to this dog.
    #[serde(default)]
    pub ties: Vec<Tie>,
}

impl MeasurerHere {
    /// A measurer without any tie to the dog.
    pub fn new(id: impl Into<MeasurerId>) -> Self {
        MeasurerHere {
            id: id.into(),
            leading: false,
            ties: Vec::new(),
        }
    }
}

/// A measurer's tie to the dog.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Tie {
    /// It is their own.
    OwnDog,
    /// It lives in their household.
    Household,
    /// They bred it.
    Bred,
    /// They train it or its handler.
    Trains,
    /// The same club or federation as the handler's.
    SameClub,
}

/// A gauge at the table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct GaugeHere {
    /// Which gauge of the pack.
    pub gauge: GaugeId,
    /// The day of its last check.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub checked: Option<NaiveDate>,
    /// The height found then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
}

/// Something seen at the table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Seen {
    /// A placing of a hoop.
    Placing(Placing),
    /// A reading of a scale.
    Reading(Reading),
}

impl Seen {
    /// Who made it.
    pub fn by(&self) -> &MeasurerId {
        match self {
            Seen::Placing(p) => &p.by,
            Seen::Reading(r) => &r.by,
        }
    }
}

/// One lowering of a hoop.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Placing {
    /// Which hoop.
    pub gauge: GaugeId,
    /// What was seen.
    pub result: PlacingResult,
    /// Who placed it.
    pub by: MeasurerId,
    /// When, in milliseconds since 1970 UTC. Kept, never judged by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<i64>,
}

/// What was seen of a hoop's base.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Base {
    /// Flat on the surface.
    Flat,
    /// Not flat.
    NotFlat,
    /// Nobody could say.
    NotSeen,
}

/// What a placing gave.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum PlacingResult {
    /// Base flat.
    Flat,
    /// Base not flat: it rests on the dog, rocks or see-saws.
    NotFlat,
    /// It counts for nothing; what was seen is kept all the same.
    Void {
        /// What was seen.
        seen: Base,
        /// Why it counts for nothing.
        reason: VoidReason,
    },
}

/// Why a placing or reading counts for nothing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum VoidReason {
    /// The dog moved.
    Moved,
    /// It did not stand square.
    Stance,
    /// The gauge was pressed, slipped or lay elsewhere than on the highest point.
    Gauge,
    /// It was entered by mistake.
    Mistaken,
    /// Something else, in words.
    Other(String),
}

/// One reading of a scale.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Which scale.
    pub gauge: GaugeId,
    /// What it showed, as read; the pack's rounding is applied later.
    pub value: Length,
    /// Who read it.
    pub by: MeasurerId,
    /// Why it counts for nothing, if it does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub void: Option<VoidReason>,
    /// When, in milliseconds since 1970 UTC. Kept, never judged by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<i64>,
}
