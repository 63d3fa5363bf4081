//! `office.ingest`: taking in 2,000 dogs in posts of 64 frames, every seal, chain and sign-off
//! verified, each post committed durably by itself, against a bare insert of the same rows
//! into the same tables on the same engine, as many in a transaction and as durably. At least
//! 0.3. What goes to standard error beside it: the same with all rows of a table in one
//! transaction, and the share that verification takes: what checking every signature and
//! chain takes by itself on one core.
//!
//! SQLite in a file by default; with STANDSQUARE_TEST_POSTGRES set, PostgreSQL.

#[path = "../tests/support/mod.rs"]
mod support;

use standsquare_office::db::{self, Engine, SqliteDb, Value};
use standsquare_sync::{Frame, frame_id};
use std::time::{Duration, Instant};
use support::{Pen, office_over, on_postgres};

const DOGS: usize = 2_000;
/// Frames in a post.
const POST: usize = 64;
/// The quickest of so many rounds counts, for either: what else the machine does only adds.
const ROUNDS: usize = 5;

fn engine(dir: &std::path::Path, name: &str) -> Box<dyn Engine> {
    if on_postgres() {
        return support::engine();
    }
    Box::new(SqliteDb::open(&dir.join(name)).expect("a database"))
}

fn main() {
    let dir = tempfile::tempdir().expect("a folder");
    let pen = Pen::day(1, DOGS);

    let (mut ours, mut raw, mut bulk) = (Duration::MAX, Duration::MAX, Duration::MAX);
    for round in 0..ROUNDS {
        let office = office_over(engine(dir.path(), &format!("ours-{round}.sqlite")));
        let began = Instant::now();
        for posted in pen.frames.chunks(POST) {
            let (held, refused) = office.take_frames(posted, 1).expect("taken in");
            assert_eq!((held.len(), refused.len()), (posted.len(), 0));
        }
        ours = ours.min(began.elapsed());

        // The same rows again, copied out of the tables and put in without a look.
        let rows = Rows::of(office.engine());
        let bare = office_over(engine(dir.path(), &format!("bare-{round}.sqlite")));
        let began = Instant::now();
        rows.insert(bare.engine(), POST);
        raw = raw.min(began.elapsed());
        let bare = office_over(engine(dir.path(), &format!("bulk-{round}.sqlite")));
        let began = Instant::now();
        rows.insert(bare.engine(), usize::MAX);
        bulk = bulk.min(began.elapsed());
    }

    let verifying = verify_alone(&pen);
    eprintln!(
        "{DOGS} dogs: {:.0} ms taken in, {:.0} ms bare, {:.0} ms bare in one go ({:.2}); \
         verification alone {:.0} ms on one core, {:.0} % of ours",
        ms(ours),
        ms(raw),
        ms(bulk),
        ms(bulk) / ms(ours),
        ms(verifying),
        100.0 * ms(verifying) / ms(ours)
    );
    let ratio = ms(raw) / ms(ours);
    let verdict = if ratio >= 0.3 { "ok" } else { "short" };
    let name = match on_postgres() {
        true => "office.ingest.postgres",
        false => "office.ingest",
    };
    println!("{name} {ratio:.2} >=0.3 {verdict}");
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1_000.0
}

/// The chains, seals and sign-offs alone, without any database.
fn verify_alone(pen: &Pen) -> Duration {
    let began = Instant::now();
    let mut check = standsquare_journal::record::ChainCheck::new();
    for bytes in &pen.frames {
        let frame = Frame::decode_strict(bytes).expect("a frame");
        std::hint::black_box(frame_id(bytes));
        for event in &frame.events {
            check.feed(event).expect("it holds");
        }
    }
    began.elapsed()
}

/// Rows of the three tables that every dog is in.
struct Rows {
    frames: Vec<Vec<Value>>,
    visits: Vec<Vec<Value>>,
    signatures: Vec<Vec<Value>>,
}

impl Rows {
    fn of(engine: &dyn Engine) -> Rows {
        let all = |sql: &'static str| {
            let rows = db::read(engine, |on| on.query(sql, &[])).expect("read");
            rows.into_iter().map(|row| row.0).collect()
        };
        Rows {
            frames: all(
                "SELECT body, year, id, device_key, journal, from_seq, to_seq, state,
                                reason, received_ms, bytes FROM frames ORDER BY from_seq",
            ),
            visits: all(
                "SELECT body, year, session, device_key, journal, visit, head, stated_ms,
                                day, dog, chip, measurers, statement, points, weight,
                                dog_key FROM visits ORDER BY visit",
            ),
            signatures: all(
                "SELECT body, year, session, device_key, journal, visit, person,
                                    number, seq, signed_ms, signature
             FROM signatures ORDER BY seq",
            ),
        }
    }

    /// Puts the rows of so many dogs in with each transaction.
    fn insert(&self, engine: &dyn Engine, dogs: usize) {
        let part = |rows: &'_ [Vec<Value>], nth: usize, each: usize| {
            let from = nth
                .saturating_mul(dogs)
                .saturating_mul(each)
                .min(rows.len());
            let to = from
                .saturating_add(dogs.saturating_mul(each))
                .min(rows.len());
            from..to
        };
        for nth in 0..self.frames.len().div_ceil(dogs) {
            db::write(engine, |on| {
                for (sql, rows, each) in [
                    (FRAMES, &self.frames, 1),
                    (VISITS, &self.visits, 1),
                    (SIGNATURES, &self.signatures, 2),
                ] {
                    for row in &rows[part(rows, nth, each)] {
                        on.put(sql, row)?;
                    }
                }
                Ok(())
            })
            .expect("inserted");
        }
    }
}

const FRAMES: &str =
    "INSERT INTO frames (body, year, id, device_key, journal, from_seq, to_seq, state,
     reason, received_ms, bytes) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)";
const VISITS: &str =
    "INSERT INTO visits (body, year, session, device_key, journal, visit, head, stated_ms,
     day, dog, chip, measurers, statement, points, weight, dog_key)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)";
const SIGNATURES: &str =
    "INSERT INTO signatures (body, year, session, device_key, journal, visit, person,
     number, seq, signed_ms, signature)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)";
