//! The office's state: a database, a signing key and the roster it hands out.

use ed25519_dalek::SigningKey;
use standsquare_measuring::RulePack;
use standsquare_sync::roster::Roster;
use std::sync::{Arc, Mutex};
use tokio::sync::Notify;

use crate::counts::Counts;
use crate::db::{self, DbFault, Engine};
use crate::points::refresh_all;
use crate::rules::Rules;

/// One office. Cloning gives another handle to the same one.
#[derive(Clone)]
pub struct OfficeState(Arc<Inner>);

struct Inner {
    engine: Box<dyn Engine>,
    key: SigningKey,
    roster: Roster,
    rules: Mutex<Arc<Rules>>,
    counts: Counts,
    arrivals: Notify,
}

/// Why an office does not open.
#[derive(Debug, thiserror::Error)]
pub enum OpenFault {
    /// The roster's rule pack is refused.
    #[error("the roster's rule pack is refused: {0}")]
    Pack(String),
    /// The database failed.
    #[error(transparent)]
    Db(#[from] DbFault),
}

impl OfficeState {
    /// An office over this database. `key` signs its receipts; its public half is put
    /// into the roster, so that the phones that take it know whom to believe.
    ///
    /// # Errors
    /// [`OpenFault`].
    pub fn open(
        engine: Box<dyn Engine>,
        key: SigningKey,
        mut roster: Roster,
    ) -> Result<Self, OpenFault> {
        roster.office.key = hex::encode(key.verifying_key().to_bytes());
        let pack = RulePack::parse(&roster.pack).map_err(|faults| {
            let faults: Vec<_> = faults.iter().map(ToString::to_string).collect();
            OpenFault::Pack(faults.join("; "))
        })?;
        let office = OfficeState(Arc::new(Inner {
            engine,
            key,
            roster,
            rules: Mutex::new(Arc::new(Rules::of_roster(pack))),
            counts: Counts::default(),
            arrivals: Notify::new(),
        }));
        // A place for this body, whatever the year.
        #[allow(clippy::reversed_empty_ranges)]
        office.make_room(1..=0)?;
        db::write(office.engine(), |sql| refresh_all(&office, sql))?;
        Ok(office)
    }

    /// Makes room for the measures of these years, where the engine keeps them apart.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn make_room(&self, years: std::ops::RangeInclusive<i64>) -> Result<(), DbFault> {
        self.engine().make_room(&self.roster().league.id, years)
    }

    /// The rules, as they were read last.
    pub(crate) fn known_rules(&self) -> &Mutex<Arc<Rules>> {
        &self.0.rules
    }

    /// What is counted.
    pub(crate) fn counts(&self) -> &Counts {
        &self.0.counts
    }

    /// Told whenever frames were taken in, for posts whose rivals may have brought the rest.
    pub(crate) fn arrivals(&self) -> &Notify {
        &self.0.arrivals
    }

    /// The database.
    pub fn engine(&self) -> &dyn Engine {
        self.0.engine.as_ref()
    }

    /// The key that signs receipts.
    pub(crate) fn key(&self) -> &SigningKey {
        &self.0.key
    }

    /// The office's Ed25519 public key.
    pub fn public_key(&self) -> [u8; 32] {
        self.0.key.verifying_key().to_bytes()
    }

    /// The roster that it hands out.
    pub fn roster(&self) -> &Roster {
        &self.0.roster
    }

    /// The roster as JSON text as it is handed out now, Unix milliseconds.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn roster_json_at(&self, now_ms: i64) -> Result<String, DbFault> {
        let roster = db::read(self.engine(), |sql| self.roster_now(sql, now_ms))?;
        Ok(serde_json::to_string_pretty(&roster).unwrap_or_default())
    }

    /// The roster as JSON text, with its own rule pack.
    pub fn roster_json(&self) -> String {
        // A struct of strings, numbers and lists always has a JSON text.
        serde_json::to_string_pretty(self.roster()).unwrap_or_default()
    }
}
