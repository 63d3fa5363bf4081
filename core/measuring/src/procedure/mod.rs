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
    /// The same without hoops on which valid placings were mixed.
    pub sure: HeightInterval,
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
    let mut chain: Vec<(&Procedure, Sight)> = Vec::new();
    let mut next = pack.procedure(start);
    // A checked chain holds each kind of procedure once, so it ends after two.
    while let Some(procedure) = next.filter(|_| chain.len() < 2) {
        chain.push((procedure, look_once(pack, case, procedure, seen)));
        next = procedure
            .in_doubt
            .as_ref()
            .and_then(|id| pack.procedure(id));
    }
    let last = chain.len().saturating_sub(1);
    let decides = chain
        .iter()
        .position(|(_, sight)| !sight.in_doubt())
        .unwrap_or(last);
    let Some((_, deciding)) = chain.get(decides) else {
        // A checked pack names only procedures it has.
        return nothing(start);
    };

    let mut sight = deciding.clone();
    (sight.reasons, sight.flags) = (Vec::new(), Vec::new());
    for (procedure, before) in &chain[..decides] {
        sight.near_limit |= before.near_limit;
        sight.reasons.extend(before.reasons.iter().cloned());
        sight.flags.extend(before.flags.iter().cloned());
        if let Found::Stuck { why, .. } = &before.found {
            sight.reasons.push(why.clone());
        }
        if let Some(to) = &procedure.in_doubt {
            let clause = format!("procedure[{}].in_doubt", procedure.id);
            let reason = Reason::new("doubt-goes-on", clause);
            sight.reasons.push(reason.with("text", to.to_string()));
        }
    }
    sight.reasons.extend(deciding.reasons.iter().cloned());
    sight.flags.extend(deciding.flags.iter().cloned());
    (sight.known, sight.contradiction) = known(&chain);
    sight
}

/// What a chain of procedures knows together. What one of them can't be sure of, the next one
/// decides, so that it is left out; the last one's word stands.
fn known(chain: &[(&Procedure, Sight)]) -> (HeightInterval, Option<Contradiction>) {
    let mut known = HeightInterval::UNKNOWN;
    let mut contradiction = None;
    for (i, (_, sight)) in chain.iter().enumerate() {
        contradiction = contradiction.or(sight.contradiction);
        let says = if i + 1 < chain.len() {
            &sight.sure
        } else {
            &sight.known
        };
        match known.merge(says) {
            Ok(both) => known = both,
            Err(c) => contradiction = contradiction.or(Some(c)),
        }
    }
    (known, contradiction)
}

impl Sight {
    /// Whether a procedure that goes on in doubt goes on.
    fn in_doubt(&self) -> bool {
        match self.found {
            Found::Open(_) => false,
            Found::Stuck { .. } => true,
            Found::Decided(_) => self.doubtful,
        }
    }
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
        sure: HeightInterval::UNKNOWN,
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
