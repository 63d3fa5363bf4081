//! One event: a fact with its time.

use minicbor::{Decode, Encode};

use super::canonical;
use super::fact::Fact;
use super::fault::RecordFault;

/// The version of events that this software writes, and the newest it reads.
pub const FORMAT: u8 = 1;

/// One event of a journal. Its bytes are the CBOR array `[version, at_ms, fact]`.
#[derive(Clone, Debug, PartialEq, Eq, Encode, Decode)]
pub struct Event {
    /// The form of what follows: [`FORMAT`].
    #[n(0)]
    pub version: u8,
    /// When, by the device's clock: milliseconds since 1970-01-01 UTC.
    #[n(1)]
    pub at_ms: i64,
    /// What happened.
    #[n(2)]
    pub fact: Fact,
}

impl Event {
    /// Its bytes: deterministic CBOR (RFC 8949 §4.2.1).
    pub fn encode(&self) -> Vec<u8> {
        canonical::encode(self)
    }

    /// Reads an event from exactly these bytes.
    ///
    /// # Errors
    /// [`RecordFault::TooNew`] for a later version; [`RecordFault::Form`] where the
    /// bytes are no event, are followed by more, or are not in the one canonical form.
    pub fn decode_strict(bytes: &[u8]) -> Result<Event, RecordFault> {
        not_newer(bytes)?;
        let event: Event = canonical::decode(bytes, "an event")?;
        match event.version {
            FORMAT => Ok(event),
            other => Err(RecordFault::form(format!("there is no version {other}"))),
        }
    }
}

/// A later version may hold anything, so it is told before the rest is read.
fn not_newer(bytes: &[u8]) -> Result<(), RecordFault> {
    let mut decoder = minicbor::Decoder::new(bytes);
    let version = match decoder.array() {
        Ok(Some(_)) => decoder.u64().unwrap_or(0),
        _ => 0,
    };
    if version > u64::from(FORMAT) {
        return Err(RecordFault::TooNew { seq: 0, version });
    }
    Ok(())
}
