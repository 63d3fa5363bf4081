//! Several measurers at one table: the same placings, or each their own.

use super::{Found, Sight, Step, look};
use crate::case::{Case, Purpose, Seen};
use crate::ids::{MeasurerId, ProcedureId};
use crate::interval::{Contradiction, HeightInterval};
use crate::order::{sort, sort_by_key};
use crate::pack::{AfterDisagreement, RulePack};
use crate::reason::Reason;

/// How the table stands.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    pub result: TableResult,
    /// What to record of the height.
    pub known: HeightInterval,
    pub contradiction: Option<Contradiction>,
    /// Each observer's view; one without a name where all work together.
    pub sights: Vec<(Option<MeasurerId>, Sight)>,
    pub flags: Vec<Reason>,
}

#[derive(Clone, Debug)]
pub(crate) enum TableResult {
    /// Somebody must place or read; whose turn, and which observer's view it comes from.
    Open { observer: usize, step: Step },
    /// The measurers differ and the pack asks for one more.
    OneMore { among: Vec<usize> },
    /// All found the same category, or enough did.
    Agreed(usize),
    /// They found these categories.
    Differ(Vec<usize>),
    /// No result.
    Stuck { left: Vec<usize>, why: Reason },
}

/// Puts together what the measurers found. `independent` and `needed` come from the pack, or from
/// its panel.
pub(crate) fn at_table(
    pack: &RulePack,
    case: &Case,
    procedure: &ProcedureId,
    independent: bool,
    needed: usize,
) -> Table {
    if !independent {
        let all: Vec<&Seen> = case.seen.iter().collect();
        let sight = look(pack, case, procedure, &all);
        let result = match sight.found.clone() {
            Found::Open(step) => TableResult::Open { observer: 0, step },
            Found::Decided(c) => TableResult::Agreed(c),
            Found::Stuck { left, why } => TableResult::Stuck { left, why },
        };
        return Table {
            result,
            known: sight.known,
            contradiction: sight.contradiction,
            sights: vec![(None, sight)],
            flags: Vec::new(),
        };
    }

    let mut flags = Vec::new();
    let mut strangers: Vec<&MeasurerId> = case
        .seen
        .iter()
        .map(Seen::by)
        .filter(|by| !case.measurers.iter().any(|m| m.id == **by))
        .collect();
    sort(&mut strangers);
    strangers.dedup();
    for by in strangers {
        let flag = Reason::new("unknown-measurer", "measurers.needed");
        flags.push(flag.with("measurer", by.clone()));
    }
    let mut sights: Vec<(Option<MeasurerId>, Sight)> = observers(case, needed)
        .into_iter()
        .map(|id| {
            let own: Vec<&Seen> = case.seen.iter().filter(|s| s.by() == id).collect();
            (Some(id.clone()), look(pack, case, procedure, &own))
        })
        .collect();
    if sights.is_empty() {
        // Nobody is at the table yet; the first step is known all the same.
        sights.push((None, look(pack, case, procedure, &[])));
    }
    let (known, contradiction) = merged(&sights);
    // A panel's number is its own rule.
    let one_more = pack.doc().disagreement.then == AfterDisagreement::OneMoreMeasurer
        && case.purpose != Purpose::Remeasure;
    let result = result(&sights, needed, one_more);
    Table {
        result,
        known,
        contradiction,
        sights,
        flags,
    }
}

/// Those who entered something, filled up to `needed` with those who did not, in order of their
/// ids so that the order at the table never matters to the result.
fn observers(case: &Case, needed: usize) -> Vec<&MeasurerId> {
    let entered = |id: &MeasurerId| case.seen.iter().any(|s| s.by() == id);
    let mut ids: Vec<&MeasurerId> = case.measurers.iter().map(|m| &m.id).collect();
    sort(&mut ids);
    ids.dedup();
    let (mut with, without): (Vec<_>, Vec<_>) = ids.into_iter().partition(|id| entered(id));
    let lacking = needed.saturating_sub(with.len());
    with.extend(without.into_iter().take(lacking));
    with
}

fn merged(sights: &[(Option<MeasurerId>, Sight)]) -> (HeightInterval, Option<Contradiction>) {
    let mut known = HeightInterval::UNKNOWN;
    let mut contradiction = None;
    for (_, sight) in sights {
        contradiction = contradiction.or(sight.contradiction);
        match known.merge(&sight.known) {
            Ok(both) => known = both,
            Err(c) => contradiction = contradiction.or(Some(c)),
        }
    }
    (known, contradiction)
}

fn result(sights: &[(Option<MeasurerId>, Sight)], needed: usize, one_more: bool) -> TableResult {
    // Whoever has begun goes on before the next one begins.
    let mut open: Vec<(usize, &Step)> = sights
        .iter()
        .enumerate()
        .filter_map(|(i, (_, s))| match &s.found {
            Found::Open(step) => Some((i, step)),
            _ => None,
        })
        .collect();
    sort_by_key(&mut open, |(_, step)| !step.begun());
    if let Some((observer, step)) = open.first() {
        return TableResult::Open {
            observer: *observer,
            step: (*step).clone(),
        };
    }
    let mut found = Vec::new();
    let mut left = Vec::new();
    let mut why = None;
    for (_, sight) in sights {
        match &sight.found {
            Found::Decided(c) => found.push(*c),
            Found::Stuck { left: l, why: w } => {
                left.extend(l);
                why = why.or(Some(w.clone()));
            }
            Found::Open(_) => {}
        }
    }
    if let Some(why) = why {
        left.extend(&found);
        sort(&mut left);
        left.dedup();
        return TableResult::Stuck { left, why };
    }
    sort(&mut found);
    let mut different = found.clone();
    different.dedup();
    match different[..] {
        [only] => TableResult::Agreed(only),
        _ if one_more && found.len() <= needed => TableResult::OneMore { among: found },
        _ if one_more => {
            let most = different
                .iter()
                .copied()
                .find(|c| found.iter().filter(|f| *f == c).count() * 2 > found.len());
            most.map_or(TableResult::Differ(found), TableResult::Agreed)
        }
        _ => TableResult::Differ(found),
    }
}

impl Step {
    fn begun(&self) -> bool {
        match self {
            Step::Place { valid_so_far, .. } | Step::Read { valid_so_far, .. } => *valid_so_far > 0,
        }
    }
}
