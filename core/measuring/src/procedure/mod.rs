//! From what was seen at the table to a category: one procedure, a chain of them, several measurers.

mod hoops;
mod readings;
mod table;

pub(crate) use table::{Table, TableResult, at_table};

use crate::case::{Case, Seen};
use crate::ids::{GaugeId, MeasurerId, ProcedureId};
use crate::interval::{Contradiction, HeightInterval};
use crate::length::Length;
use crate::pack::{Procedure, Reposition, RulePack};
use crate::reason::Reason;

/// What one observer (or all together) found so far.
#[derive(Clone, Debug)]
pub(crate) struct Sight {
    pub found: Found,
    /// What to record of the height.
    pub known: HeightInterval,
    pub contradiction: Option<Contradiction>,
    /// Mixed valid placings on one hoop, those after it was settled included.
    pub near_limit: bool,
    /// Valid placings on one hoop were mixed before it was settled: a doubt.
    pub doubtful: bool,
    /// Gauges other than the proposed one that may be used now.
    pub others: Vec<GaugeId>,
    pub reasons: Vec<Reason>,
    pub flags: Vec<Reason>,
    /// The procedure that the dog is in.
    pub procedure: ProcedureId,
}

/// How far it got.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Found {
    /// One more placing or reading is needed.
    Open(Step),
    /// The category's index.
    Decided(usize),
    /// No result, with the categories left and why.
    Stuck { left: Vec<usize>, why: Reason },
}

/// The next placing or reading.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Step {
    Place {
        gauge: GaugeId,
        valid_so_far: u32,
        needed: u32,
        reposition_first: bool,
    },
    Read {
        gauge: GaugeId,
        by: Option<MeasurerId>,
        valid_so_far: u32,
        needed: u32,
        step: Length,
        reposition_first: bool,
    },
}

/// Follows a procedure, and those it goes on to in doubt, over what one observer saw.
pub(crate) fn look(pack: &RulePack, case: &Case, start: &ProcedureId, seen: &[&Seen]) -> Sight {
    let Some(mut procedure) = pack.procedure(start) else {
        // A checked pack names only procedures it has.
        return nothing(start);
    };
    let mut sight = look_once(pack, case, procedure, seen);
    // A checked chain holds each kind of procedure once, so two rounds suffice.
    while let Some(next) = procedure
        .in_doubt
        .as_ref()
        .and_then(|id| pack.procedure(id))
    {
        let doubt = match sight.found {
            Found::Open(_) => false,
            Found::Stuck { .. } => true,
            Found::Decided(_) => sight.doubtful,
        };
        if !doubt {
            break;
        }
        let mut reasons = std::mem::take(&mut sight.reasons);
        if let Found::Stuck { why, .. } = &sight.found {
            reasons.push(why.clone());
        }
        reasons.push(
            Reason::new(
                "doubt-goes-on",
                format!("procedure[{}].in_doubt", procedure.id),
            )
            .with("text", next.id.to_string()),
        );
        let mut flags = std::mem::take(&mut sight.flags);
        let near_limit = sight.near_limit;
        sight = look_once(pack, case, next, seen);
        reasons.append(&mut sight.reasons);
        flags.append(&mut sight.flags);
        (sight.reasons, sight.flags) = (reasons, flags);
        sight.near_limit |= near_limit;
        procedure = next;
    }
    sight
}

fn look_once(pack: &RulePack, case: &Case, procedure: &Procedure, seen: &[&Seen]) -> Sight {
    match (&procedure.placings, &procedure.readings) {
        (Some(rules), _) => hoops::look(pack, case, procedure, rules, seen),
        (_, Some(rules)) => readings::look(pack, case, procedure, rules, seen),
        (None, None) => nothing(&procedure.id),
    }
}

fn nothing(procedure: &ProcedureId) -> Sight {
    Sight {
        found: Found::Stuck {
            left: Vec::new(),
            why: Reason::new("readings-undecided", format!("procedure[{procedure}]"))
                .with("count", 0),
        },
        known: HeightInterval::UNKNOWN,
        contradiction: None,
        near_limit: false,
        doubtful: false,
        others: Vec::new(),
        reasons: Vec::new(),
        flags: Vec::new(),
        procedure: procedure.clone(),
    }
}

/// Whether the dog is repositioned before the next one, after so many in all.
fn reposition(procedure: &Procedure, so_far: u32) -> bool {
    match &procedure.reposition {
        Reposition::AfterEach => so_far > 0,
        Reposition::Never => false,
        Reposition::After(numbers) => numbers.contains(&so_far),
    }
}

/// As a count shown to people; no case holds four thousand million placings.
fn count(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}
