//! Deterministic CBOR (RFC 8949 §4.2.1): one form for each content, and any other
//! form refused.

use minicbor::{Decode, Encode};

use super::fault::RecordFault;

/// The one encoding of `value`.
pub(super) fn encode<T: Encode<()>>(value: &T) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(64);
    match minicbor::encode(value, &mut bytes) {
        Ok(()) => bytes,
        // A Vec takes all it is given, and no type here fails by itself.
        Err(fault) => unreachable!("writing CBOR into memory: {fault}"),
    }
}

/// Reads `what` from exactly these bytes: written again it must give them back.
/// That refuses longer forms of lengths and numbers, indefinite lengths, map
/// entries or array elements nobody knows, and bytes that follow.
pub(super) fn decode<T>(bytes: &[u8], what: &str) -> Result<T, RecordFault>
where
    T: Encode<()> + for<'b> Decode<'b, ()>,
{
    let mut decoder = minicbor::Decoder::new(bytes);
    let value: T = decoder
        .decode()
        .map_err(|fault| RecordFault::form(format!("it does not read as {what} ({fault})")))?;
    let rest = bytes.len() - decoder.position();
    if rest > 0 {
        return Err(RecordFault::form(format!("{rest} bytes follow {what}")));
    }
    if encode(&value) != bytes {
        return Err(RecordFault::form(format!(
            "{what} is not in its one canonical form"
        )));
    }
    Ok(value)
}
