//! PostgreSQL: serializable transactions, begun again when two of them conflict;
//! synchronous commit; what grows is partitioned by body and year.

use std::collections::HashMap;
use std::error::Error as _;
use std::future::Future;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use bytes::BytesMut;
use futures_util::future::try_join_all;
use sha2::{Digest, Sha256};
use tokio::runtime::Runtime;
use tokio_postgres::error::SqlState;
use tokio_postgres::types::{IsNull, ToSql, Type, to_sql_checked};
use tokio_postgres::{Client, Config, NoTls, Statement};

use super::{DbFault, Engine, KEYS, Row, Sql, Value, Work};

/// Every migration, oldest first. One that has been published is never edited.
const MIGRATIONS: &[&str] = &[
    include_str!("../../migrations/postgres/0001.sql"),
    include_str!("../../migrations/postgres/0002.sql"),
    include_str!("../../migrations/postgres/0003.sql"),
    include_str!("../../migrations/postgres/0004.sql"),
    include_str!("../../migrations/postgres/0005.sql"),
    include_str!("../../migrations/postgres/0006.sql"),
    include_str!("../../migrations/postgres/0007.sql"),
    include_str!("../../migrations/postgres/0008.sql"),
];

/// Tables that grow with the measures.
const PARTITIONED: [&str; 4] = ["frames", "sessions", "visits", "signatures"];

/// Idle connections kept.
const KEPT: usize = 16;

/// How often a transaction is begun again that conflicts with others.
const TRIES: u32 = 50;

/// Most changes that are sent off together.
const MOST_PUT: usize = 30;

/// Any number, the same for every office: only one migrates or makes room at a time.
const MIGRATION_LOCK: i64 = 0x5353_516f;

/// PostgreSQL as the office's engine. The calls block: they are for threads that may.
pub struct PostgresDb {
    config: Config,
    idle: Mutex<Vec<Connection>>,
    /// Drives the connections. Taken out when dropped.
    runtime: Option<Runtime>,
}

struct Connection {
    client: Client,
    prepared: HashMap<&'static str, Statement>,
}

fn engine(fault: &tokio_postgres::Error) -> DbFault {
    let cause = fault.source().map(|c| format!(": {c}")).unwrap_or_default();
    DbFault::Engine(format!("{fault}{cause}"))
}

impl PostgresDb {
    /// Connects and brings the tables to the present version. `setting` is a
    /// connection string (`postgres://user@host/database` or `host=… dbname=…`).
    ///
    /// # Errors
    /// [`DbFault`]: no such server, no rights, or data of a newer version.
    pub fn open(setting: &str) -> Result<Self, DbFault> {
        let config: Config = setting.parse().map_err(|e| engine(&e))?;
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(1)
            .thread_name("postgres")
            .enable_all()
            .build()
            .map_err(|e| DbFault::Engine(e.to_string()))?;
        let db = PostgresDb {
            config,
            idle: Mutex::new(Vec::new()),
            runtime: Some(runtime),
        };
        db.migrate()?;
        Ok(db)
    }

    fn wait<T>(&self, work: impl Future<Output = T>) -> Result<T, DbFault> {
        let runtime = self.runtime.as_ref();
        let runtime = runtime.ok_or_else(|| DbFault::Engine("the office is closing".into()))?;
        Ok(runtime.block_on(work))
    }

    fn connect(&self) -> Result<Connection, DbFault> {
        let client = self.wait(async {
            let (client, connection) = self.config.connect(NoTls).await?;
            tokio::spawn(async move {
                if let Err(fault) = connection.await {
                    tracing::warn!("a connection to PostgreSQL ended: {fault}");
                }
            });
            // Only with this does an acknowledged commit outlive the server.
            client.batch_execute("SET synchronous_commit = on").await?;
            Ok::<_, tokio_postgres::Error>(client)
        })?;
        let client = client.map_err(|e| engine(&e))?;
        Ok(Connection {
            client,
            prepared: HashMap::new(),
        })
    }

    /// A connection that answered just now.
    fn connection(&self) -> Result<Connection, DbFault> {
        loop {
            let kept = self
                .idle
                .lock()
                .unwrap_or_else(PoisonError::into_inner)
                .pop();
            match kept {
                None => return self.connect(),
                Some(kept) if kept.client.is_closed() => {}
                Some(kept) => return Ok(kept),
            }
        }
    }

    fn put_back(&self, connection: Connection) {
        let mut idle = self.idle.lock().unwrap_or_else(PoisonError::into_inner);
        if idle.len() < KEPT && !connection.client.is_closed() {
            idle.push(connection);
        }
    }

    fn batch(&self, connection: &Connection, sql: &str) -> Result<(), DbFault> {
        self.wait(connection.client.batch_execute(sql))?
            .map_err(|e| engine(&e))
    }

    fn migrate(&self) -> Result<(), DbFault> {
        let connection = self.connect()?;
        self.batch(&connection, "BEGIN")?;
        self.batch(
            &connection,
            &format!("SELECT pg_advisory_xact_lock({MIGRATION_LOCK})"),
        )?;
        self.batch(
            &connection,
            "CREATE TABLE IF NOT EXISTS office_version (known BIGINT NOT NULL)",
        )?;
        let asked = connection
            .client
            .query_opt("SELECT MAX(known) FROM office_version", &[]);
        let row = self.wait(asked)?.map_err(|e| engine(&e))?;
        let found = row
            .and_then(|row| row.get::<_, Option<i64>>(0))
            .unwrap_or(0);
        let known = MIGRATIONS.len() as i64;
        if found > known {
            return Err(DbFault::TooNew { found, known });
        }
        for step in MIGRATIONS.iter().skip(usize::try_from(found).unwrap_or(0)) {
            self.batch(&connection, step)?;
        }
        if found < known {
            self.batch(
                &connection,
                &format!("INSERT INTO office_version VALUES ({known})"),
            )?;
        }
        self.batch(&connection, "COMMIT")?;
        self.put_back(connection);
        Ok(())
    }

    /// One try at a transaction.
    fn attempt(&self, begin: &str, work: &mut Work<'_>) -> Result<(), Attempt> {
        let mut connection = self.connection()?;
        self.batch(&connection, begin)?;
        let mut on = OnPostgres {
            db: self,
            connection: &mut connection,
            again: false,
            put: Vec::new(),
        };
        let done = work(&mut on).and_then(|()| on.flush());
        let conflict = on.again;
        match done {
            Ok(()) => match self.wait(connection.client.batch_execute("COMMIT"))? {
                Ok(()) => {
                    self.put_back(connection);
                    Ok(())
                }
                // A conflict is told before anything is committed; with any other fault
                // it is not known, and whoever asked asks again.
                Err(fault) if conflicting(&fault) => {
                    self.put_back(connection);
                    Err(Attempt::Again)
                }
                Err(fault) => Err(Attempt::Fault(engine(&fault))),
            },
            Err(fault) => {
                if self.batch(&connection, "ROLLBACK").is_ok() {
                    self.put_back(connection);
                }
                Err(if conflict {
                    Attempt::Again
                } else {
                    Attempt::Fault(fault)
                })
            }
        }
    }

    fn transaction(&self, begin: &str, mut work: Work<'_>) -> Result<(), DbFault> {
        for nth in 0..TRIES {
            match self.attempt(begin, &mut work) {
                Ok(()) => return Ok(()),
                Err(Attempt::Fault(fault)) => return Err(fault),
                Err(Attempt::Again) => std::thread::sleep(pause(nth)),
            }
        }
        Err(DbFault::Engine(
            "other work keeps getting in the way".into(),
        ))
    }
}

/// How long to wait before what was in conflict is begun again: longer each time up to some
/// thirty milliseconds, and by chance, so that the same two do not meet again. Own choice, no
/// source.
fn pause(nth: u32) -> Duration {
    let mut chance = [128];
    // Without chance half of it: only how soon, never what is done, depends on it.
    let _ = getrandom::fill(&mut chance);
    Duration::from_micros((1_000 << nth.min(5)) * u64::from(chance[0]) / 255)
}

enum Attempt {
    Again,
    Fault(DbFault),
}

impl From<DbFault> for Attempt {
    fn from(fault: DbFault) -> Self {
        Attempt::Fault(fault)
    }
}

/// Whether it comes of other work at the same time. A row that another one wrote first is
/// told as such before the conflict is noticed (PostgreSQL's manual, 13.5 "Serialization
/// Failure Handling", asks to begin that again as well).
fn conflicting(fault: &tokio_postgres::Error) -> bool {
    matches!(
        fault.code(),
        Some(
            &SqlState::T_R_SERIALIZATION_FAILURE
                | &SqlState::T_R_DEADLOCK_DETECTED
                | &SqlState::UNIQUE_VIOLATION
        )
    )
}

impl Drop for PostgresDb {
    fn drop(&mut self) {
        if let Some(runtime) = self.runtime.take() {
            // Not waiting: this may be dropped where waiting is not allowed.
            runtime.shutdown_background();
        }
    }
}

impl Engine for PostgresDb {
    fn write(&self, work: Work<'_>) -> Result<(), DbFault> {
        self.transaction("BEGIN ISOLATION LEVEL SERIALIZABLE", work)
    }

    fn read(&self, work: Work<'_>) -> Result<(), DbFault> {
        self.transaction("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY", work)
    }

    fn make_room(&self, body: &str, years: std::ops::RangeInclusive<i64>) -> Result<(), DbFault> {
        let connection = self.connection()?;
        let tag = hex::encode(&Sha256::digest(body)[..6]);
        let literal = format!("'{}'", body.replace('\'', "''"));
        self.batch(&connection, "BEGIN")?;
        self.batch(
            &connection,
            &format!("SELECT pg_advisory_xact_lock({MIGRATION_LOCK})"),
        )?;
        for table in PARTITIONED {
            let of_body = format!("{table}_{tag}");
            self.batch(
                &connection,
                &format!(
                    "CREATE TABLE IF NOT EXISTS {of_body} PARTITION OF {table}
                     FOR VALUES IN ({literal}) PARTITION BY RANGE (year);
                     CREATE TABLE IF NOT EXISTS {of_body}_rest PARTITION OF {of_body} DEFAULT"
                ),
            )?;
            for year in years.clone() {
                let next = year + 1;
                self.batch(&connection, "SAVEPOINT room")?;
                let made = self.batch(
                    &connection,
                    &format!(
                        "CREATE TABLE IF NOT EXISTS {of_body}_{year} PARTITION OF {of_body}
                         FOR VALUES FROM ({year}) TO ({next})"
                    ),
                );
                // Rows of that year that came before their partition stay in the rest.
                if let Err(fault) = made {
                    tracing::warn!("no partition of its own for {table} {year}: {fault}");
                    self.batch(&connection, "ROLLBACK TO SAVEPOINT room")?;
                }
            }
        }
        self.batch(&connection, "COMMIT")?;
        self.put_back(connection);
        Ok(())
    }

    fn is_shared(&self) -> bool {
        true
    }
}

struct OnPostgres<'a> {
    db: &'a PostgresDb,
    connection: &'a mut Connection,
    again: bool,
    /// What is to be done before anything else: sent off together, so that the server is
    /// waited for once.
    put: Vec<(Statement, Vec<Value>)>,
}

impl OnPostgres<'_> {
    fn told<T>(&mut self, answer: Result<T, tokio_postgres::Error>) -> Result<T, DbFault> {
        answer.map_err(|fault| {
            self.again |= conflicting(&fault);
            engine(&fault)
        })
    }

    fn flush(&mut self) -> Result<(), DbFault> {
        let put = std::mem::take(&mut self.put);
        if put.is_empty() {
            return Ok(());
        }
        let client = &self.connection.client;
        let all = put.iter().map(|(statement, values)| async move {
            client.execute(statement, &references(values)).await
        });
        // Sent in this order, and done in this order: one connection has one queue.
        let done = self.db.wait(try_join_all(all))?;
        self.told(done).map(|_| ())
    }

    fn prepared(&mut self, sql: &'static str) -> Result<Statement, DbFault> {
        if let Some(known) = self.connection.prepared.get(sql) {
            return Ok(known.clone());
        }
        let asked = self.db.wait(self.connection.client.prepare(sql))?;
        let statement = self.told(asked)?;
        self.connection.prepared.insert(sql, statement.clone());
        Ok(statement)
    }
}

fn references(values: &[Value]) -> Vec<&(dyn ToSql + Sync)> {
    values.iter().map(|v| v as &(dyn ToSql + Sync)).collect()
}

impl Sql for OnPostgres<'_> {
    fn put(&mut self, sql: &'static str, values: &[Value]) -> Result<(), DbFault> {
        let statement = self.prepared(sql)?;
        self.put.push((statement, values.to_vec()));
        if self.put.len() >= MOST_PUT {
            self.flush()?;
        }
        Ok(())
    }

    fn execute(&mut self, sql: &'static str, values: &[Value]) -> Result<u64, DbFault> {
        self.flush()?;
        let statement = self.prepared(sql)?;
        let values = references(values);
        let done = self
            .db
            .wait(self.connection.client.execute(&statement, &values))?;
        self.told(done)
    }

    fn query_many(
        &mut self,
        one: &'static str,
        many: &'static str,
        common: &[Value],
        keys: &[Value],
    ) -> Result<Vec<Row>, DbFault> {
        let mut rows = Vec::new();
        for part in keys.chunks(KEYS) {
            let mut values = [common, part].concat();
            if part.len() == 1 {
                rows.extend(self.query(one, &values)?);
            } else {
                // A list that is shorter is filled up with what no row equals.
                values.resize(common.len() + KEYS, Value::Null);
                rows.extend(self.query(many, &values)?);
            }
        }
        Ok(rows)
    }

    fn query(&mut self, sql: &'static str, values: &[Value]) -> Result<Vec<Row>, DbFault> {
        self.flush()?;
        let statement = self.prepared(sql)?;
        let values = references(values);
        let asked = self
            .db
            .wait(self.connection.client.query(&statement, &values))?;
        self.told(asked)?.iter().map(row).collect()
    }
}

fn row(row: &tokio_postgres::Row) -> Result<Row, DbFault> {
    let mut values = Vec::with_capacity(row.len());
    for (n, column) in row.columns().iter().enumerate() {
        values.push(
            match *column.type_() {
                Type::INT8 => row.try_get::<_, Option<i64>>(n).map(Value::from),
                Type::INT4 => row
                    .try_get::<_, Option<i32>>(n)
                    .map(|v| v.map(i64::from).into()),
                Type::TEXT => row.try_get::<_, Option<String>>(n).map(Value::from),
                Type::BYTEA => row.try_get::<_, Option<&[u8]>>(n).map(Value::from),
                ref other => {
                    return Err(DbFault::Unexpected(format!("a {other} in column {n}")));
                }
            }
            .map_err(|e| engine(&e))?,
        );
    }
    Ok(Row(values))
}

impl ToSql for Value {
    fn to_sql(
        &self,
        ty: &Type,
        out: &mut BytesMut,
    ) -> Result<IsNull, Box<dyn std::error::Error + Sync + Send>> {
        match self {
            Value::Null => Ok(IsNull::Yes),
            Value::Int(n) => n.to_sql_checked(ty, out),
            Value::Text(text) => text.to_sql_checked(ty, out),
            Value::Bytes(bytes) => bytes.to_sql_checked(ty, out),
        }
    }

    // Each value checks the type itself.
    fn accepts(_: &Type) -> bool {
        true
    }

    to_sql_checked!();
}
