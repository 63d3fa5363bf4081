//! A database that fails by plan.

use std::ops::RangeInclusive;
use std::sync::{Arc, Mutex};

use standsquare_office::db::{DbFault, Engine, SqliteDb, Work};

/// What the database does at its next transaction.
#[derive(Clone, Default)]
pub struct Plan(Arc<Mutex<Option<Trouble>>>);

impl Plan {
    pub fn next(&self, trouble: Trouble) {
        *self.0.lock().expect("the plan") = Some(trouble);
    }

    pub fn clear(&self) {
        self.0.lock().expect("the plan").take();
    }
}

#[derive(Clone, Copy)]
pub enum Trouble {
    /// Nothing is written, as on a full disk.
    Before,
    /// Everything is written, and nobody is told.
    After,
}

/// A database with a plan, which several offices may share.
pub struct Failing {
    inner: Arc<SqliteDb>,
    plan: Plan,
}

impl Failing {
    pub fn over(inner: Arc<SqliteDb>, plan: Plan) -> Failing {
        Failing { inner, plan }
    }
}

impl Engine for Failing {
    fn write(&self, work: Work<'_>) -> Result<(), DbFault> {
        let trouble = self.plan.0.lock().expect("the plan").take();
        match trouble {
            None => self.inner.write(work),
            Some(Trouble::Before) => Err(DbFault::Engine("the disk is full".into())),
            Some(Trouble::After) => {
                self.inner.write(work)?;
                Err(DbFault::Engine("the power went".into()))
            }
        }
    }

    fn read(&self, work: Work<'_>) -> Result<(), DbFault> {
        self.inner.read(work)
    }

    fn make_room(&self, body: &str, years: RangeInclusive<i64>) -> Result<(), DbFault> {
        self.inner.make_room(body, years)
    }
}
