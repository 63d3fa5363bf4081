//! What several tests share: packs, and a dog of known height going through a pack's procedure.
#![allow(dead_code)] // each test uses its own part

pub mod random;

use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use standsquare_measuring::*;

/// This crate's folder.
pub fn here() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every pack of tests/packs, and the shipped one.
pub fn pack_files() -> Vec<(String, String)> {
    let mut all = vec![("larkmere".to_owned(), LARKMERE.to_owned())];
    let mut paths: Vec<PathBuf> = std::fs::read_dir(here().join("tests/packs"))
        .expect("tests/packs")
        .map(|entry| entry.expect("entry").path())
        .filter(|p| p.extension().is_some_and(|e| e == "toml"))
        .collect();
    paths.sort();
    for path in paths {
        let name = path.file_stem().expect("a name").to_string_lossy();
        all.push((
            name.into_owned(),
            std::fs::read_to_string(&path).expect("a pack"),
        ));
    }
    all
}

/// A pack by the name of its file.
pub fn pack(name: &str) -> RulePack {
    let files = pack_files();
    let (_, text) = files
        .iter()
        .find(|(n, _)| n == name)
        .unwrap_or_else(|| panic!("no pack {name}"));
    RulePack::parse(text).unwrap_or_else(|faults| panic!("{name}: {faults:#?}"))
}

/// A day.
pub fn day(text: &str) -> NaiveDate {
    text.parse().expect("a date")
}

/// A dog old enough for every pack, with four unconnected measurers and freshly checked gauges.
pub fn case_for(pack: &RulePack) -> Case {
    let today = day("2026-06-14");
    Case {
        born: Some(day("2016-03-01")),
        measurers: ["anna", "ben", "cora", "dan"]
            .into_iter()
            .take(pack.measurers_needed() as usize)
            .map(|id| MeasurerHere {
                leading: true,
                ..MeasurerHere::new(id)
            })
            .collect(),
        gauges: pack
            .gauges()
            .iter()
            .map(|g| GaugeHere {
                gauge: g.id.clone(),
                checked: Some(today),
                height: None,
            })
            .collect(),
        ..Case::new(today)
    }
}

/// A placing.
pub fn placing(gauge: impl Into<GaugeId>, result: PlacingResult, by: &str) -> Seen {
    Seen::Placing(Placing {
        gauge: gauge.into(),
        result,
        by: by.into(),
        at: None,
    })
}

/// A reading.
pub fn reading(gauge: &str, value: &str, by: &str) -> Seen {
    Seen::Reading(Reading {
        gauge: gauge.into(),
        value: value.parse().expect("a length"),
        by: by.into(),
        void: None,
        at: None,
    })
}

/// Does what the pack asks for, step by step, with a dog of this height measured without error.
/// Panics if it takes more than 200 steps.
pub fn measure(pack: &RulePack, case: &mut Case, height: Length) {
    for _ in 0..200 {
        let seen = match progress(pack, case).next {
            Next::Place { gauge, by, .. } => {
                let hoop = pack.gauge(&gauge).and_then(|g| g.height).expect("a hoop");
                let flat = match pack.touching() {
                    Touching::Within => height <= hoop,
                    Touching::Over => height < hoop,
                };
                let result = if flat {
                    PlacingResult::Flat
                } else {
                    PlacingResult::NotFlat
                };
                placing(gauge, result, by.as_ref().map_or("anna", |m| m.as_str()))
            }
            Next::Read { gauge, by, .. } => Seen::Reading(Reading {
                gauge,
                value: height,
                by: by.unwrap_or_else(|| "anna".into()),
                void: None,
                at: None,
            }),
            _ => return,
        };
        case.seen.push(seen);
    }
    panic!("no end after 200 steps: {case:?}");
}

/// The verdict on a dog of this height, measured without error.
pub fn measured(pack: &RulePack, height: &str) -> Verdict {
    let mut case = case_for(pack);
    measure(pack, &mut case, height.parse().expect("a length"));
    judge(pack, &case)
}

/// An earlier measure.
pub fn earlier(
    on: &str,
    category: &str,
    height: Option<HeightInterval>,
    by: &[&str],
) -> EarlierMeasure {
    EarlierMeasure {
        on: day(on),
        category: category.into(),
        height,
        by: by.iter().map(|m| MeasurerId::from(*m)).collect(),
        status: None,
        for_event: false,
        by_panel: false,
    }
}

/// Whether a key is among reasons.
pub fn has(reasons: &[Reason], key: &str) -> bool {
    reasons.iter().any(|r| r.key == key)
}

/// The keys of reasons.
pub fn keys(reasons: &[Reason]) -> Vec<&str> {
    reasons.iter().map(|r| r.key.as_ref()).collect()
}

/// A pack of tests/packs with texts replaced.
pub fn changed(name: &str, changes: &[(&str, &str)]) -> RulePack {
    let files = pack_files();
    let mut text = files
        .iter()
        .find(|(n, _)| n == name)
        .expect("a pack")
        .1
        .clone();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    RulePack::parse(&text).unwrap_or_else(|f| panic!("{f:#?}"))
}
