//! The roster: what the office hands a phone before a session. One JSON text
//! with the league, its rule pack, the people who may measure, their hoops and
//! the dogs that are expected.

use serde::{Deserialize, Serialize};

/// The roster's format that this code writes and reads.
pub const ROSTER_FORMAT: u32 = 1;

/// A league.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct League {
    /// Short id.
    pub id: String,
    /// Its name, as screens show it.
    pub name: String,
}

/// The office that the return goes to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OfficeCard {
    /// Its name, as screens show it.
    pub name: String,
    /// Its Ed25519 public key, 64 hexadecimal digits: receipts are checked with it.
    pub key: String,
    /// Public keys of phones whose slips it vouches for, 64 hexadecimal digits each.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub phones: Vec<String>,
}

/// Somebody who may sit at the table.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Person {
    /// Short id.
    pub id: String,
    /// Their name.
    pub name: String,
    /// Their measurer's number.
    pub number: String,
    /// `measurer` or `trainee`.
    pub role: String,
}

/// A hoop.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hoop {
    /// Short id.
    pub id: String,
    /// Which gauge of the rule pack it is.
    pub gauge: String,
    /// The number stamped on it.
    pub serial: String,
    /// Day of its last check, `YYYY-MM-DD`.
    pub checked: String,
}

/// An earlier measure that the office knows of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct EarlierMeasure {
    /// Its day, `YYYY-MM-DD`.
    pub day: String,
    /// The category's id in the pack.
    pub category: String,
    /// 1 for a first measure, 2 for a second.
    pub measure: u8,
}

/// A dog that is expected.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Dog {
    /// Short id.
    pub id: String,
    /// Call name.
    pub name: String,
    /// The handler's name. Personal data: kept apart, never in the chain.
    pub handler: String,
    /// The chip number as the office knows it; empty if none.
    pub chip: String,
    /// Day of birth, `YYYY-MM-DD`.
    pub born: String,
    /// Earlier measures, oldest first.
    #[serde(default)]
    pub earlier: Vec<EarlierMeasure>,
    /// Ids of people who must not measure it: their own dog, or their household's.
    #[serde(default)]
    pub household_of: Vec<String>,
}

/// What the office hands a phone before a session.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Roster {
    /// [`ROSTER_FORMAT`].
    pub format: u32,
    /// Whether this is an invented league: then every screen and file says so.
    pub demo: bool,
    /// The league.
    pub league: League,
    /// The office.
    pub office: OfficeCard,
    /// The rule pack's TOML text.
    pub pack: String,
    /// Usual venues.
    pub venues: Vec<String>,
    /// People.
    pub people: Vec<Person>,
    /// Hoops.
    pub hoops: Vec<Hoop>,
    /// Dogs.
    pub dogs: Vec<Dog>,
}
