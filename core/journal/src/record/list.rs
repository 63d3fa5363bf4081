//! The one list that measurers sign at the close, where the rules have a session signed
//! once: every dog's statement as it was shown and confirmed.

use minicbor::{CborLen, Encode};
use standsquare_plain::record;

use super::canonical;
use super::fact::{B32, Id};
use super::fault::RecordFault;
use super::statement::Outcome;

/// One dog of the list. What of its statement is on the list's screen stands here in the
/// clear; all of it is bound by its hash.
#[derive(Clone, Debug, PartialEq, Eq, Encode, CborLen)]
pub struct Listed {
    /// The dog's place in the day, from 1.
    #[n(0)]
    pub visit: u32,
    /// Call name.
    #[n(1)]
    pub dog: String,
    /// The number in the record book; empty if none.
    #[n(2)]
    pub chip: String,
    /// What it came to.
    #[n(3)]
    pub outcome: Outcome,
    /// `record::statement_hash` of the statement that was shown and confirmed.
    #[n(4)]
    pub statement: B32,
    /// Who confirmed it and signs it with this list: ids in the roster.
    #[n(5)]
    pub by: Vec<String>,
}

record!(Listed {
    visit,
    dog,
    chip,
    outcome,
    statement,
    by
});

/// The list, as the screen shows it and the measurers sign it.
#[derive(Clone, Debug, PartialEq, Eq, Encode, CborLen)]
pub struct List {
    /// The session.
    #[n(0)]
    pub session: Id,
    /// The dogs, in the order of the day.
    #[n(1)]
    pub dogs: Vec<Listed>,
    /// Whether this is the invented league. Never absent.
    #[n(2)]
    pub demo: bool,
}

record!(List {
    session,
    dogs,
    demo
});

impl List {
    /// The bytes that are signed and kept.
    pub fn encode(&self) -> Vec<u8> {
        canonical::encode(self)
    }

    /// Reads a list from exactly these bytes.
    ///
    /// # Errors
    /// [`RecordFault::Form`] where they are no list, are followed by more, or are not in
    /// the one canonical form.
    pub fn decode_strict(bytes: &[u8]) -> Result<Self, RecordFault> {
        canonical::decode(bytes, "a list")
    }

    /// The dogs that this person signs with it.
    pub fn of<'a>(&'a self, person: &'a str) -> impl Iterator<Item = &'a Listed> {
        self.dogs
            .iter()
            .filter(move |dog| dog.by.iter().any(|p| p == person))
    }
}
