//! What a second phone says of the copy that it keeps: a text `SSR1:` and, in base45
//! (RFC 9285), deterministic CBOR as in `docs/journal.cddl`. It is not signed: whoever names
//! the head of the chain at that event has read everything up to it.

use minicbor::Encode;
use minicbor::bytes::ByteArray;
use standsquare_plain::record;

use super::canonical;
use super::code::{CodeFault, unreadable};

const BEGINS: &str = "SSR1:";

/// How far a copy goes.
#[derive(Clone, Debug, PartialEq, Eq, Encode)]
pub struct Receipt {
    /// The copied journal's random id.
    #[n(0)]
    pub journal: ByteArray<16>,
    /// Number of the last event held.
    #[n(1)]
    pub held: u64,
    /// The chain's head there.
    #[n(2)]
    pub head: ByteArray<32>,
}

record!(Receipt {
    journal,
    held,
    head
});

impl Receipt {
    /// Whether a text is one, of whatever version.
    pub fn is_one(text: &str) -> bool {
        text.trim().starts_with("SSR")
    }

    /// Its text.
    pub fn code(&self) -> String {
        [BEGINS, &base45::encode(canonical::encode(self))].concat()
    }

    /// Reads a text.
    ///
    /// # Errors
    /// [`CodeFault`]
    pub fn read(text: &str) -> Result<Receipt, CodeFault> {
        let coded = text.trim().strip_prefix(BEGINS);
        let coded = coded.ok_or(CodeFault::Other("a copy"))?;
        let bytes = base45::decode(coded).map_err(|_| unreadable("it is not base45"))?;
        canonical::decode(&bytes, "a receipt").map_err(|fault| unreadable(fault.to_string()))
    }
}
