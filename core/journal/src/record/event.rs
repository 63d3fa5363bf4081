//! An event: one fact with its moment, as the bytes that the chain is made over.

use super::RecordFault;
use super::fact::{Fact, Statement};
use minicbor::{CborLen, Decode, Encode};

/// The event format that this version writes. Every older one stays readable.
pub const FORMAT: u8 = 1;

/// One event of a journal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Event {
    /// [`FORMAT`] when it was written.
    pub version: u8,
    /// The phone's clock when it was written, Unix milliseconds. Never repaired.
    pub at_ms: i64,
    /// What it says.
    pub fact: Fact,
}

/// Deterministic CBOR (RFC 8949 §4.2.1): shortest integers, definite lengths, and
/// arrays instead of maps, so that there is no order of keys to get wrong.
fn encode<T: Encode<()> + CborLen<()>>(value: &T) -> Vec<u8> {
    let mut out = Vec::with_capacity(minicbor::len(value));
    // Writing into a vector cannot fail, and none of our types refuses to be encoded.
    let _ = minicbor::encode(value, &mut out);
    out
}

/// Reads `bytes` and writes them again: anything that is not the one allowed form
/// (longer integers, unknown fields, bytes left over) comes out different.
fn decode<T>(bytes: &[u8]) -> Result<T, RecordFault>
where
    T: for<'b> Decode<'b, ()> + Encode<()> + CborLen<()>,
{
    let form = |reason: String| RecordFault::Form { seq: 0, reason };
    let value: T = minicbor::decode(bytes).map_err(|e| form(e.to_string()))?;
    if encode(&value) != bytes {
        return Err(form("it could be written in another way".into()));
    }
    Ok(value)
}

impl Event {
    /// The event's bytes.
    pub fn encode(&self) -> Vec<u8> {
        encode(&(self.version, self.at_ms, self.fact.clone()))
    }

    /// Reads an event's bytes.
    ///
    /// # Errors
    /// [`RecordFault::TooNew`] for a newer format, [`RecordFault::Form`] for
    /// anything that is not the one allowed form.
    pub fn decode_strict(bytes: &[u8]) -> Result<Event, RecordFault> {
        let mut peek = minicbor::Decoder::new(bytes);
        if let (Ok(Some(3)), Ok(version)) = (peek.array(), peek.u8())
            && version > FORMAT
        {
            return Err(RecordFault::TooNew { seq: 0, version });
        }
        let (version, at_ms, fact) = decode::<(u8, i64, Fact)>(bytes)?;
        Ok(Event {
            version,
            at_ms,
            fact,
        })
    }
}

impl Statement {
    /// The statement's bytes: what is signed.
    pub fn encode(&self) -> Vec<u8> {
        encode(self)
    }

    /// Reads a statement's bytes.
    ///
    /// # Errors
    /// [`RecordFault::Form`].
    pub fn decode_strict(bytes: &[u8]) -> Result<Statement, RecordFault> {
        decode(bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told() -> Event {
        Event {
            version: FORMAT,
            at_ms: 1_795_597_200_000,
            fact: Fact::HandlerTold { visit: 7 },
        }
    }

    #[test]
    fn an_event_is_read_as_it_was_written() {
        let bytes = told().encode();
        assert_eq!(Event::decode_strict(&bytes), Ok(told()));
    }

    #[test]
    fn the_same_event_written_in_another_way_is_refused() {
        // The visit 7 as a two-byte integer: valid CBOR, not the shortest form.
        let mut longer = told().encode();
        let last = longer.pop().expect("a byte");
        longer.extend([0x18, last]);
        assert!(matches!(
            Event::decode_strict(&longer),
            Err(RecordFault::Form { .. })
        ));
        // A byte too many, a byte too few.
        let mut more = told().encode();
        more.push(0);
        assert!(Event::decode_strict(&more).is_err());
        let bytes = told().encode();
        assert!(Event::decode_strict(&bytes[..bytes.len() - 1]).is_err());
    }

    #[test]
    fn a_newer_format_is_named_as_such() {
        let bytes = Event {
            version: FORMAT + 1,
            ..told()
        }
        .encode();
        assert_eq!(
            Event::decode_strict(&bytes),
            Err(RecordFault::TooNew {
                seq: 0,
                version: FORMAT + 1
            })
        );
    }
}
