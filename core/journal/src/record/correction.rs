//! What the measurers sign so that something entered for a dog is put right.

use minicbor::{CborLen, Encode};
use standsquare_plain::{record, tagged};

use super::canonical;
use super::fact::Id;
use super::fault::RecordFault;
use super::statement::StatedPlacing;

/// What is put right.
#[derive(Clone, Debug, PartialEq, Eq, Encode, CborLen)]
pub enum Putting {
    /// This placing counts for nothing. It keeps its place and its result.
    #[n(0)]
    VoidPlacing {
        /// Its number at this dog, from 1.
        #[n(0)]
        number: u32,
    },
    /// The record book is looked at again from its first line.
    #[n(1)]
    PapersAgain {},
    /// The placings were another dog's, whose chip was read: they count for that dog, with
    /// the hoop and the time they had, and this one is left without them.
    #[n(2)]
    MovePlacings {
        /// That dog's place in the day, from 1.
        #[n(0)]
        visit: u32,
        /// Its call name.
        #[n(1)]
        dog: String,
        /// The number read off it.
        #[n(2)]
        chip: String,
        /// The placings, in order, void ones included.
        #[n(3)]
        placings: Vec<StatedPlacing>,
    },
}

tagged!(Putting {
    0 VoidPlacing { number }
    1 PapersAgain {}
    2 MovePlacings { visit, dog, chip, placings }
});

/// A correction, as the screen shows it and the measurers sign it.
#[derive(Clone, Debug, PartialEq, Eq, Encode, CborLen)]
pub struct Correction {
    /// The session.
    #[n(0)]
    pub session: Id,
    /// The dog's place in the day, from 1.
    #[n(1)]
    pub visit: u32,
    /// Call name.
    #[n(2)]
    pub dog: String,
    /// The number in the record book; empty if none.
    #[n(3)]
    pub chip: String,
    /// What is put right.
    #[n(4)]
    pub what: Putting,
    /// The placing as it was, where one is put right.
    #[n(5)]
    pub placing: Option<StatedPlacing>,
    /// The reason's id.
    #[n(6)]
    pub reason: String,
    /// Whether all had signed the dog before.
    #[n(7)]
    pub after_sign_off: bool,
    /// The measurers' numbers, in the order seated.
    #[n(8)]
    pub measurers: Vec<String>,
    /// Whether this is the invented league.
    #[n(9)]
    pub demo: bool,
}

record!(Correction {
    session,
    visit,
    dog,
    chip,
    what,
    placing,
    reason,
    after_sign_off,
    measurers,
    demo
});

impl Correction {
    /// The bytes that are signed and kept.
    pub fn encode(&self) -> Vec<u8> {
        canonical::encode(self)
    }

    /// Reads a correction from exactly these bytes.
    ///
    /// # Errors
    /// [`RecordFault::Form`] where they are no correction, are followed by more, or are
    /// not in the one canonical form.
    pub fn decode_strict(bytes: &[u8]) -> Result<Self, RecordFault> {
        canonical::decode(bytes, "a correction")
    }
}
