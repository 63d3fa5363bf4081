//! The office's state: a database, a signing key and the roster it hands out.

use ed25519_dalek::SigningKey;
use standsquare_sync::roster::Roster;
use std::sync::Arc;

use crate::db::Engine;

/// One office. Cloning gives another handle to the same one.
#[derive(Clone)]
pub struct OfficeState(Arc<Inner>);

struct Inner {
    engine: Box<dyn Engine>,
    key: SigningKey,
    roster: Roster,
}

impl OfficeState {
    /// An office over this database. `key` signs its receipts; its public half is put
    /// into the roster, so that the phones that take it know whom to believe.
    pub fn new(engine: Box<dyn Engine>, key: SigningKey, mut roster: Roster) -> Self {
        roster.office.key = hex::encode(key.verifying_key().to_bytes());
        OfficeState(Arc::new(Inner {
            engine,
            key,
            roster,
        }))
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

    /// The roster as JSON text.
    pub fn roster_json(&self) -> String {
        // A struct of strings, numbers and lists always has a JSON text.
        serde_json::to_string_pretty(self.roster()).unwrap_or_default()
    }
}
