//! The invented Larkmere Agility League: its roster, and an office with a key that
//! everybody knows.

use ed25519_dalek::SigningKey;
use standsquare_sync::roster::Roster;

use crate::accounts::{AccountFault, Role};
use crate::db::{DbFault, SqliteDb};
use crate::state::OfficeState;

const TEXT: &str = include_str!("../demo/larkmere.json");

/// The demo office's key. It is printed here for everybody to read and protects
/// nothing: a receipt under it says 'demo' and no more.
const DEMO_ONLY_SEED: &[u8; 32] = b"DEMO ONLY - protects nothing ...";

/// The key of the demo office. Never for a real one.
pub fn demo_only_key() -> SigningKey {
    SigningKey::from_bytes(DEMO_ONLY_SEED)
}

/// The demo league's roster, with its rule pack and the demo office's public key.
///
/// # Panics
/// Never in a build whose tests pass: the text is part of the program.
pub fn roster() -> Roster {
    let mut roster: Roster = serde_json::from_str(TEXT).expect("the demo roster is a roster");
    roster.pack = standsquare_measuring::LARKMERE.to_owned();
    roster.office.key = hex::encode(demo_only_key().verifying_key().to_bytes());
    roster
}

/// [`roster`] as JSON text; always the same.
pub fn roster_json() -> String {
    serde_json::to_string_pretty(&roster()).unwrap_or_default()
}

/// A demo office that lives in memory, for tests.
///
/// # Panics
/// If the system has no memory left for a database.
pub fn in_memory() -> OfficeState {
    let opened: Result<SqliteDb, DbFault> = SqliteDb::in_memory();
    let engine = opened.expect("a database in memory");
    OfficeState::open(Box::new(engine), demo_only_key(), roster()).expect("a new office opens")
}

/// What the demo's secretary signs in with; printed on the page, it protects nothing.
pub const DEMO_ONLY_ACCOUNT: (&str, &str) = ("idris", "hollin field demo only");

/// Gives the demo office its secretary.
///
/// # Errors
/// [`AccountFault`], only of the database.
pub fn staff(office: &OfficeState) -> Result<(), AccountFault> {
    let (account, password) = DEMO_ONLY_ACCOUNT;
    office.put_account(
        account,
        "Idris Fell",
        Role::Secretary,
        password,
        b"demo salt, fixed",
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use standsquare_measuring::RulePack;
    use std::collections::BTreeSet;

    #[test]
    fn the_demo_roster_can_be_worked_by() {
        let roster = roster();
        assert!(roster.demo, "everything about it says that it is invented");
        let pack = RulePack::parse(&roster.pack).expect("its rule pack is read");
        for hoop in &roster.hoops {
            assert!(
                pack.gauges().iter().any(|g| g.id.as_str() == hoop.gauge),
                "{}",
                hoop.id
            );
        }
        let ids: BTreeSet<_> = roster.dogs.iter().map(|d| &d.id).collect();
        let chips: BTreeSet<_> = roster.dogs.iter().map(|d| &d.chip).collect();
        assert_eq!((ids.len(), chips.len()), (6, 6));
        // 999 in front is for testing only (ISO 11784), so these are no dog's numbers.
        assert!(
            chips
                .iter()
                .all(|c| c.len() == 15 && c.starts_with("999000000"))
        );
        assert_eq!(roster_json(), roster_json());
    }

    #[test]
    fn the_text_comes_back_the_same() {
        let again: Roster = serde_json::from_str(&roster_json()).expect("a roster");
        assert_eq!(again, roster());
    }
}
