//! Two phones of one session: what the office tells each of the other's results, and what
//! the two come to. Equal results corroborate each other; different ones are disputed, and
//! both are kept until the measurers have signed which of them stands. `docs/enrol.cddl` has
//! the form.
//!
//! What a phone found of a dog is a word here ([`Side::came`]): `category:` and the
//! category's id, `not-today:` or `referred:` and the reason's.

use minicbor::bytes::ByteArray;
use minicbor::{Decode, Encode};
use standsquare_plain::record;

use crate::enrol::ASK_FRESH_MS;
use crate::signed::{Kind, SignedFault};

const ASK: Kind = Kind {
    what: "a question about a session's other phones",
    format: 1,
    domain: b"standsquare beside ask 1\0",
};

const TOLD: Kind = Kind {
    what: "what a session's other phones found",
    format: 1,
    domain: b"standsquare beside 1\0",
};

/// Most dogs told of in one answer. Own choice, no source: two phones' longest day.
pub const MOST: usize = 2_000;

/// A dog that a phone left to another table: no result of its own.
pub const LEFT: &str = "not-today:other_table";

/// What a statement's flag begins with in which the measurers settle what two phones found
/// differently.
pub const SETTLES: &str = "settles:";

/// The flag beside it where this phone's result stands.
pub const SETTLED_HERE: &str = "settled-here";

/// The flag beside it where the other phone's result stands.
pub const SETTLED_THERE: &str = "settled-there";

/// The flags of a statement that settles: it names the other's statement, by the first eight
/// bytes of its hash and by what it found.
pub fn settling(stands_here: bool, statement: &[u8; 32], came: &str) -> [String; 2] {
    let which = if stands_here {
        SETTLED_HERE
    } else {
        SETTLED_THERE
    };
    let hash: String = statement[..8].iter().map(|b| format!("{b:02x}")).collect();
    [which.to_owned(), format!("{SETTLES}{hash}:{came}")]
}

/// Whether a flag is one of those of [`settling`].
pub fn settles(flag: &str) -> bool {
    flag.starts_with(SETTLES) || flag == SETTLED_HERE || flag == SETTLED_THERE
}

/// What one phone has on record of a dog.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Side<'a> {
    /// What it found.
    pub came: &'a str,
    /// Its statement's flags.
    pub flags: &'a [String],
}

impl Side<'_> {
    /// Whether its measurers have settled against what the other found, and if so whether
    /// theirs stands.
    fn settled(&self, other: &Side<'_>) -> Option<bool> {
        let names = |flag: &String| {
            let named = flag.strip_prefix(SETTLES).and_then(|f| f.split_once(':'));
            named.is_some_and(|(_, came)| came == other.came)
        };
        if !self.flags.iter().any(names) {
            return None;
        }
        Some(self.flags.iter().any(|f| f == SETTLED_HERE))
    }
}

/// What two phones' results of one dog come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Beside {
    /// Both found the same.
    Corroborated,
    /// They differ: both are kept, and neither is settled.
    Disputed,
    /// They differ, and it is signed that the first one stands.
    FirstStands,
    /// They differ, and it is signed that the second one stands.
    SecondStands,
    /// One of them left the dog to the other.
    Left,
}

/// What two phones' results of one dog come to. Whoever compares them, and in whatever order
/// they came in: exchanged, the answer is exchanged.
pub fn compare(first: &Side<'_>, second: &Side<'_>) -> Beside {
    if first.came == LEFT || second.came == LEFT {
        return Beside::Left;
    }
    if first.came == second.came {
        return Beside::Corroborated;
    }
    let first_says = first.settled(second);
    let second_says = second.settled(first).map(|stands| !stands);
    match (first_says, second_says) {
        (None, None) => Beside::Disputed,
        // Settled on both phones, differently: nothing is settled.
        (Some(one), Some(other)) if one != other => Beside::Disputed,
        (Some(true), _) | (None, Some(true)) => Beside::FirstStands,
        (Some(false), _) | (None, Some(false)) => Beside::SecondStands,
    }
}

/// How a phone asks what the office has of a session's other phones, signed with its device
/// key. `POST /v1/beside`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BesideAsk {
    /// The office's public key.
    pub office_key: [u8; 32],
    /// The phone's public key.
    pub device_key: [u8; 32],
    /// The session.
    pub session: [u8; 16],
    /// The office's time as far as the phone knows it, Unix milliseconds.
    pub at_ms: i64,
}

#[derive(Encode, Decode)]
struct AskWire {
    #[n(0)]
    office_key: ByteArray<32>,
    #[n(1)]
    device_key: ByteArray<32>,
    #[n(2)]
    session: ByteArray<16>,
    #[n(3)]
    at_ms: i64,
}

impl BesideAsk {
    /// Its bytes. `sign` signs with the private half of the device key.
    pub fn sign(&self, sign: impl FnOnce(&[u8]) -> [u8; 64]) -> Vec<u8> {
        let wire = AskWire {
            office_key: self.office_key.into(),
            device_key: self.device_key.into(),
            session: self.session.into(),
            at_ms: self.at_ms,
        };
        ASK.sign(&wire, sign)
    }

    /// Reads an ask and checks that the device it names signed it, for this office.
    ///
    /// # Errors
    /// [`SignedFault`].
    pub fn verify(bytes: &[u8], office_key: &[u8; 32]) -> Result<BesideAsk, SignedFault> {
        let read = ASK.read::<AskWire>(bytes)?;
        if *read.body.office_key != *office_key {
            return Err(SignedFault::OtherOffice);
        }
        let key = *read.body.device_key;
        let wire = ASK.checked(read, &key)?;
        Ok(BesideAsk {
            office_key: *wire.office_key,
            device_key: key,
            session: *wire.session,
            at_ms: wire.at_ms,
        })
    }

    /// Whether it was signed within a quarter of an hour of the office's time.
    pub fn is_fresh(&self, now_ms: i64) -> bool {
        self.at_ms.abs_diff(now_ms) <= ASK_FRESH_MS as u64
    }
}

/// A dog as another phone of the session has it on record, signed by all.
#[derive(Clone, Debug, PartialEq, Eq, Encode)]
pub struct ToldDog {
    /// That phone's device key.
    #[n(0)]
    pub device_key: ByteArray<32>,
    /// Its journal.
    #[n(1)]
    pub journal: ByteArray<16>,
    /// The dog's place in its day.
    #[n(2)]
    pub visit: u32,
    /// The number in the record book.
    #[n(3)]
    pub chip: String,
    /// What it found.
    #[n(4)]
    pub came: String,
    /// SHA-256 by which its statement is named (`record::statement_hash`).
    #[n(5)]
    pub statement: ByteArray<32>,
    /// Those of the statement's flags that settle something.
    #[n(6)]
    pub settles: Vec<String>,
}

record!(ToldDog {
    device_key,
    journal,
    visit,
    chip,
    came,
    statement,
    settles
});

impl ToldDog {
    /// As one side of a comparison.
    pub fn side(&self) -> Side<'_> {
        Side {
            came: &self.came,
            flags: &self.settles,
        }
    }
}

/// The office's answer.
#[derive(Clone, Debug, PartialEq, Eq, Encode)]
pub struct Told {
    /// The office's public key.
    #[n(0)]
    pub office_key: ByteArray<32>,
    /// The session.
    #[n(1)]
    pub session: ByteArray<16>,
    /// The office's clock, Unix milliseconds: of two answers the later one counts.
    #[n(2)]
    pub at_ms: i64,
    /// Phones, but the one that asks, that sent a record of this session: device key and
    /// journal, in order.
    #[n(3)]
    pub phones: Vec<Paired>,
    /// Their dogs, in the order of their keys, journals and visits.
    #[n(4)]
    pub dogs: Vec<ToldDog>,
    /// Devices of this session, the one that asks among them, of which the office set
    /// another history aside.
    #[n(5)]
    pub forked: Vec<ByteArray<32>>,
}

record!(Told {
    office_key,
    session,
    at_ms,
    phones,
    dogs,
    forked
});

/// A phone of a session.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Encode)]
pub struct Paired {
    /// Its device's public key.
    #[n(0)]
    pub device_key: ByteArray<32>,
    /// Its journal's id.
    #[n(1)]
    pub journal: ByteArray<16>,
}

record!(Paired {
    device_key,
    journal
});

impl Told {
    /// Its bytes. `sign` signs with the private half of the office's key.
    pub fn sign(&self, sign: impl FnOnce(&[u8]) -> [u8; 64]) -> Vec<u8> {
        TOLD.sign(self, sign)
    }

    /// Reads an answer and checks that this office signed it, about this session.
    ///
    /// # Errors
    /// [`SignedFault`]; nothing of it counts then.
    pub fn verify(
        bytes: &[u8],
        office_key: &[u8; 32],
        session: &[u8; 16],
    ) -> Result<Told, SignedFault> {
        let told = TOLD.checked(TOLD.read::<Told>(bytes)?, office_key)?;
        told.fits(office_key, session)
    }

    /// Reads an answer again that was checked when it was taken in.
    ///
    /// # Errors
    /// As for [`Told::verify`]; no signature is checked.
    pub fn again(bytes: &[u8]) -> Result<Told, SignedFault> {
        Ok(TOLD.read::<Told>(bytes)?.body)
    }

    fn fits(self, office_key: &[u8; 32], session: &[u8; 16]) -> Result<Told, SignedFault> {
        if *self.office_key != *office_key {
            return Err(SignedFault::OtherOffice);
        }
        if *self.session != *session || self.dogs.len() > MOST {
            return Err(TOLD.unreadable("it is about another session"));
        }
        Ok(self)
    }

    /// Whether it says the same as another one, whenever it was said.
    pub fn says_what(&self, other: &Told) -> bool {
        (&self.phones, &self.dogs, &self.forked) == (&other.phones, &other.dogs, &other.forked)
    }
}
