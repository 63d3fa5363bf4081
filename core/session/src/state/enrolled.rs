//! The office that enrolled this phone, and how much of its roster is here.

use super::put::put;

/// The office that enrolled this phone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Enrolled {
    /// The body that it works for: its id.
    pub body: String,
    /// Where it answers, such as `https://office.larkmere.example`.
    pub address: String,
    /// Its public key, as the one-time code said it.
    pub office_key: [u8; 32],
    /// The newest edition of its roster that was taken in; 0 for none.
    pub edition: u64,
    /// SHA-256 of that edition's text; zeros for none.
    pub digest: [u8; 32],
}

put!(Enrolled {
    body,
    address,
    office_key,
    edition,
    digest
});
