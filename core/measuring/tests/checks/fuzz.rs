//! Fuzzers on packs and cases: no panic, every procedure ends, what parses prints and parses again.
//!
//! `bolero` drives them: `cargo test` runs each from random seeds, as often as
//! `BOLERO_RANDOM_ITERATIONS` says or 300 times; `cargo bolero test -p standsquare-measuring fuzz::NAME`
//! runs one guided by coverage. How long they really ran is written in docs/fuzzing.md.

use std::sync::LazyLock;

use crate::support::*;
use bolero::{TypeGenerator, check};
use standsquare_measuring::cli::{rules_check, rules_try};
use standsquare_measuring::*;

const TIMES: usize = 300;

static PACKS: LazyLock<Vec<String>> =
    LazyLock::new(|| pack_files().into_iter().map(|(_, text)| text).collect());

static EXAMPLE: LazyLock<String> = LazyLock::new(|| {
    std::fs::read_to_string(here().join("docs/cases.example.json")).expect("the example")
});

/// Words that mean something in a pack or a case, put in where they may not belong.
const WORDS: [&str; 40] = [
    "0",
    "1",
    "-1",
    "99",
    "4294967295",
    "18446744073709551615",
    "1e400",
    "\"0 mm\"",
    "\"10 m\"",
    "\"13 7/8 in\"",
    "\"0.000001 mm\"",
    "\"100 years\"",
    "\"0 days\"",
    "\"24 months - 36600 days\"",
    "\"refer\"",
    "\"further-decides\"",
    "\"refused\"",
    "\"allowed\"",
    "{ provisional-for = \"100 years\" }",
    "\"independently\"",
    "\"one-more-measurer\"",
    "\"goes-up\"",
    "\"over\"",
    "\"majority\"",
    "\"mode\"",
    "\"median\"",
    "\"provisional\"",
    "\"definitive\"",
    "[]",
    "{}",
    "null",
    "true",
    "\n[[border]]\n",
    "\n[remeasure]\npanel = 3\nto_change = 3\n",
    "\n[event_measure]\nmeasurers = 1\n",
    "262142-12-31",
    "\"-262143-01-01\"",
    "\"hoop-35\"",
    "\"scale\"",
    "\"\u{0}é\u{10ffff}\"",
];

/// One change to a text.
#[derive(Debug, TypeGenerator)]
enum Change {
    /// A byte of it becomes another.
    Byte(u16, u8),
    /// So many bytes go.
    Cut(u16, u8),
    /// A line comes twice.
    Twice(u16),
    /// A line goes.
    Gone(u16),
    /// Two lines change places.
    Swap(u16, u16),
    /// What stands behind a line's last `=` or `:` becomes a word.
    Value(u16, u8),
    /// A word comes in anywhere.
    Word(u16, u8),
    /// A line of another pack comes in.
    Line(u16, u8, u16),
}

fn word(n: u8) -> &'static str {
    WORDS[n as usize % WORDS.len()]
}

fn changed(text: &str, changes: &[Change], packs: &[String]) -> String {
    let mut text = text.to_owned();
    for change in changes {
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        if lines.is_empty() {
            return text;
        }
        let count = lines.len();
        let line = |n: u16| n as usize % count;
        match change {
            Change::Byte(..) | Change::Cut(..) => {
                let mut bytes = std::mem::take(&mut text).into_bytes();
                match change {
                    Change::Byte(at, to) => {
                        let at = *at as usize % bytes.len().max(1);
                        if let Some(b) = bytes.get_mut(at) {
                            *b = *to;
                        }
                    }
                    Change::Cut(at, n) => {
                        let at = *at as usize % (bytes.len() + 1);
                        let end = (at + *n as usize).min(bytes.len());
                        bytes.drain(at..end);
                    }
                    _ => {}
                }
                text = String::from_utf8_lossy(&bytes).into_owned();
                continue;
            }
            Change::Twice(at) => lines.insert(line(*at), lines[line(*at)].clone()),
            Change::Gone(at) => {
                lines.remove(line(*at));
            }
            Change::Swap(a, b) => lines.swap(line(*a), line(*b)),
            Change::Value(at, w) => {
                let old = &mut lines[line(*at)];
                if let Some(i) = old.rfind(['=', ':']) {
                    let comma = old.trim_end().ends_with(',');
                    old.truncate(i + 1);
                    old.push_str(word(*w));
                    if comma {
                        old.push(',');
                    }
                }
            }
            Change::Word(at, w) => lines[line(*at)].push_str(word(*w)),
            Change::Line(at, pack, from) => {
                let other: Vec<&str> = packs[*pack as usize % packs.len()].lines().collect();
                let new = other[*from as usize % other.len()].to_owned();
                lines.insert(line(*at), new);
            }
        }
        text = lines.join("\n");
    }
    text
}

/// Whatever parses prints, parses again as the same, and lets a dog be measured to an end.
fn use_pack(text: &str) {
    let Ok(pack) = RulePack::parse(text) else {
        let said = rules_check("x", text);
        assert_eq!(said.status, 1);
        return;
    };
    let again = RulePack::parse(&pack.to_toml());
    assert_eq!(again.as_ref(), Ok(&pack));
    let mut case = case_for(&pack);
    for height in [0, 349, 350, 351, 430, 10_000] {
        case.seen.clear();
        for _ in 0..3_000 {
            let seen = match progress(&pack, &case).next {
                Next::Place { gauge, by, .. } => {
                    let hoop = pack.gauge(&gauge).and_then(|g| g.height).expect("a hoop");
                    let result = if Length::from_mm(height) <= hoop {
                        PlacingResult::Flat
                    } else {
                        PlacingResult::NotFlat
                    };
                    placing(gauge, result, by.as_ref().map_or("anna", |m| m.as_str()))
                }
                Next::Read { gauge, by, .. } => Seen::Reading(Reading {
                    gauge,
                    value: Length::from_mm(height),
                    by: by.unwrap_or_else(|| "anna".into()),
                    void: None,
                    at: None,
                }),
                _ => break,
            };
            case.seen.push(seen);
        }
        assert!(case.seen.len() < 3_000, "no end: {text}");
        let _ = judge(&pack, &case);
    }
}

#[test]
fn packs_changed_line_by_line() {
    let packs = &*PACKS;
    check!()
        .with_iterations(TIMES)
        .with_type::<(u8, Vec<Change>)>()
        .for_each(|(base, changes)| {
            let base = &packs[*base as usize % packs.len()];
            let few = &changes[..changes.len().min(6)];
            use_pack(&changed(base, few, packs));
        });
}

#[test]
fn any_bytes_as_a_pack() {
    check!().with_iterations(TIMES).for_each(|bytes: &[u8]| {
        use_pack(&String::from_utf8_lossy(bytes));
    });
}

#[test]
fn cases_changed_line_by_line() {
    let packs = &*PACKS;
    check!()
        .with_iterations(TIMES)
        .with_type::<(u8, Vec<Change>)>()
        .for_each(|(base, changes)| {
            let pack = &packs[*base as usize % packs.len()];
            let few = &changes[..changes.len().min(6)];
            let cases = changed(&EXAMPLE, few, packs);
            let said = rules_try("x", pack, &cases);
            if said.status != 1 {
                let answer: cli::Answer = serde_json::from_str(&said.text).expect("an answer");
                assert_eq!(said.status == 0, answer.refused.is_empty());
            }
        });
}

/// A case made of the pack's own names, with any numbers.
#[derive(Debug, TypeGenerator)]
struct AnyCase {
    today: i32,
    born: Option<i32>,
    identity: u8,
    attempts: Vec<i32>,
    gauges: Vec<(u8, Option<i32>, Option<i16>)>,
    ties: Vec<(u8, u8)>,
    stopped: bool,
    seen: Vec<(u8, u8, u8, i16)>,
    earlier: Vec<(i32, u8, u8, i16)>,
    people: u8,
    purpose: u8,
    by_eye: Option<u8>,
    dissent: Option<u8>,
    on_request: bool,
}

fn any_day(n: i32) -> chrono::NaiveDate {
    chrono::NaiveDate::from_num_days_from_ce_opt(n % 95_700_000).unwrap_or_default()
}

fn case_of(pack: &RulePack, any: &AnyCase) -> Case {
    let people = ["anna", "ben", "cora", "dan"];
    let gauges = pack.gauges();
    let category = |n: u8| {
        pack.categories()[n as usize % pack.categories().len()]
            .id
            .clone()
    };
    let mm = |n: i16| Length::from_micrometres(i64::from(n).abs() * 17);
    let seen = any.seen.iter().take(60).map(|(gauge, what, by, value)| {
        let gauge = &gauges[*gauge as usize % gauges.len()];
        let by = people[*by as usize % people.len()];
        let void = (what % 5 == 4).then_some(VoidReason::Moved);
        match gauge.kind {
            GaugeKind::Hoop => {
                let result = match (void, what % 2) {
                    (Some(reason), _) => PlacingResult::Void {
                        seen: Base::Flat,
                        reason,
                    },
                    (None, 0) => PlacingResult::Flat,
                    (None, _) => PlacingResult::NotFlat,
                };
                placing(gauge.id.clone(), result, by)
            }
            GaugeKind::Scale => Seen::Reading(Reading {
                gauge: gauge.id.clone(),
                value: mm(*value),
                by: by.into(),
                void,
                at: None,
            }),
        }
    });
    let earlier = any
        .earlier
        .iter()
        .take(12)
        .map(|(on, c, by, value)| EarlierMeasure {
            on: any_day(*on),
            category: category(*c),
            height: (value % 2 == 0).then(|| HeightInterval::exactly(mm(*value))),
            by: vec![people[*by as usize % people.len()].into()],
            status: (by % 7 == 0).then_some(Status::Definitive),
            for_event: by % 11 == 0,
            by_panel: by % 13 == 0,
        });
    let mut measurers: Vec<MeasurerHere> = people[..any.people as usize % 5]
        .iter()
        .map(|p| MeasurerHere::new(*p))
        .collect();
    for (who, tie) in any.ties.iter().take(8) {
        let all = [
            Tie::OwnDog,
            Tie::Household,
            Tie::Bred,
            Tie::Trains,
            Tie::SameClub,
        ];
        let count = measurers.len().max(1);
        if let Some(m) = measurers.get_mut(*who as usize % count) {
            m.leading = tie % 2 == 0;
            m.ties.extend(all.get(*tie as usize % 8));
        }
    }
    let checks = any.gauges.iter().take(8).map(|(g, on, height)| GaugeHere {
        gauge: gauges[*g as usize % gauges.len()].id.clone(),
        checked: on.map(any_day),
        height: height.map(mm),
    });
    Case {
        born: any.born.map(any_day),
        identity: match any.identity % 3 {
            0 => Identified::Chip,
            1 => Identified::Otherwise("tattoo".into()),
            _ => Identified::Not,
        },
        attempts: any.attempts.iter().copied().map(any_day).collect(),
        gauges: checks.collect(),
        seen_before: vec![SeenBefore {
            on: any_day(any.today / 2),
            seen: seen.clone().collect(),
        }],
        stopped: any.stopped.then(|| "nervous".into()),
        purpose: [Purpose::Measure, Purpose::Remeasure, Purpose::ThisEvent]
            [any.purpose as usize % 3],
        on_request: any.on_request,
        earlier: earlier.collect(),
        measurers,
        seen: seen.collect(),
        by_eye: any.by_eye.map(category),
        dissent: any
            .dissent
            .map(|c| Dissent {
                by: "ben".into(),
                category: Some(category(c)),
            })
            .into_iter()
            .collect(),
        ..Case::new(any_day(any.today))
    }
}

#[test]
fn any_case_of_a_changed_pack() {
    let packs = &*PACKS;
    check!()
        .with_iterations(TIMES)
        .with_type::<(u8, Vec<Change>, AnyCase)>()
        .for_each(|(base, changes, any)| {
            let base = &packs[*base as usize % packs.len()];
            let text = changed(base, &changes[..changes.len().min(3)], packs);
            let pack = RulePack::parse(&text)
                .or_else(|_| RulePack::parse(base))
                .expect("a file's own pack");
            let case = case_of(&pack, any);
            let verdict = judge(&pack, &case);
            let next = progress(&pack, &case);
            if let (Next::Decided(category), None) = (next.next, &case.stopped) {
                assert!(pack.category(&category).is_some());
                assert!(verdict.category().is_some());
            }
            if let Some(interval) = verdict.interval {
                assert!(interval.is_within(&next.interval) || case.by_eye.is_some());
            }
            assert_eq!(verdict.category().is_some(), verdict.status.is_some());
            for here in &case.gauges {
                let _ = check_gauge(&pack, here, case.today);
            }
        });
}

/// A record book, or what the office knows, with any words and days.
#[derive(Debug, TypeGenerator)]
struct AnyBook {
    texts: [Option<String>; 5],
    born: Option<i32>,
    handler: bool,
    measures: Vec<(Option<i32>, u8, Option<u8>)>,
}

fn entries_of(pack: &RulePack, any: &AnyBook) -> BookEntries {
    let [number, name, chip, breed, sex] = any.texts.clone();
    let category = |n: u8| {
        let known = pack.categories().iter();
        let mut words: Vec<String> = known
            .flat_map(|c| [c.id.to_string(), c.label.clone()])
            .collect();
        words.extend([String::new(), " 35 ".into(), "\u{10ffff}".into()]);
        Some(words.swap_remove(n as usize % words.len()))
    };
    BookEntries {
        number,
        name,
        chip,
        breed,
        sex,
        born: any.born.map(any_day),
        handler: any.handler,
        measures: any
            .measures
            .iter()
            .take(12)
            .map(|(on, words, signatures)| BookMeasure {
                on: on.map(any_day),
                category: category(*words),
                signatures: signatures.map(u32::from),
            })
            .collect(),
    }
}

#[test]
fn any_record_book() {
    let packs = &*PACKS;
    check!()
        .with_iterations(TIMES)
        .with_type::<(u8, i32, AnyBook, Option<AnyBook>, Option<String>)>()
        .for_each(|(base, today, book, office, chip)| {
            let text = &packs[*base as usize % packs.len()];
            let pack = RulePack::parse(text).expect("a file's own pack");
            let check = BookCheck {
                today: any_day(*today),
                book: entries_of(&pack, book),
                office: office.as_ref().map(|o| entries_of(&pack, o)),
                chip_read: chip.clone(),
            };
            let found = check_book(&pack, &check);
            assert_eq!(found.may_measure, found.findings.iter().all(|f| !f.stops));
            assert!(found.earlier.iter().all(|(on, _)| *on <= check.today));
        });
}
