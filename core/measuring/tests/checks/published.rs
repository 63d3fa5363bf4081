//! Published limits, zones near a limit, ages and windows, each exactly there and one step (1 mm, 1/16 in
//! or a day) either side, judged by the whole engine. The tables are in tests/published, with the
//! published words, their mark and their source beside each row.

use crate::support::*;
use standsquare_measuring::*;

/// The rows of a table: what every row says, then the published words, then mark and source.
fn rows(table: &str) -> Vec<csv::StringRecord> {
    let path = here().join("tests/published").join(table);
    let mut reader = csv::Reader::from_path(path).expect("a table");
    reader.records().map(|r| r.expect("a row")).collect()
}

#[test]
fn published_limits_fall_as_their_body_says() {
    let mut packs = Vec::new();
    let mut wrong = Vec::new();
    for row in rows("limits.csv") {
        let [name, height, category, words, mark] = [&row[0], &row[1], &row[2], &row[3], &row[4]];
        let verdict = measured(&pack(name), height);
        let found = verdict.category().map_or("none", |c| c.as_str());
        if found != category {
            wrong.push(format!(
                "{name} {height}: {found}, published {category} ({words}; {mark})"
            ));
        }
        if !packs.contains(&name.to_owned()) {
            packs.push(name.to_owned());
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
    assert!(packs.len() >= 8, "{packs:?}");
}

#[test]
fn published_zones_reach_as_far_as_their_body_says() {
    let mut wrong = Vec::new();
    for row in rows("zones.csv") {
        let [name, height, zone, words, mark] = [&row[0], &row[1], &row[2], &row[3], &row[4]];
        let v = measured(&pack(name), height);
        let found = ["out", "in"][usize::from(has(&v.reasons, "border-zone"))];
        if found != zone || v.near_limit != (zone == "in") {
            wrong.push(format!(
                "{name} {height}: {found}, published {zone} ({words}; {mark})"
            ));
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn published_ages_and_windows_begin_and_end_as_their_body_says() {
    let born = day("2016-03-15");
    let first = day("2024-03-15");
    let mut wrong = Vec::new();
    for row in rows("spans.csv") {
        let [name, what, span, asked, words] = [&row[0], &row[1], &row[2], &row[3], &row[4]];
        let pack = pack(name);
        let span: Span = span.parse().expect("a span");
        let from = if what == "since-first" { first } else { born };
        let mut case = case_for(&pack);
        case.born = Some(born);
        case.today = span.after(from).expect("a day");
        match what {
            "age" => {}
            "since-first" => case.earlier = vec![earlier("2024-03-15", "small", None, &[])],
            "panel-age" => {
                case.purpose = Purpose::Remeasure;
                case.earlier = vec![earlier("2016-04-01", "s", None, &[])];
                case.measurers = ["anna", "ben", "cora"].map(MeasurerHere::new).to_vec();
            }
            other => panic!("{other}"),
        }
        measure(&pack, &mut case, Length::from_mm(340));
        let v = judge(&pack, &case);
        let says = |key| has(&v.reasons, key) || has(&v.flags, key);
        let found = if says("second-too-early") {
            "too-early"
        } else if says("second-in-window") {
            "in-window"
        } else if says("second-late") {
            "late"
        } else if v.outcome == Outcome::Refused {
            "refused"
        } else if says("age-provisional") {
            "for-a-time"
        } else if says("age-counts") {
            "counts"
        } else if v.status == Some(Status::Definitive) {
            "for-good"
        } else {
            "something else"
        };
        if found != asked {
            wrong.push(format!(
                "{name} {what} {span}: {found}, published {asked} ({words})"
            ));
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn the_tables_hold_sixty_limits_each_with_a_step_either_side() {
    // What stands exactly there, what before it and what behind it: three rows a limit.
    let all: Vec<_> = ["limits.csv", "zones.csv", "spans.csv"].map(rows).concat();
    let mut changes = 0;
    for table in ["limits.csv", "zones.csv", "spans.csv"] {
        let found = if table == "spans.csv" { 3 } else { 2 };
        let rows = rows(table);
        changes += rows
            .windows(2)
            .filter(|w| w[0][0] == w[1][0] && w[0][found] != w[1][found])
            .count();
    }
    assert!(all.len() >= 180, "{} rows", all.len());
    assert!(changes >= 60, "{changes} limits");
    // No row without published words and a mark.
    for row in all {
        let mark = row.iter().next_back().unwrap_or_default();
        let known = mark.starts_with("F1 ")
            || mark.starts_with("F2 ")
            || mark == "common practice, no source";
        assert!(known && row[row.len() - 2].len() >= 2, "{row:?}");
    }
}

#[test]
fn every_limit_of_the_table_is_checked_on_both_sides() {
    // The table would be worth little if a limit of a pack were missing from it.
    let rows: Vec<(String, Length)> = rows("limits.csv")
        .iter()
        .map(|r| (r[0].to_owned(), r[1].parse().expect("a length")))
        .collect();
    for (name, _) in pack_files() {
        // Those packs' limits are scaffolding.
        if name.starts_with("procedure-only") {
            continue;
        }
        for limit in pack(&name).categories().iter().filter_map(|c| c.up_to) {
            for ask in [limit.nm() - 1_587_500, limit.nm() + 1_587_500] {
                let near = |h: &Length| {
                    (h.nm() - limit.nm()).signum() == (ask - limit.nm()).signum()
                        && (h.nm() - limit.nm()).abs() <= 10_000_000
                };
                assert!(
                    rows.iter().any(|(p, h)| *p == name && near(h)),
                    "{name}: no row beside {limit}"
                );
            }
            assert!(
                rows.iter().any(|(p, h)| *p == name && *h == limit),
                "{name}: no row at {limit}"
            );
        }
    }
}

#[test]
fn every_line_of_a_test_pack_carries_its_source_and_mark() {
    for (name, text) in pack_files() {
        if name == "larkmere" {
            continue;
        }
        for line in text.lines() {
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') || line.starts_with('[') {
                continue;
            }
            let mark = line.rsplit_once(" # ").map_or("", |(_, mark)| mark);
            let known = mark == "form"
                || mark.starts_with("form (")
                || mark == "practice"
                || mark == "M"
                || mark.starts_with("M (")
                || ["F1 ", "F2 "]
                    .iter()
                    .any(|m| mark.starts_with(m) && mark.len() > m.len());
            assert!(known, "{name}: no mark on: {line}");
        }
    }
}
