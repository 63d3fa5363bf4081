//! What was placed and read of a dog before, for the measurers to see: it is never judged by.

use crate::case::{Case, PlacingResult, Seen, SeenBefore};
use crate::ids::GaugeId;
use crate::order::{sort, sort_by_key};
use crate::reason::Reason;

/// A reason for each gauge used at each time before, in order of date.
pub(super) fn shown(case: &Case) -> Vec<Reason> {
    let mut times: Vec<&SeenBefore> = case.seen_before.iter().collect();
    sort_by_key(&mut times, |t| t.on);
    times.into_iter().flat_map(of_one_time).collect()
}

fn of_one_time(time: &SeenBefore) -> Vec<Reason> {
    let placed = time.seen.iter().filter_map(|s| match s {
        Seen::Placing(p) => Some(&p.gauge),
        Seen::Reading(_) => None,
    });
    let read = time.seen.iter().filter_map(|s| match s {
        Seen::Reading(r) => Some(&r.gauge),
        Seen::Placing(_) => None,
    });
    let placed = each_once(placed.collect())
        .into_iter()
        .map(|gauge| placings(time, gauge));
    let read = each_once(read.collect())
        .into_iter()
        .map(|gauge| readings(time, gauge));
    placed.chain(read).collect()
}

fn each_once(mut gauges: Vec<&GaugeId>) -> Vec<&GaugeId> {
    sort(&mut gauges);
    gauges.dedup();
    gauges
}

fn about(key: &'static str, time: &SeenBefore, gauge: &GaugeId) -> Reason {
    Reason::new(key, "again.same_day")
        .with("date", time.on)
        .with("gauge", gauge.clone())
}

fn placings(time: &SeenBefore, gauge: &GaugeId) -> Reason {
    let count = |wanted: fn(&PlacingResult) -> bool| {
        let those = time.seen.iter().filter(|s| match s {
            Seen::Placing(p) => p.gauge == *gauge && wanted(&p.result),
            Seen::Reading(_) => false,
        });
        u32::try_from(those.count()).unwrap_or(u32::MAX)
    };
    about("placed-before", time, gauge)
        .with("flat", count(|r| *r == PlacingResult::Flat))
        .with("not_flat", count(|r| *r == PlacingResult::NotFlat))
        .with("void", count(|r| matches!(r, PlacingResult::Void { .. })))
}

fn readings(time: &SeenBefore, gauge: &GaugeId) -> Reason {
    let mut void = 0_u32;
    let mut values = Vec::new();
    for s in &time.seen {
        match s {
            Seen::Reading(r) if r.gauge == *gauge && r.void.is_some() => void += 1,
            Seen::Reading(r) if r.gauge == *gauge => values.push(r.value.to_string()),
            _ => {}
        }
    }
    about("read-before", time, gauge)
        .with("text", values.join(", "))
        .with("void", void)
}
