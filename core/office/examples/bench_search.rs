//! `office.search`: a search by chip and one by name that fills a page, from the request to
//! the whole page, among 1,000,000 measures against the same among 10,000; the worse of the
//! two ratios, at most 1.5. The times, and those of the database alone, go to standard
//! error. SQLite in a file.

#[path = "../tests/support/mod.rs"]
mod support;

use axum::body::Body;
use axum::http::Request;
use http_body_util::BodyExt;
use standsquare_office::db::{self, SqliteDb, Value};
use standsquare_office::{OfficeState, web};
use std::path::Path;
use std::time::Instant;
use support::{DAY, Pen, SESSION, number, office_over};
use tokio::runtime::Runtime;
use tower::ServiceExt;

const FEW: u64 = 10_000;
const MANY: u64 = 1_000_000;
/// Names in use, so that each fills a page in the small office as well.
const NAMES: u64 = 100;
/// Searches of a kind.
const ASKED: usize = 2_000;

fn chip(n: u64) -> String {
    // Spread over the numbers, as chips are.
    format!(
        "999{:012}",
        n.wrapping_mul(0x9e37_79b9_7f4a_7c15) % 274_877_906_944
    )
}

fn name(n: u64) -> String {
    format!("Dog {:02}", n % NAMES)
}

/// An office with so many measures.
fn filled(dir: &Path, count: u64) -> OfficeState {
    let db = SqliteDb::open(&dir.join(format!("{count}.sqlite"))).expect("a database");
    let office = office_over(Box::new(db));
    let pen = Pen::new(1);
    for from in (0..count).step_by(20_000) {
        db::write(office.engine(), |sql| {
            for n in from..(from + 20_000).min(count) {
                let visit = u32::try_from(n).expect("a number");
                let statement = pen.statement(visit, &name(n), &chip(n));
                let mut head = [0; 32];
                head[..8].copy_from_slice(&n.to_be_bytes());
                sql.put(
                    "INSERT INTO visits (body, year, session, device_key, journal, visit, head,
                     stated_ms, day, dog, chip, measurers, statement, points, weight, dog_key)
                     VALUES ($1, 2026, $2, $3, $4, $5, $6, $7, $8, $9, $10, 2, $11, '[]', 0, $12)",
                    &[
                        Value::from("larkmere"),
                        SESSION.into(),
                        pen.device_key().into(),
                        pen.journal.into(),
                        n.into(),
                        head.into(),
                        n.into(),
                        i64::from(DAY).into(),
                        name(n).into(),
                        chip(n).into(),
                        statement.encode().as_slice().into(),
                        name(n).to_lowercase().into(),
                    ],
                )?;
            }
            Ok(())
        })
        .expect("filled");
    }
    office
}

/// What searches of a kind took, microseconds: the database alone, and the whole page.
#[derive(Default)]
struct Took {
    alone: Vec<f64>,
    whole: Vec<f64>,
}

impl Took {
    /// Asks both ways, each for another dog: the last one's pages are still at hand.
    fn ask(&mut self, runtime: &Runtime, office: &Asked, wanted: [String; 2], found: usize) {
        let [first, second] = wanted;
        let began = Instant::now();
        let out = office.state.search(&first).expect("searched");
        self.alone.push(began.elapsed().as_secs_f64() * 1e6);
        assert_eq!(out.len(), found, "{first}");
        let request = Request::get(format!("/search?q={}", second.replace(' ', "+")))
            .body(Body::empty())
            .expect("a request");
        let began = Instant::now();
        let bytes = runtime.block_on(async {
            let routes = office.routes.clone();
            let answer = routes.oneshot(request).await.expect("an answer");
            answer.into_body().collect().await.expect("a page")
        });
        self.whole.push(began.elapsed().as_secs_f64() * 1e6);
        assert!(bytes.to_bytes().len() > 1_000);
    }

    fn medians(mut self) -> (f64, f64) {
        let middle = |took: &mut Vec<f64>| {
            took.sort_by(f64::total_cmp);
            took[took.len() / 2]
        };
        (middle(&mut self.alone), middle(&mut self.whole))
    }
}

/// An office that is asked, and how many measures it has.
struct Asked {
    state: OfficeState,
    routes: axum::Router,
    count: u64,
}

/// Medians of searches by chip and by name, of the small office and of the large one. They are
/// asked in turn, so that whatever else the machine does meets both.
fn searched(runtime: &Runtime, offices: &[Asked; 2]) -> [[(f64, f64); 2]; 2] {
    let mut random = 3;
    let mut took: [[Took; 2]; 2] = Default::default();
    for _ in 0..ASKED {
        for (office, took) in offices.iter().zip(&mut took) {
            let mut next = || number(&mut random);
            let chips = [chip(next() % office.count), chip(next() % office.count)];
            let names = [name(next()), name(next())];
            took[0].ask(runtime, office, chips, 1);
            took[1].ask(runtime, office, names, 50);
        }
    }
    took.map(|kinds| kinds.map(Took::medians))
}

fn main() {
    let dir = tempfile::tempdir().expect("a folder");
    let offices = [FEW, MANY].map(|count| {
        let state = filled(dir.path(), count);
        let routes = web::router(state.clone());
        Asked {
            state,
            routes,
            count,
        }
    });
    let runtime = tokio::runtime::Builder::new_current_thread()
        .build()
        .expect("a runtime");
    // Once for the caches of either, then for the figure.
    searched(&runtime, &offices);
    let took = searched(&runtime, &offices);
    for (count, [by_chip, by_name]) in [FEW, MANY].iter().zip(took) {
        eprintln!(
            "{count} measures: {:.0} µs by chip (database {:.0}), {:.0} µs by name ({:.0})",
            by_chip.1, by_chip.0, by_name.1, by_name.0
        );
    }
    let [few, many] = took;
    let ratio = (many[0].1 / few[0].1).max(many[1].1 / few[1].1);
    let verdict = if ratio <= 1.5 { "ok" } else { "short" };
    println!("office.search {ratio:.2} <=1.5 {verdict}");
}
