//! What a verdict says.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::dates::Window;
use crate::ids::CategoryId;
use crate::interval::{Contradiction, HeightInterval};
use crate::reason::{Flag, Reason};

/// What came of it today.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// The category for today.
    Category(CategoryId),
    /// The rules don't let this dog be measured now.
    Refused,
    /// More placings or readings are needed.
    NotYet,
    /// Broken off; it counts as an attempt.
    NotToday,
}

/// What the category for today is worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    /// For this event only.
    ThisEventOnly,
    /// Good until that day, included.
    ProvisionalUntil(NaiveDate),
    /// For good.
    Definitive,
    /// The body decides.
    Referred,
}

/// Which measure it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum WhichMeasure {
    /// The first.
    First,
    /// The second.
    Second,
    /// The third or a later one, counted from 1.
    Further(u32),
    /// Measuring again by a panel.
    Panel,
    /// For this event only.
    ThisEvent,
}

impl WhichMeasure {
    /// After so many that count.
    pub(crate) fn after(earlier: usize) -> Self {
        match earlier {
            0 => WhichMeasure::First,
            1 => WhichMeasure::Second,
            n => WhichMeasure::Further(u32::try_from(n + 1).unwrap_or(u32::MAX)),
        }
    }
}

/// The verdict on one dog on one day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Verdict {
    /// What came of it.
    pub outcome: Outcome,
    /// What is known of the height from today; none where it contradicts itself.
    pub interval: Option<HeightInterval>,
    /// What contradicts what.
    pub contradiction: Option<Contradiction>,
    /// Mixed valid placings on one hoop, or a reading in a border zone of the pack.
    pub near_limit: bool,
    /// What the category is worth; none without a category.
    pub status: Option<Status>,
    /// Which measure this is.
    pub measure: WhichMeasure,
    /// To be pointed out on the return.
    pub flags: Vec<Flag>,
    /// Why it is so, in the order in which it follows.
    pub reasons: Vec<Reason>,
    /// When the second measure is due.
    pub second_window: Option<Window>,
    /// Categories the dog may also run in.
    pub may_also_run_in: Vec<CategoryId>,
    /// What to tell the handler, in order.
    pub tell_handler: Vec<Reason>,
}

impl Verdict {
    /// The category for today, if there is one.
    pub fn category(&self) -> Option<&CategoryId> {
        match &self.outcome {
            Outcome::Category(id) => Some(id),
            _ => None,
        }
    }
}
