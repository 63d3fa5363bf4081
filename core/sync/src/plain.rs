//! Messages read by way of plain values, as the journal reads its records (its
//! `record/plain.rs`, decision record 16; neither knows of the other): CBOR is read once into
//! values that know nothing of messages, and a message's list says which fields it takes from
//! them, in order. Each is written again and held to the bytes it came from.

use minicbor::bytes::{ByteArray, ByteVec};
use minicbor::data::{Int, Type};
use minicbor::decode::{Decoder, Error};

/// How deep values may lie in one another: twice what any record has.
const DEEPEST: u8 = 16;

/// Room made for the values of a list before they are seen: what most records have.
const AT_ONCE: u64 = 32;

/// A value of CBOR, of the kinds that records are made of.
#[derive(Default)]
pub(crate) enum Value {
    /// Nothing: null, or no value at all.
    #[default]
    Nothing,
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

/// What is taken from a plain value. Where the value is of another kind, `wrong` is set and
/// something is given that nobody may use.
pub(crate) trait Take: Sized {
    /// Takes it.
    fn take(value: Value, wrong: &mut bool) -> Self;
}

/// Values from which fields are taken in order.
pub(crate) struct Fields {
    items: std::vec::IntoIter<Value>,
    /// Something was not what it should be.
    pub(crate) wrong: bool,
}

impl Fields {
    /// Those of a list.
    pub(crate) fn of(value: Value) -> Fields {
        let (items, wrong) = match value {
            Value::List(items) => (items, false),
            _ => (Vec::new(), true),
        };
        let items = items.into_iter();
        Fields { items, wrong }
    }

    /// The next field.
    #[inline(never)] // it stands in each table some hundred times
    pub(crate) fn next<T: Take>(&mut self) -> T {
        match self.items.next() {
            Some(value) => T::take(value, &mut self.wrong),
            None => {
                self.wrong = true;
                T::take(Value::Nothing, &mut self.wrong)
            }
        }
    }

    /// After the last field: whether it was one too few, or anything else was wrong.
    pub(crate) fn end(&self, wrong: &mut bool) {
        *wrong |= self.wrong | (self.items.len() > 0);
    }
}

/// Reads `T` by its table.
pub(crate) fn decode<T: Take>(decoder: &mut Decoder<'_>) -> Result<T, Error> {
    let value = Value::read(decoder)?;
    let mut wrong = false;
    let read = T::take(value, &mut wrong);
    match wrong {
        false => Ok(read),
        true => Err(Error::message("its fields are not those of its kind")),
    }
}

impl Take for String {
    fn take(value: Value, wrong: &mut bool) -> Self {
        match value {
            Value::Text(text) => text,
            _ => {
                *wrong = true;
                String::new()
            }
        }
    }
}

impl Take for ByteVec {
    fn take(value: Value, wrong: &mut bool) -> Self {
        match value {
            Value::Bytes(bytes) => bytes.into(),
            _ => {
                *wrong = true;
                Vec::new().into()
            }
        }
    }
}

impl<const N: usize> Take for ByteArray<N> {
    fn take(value: Value, wrong: &mut bool) -> Self {
        let found = match &value {
            Value::Bytes(bytes) => bytes.as_slice().try_into().ok(),
            _ => None,
        };
        *wrong |= found.is_none();
        found.unwrap_or([0; N]).into()
    }
}

impl<T: Take> Take for Option<T> {
    fn take(value: Value, wrong: &mut bool) -> Self {
        match value {
            Value::Nothing => None,
            value => Some(T::take(value, wrong)),
        }
    }
}

macro_rules! numbers {
    ($($kind:ident)*) => { $(
        impl Take for $kind {
            fn take(value: Value, wrong: &mut bool) -> Self {
                let found = match value {
                    Value::Number(number) => $kind::try_from(number).ok(),
                    _ => None,
                };
                *wrong |= found.is_none();
                found.unwrap_or_default()
            }
        }
    )* };
}

numbers!(u32 u64 i64);

impl<T: Take> Take for Vec<T> {
    fn take(value: Value, wrong: &mut bool) -> Self {
        let fields = Fields::of(value);
        *wrong |= fields.wrong;
        fields.items.map(|item| T::take(item, wrong)).collect()
    }
}

/// The list of a message: its fields in the order of their numbers.
macro_rules! record {
    ($kind:ident { $($field:ident),* $(,)? }) => {
        impl $crate::plain::Take for $kind {
            fn take(value: $crate::plain::Value, wrong: &mut bool) -> Self {
                let mut fields = $crate::plain::Fields::of(value);
                let read = $kind { $($field: fields.next()),* };
                fields.end(wrong);
                read
            }
        }

        impl<'b, C> minicbor::Decode<'b, C> for $kind {
            fn decode(
                decoder: &mut minicbor::Decoder<'b>,
                _: &mut C,
            ) -> Result<Self, minicbor::decode::Error> {
                $crate::plain::decode(decoder)
            }
        }
    };
}
pub(crate) use record;
