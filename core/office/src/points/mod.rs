//! What the office has to look at in a dog's measures. Pure: a function of the set of
//! measures on record and of the decisions about them, whatever order they came in.

mod keys;
mod refresh;
mod rules;

pub use keys::Signer;
pub use refresh::EDITION;
pub(crate) use refresh::{
    read_points, refresh, refresh_all, refresh_many, still_open, write_points,
};
pub use rules::{Measure, points_of};

use serde::{Deserialize, Serialize};

/// Something to look at.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Point {
    /// A fixed word: a flag of the statement, or one of this office's own.
    pub kind: String,
    /// What it is about, such as another measure; may be empty.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub detail: String,
}

impl Point {
    /// A point without a detail.
    pub fn of(kind: &str) -> Self {
        Point {
            kind: kind.to_owned(),
            detail: String::new(),
        }
    }

    /// How heavily it weighs: the inbox is in this order. 0 means that it is only to
    /// be known and needs no decision. The order is an own choice, no source: what
    /// may be another dog first, then what cannot both be true, then what is late or
    /// close, then the rest.
    pub fn weight(&self) -> i64 {
        match self.kind.as_str() {
            "placing-taken-back" | "placings-void" | "after-settled" | "chip-typed"
            | "chip-other-form" | "settled-here" | "settled-there" | "measured-elsewhere" => 0,
            "chip-differs" | "book-chip-differs" => 100,
            "phones-differ" => 95,
            "key-revoked" | "key-not-theirs" | "key-unknown" | "phone-revoked" => 92,
            "contradiction" | "measurers-differ" | "measurers-refer" | "referred" => 90,
            "objection" => 88,
            "measures-differ" | "differ-refer" | "differ-further" | "book-measure-differs" => 85,
            "chip-not-found" | "chip-mis-keyed" | "no-chip" => 80,
            "bite" | "fall" => 75,
            "unsigned" | "key-over" | "key-not-yet" => 70,
            "key-lost-before-it-came" => 65,
            "second-late" | "second-too-early" => 60,
            "too-many-attempts" => 55,
            "near-limit" => 50,
            _ => 30,
        }
    }
}
