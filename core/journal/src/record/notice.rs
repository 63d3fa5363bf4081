//! What the office says of a measurer's key: that it is theirs, or that it counts no more.
//!
//! A notice is a text that the office signs (`SSK1:`, a code as a slip's is): it comes to a
//! phone by QR, with a roster, or as a file, and is believed for its signature alone. A
//! [`KeyRing`] holds what was said and answers, for a key and a moment, how it stood then.
//! `docs/journal.cddl` has the form.

use minicbor::{CborLen, Encode};
use standsquare_plain::{indexed, record, tagged};

use super::canonical;
use super::code::{CodeFault, Kind, unreadable};
use super::fact::B32;
use crate::map::Map;

const KIND: Kind = Kind {
    name: "SSK",
    version: 1,
    purpose: b"standsquare/key-notice/",
};

/// Why a key counts no more.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Encode, CborLen)]
#[cbor(index_only)]
pub enum Why {
    /// The phone that held it is lost.
    #[n(0)]
    Lost,
    /// Somebody else may know the PIN, or may have had the phone.
    #[n(1)]
    Exposed,
    /// Another key of the same measurer took its place.
    #[n(2)]
    Replaced,
    /// The measurer measures no more.
    #[n(3)]
    Ended,
}

indexed!(Why { 0 Lost, 1 Exposed, 2 Replaced, 3 Ended });

impl Why {
    /// In a word or two.
    pub fn word(self) -> &'static str {
        match self {
            Why::Lost => "lost",
            Why::Exposed => "exposed",
            Why::Replaced => "replaced",
            Why::Ended => "measures no more",
        }
    }
}

/// What is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Encode, CborLen)]
pub enum Says {
    /// The key is theirs, and what it signs counts from this moment on.
    #[n(0)]
    Enrolled {
        /// The first moment at which it counts no more, Unix milliseconds. Not the last
        /// element: the array's length is always the same then.
        #[n(0)]
        until_ms: Option<i64>,
        /// Unix milliseconds.
        #[n(1)]
        from_ms: i64,
    },
    /// What it signs counts no more from this moment on.
    #[n(1)]
    Revoked {
        /// Unix milliseconds: when it was lost, not when it was reported.
        #[n(0)]
        from_ms: i64,
        /// Why.
        #[n(1)]
        why: Why,
    },
}

tagged!(Says {
    0 Enrolled { until_ms, from_ms }
    1 Revoked { from_ms, why }
});

/// One thing that the office says of one key.
#[derive(Clone, Debug, PartialEq, Eq, Encode)]
pub struct Notice {
    /// Whose key: id in the roster.
    #[n(0)]
    pub person: String,
    /// Their measurer's number.
    #[n(1)]
    pub number: String,
    /// The public key.
    #[n(2)]
    pub key: B32,
    /// What is said of it.
    #[n(3)]
    pub says: Says,
    /// When the office said it, Unix milliseconds.
    #[n(4)]
    pub at_ms: i64,
}

record!(Notice {
    person,
    number,
    key,
    says,
    at_ms
});

impl Notice {
    /// Whether a text would be a notice's, of whatever version.
    pub fn is_one(text: &str) -> bool {
        text.trim_start().starts_with(KIND.name)
    }

    /// Its text. `sign` signs with the private half of the office's `key`.
    pub fn code(&self, key: &[u8; 32], sign: impl FnOnce(&[u8]) -> [u8; 64]) -> String {
        KIND.code(canonical::encode(self), key, sign)
    }

    /// Reads a text and checks it with the office's public keys.
    ///
    /// # Errors
    /// [`CodeFault`]; each says what to think of it.
    pub fn check(code: &str, keys: &[[u8; 32]]) -> Result<Notice, CodeFault> {
        let payload = KIND.open(code, keys, "a notice of a key")?;
        canonical::decode(&payload, "a notice").map_err(|fault| unreadable(fault.to_string()))
    }

    /// Reads a text out of a journal, where it was checked before it was written: no
    /// signature is checked.
    ///
    /// # Errors
    /// [`CodeFault`]
    pub fn read(code: &str) -> Result<Notice, CodeFault> {
        let payload = KIND.payload(code, "a notice of a key")?;
        canonical::decode(&payload, "a notice").map_err(|fault| unreadable(fault.to_string()))
    }
}

/// How a key stood at a moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// The office said nothing of it.
    Unknown,
    /// It is another person's.
    NotTheirs,
    /// Enrolled, but only from later on.
    NotYet {
        /// Unix milliseconds.
        from_ms: i64,
    },
    /// Enrolled, and not revoked.
    Good,
    /// Enrolled then, and revoked later: what was signed by that moment counts.
    RevokedLater {
        /// Unix milliseconds.
        from_ms: i64,
        /// Why.
        why: Why,
    },
    /// Its time was over.
    Over {
        /// Unix milliseconds.
        until_ms: i64,
    },
    /// Revoked by then.
    Revoked {
        /// Unix milliseconds.
        from_ms: i64,
        /// Why.
        why: Why,
    },
}

impl Standing {
    /// Whether what was signed at that moment counts.
    pub fn counts(self) -> bool {
        matches!(self, Standing::Good | Standing::RevokedLater { .. })
    }
}

#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Known {
    person: String,
    /// The earliest beginning, and the latest end.
    enrolled: Option<(i64, Option<i64>)>,
    /// The earliest revocation: a later one takes nothing back.
    revoked: Option<(i64, Why)>,
}

/// What the office said of keys, in whatever order it came: the same notices give the same
/// ring. A revocation is never taken back; the measurer is given a new key.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct KeyRing {
    keys: Map<[u8; 32], Known>,
}

impl KeyRing {
    /// Takes in a notice. The same one twice changes nothing.
    pub fn take(&mut self, notice: &Notice) {
        let known = self.keys.entry(*notice.key).or_default();
        // Two people for one key is the office's mistake: the key is then nobody's.
        if known.person.is_empty() {
            known.person.clone_from(&notice.person);
        } else if known.person != notice.person {
            known.person = "\0".into();
        }
        match notice.says {
            Says::Enrolled { from_ms, until_ms } => {
                let longest = |a: Option<i64>, b: Option<i64>| a.zip(b).map(|(a, b)| a.max(b));
                known.enrolled = Some(match known.enrolled {
                    None => (from_ms, until_ms),
                    Some((from, until)) => (from.min(from_ms), longest(until, until_ms)),
                });
            }
            Says::Revoked { from_ms, why } => {
                let new = (from_ms, why);
                known.revoked = Some(known.revoked.map_or(new, |old| old.min(new)));
            }
        }
    }

    /// The keys of this person that count at a moment, Unix milliseconds.
    pub fn keys_of<'a>(
        &'a self,
        person: &'a str,
        at_ms: i64,
    ) -> impl Iterator<Item = &'a [u8; 32]> {
        let counts = move |key: &&[u8; 32]| self.standing(person, key, at_ms).counts();
        self.keys.keys().filter(counts)
    }

    /// Whether anything was said of any key.
    pub fn is_empty(&self) -> bool {
        self.keys.is_empty()
    }

    /// How this person's key stood at a moment, Unix milliseconds.
    pub fn standing(&self, person: &str, key: &[u8; 32], at_ms: i64) -> Standing {
        let Some(known) = self.keys.get(key) else {
            return Standing::Unknown;
        };
        if known.person != person {
            return Standing::NotTheirs;
        }
        if let Some((from_ms, why)) = known.revoked
            && at_ms >= from_ms
        {
            return Standing::Revoked { from_ms, why };
        }
        match (known.enrolled, known.revoked) {
            // Revoked without ever having been enrolled here.
            (None, _) => Standing::Unknown,
            (Some((from_ms, _)), _) if at_ms < from_ms => Standing::NotYet { from_ms },
            (Some((_, Some(until_ms))), _) if at_ms >= until_ms => Standing::Over { until_ms },
            (Some(_), Some((from_ms, why))) => Standing::RevokedLater { from_ms, why },
            (Some(_), None) => Standing::Good,
        }
    }
}
