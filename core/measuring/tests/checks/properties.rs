//! What must hold of every pack and every case.

use crate::support::*;
use proptest::prelude::*;
use standsquare_measuring::*;

/// Whether the second verdict's interval holds no height that the first one's doesn't. A verdict
/// without an interval contradicts itself: it holds none at all.
fn no_wider(before: &Verdict, after: &Verdict) -> bool {
    match (before.interval, after.interval) {
        (_, None) => true,
        (None, Some(_)) => false,
        (Some(before), Some(after)) => after.is_within(&before),
    }
}

fn is_void(seen: &Seen) -> bool {
    match seen {
        Seen::Placing(p) => matches!(p.result, PlacingResult::Void { .. }),
        Seen::Reading(r) => r.void.is_some(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 1_500,
        max_global_rejects: 100_000,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn adding_a_placing_never_widens_the_interval(
        (pack, mut case) in crate::support::random::hoop_packs_with_cases(),
        extra in 0..4_usize,
        flat in any::<bool>(),
    ) {
        let hoops: Vec<GaugeId> = pack.hoops().map(|h| h.id.clone()).collect();
        let before = judge(&pack, &case);
        let result = if flat { PlacingResult::Flat } else { PlacingResult::NotFlat };
        let by = ["anna", "ben", "cora", "dan"][extra];
        case.seen.push(placing(hoops[extra % hoops.len()].clone(), result, by));
        let after = judge(&pack, &case);
        prop_assert!(no_wider(&before, &after), "{:?} then {:?}", before.interval, after.interval);
    }

    #[test]
    fn the_order_of_void_placings_never_matters(
        (pack, case) in crate::support::random::packs_with_cases(),
        places in prop::collection::vec(any::<prop::sample::Index>(), 14),
    ) {
        let (void, mut seen): (Vec<Seen>, Vec<Seen>) =
            case.seen.iter().cloned().partition(is_void);
        for (v, place) in void.into_iter().zip(places) {
            seen.insert(place.index(seen.len() + 1), v);
        }
        let other = Case { seen, ..case.clone() };
        prop_assert_eq!(judge(&pack, &case), judge(&pack, &other));
    }

    #[test]
    fn every_procedure_ends(
        (pack, mut case) in crate::support::random::packs_with_cases(),
        dice in prop::collection::vec(0..7_u8, 400),
    ) {
        case.seen.clear();
        // Independent measures belong to somebody: without anybody at the table none can be made.
        if case.measurers.is_empty() {
            case.measurers.push(MeasurerHere::new("anna"));
        }
        let all: u32 = pack
            .doc()
            .procedure
            .iter()
            .map(|p| {
                let hoops = u32::try_from(pack.hoops().count()).unwrap();
                p.placings.as_ref().map_or(0, |x| x.maximum * hoops)
                    + p.readings.as_ref().map_or(0, |x| x.most_in_all)
            })
            .sum();
        let observers = u32::try_from(case.measurers.len()).unwrap().max(1);
        let most = (all * observers) as usize;
        for i in 0..=most {
            let dice = dice[i % dice.len()];
            let result = match dice {
                0 => PlacingResult::Flat,
                1..4 => PlacingResult::NotFlat,
                _ => PlacingResult::Void { seen: Base::NotSeen, reason: VoidReason::Moved },
            };
            let seen = match progress(&pack, &case).next {
                Next::Place { gauge, by, .. } => {
                    placing(gauge, result, by.as_ref().map_or("anna", |m| m.as_str()))
                }
                Next::Read { gauge, by, .. } => Seen::Reading(Reading {
                    gauge,
                    value: Length::from_mm(340 + 7 * i64::from(dice)),
                    by: by.unwrap_or_else(|| "anna".into()),
                    void: (dice > 4).then_some(VoidReason::Gauge),
                    at: None,
                }),
                _ => return Ok(()),
            };
            prop_assert!(i < most, "no end after {most} steps");
            case.seen.push(seen);
        }
    }

    #[test]
    fn the_order_of_independent_measures_never_matters(
        (pack, case) in crate::support::random::packs_with_cases(),
        order in Just(vec![0_usize, 1, 2, 3]).prop_shuffle(),
    ) {
        // Measurers who work together see the same placings: their order is the dog's own history.
        let together = pack.working() == Working::Together && case.purpose != Purpose::Remeasure;
        let mut other = case.clone();
        other.earlier.reverse();
        if !together {
            let people = ["anna", "ben", "cora", "dan"];
            other.seen.sort_by_key(|s| {
                order.iter().position(|i| people[*i] == s.by().as_str())
            });
        }
        if !pack.doc().measurers.alternate {
            other.measurers.reverse();
        }
        prop_assert_eq!(judge(&pack, &case), judge(&pack, &other));
    }

    #[test]
    fn a_pack_printed_and_parsed_again_judges_alike(
        (pack, case) in crate::support::random::packs_with_cases(),
    ) {
        let text = pack.to_toml();
        let again = RulePack::parse(&text);
        prop_assert_eq!(again.as_ref(), Ok(&pack));
        let json = serde_json::to_string(&pack).unwrap();
        let third: RulePack = serde_json::from_str(&json).unwrap();
        let verdict = judge(&pack, &case);
        prop_assert_eq!(&judge(&again.unwrap(), &case), &verdict);
        prop_assert_eq!(&judge(&third, &case), &verdict);
        // Cases and verdicts go through JSON unchanged as well.
        let text = serde_json::to_string(&case).unwrap();
        prop_assert_eq!(&serde_json::from_str::<Case>(&text).unwrap(), &case);
        let text = serde_json::to_string(&verdict).unwrap();
        prop_assert_eq!(&serde_json::from_str::<Verdict>(&text).unwrap(), &verdict);
    }

    #[test]
    fn progress_and_verdict_agree((pack, case) in crate::support::random::packs_with_cases()) {
        let verdict = judge(&pack, &case);
        let next = progress(&pack, &case);
        match &next.next {
            Next::Refused(why) => {
                prop_assert_eq!(&verdict.outcome, &Outcome::Refused);
                prop_assert_eq!(why, &verdict.tell_handler);
            }
            Next::Place { .. } | Next::Read { .. } | Next::OneMoreMeasurer { .. } => {
                prop_assert_eq!(&verdict.outcome, &Outcome::NotYet);
            }
            Next::Decided(_) | Next::Differ { .. } => prop_assert!(verdict.category().is_some()),
            Next::Impasse(why) => prop_assert!(verdict.reasons.contains(why)),
        }
        if let Some(interval) = verdict.interval {
            prop_assert_eq!(interval, next.interval);
        }
        prop_assert_eq!(verdict.status.is_some(), verdict.category().is_some());
    }

    #[test]
    fn a_decided_dog_lies_in_its_category(
        (pack, case) in crate::support::random::packs_with_cases(),
    ) {
        // Where hoops are recorded by their nominal height, one measure decides, and nothing
        // contradicts or differs, what is known lies within the category.
        prop_assume!(pack.doc().hoops.interval_from == IntervalFrom::Nominal);
        prop_assume!(pack.doc().procedure.iter().all(|p| p.impasse == OnImpasse::NotToday));
        prop_assume!(case.purpose == Purpose::Measure && case.dissent.is_empty());
        let case = Case { earlier: vec![], ..case };
        let verdict = judge(&pack, &case);
        let (Some(category), Some(known)) = (verdict.category(), verdict.interval) else {
            return Ok(());
        };
        if verdict.flags.iter().any(|f| f.key.starts_with("measurers-")) {
            return Ok(());
        }
        // What a reading is rounded to decides; the step it stands for may reach over the limit.
        let steps = pack.doc().procedure.iter().any(|p| {
            p.readings.as_ref().is_some_and(|r| r.record_as == RecordAs::Interval)
        });
        let range = pack.range(category).unwrap();
        if steps {
            prop_assert!(known.meets(&range) || !known.is_within(&range));
        } else {
            prop_assert!(known.is_within(&range), "{known} in {category} {range}");
        }
    }

    #[test]
    fn every_reason_has_a_known_key_its_arguments_and_a_clause_of_the_pack(
        (pack, case) in crate::support::random::packs_with_cases(),
    ) {
        let verdict = judge(&pack, &case);
        let doc = serde_json::to_value(pack.doc()).unwrap();
        let all = [&verdict.reasons, &verdict.flags, &verdict.tell_handler];
        for r in all.into_iter().flatten() {
            let key = KEYS.iter().find(|k| k.key == r.key);
            prop_assert!(key.is_some(), "{}", r.key);
            let known = key.unwrap().args;
            let given: Vec<&str> = r.args.keys().map(|a| a.as_ref()).filter(|a| *a != "by").collect();
            let mut wanted = known.to_vec();
            wanted.sort_unstable();
            prop_assert_eq!(&given, &wanted, "{}", &r.key);
            prop_assert!(!r.english().contains('{'), "{}", r.english());
            prop_assert!(stands(&doc, &r.clause), "{}: no clause {}", r.key, r.clause);
        }
    }
}

/// Whether a clause such as `procedure[hoops].placings.needed` stands in the pack: its first part
/// always, each `[id]` as an item of its list. A last key may be left to its default.
fn stands(doc: &serde_json::Value, clause: &str) -> bool {
    const OPTIONAL: [&str; 5] = ["age", "border", "remeasure", "event_measure", "book"];
    let mut at = doc;
    for (depth, part) in clause.split('.').enumerate() {
        let (key, item) = match part.split_once('[') {
            Some((key, rest)) => (key, rest.strip_suffix(']')),
            None => (part, None),
        };
        let Some(value) = at.get(key) else {
            return depth > 0 || OPTIONAL.contains(&key);
        };
        at = value;
        if let Some(item) = item {
            let by_id = |v: &&serde_json::Value| v.get("id").and_then(|i| i.as_str()) == Some(item);
            let list = at.as_array();
            let number = item.parse::<usize>().ok();
            let found = list.and_then(|l| l.iter().find(by_id).or_else(|| l.get(number?)));
            let Some(value) = found else { return false };
            at = value;
        }
    }
    true
}
