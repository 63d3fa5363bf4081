//! What the measurers sign.

use minicbor::{CborLen, Encode};
use standsquare_plain::{indexed, record, tagged};

use super::canonical;
use super::fact::Id;
use super::fault::RecordFault;

/// How the chip number of a statement came to be known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Encode, CborLen)]
#[cbor(index_only)]
pub enum ChipProof {
    /// Read by a reader and equal to the record book.
    #[n(0)]
    Equal,
    /// Read, and a slip of the pen away from the book: both measurers looked.
    #[n(1)]
    MisKeyed,
    /// Typed from the reader's own display, seen by both.
    #[n(2)]
    Typed,
    /// No chip was found.
    #[n(3)]
    NotFound,
    /// Read, and it is another number.
    #[n(4)]
    Different,
    /// Not scanned before the dog was stopped.
    #[n(5)]
    NotScanned,
    /// The same chip in another form.
    #[n(6)]
    OtherForm,
    /// Two chips in this dog, one of them the record book's: both measurers looked.
    #[n(7)]
    TwoChips,
}

indexed!(ChipProof { 0 Equal, 1 MisKeyed, 2 Typed, 3 NotFound, 4 Different, 5 NotScanned, 6 OtherForm, 7 TwoChips });

/// What one placing showed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Encode, CborLen)]
#[cbor(index_only)]
pub enum Seen {
    /// Base flat on the surface.
    #[n(0)]
    Flat,
    /// Base not flat.
    #[n(1)]
    NotFlat,
    /// The dog moved: void.
    #[n(2)]
    Moved,
    /// Base flat, and made void by all measurers together.
    #[n(3)]
    FlatVoid,
    /// Base not flat, and made void by all measurers together.
    #[n(4)]
    NotFlatVoid,
}

indexed!(Seen { 0 Flat, 1 NotFlat, 2 Moved, 3 FlatVoid, 4 NotFlatVoid });

impl Seen {
    /// Whether the placing counts.
    pub fn counts(self) -> bool {
        matches!(self, Seen::Flat | Seen::NotFlat)
    }

    /// The same placing, made void; its result stays readable.
    #[must_use]
    pub fn made_void(self) -> Self {
        match self {
            Seen::Flat => Seen::FlatVoid,
            Seen::NotFlat => Seen::NotFlatVoid,
            void => void,
        }
    }
}

/// How a dog's visit ended.
#[derive(Clone, Debug, PartialEq, Eq, Encode, CborLen)]
pub enum Outcome {
    /// In this height category.
    #[n(0)]
    Category {
        /// Its id in the pack.
        #[n(0)]
        id: String,
        /// Its label at the time, as the screen showed it.
        #[n(1)]
        label: String,
    },
    /// Stopped for today.
    #[n(1)]
    NotToday {
        /// The reason's id.
        #[n(0)]
        reason: String,
    },
    /// The pack sends it to somebody else.
    #[n(2)]
    Referred {
        /// Why.
        #[n(0)]
        reason: String,
    },
}

impl Outcome {
    /// It in one word, by which results of two phones are compared: `category:` and the
    /// category's id, `not-today:` or `referred:` and the reason's.
    pub fn word(&self) -> String {
        let (kind, id) = match self {
            Outcome::Category { id, .. } => ("category:", id),
            Outcome::NotToday { reason } => ("not-today:", reason),
            Outcome::Referred { reason } => ("referred:", reason),
        };
        [kind, id].concat()
    }
}

tagged!(Outcome {
    0 Category { id, label }
    1 NotToday { reason }
    2 Referred { reason }
});

/// One placing inside a statement.
#[derive(Clone, Debug, PartialEq, Eq, Encode, CborLen)]
pub struct StatedPlacing {
    /// The hoop's id.
    #[n(0)]
    pub hoop: String,
    /// What was seen.
    #[n(1)]
    pub seen: Seen,
}

record!(StatedPlacing { hoop, seen });

/// What the measurers sign: everything the sign-off screen shows, and nothing else.
#[derive(Clone, Debug, PartialEq, Eq, Encode, CborLen)]
pub struct Statement {
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
    /// How it was proved.
    #[n(4)]
    pub proof: ChipProof,
    /// The number that was read or typed, where it isn't the book's.
    #[n(5)]
    pub chip_read: Option<String>,
    /// The rule pack's id.
    #[n(6)]
    pub pack: String,
    /// Its edition.
    #[n(7)]
    pub edition: String,
    /// The session's day, days since 1970-01-01 in the session's own time zone.
    #[n(8)]
    pub day: i32,
    /// What it came to.
    #[n(9)]
    pub outcome: Outcome,
    /// The height is more than this, micrometres.
    #[n(10)]
    pub over_um: Option<i64>,
    /// The height is at most this, micrometres.
    #[n(11)]
    pub within_um: Option<i64>,
    /// 1 for a first measure, 2 for a second.
    #[n(12)]
    pub measure: u8,
    /// The status's id.
    #[n(13)]
    pub status: String,
    /// For the office's attention, in order.
    #[n(14)]
    pub flags: Vec<String>,
    /// Every placing in order, void ones included.
    #[n(15)]
    pub placings: Vec<StatedPlacing>,
    /// First day of the second measure's window, days since 1970-01-01.
    #[n(16)]
    pub window_from: Option<i32>,
    /// Its last day.
    #[n(17)]
    pub window_to: Option<i32>,
    /// The measurers' numbers, in the order seated.
    #[n(18)]
    pub measurers: Vec<String>,
    /// The last day on which a provisional status is good, days since 1970-01-01.
    #[n(19)]
    pub status_until: Option<i32>,
    /// Whether this is the invented league. Never absent: the array's length is always
    /// the same then.
    #[n(20)]
    pub demo: bool,
}

record!(Statement {
    session,
    visit,
    dog,
    chip,
    proof,
    chip_read,
    pack,
    edition,
    day,
    outcome,
    over_um,
    within_um,
    measure,
    status,
    flags,
    placings,
    window_from,
    window_to,
    measurers,
    status_until,
    demo
});

impl Statement {
    /// The bytes that are signed and kept.
    pub fn encode(&self) -> Vec<u8> {
        canonical::encode(self)
    }

    /// Reads a statement from exactly these bytes.
    ///
    /// # Errors
    /// [`RecordFault::Form`] where they are no statement, are followed by more, or are
    /// not in the one canonical form.
    pub fn decode_strict(bytes: &[u8]) -> Result<Self, RecordFault> {
        canonical::decode(bytes, "a statement")
    }
}
