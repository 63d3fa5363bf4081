//! What a measure takes at the office: bytes in the tables, with their indexes, and frames a
//! second from one phone. `cargo run --release -p standsquare-office --example storage`;
//! under `tests/on-postgres.sh --run` on PostgreSQL. `docs/ten-million.md` does the sums.

#[path = "../tests/support/mod.rs"]
mod support;

use standsquare_office::db::SqliteDb;
use std::time::Instant;
use support::{Pen, fresh_schema, office_over, postgres_at};

const DOGS: usize = 10_000;

fn main() {
    let pen = Pen::day(1, DOGS);
    let frames: usize = pen.frames.iter().map(Vec::len).sum();
    let dir = tempfile::tempdir().expect("a folder");
    let file = dir.path().join("office.sqlite");
    let postgres = std::env::var("STANDSQUARE_TEST_POSTGRES").ok();
    let schema = postgres.as_ref().map(|setting| fresh_schema(setting));
    let office = office_over(match (&postgres, &schema) {
        (Some(setting), Some(schema)) => Box::new(postgres_at(setting, schema)),
        _ => Box::new(SqliteDb::open(&file).expect("a database")),
    });
    let began = Instant::now();
    for posted in pen.frames.chunks(64) {
        let (_, refused) = office.take_frames(posted, 1).expect("taken in");
        assert!(refused.is_empty());
    }
    let took = began.elapsed().as_secs_f64();
    while office.extend_log().expect("logged") > 0 {}
    drop(office);
    let bytes = match (postgres, schema) {
        (Some(setting), Some(schema)) => size_of(&setting, &schema),
        _ => std::fs::metadata(&file).expect("there").len(),
    };
    println!(
        "{DOGS} dogs: {} bytes a dog in the tables with their indexes, of which {} are the \
         frames as sent; {:.0} dogs a second, verified and committed 64 at a time",
        bytes / DOGS as u64,
        frames / DOGS,
        DOGS as f64 / took
    );
}

/// Bytes of every table of a schema with its indexes.
fn size_of(setting: &str, schema: &str) -> u64 {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build();
    runtime.expect("a runtime").block_on(async {
        let connected = tokio_postgres::connect(setting, tokio_postgres::NoTls).await;
        let (client, connection) = connected.expect("PostgreSQL answers");
        tokio::spawn(connection);
        let row = client
            .query_one(
                "SELECT SUM(pg_total_relation_size(c.oid))::BIGINT FROM pg_class c
                 JOIN pg_namespace n ON n.oid = c.relnamespace
                 WHERE n.nspname = $1 AND c.relkind = 'r'",
                &[&schema],
            )
            .await
            .expect("asked");
        row.get::<_, i64>(0) as u64
    })
}
