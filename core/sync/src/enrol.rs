//! Enrolling a phone: the one-time code on the office's page, what the phone sends with it,
//! and the office's answer; afterwards, how the phone asks for the roster.
//!
//! Nothing secret stays behind: the phone goes on by its device key, whose private half
//! never leaves it. `docs/enrol.cddl` has the forms.

use minicbor::bytes::ByteArray;
use minicbor::{Decode, Encode};
use standsquare_plain::record;

use crate::frame::to_cbor;
use crate::signed::{Kind, SignedFault};

/// How long a one-time code is good, milliseconds. Own choice, no source: long enough to
/// walk over with the phone and try again once.
pub const CODE_GOOD_MS: i64 = 15 * 60 * 1000;

/// How far a phone's clock may be from the office's when it asks for the roster,
/// milliseconds either way. Own choice, no source: an ask that somebody kept is soon worth
/// nothing, and a phone that knows how wrong its clock is asks with the office's time.
pub const ASK_FRESH_MS: i64 = 15 * 60 * 1000;

/// Longest address in a code, bytes. Own choice, no source: the code must stay small enough
/// for a camera.
pub const LONGEST_ADDRESS: usize = 200;
/// Longest id of a body or a person, bytes. Own choice, no source.
pub const LONGEST_ID: usize = 64;

/// What a one-time code's text begins with.
const CODE_NAME: &str = "SSE";
/// Its version.
const CODE_VERSION: u32 = 1;

const ENROL: Kind = Kind {
    what: "a phone's enrolment",
    format: 1,
    domain: b"standsquare enrol ask 1\0",
};
const ENROLLED: Kind = Kind {
    what: "an office's enrolment",
    format: 1,
    domain: b"standsquare enrolled 1\0",
};
const ROSTER: Kind = Kind {
    what: "a question for the roster",
    format: 1,
    domain: b"standsquare roster ask 1\0",
};

/// Why a text is no one-time code that can be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum CodeFault {
    /// The text is of something else.
    #[error("this is not an office's code for enrolling a phone")]
    Other,
    /// A later version of this software made it.
    #[error("this code is newer than this app: update it")]
    TooNew,
    /// Damaged, or not in the one form that it has.
    #[error("this code cannot be read: {0}")]
    Unreadable(String),
}

/// What the QR code on the office's page says. It is good for one phone and a short time,
/// and whoever sees it can use it: it is shown to the phone alone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EnrolCode {
    /// Where the office answers, such as `https://office.larkmere.example`: no path, and
    /// no `/` at the end.
    pub address: String,
    /// The body that the office works for: its id.
    pub body: String,
    /// The office's Ed25519 public key: its answer is checked with it.
    pub office_key: [u8; 32],
    /// The one-time secret.
    pub code: [u8; 16],
    /// When it is good no more, by the office's clock, Unix milliseconds.
    pub until_ms: i64,
}

#[derive(Encode)]
struct CodeWire {
    #[n(0)]
    address: String,
    #[n(1)]
    body: String,
    #[n(2)]
    office_key: ByteArray<32>,
    #[n(3)]
    code: ByteArray<16>,
    #[n(4)]
    until_ms: i64,
}

record!(CodeWire {
    address,
    body,
    office_key,
    code,
    until_ms
});

impl EnrolCode {
    /// Whether a text would be such a code, of whatever version.
    pub fn is_one(text: &str) -> bool {
        text.trim_start().starts_with(CODE_NAME)
    }

    /// Its text: letters, digits and signs that a QR code holds in its short form.
    pub fn text(&self) -> String {
        let bytes = to_cbor(&CodeWire {
            address: self.address.clone(),
            body: self.body.clone(),
            office_key: self.office_key.into(),
            code: self.code.into(),
            until_ms: self.until_ms,
        });
        format!("{CODE_NAME}{CODE_VERSION}:{}", base45::encode(bytes))
    }

    /// Reads a text.
    ///
    /// # Errors
    /// [`CodeFault`]; each says what to think of it.
    pub fn read(text: &str) -> Result<EnrolCode, CodeFault> {
        let unreadable = |why: &str| CodeFault::Unreadable(why.to_owned());
        let (version, coded) = text
            .trim()
            .strip_prefix(CODE_NAME)
            .and_then(|rest| rest.split_once(':'))
            .ok_or(CodeFault::Other)?;
        match version.parse::<u32>() {
            Ok(CODE_VERSION) => {}
            Ok(later) if later > CODE_VERSION => return Err(CodeFault::TooNew),
            _ => return Err(CodeFault::Other),
        }
        let bytes = base45::decode(coded).map_err(|_| unreadable("not base45"))?;
        let wire: CodeWire =
            minicbor::decode(&bytes).map_err(|e| CodeFault::Unreadable(e.to_string()))?;
        let read = EnrolCode {
            address: wire.address,
            body: wire.body,
            office_key: *wire.office_key,
            code: *wire.code,
            until_ms: wire.until_ms,
        };
        // One form only, so that two codes never say the same.
        if read.text() != format!("{CODE_NAME}{version}:{coded}") {
            return Err(unreadable("not in its one form"));
        }
        let host = ["https://", "http://"]
            .iter()
            .find_map(|scheme| read.address.strip_prefix(scheme));
        let plain = |c: char| c.is_ascii_graphic() && !"/?#@\\".contains(c);
        if !host.is_some_and(|host| !host.is_empty() && host.chars().all(plain))
            || read.address.len() > LONGEST_ADDRESS
        {
            return Err(unreadable("it names no address of an office"));
        }
        if !is_id(&read.body) {
            return Err(unreadable("it names no body"));
        }
        Ok(read)
    }
}

/// Whether this can be the id of a body or a person.
fn is_id(text: &str) -> bool {
    (1..=LONGEST_ID).contains(&text.len()) && !text.chars().any(char::is_control)
}

/// What a phone sends with the code, signed with its device key: that proves that it has
/// the key. `POST /v1/enrol`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EnrolAsk {
    /// The office's public key, as the code said it: the ask counts nowhere else.
    pub office_key: [u8; 32],
    /// The body's id, as the code said it.
    pub body: String,
    /// The phone's Ed25519 public key.
    pub device_key: [u8; 32],
    /// The one-time secret.
    pub code: [u8; 16],
    /// The phone's clock, Unix milliseconds.
    pub at_ms: i64,
}

#[derive(Encode, Decode)]
struct EnrolWire {
    #[n(0)]
    office_key: ByteArray<32>,
    #[n(1)]
    body: String,
    #[n(2)]
    device_key: ByteArray<32>,
    #[n(3)]
    code: ByteArray<16>,
    #[n(4)]
    at_ms: i64,
}

impl EnrolAsk {
    /// Of a code, for this device.
    pub fn of(code: &EnrolCode, device_key: [u8; 32], at_ms: i64) -> EnrolAsk {
        EnrolAsk {
            office_key: code.office_key,
            body: code.body.clone(),
            device_key,
            code: code.code,
            at_ms,
        }
    }

    /// Its bytes. `sign` signs with the private half of the device key.
    pub fn sign(&self, sign: impl FnOnce(&[u8]) -> [u8; 64]) -> Vec<u8> {
        let wire = EnrolWire {
            office_key: self.office_key.into(),
            body: self.body.clone(),
            device_key: self.device_key.into(),
            code: self.code.into(),
            at_ms: self.at_ms,
        };
        ENROL.sign(&wire, sign)
    }

    /// Reads an ask and checks that the device it names signed it, for this office.
    ///
    /// # Errors
    /// [`SignedFault`].
    pub fn verify(bytes: &[u8], office_key: &[u8; 32]) -> Result<EnrolAsk, SignedFault> {
        let read = ENROL.read::<EnrolWire>(bytes)?;
        if *read.body.office_key != *office_key {
            return Err(SignedFault::OtherOffice);
        }
        let key = *read.body.device_key;
        let wire = ENROL.checked(read, &key)?;
        if !is_id(&wire.body) {
            return Err(ENROL.unreadable("it names no body"));
        }
        Ok(EnrolAsk {
            office_key: *wire.office_key,
            body: wire.body,
            device_key: key,
            code: *wire.code,
            at_ms: wire.at_ms,
        })
    }
}

/// The office's answer: this phone is enrolled.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Enrolment {
    /// The office's public key.
    pub office_key: [u8; 32],
    /// The body's id.
    pub body: String,
    /// The phone's public key.
    pub device_key: [u8; 32],
    /// Whose phone it is: id in the roster; empty for a phone that several use.
    pub person: String,
    /// The edition of the roster that the office has at the moment.
    pub edition: u64,
    /// The office's clock, Unix milliseconds.
    pub at_ms: i64,
}

#[derive(Encode)]
struct EnrolledWire {
    #[n(0)]
    office_key: ByteArray<32>,
    #[n(1)]
    body: String,
    #[n(2)]
    device_key: ByteArray<32>,
    #[n(3)]
    person: String,
    #[n(4)]
    edition: u64,
    #[n(5)]
    at_ms: i64,
}

record!(EnrolledWire {
    office_key,
    body,
    device_key,
    person,
    edition,
    at_ms
});

impl Enrolment {
    /// Its bytes. `sign` signs with the private half of the office's key.
    pub fn sign(&self, sign: impl FnOnce(&[u8]) -> [u8; 64]) -> Vec<u8> {
        let wire = EnrolledWire {
            office_key: self.office_key.into(),
            body: self.body.clone(),
            device_key: self.device_key.into(),
            person: self.person.clone(),
            edition: self.edition,
            at_ms: self.at_ms,
        };
        ENROLLED.sign(&wire, sign)
    }

    /// Reads an answer and checks that this office signed it, to this very ask.
    ///
    /// # Errors
    /// [`SignedFault`]; the phone is not enrolled then.
    pub fn verify(bytes: &[u8], ask: &EnrolAsk) -> Result<Enrolment, SignedFault> {
        let read = ENROLLED.read::<EnrolledWire>(bytes)?;
        if *read.body.office_key != ask.office_key {
            return Err(SignedFault::OtherOffice);
        }
        let wire = ENROLLED.checked(read, &ask.office_key)?;
        if wire.body != ask.body || *wire.device_key != ask.device_key {
            return Err(ENROLLED.unreadable("it is of another phone or body"));
        }
        Ok(Enrolment {
            office_key: ask.office_key,
            body: wire.body,
            device_key: ask.device_key,
            person: wire.person,
            edition: wire.edition,
            at_ms: wire.at_ms,
        })
    }
}

/// How an enrolled phone asks for the roster, or for what changed in it, signed with its
/// device key. `POST /v1/roster`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RosterAsk {
    /// The office's public key.
    pub office_key: [u8; 32],
    /// The body's id.
    pub body: String,
    /// The phone's public key.
    pub device_key: [u8; 32],
    /// The edition that the phone has; 0 for none, or to be given the whole of it.
    pub after: u64,
    /// The office's time as far as the phone knows it, Unix milliseconds.
    pub at_ms: i64,
}

#[derive(Encode, Decode)]
struct RosterWire {
    #[n(0)]
    office_key: ByteArray<32>,
    #[n(1)]
    body: String,
    #[n(2)]
    device_key: ByteArray<32>,
    #[n(3)]
    after: u64,
    #[n(4)]
    at_ms: i64,
}

impl RosterAsk {
    /// Its bytes. `sign` signs with the private half of the device key.
    pub fn sign(&self, sign: impl FnOnce(&[u8]) -> [u8; 64]) -> Vec<u8> {
        let wire = RosterWire {
            office_key: self.office_key.into(),
            body: self.body.clone(),
            device_key: self.device_key.into(),
            after: self.after,
            at_ms: self.at_ms,
        };
        ROSTER.sign(&wire, sign)
    }

    /// Reads an ask and checks that the device it names signed it, for this office. Whether
    /// that device is enrolled, and the ask fresh ([`RosterAsk::is_fresh`]), is for the
    /// office to say.
    ///
    /// # Errors
    /// [`SignedFault`].
    pub fn verify(bytes: &[u8], office_key: &[u8; 32]) -> Result<RosterAsk, SignedFault> {
        let read = ROSTER.read::<RosterWire>(bytes)?;
        if *read.body.office_key != *office_key {
            return Err(SignedFault::OtherOffice);
        }
        let key = *read.body.device_key;
        let wire = ROSTER.checked(read, &key)?;
        Ok(RosterAsk {
            office_key: *wire.office_key,
            body: wire.body,
            device_key: key,
            after: wire.after,
            at_ms: wire.at_ms,
        })
    }

    /// Whether it was signed about now by the office's clock (Unix milliseconds).
    pub fn is_fresh(&self, now_ms: i64) -> bool {
        self.at_ms.abs_diff(now_ms) <= ASK_FRESH_MS as u64
    }
}
