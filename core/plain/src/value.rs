//! The plain values, and how they are read.

use minicbor::data::{Int, Type};
use minicbor::decode::{Decoder, Error};

/// How deep values may lie in one another: twice what any record has.
const DEEPEST: u8 = 16;

/// Room made for the values of a list before they are seen: what most records have.
const AT_ONCE: u64 = 32;

/// A value of CBOR, of the kinds that records are made of.
#[derive(Default)]
pub enum Value {
    /// Nothing: null, or no value at all.
    #[default]
    Nothing,
    /// Yes or no.
    Bool(bool),
    /// A whole number.
    Number(Int),
    /// Bytes.
    Bytes(Vec<u8>),
    /// Text.
    Text(String),
    /// Values in order.
    List(Vec<Value>),
}

impl Value {
    /// The value that begins here, and all that it holds.
    pub(crate) fn read(decoder: &mut Decoder<'_>) -> Result<Value, Error> {
        Self::read_at(decoder, DEEPEST)
    }

    fn read_at(decoder: &mut Decoder<'_>, depth: u8) -> Result<Value, Error> {
        let found = decoder.datatype()?;
        Ok(match found {
            Type::Null => {
                decoder.null()?;
                Value::Nothing
            }
            Type::Bool => Value::Bool(decoder.bool()?),
            Type::Bytes => Value::Bytes(decoder.bytes()?.to_vec()),
            Type::String => Value::Text(decoder.str()?.to_owned()),
            Type::Array if depth > 0 => {
                let count = decoder.array()?.unwrap_or_default();
                // No memory for what is only claimed.
                let mut items = Vec::with_capacity(count.min(AT_ONCE) as usize);
                for _ in 0..count {
                    items.push(Self::read_at(decoder, depth - 1)?);
                }
                Value::List(items)
            }
            Type::U8 | Type::U16 | Type::U32 | Type::U64 => Value::Number(decoder.int()?),
            Type::I8 | Type::I16 | Type::I32 | Type::I64 | Type::Int => {
                Value::Number(decoder.int()?)
            }
            other => return Err(Error::type_mismatch(other)),
        })
    }
}
