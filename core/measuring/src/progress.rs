//! What to do next at the table.

use serde::{Deserialize, Serialize};

use crate::case::Case;
use crate::ids::{CategoryId, GaugeId, MeasurerId};
use crate::interval::HeightInterval;
use crate::judge::{admit, id, table};
use crate::length::Length;
use crate::order::sort;
use crate::pack::RulePack;
use crate::procedure::{Found, Sight, Step, TableResult};
use crate::reason::Reason;

/// What to do next at the table, and what is known so far.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Progress {
    /// The next thing to do.
    pub next: Next,
    /// Gauges other than the one proposed that may be used now.
    pub other_gauges: Vec<GaugeId>,
    /// What is known of the height so far.
    pub interval: HeightInterval,
    /// Mixed valid placings on one hoop.
    pub near_limit: bool,
}

/// The next thing to do at the table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Next {
    /// Place a hoop.
    Place {
        /// Which.
        gauge: GaugeId,
        /// Whose turn it is, where each makes their own.
        by: Option<MeasurerId>,
        /// Valid placings of this hoop so far.
        valid_so_far: u32,
        /// Valid placings of it that are needed at most.
        needed: u32,
        /// The dog is repositioned first.
        reposition_first: bool,
    },
    /// Read a scale.
    Read {
        /// Which.
        gauge: GaugeId,
        /// Whose turn it is, where it matters.
        by: Option<MeasurerId>,
        /// Valid readings so far.
        valid_so_far: u32,
        /// Valid readings needed.
        needed: u32,
        /// The step that is written down.
        step: Length,
        /// The dog is repositioned first.
        reposition_first: bool,
    },
    /// The measurers differ and one more is needed at the table.
    OneMoreMeasurer {
        /// The categories found.
        found: Vec<CategoryId>,
    },
    /// The measurers differ and that stands; the verdict says what follows.
    Differ {
        /// The categories found.
        found: Vec<CategoryId>,
    },
    /// A category is found.
    Decided(CategoryId),
    /// No result can come of it; the verdict says what follows.
    Impasse(Reason),
    /// The rules don't let this dog be measured now.
    Refused(Vec<Reason>),
}

/// What to do next for this dog. What was seen is looked at even of a dog that is refused, so
/// that nothing recorded is ever overlooked; [`crate::judge()`] has it all.
pub fn progress(pack: &RulePack, case: &Case) -> Progress {
    let admitted = admit(pack, case);
    let table = table(pack, case, &admitted.earlier);
    let mut other_gauges = Vec::new();
    let ids = |found: &[usize]| {
        let mut found: Vec<usize> = found.to_vec();
        sort(&mut found);
        found.dedup();
        found.into_iter().map(|c| id(pack, c)).collect()
    };
    let by_eye = case.by_eye.as_ref().filter(|_| case.seen.is_empty());
    let next = match &table.result {
        _ if !admitted.refusals.is_empty() => Next::Refused(admitted.refusals),
        _ if by_eye.is_some() => Next::Decided(by_eye.cloned().unwrap_or_default()),
        TableResult::Agreed(c) => Next::Decided(id(pack, *c)),
        TableResult::Differ(found) => Next::Differ { found: ids(found) },
        TableResult::OneMore { among } => Next::OneMoreMeasurer { found: ids(among) },
        TableResult::Stuck { why, .. } => {
            let stuck = |s: &&(_, Sight)| matches!(s.1.found, Found::Stuck { .. });
            let stuck = table.sights.iter().find(stuck);
            other_gauges = stuck.map_or_else(Vec::new, |(_, s)| s.others.clone());
            Next::Impasse(why.clone())
        }
        TableResult::Open { observer, step } => {
            let (who, sight) = &table.sights[*observer];
            other_gauges = sight.others.clone();
            match step.clone() {
                Step::Place {
                    gauge,
                    valid_so_far,
                    needed,
                    reposition_first,
                } => Next::Place {
                    gauge,
                    by: who.clone(),
                    valid_so_far,
                    needed,
                    reposition_first,
                },
                Step::Read {
                    gauge,
                    by,
                    valid_so_far,
                    needed,
                    step,
                    reposition_first,
                } => Next::Read {
                    gauge,
                    by: who.clone().or(by),
                    valid_so_far,
                    needed,
                    step,
                    reposition_first,
                },
            }
        }
    };
    Progress {
        next,
        other_gauges,
        interval: table.known,
        near_limit: table.sights.iter().any(|(_, s)| s.near_limit),
    }
}
