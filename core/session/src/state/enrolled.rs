//! The office that enrolled this phone, and how much of its roster is here.

use serde::{Deserialize, Serialize};

/// The office that enrolled this phone.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Enrolled {
    /// The body that it works for: its id.
    pub body: String,
    /// Where it answers, such as `https://office.larkmere.example`.
    pub address: String,
    /// Its public key, as the one-time code said it.
    #[serde(with = "hex::serde")]
    pub office_key: [u8; 32],
    /// The newest edition of its roster that was taken in; 0 for none.
    pub edition: u64,
    /// SHA-256 of that edition's text; zeros for none.
    #[serde(with = "hex::serde")]
    pub digest: [u8; 32],
}
