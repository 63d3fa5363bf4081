//! Random packs and cases. Packs are the files' own with numbers and choices changed; those that
//! don't fit together are left out by the parser itself.

use proptest::prelude::*;
use proptest::sample::select;
use standsquare_measuring::*;

use super::{day, pack_files};

/// A choice made by the changes below: small numbers that every setting can be taken from.
type Dice = Vec<u8>;

/// A pack that the parser takes.
pub fn packs() -> impl Strategy<Value = RulePack> {
    packs_where(|_| true)
}

fn packs_where(wanted: fn(&PackDoc) -> bool) -> impl Strategy<Value = RulePack> {
    let docs: Vec<PackDoc> = pack_files()
        .iter()
        .map(|(name, text)| {
            RulePack::parse(text)
                .unwrap_or_else(|f| panic!("{name}: {f:?}"))
                .doc()
                .clone()
        })
        .filter(wanted)
        .collect();
    let dice = prop::collection::vec(any::<u8>(), 24);
    (select(docs), dice, any::<bool>()).prop_map(|(doc, dice, change)| {
        let original = doc.clone();
        let doc = if change { changed(doc, &dice) } else { doc };
        RulePack::try_from(doc)
            .or_else(|_| RulePack::try_from(original))
            .expect("a file's own pack")
    })
}

fn changed(mut doc: PackDoc, dice: &Dice) -> PackDoc {
    let pick = |i: usize, n: u8| dice[i] % n;
    for p in &mut doc.procedure {
        if let Some(placings) = &mut p.placings {
            placings.needed = 1 + u32::from(pick(0, 5));
            placings.maximum = placings.needed + u32::from(pick(1, 5));
            placings.flat = [FlatRule::OneSettles, FlatRule::Majority][pick(2, 2) as usize];
            placings.order =
                [HoopOrder::SmallestFirst, HoopOrder::LargestFirst][pick(3, 2) as usize];
        }
        if let Some(r) = &mut p.readings {
            r.needed = 1 + u32::from(pick(4, 6));
            r.maximum = r.needed + u32::from(pick(5, 3));
            r.most_in_all = r.maximum + u32::from(pick(6, 5));
            r.decide = [
                ReadingRule::Mean,
                ReadingRule::Median,
                ReadingRule::Mode,
                ReadingRule::Lowest,
                ReadingRule::Highest,
            ][pick(7, 5) as usize];
            r.round = [Rounding::Down, Rounding::Up, Rounding::Nearest][pick(8, 3) as usize];
            r.same_category = pick(9, 2) == 0;
            r.last_decides = pick(10, 2) == 0;
            r.record_as = [RecordAs::Reading, RecordAs::Interval][pick(11, 2) as usize];
            r.stop_early = (pick(12, 2) == 0).then(|| StopEarly {
                after: r.needed.min(2),
                clear_by: Length::from_mm(10),
            });
        }
        p.impasse = [
            OnImpasse::NotToday,
            OnImpasse::Refer,
            OnImpasse::Higher,
            OnImpasse::Lower,
        ][pick(13, 4) as usize];
    }
    doc.measurers.needed = 1 + u32::from(pick(14, 3));
    doc.measurers.leading = doc.measurers.leading.min(doc.measurers.needed);
    doc.measurers.work = [Working::Together, Working::Independently][pick(15, 2) as usize];
    doc.measurers.alternate &= doc.measurers.needed > 1 && pick(15, 2) == 0;
    doc.measurers.fewer = [
        Response::Allowed,
        Response::Flagged,
        Response::Refused,
        Response::ProvisionalFor(Span::months(3)),
    ][pick(16, 4) as usize];
    doc.measures.needed = 1 + u32::from(pick(17, 3));
    doc.measures.differ = [
        Differ::Refer,
        Differ::FurtherDecides,
        Differ::LowerCounts,
        Differ::HigherCounts,
        Differ::LatestCounts,
    ][pick(18, 5) as usize];
    let today = [Today::Lower, Today::Higher, Today::Earlier, Today::Latest];
    doc.measures.differ_today = today[pick(19, 4) as usize];
    doc.disagreement.today = today[pick(20, 4) as usize];
    doc.disagreement.then = [
        AfterDisagreement::Refer,
        AfterDisagreement::LowerStands,
        AfterDisagreement::HigherStands,
        AfterDisagreement::OneMoreMeasurer,
    ][pick(21, 4) as usize];
    doc.hoops.interval_from =
        [IntervalFrom::Nominal, IntervalFrom::LastCheck][pick(22, 2) as usize];
    if pick(23, 2) == 0 {
        doc.age.clear();
    }
    doc
}

const PEOPLE: [&str; 4] = ["anna", "ben", "cora", "dan"];

/// A dog at the table of this pack.
pub fn cases(pack: &RulePack) -> impl Strategy<Value = Case> + use<> {
    let gauges: Vec<Gauge> = pack.gauges().to_vec();
    let categories: Vec<CategoryId> = pack.categories().iter().map(|c| c.id.clone()).collect();
    let seen = prop::collection::vec(seen(gauges.clone()), 0..14);
    let before = prop::collection::vec(before(categories.clone()), 0..4);
    let ties = select(vec![
        None,
        None,
        None,
        None,
        Some(Tie::Bred),
        Some(Tie::SameClub),
    ]);
    let people = prop::collection::vec((any::<bool>(), ties), 0..=4);
    let purpose = select(vec![
        Purpose::Measure,
        Purpose::Measure,
        Purpose::Measure,
        Purpose::Remeasure,
        Purpose::ThisEvent,
    ]);
    let checks = prop::collection::vec((0..800_i64, -3..4_i64), gauges.len());
    let dissent = prop::option::weighted(0.2, select(categories));
    (
        seen,
        before,
        people,
        purpose,
        checks,
        300..4_000_i64,
        dissent,
        any::<bool>(),
    )
        .prop_map(
            move |(seen, earlier, people, purpose, checks, age, dissent, on_request)| {
                let today = day("2026-06-14");
                let back = |days| today - chrono::Duration::days(days);
                Case {
                    born: (age % 7 != 0).then(|| back(age)),
                    purpose,
                    on_request,
                    earlier,
                    measurers: PEOPLE
                        .iter()
                        .zip(people)
                        .map(|(id, (leading, tie))| MeasurerHere {
                            leading,
                            ties: tie.into_iter().collect(),
                            ..MeasurerHere::new(*id)
                        })
                        .collect(),
                    gauges: gauges
                        .iter()
                        .zip(checks)
                        .map(|(g, (days, off))| GaugeHere {
                            gauge: g.id.clone(),
                            checked: Some(back(days)),
                            height: g.height.map(|h| h.plus(Length::from_mm(off))),
                        })
                        .collect(),
                    seen,
                    dissent: dissent
                        .map(|category| Dissent {
                            by: "ben".into(),
                            category: Some(category),
                        })
                        .into_iter()
                        .collect(),
                    ..Case::new(today)
                }
            },
        )
}

/// One placing or reading.
pub fn seen(gauges: Vec<Gauge>) -> impl Strategy<Value = Seen> {
    let result = prop_oneof![
        3 => Just(PlacingResult::NotFlat),
        2 => Just(PlacingResult::Flat),
        1 => Just(PlacingResult::Void { seen: Base::Flat, reason: VoidReason::Moved }),
        1 => Just(PlacingResult::Void { seen: Base::NotFlat, reason: VoidReason::Stance }),
    ];
    // Two people at the table more often than four, so that each gets somewhere.
    let by = select(vec!["anna", "anna", "anna", "ben", "ben", "cora", "dan"]);
    (select(gauges), result, by, 0..40_i64, any::<bool>()).prop_map(
        |(gauge, result, by, off, void)| match gauge.kind {
            GaugeKind::Hoop => Seen::Placing(Placing {
                gauge: gauge.id,
                result,
                by: by.into(),
                at: None,
            }),
            GaugeKind::Scale => Seen::Reading(Reading {
                gauge: gauge.id,
                value: Length::from_mm(330).plus(Length::from_micrometres(off * 4_700)),
                by: by.into(),
                void: (void && off % 3 == 0).then_some(VoidReason::Moved),
                at: None,
            }),
        },
    )
}

fn before(categories: Vec<CategoryId>) -> impl Strategy<Value = EarlierMeasure> {
    let status = select(vec![
        None,
        None,
        Some(Status::Definitive),
        Some(Status::ThisEventOnly),
    ]);
    let height = prop::option::of(330..500_i64);
    (select(categories), 0..1_500_i64, status, height, 0..16_u8).prop_map(
        |(category, days, status, height, dice)| EarlierMeasure {
            on: day("2026-06-14") - chrono::Duration::days(days),
            category,
            height: height.map(|mm| HeightInterval::exactly(Length::from_mm(mm))),
            by: vec![["anna", "eve", "fred", "gus"][dice as usize % 4].into()],
            status,
            for_event: dice == 1,
            by_panel: dice == 2,
        },
    )
}

/// A pack and a case of it.
pub fn packs_with_cases() -> impl Strategy<Value = (RulePack, Case)> {
    packs().prop_flat_map(|pack| {
        let cases = cases(&pack);
        (Just(pack), cases)
    })
}

/// The same, of packs that have hoops.
pub fn hoop_packs_with_cases() -> impl Strategy<Value = (RulePack, Case)> {
    let has_hoops = |doc: &PackDoc| doc.gauge.iter().any(|g| g.kind == GaugeKind::Hoop);
    packs_where(has_hoops).prop_flat_map(|pack| {
        let cases = cases(&pack);
        (Just(pack), cases)
    })
}
