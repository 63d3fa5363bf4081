//! What a verified frame adds to the office's tables.

use standsquare_journal::record::Hash;
use standsquare_journal::record::fact::{Harm, Statement, Whom};
use standsquare_measuring::gauge::practice::DrillRecord;

/// What names a session in the tables: its id and the year of its day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct SessionKey {
    /// Its id.
    pub id: [u8; 16],
    /// The year of its day.
    pub year: i64,
}

/// What a verified frame adds to the office's tables, in order.
#[derive(Clone, Debug)]
pub enum Change {
    /// A measurer's number or key.
    Person {
        /// Id in the roster.
        person: String,
        /// Measurer's number.
        number: String,
        /// Public key.
        key: Option<[u8; 32]>,
    },
    /// A session begins.
    Session {
        /// Its id and year.
        session: SessionKey,
        /// Its league.
        league: String,
        /// Its day.
        day: i32,
        /// Minutes east of UTC.
        offset_min: i32,
        /// When, by the phone.
        at_ms: i64,
    },
    /// A session of this journal that was left is taken up again.
    TakenUp {
        /// The session.
        session: SessionKey,
        /// Number of the event.
        seq: u64,
    },
    /// Where it is held.
    Venue {
        /// The session.
        session: SessionKey,
        /// The venue's name.
        name: String,
    },
    /// A session is closed.
    Closed {
        /// The session.
        session: SessionKey,
        /// When, by the phone.
        at_ms: i64,
        /// Expected dogs that did not come.
        not_seen: i64,
    },
    /// Somebody was bitten or fell.
    Incident {
        /// The session.
        session: SessionKey,
        /// Number of the event.
        seq: u64,
        /// When, by the phone.
        at_ms: i64,
        /// The visit of the dog at the table; 0: between two dogs.
        visit: u32,
        /// What.
        what: Harm,
        /// To whom.
        whom: Whom,
        /// In words, if there are any.
        words: String,
    },
    /// A handler objected.
    Objected {
        /// The session.
        session: SessionKey,
        /// Number of the event.
        seq: u64,
        /// When, by the phone.
        at_ms: i64,
        /// The visit.
        visit: u32,
        /// What stands for the words, and the commitment to them.
        words: ([u8; 16], [u8; 32]),
    },
    /// A statement of a dog, in place of any earlier one of the visit.
    Stated {
        /// The session.
        session: SessionKey,
        /// Its head.
        head: Hash,
        /// When, by the phone.
        at_ms: i64,
        /// Its bytes.
        bytes: Vec<u8>,
        /// Read.
        statement: Box<Statement>,
    },
    /// A record of practice, its trainer's signature verified.
    Practice {
        /// The trainer: id in the roster.
        trainer: String,
        /// The record's bytes, as they were signed.
        bytes: Vec<u8>,
        /// The same, read.
        record: Box<DrillRecord>,
        /// When, by the phone.
        at_ms: i64,
        /// The signature.
        signature: [u8; 64],
    },
    /// A verified sign-off.
    Signed {
        /// The session.
        session: SessionKey,
        /// The visit.
        visit: u32,
        /// Who: id in the roster.
        person: String,
        /// Their number.
        number: String,
        /// Number of the event.
        seq: u64,
        /// When, by the phone.
        at_ms: i64,
        /// The signature.
        signature: [u8; 64],
        /// The key, where it came from the signer's own phone.
        elsewhere: Option<[u8; 32]>,
    },
}
