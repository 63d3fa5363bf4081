//! Records read by way of plain values: CBOR is read once into values that know nothing of
//! records, and a record's table says which fields it takes from them, in order.
//!
//! A reader of its own for each kind of record would know the same, at ten times the code: it
//! carries everything that can go wrong behind each field. Here a field that is not what it
//! should be is only noted, and what was read then counts for nothing.

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

    /// Those of a list of two, a number and a list: the number, and that list's.
    pub(crate) fn tagged(value: Value) -> (u32, Fields) {
        let mut outer = Fields::of(value);
        let tag = outer.next();
        let mut inner = Fields::of(outer.items.next().unwrap_or_default());
        inner.wrong |= outer.wrong | (outer.items.len() > 0);
        (tag, inner)
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

impl Take for bool {
    fn take(value: Value, wrong: &mut bool) -> Self {
        match value {
            Value::Bool(yes) => yes,
            _ => {
                *wrong = true;
                false
            }
        }
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

impl Take for Vec<u8> {
    fn take(value: Value, wrong: &mut bool) -> Self {
        match value {
            Value::Bytes(bytes) => bytes,
            _ => {
                *wrong = true;
                Vec::new()
            }
        }
    }
}

impl Take for ByteVec {
    fn take(value: Value, wrong: &mut bool) -> Self {
        Vec::take(value, wrong).into()
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

/// A list of things of one kind.
pub(crate) fn list<T: Take>(value: Value, wrong: &mut bool) -> Vec<T> {
    let fields = Fields::of(value);
    *wrong |= fields.wrong;
    fields.items.map(|item| T::take(item, wrong)).collect()
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

numbers!(u8 u32 u64 i32 i64);

/// Kinds of which there are lists. `Vec<u8>` is bytes, so that not every list can be one.
macro_rules! listed {
    ($($kind:ty),*) => { $(
        impl $crate::record::plain::Take for Vec<$kind> {
            fn take(value: $crate::record::plain::Value, wrong: &mut bool) -> Self {
                $crate::record::plain::list(value, wrong)
            }
        }
    )* };
}
pub(crate) use listed;

listed!(String, ByteArray<16>, ByteArray<32>, ByteVec);

macro_rules! decoded {
    ($kind:ident) => {
        impl<'b, C> minicbor::Decode<'b, C> for $kind {
            fn decode(
                decoder: &mut minicbor::Decoder<'b>,
                _: &mut C,
            ) -> Result<Self, minicbor::decode::Error> {
                $crate::record::plain::decode(decoder)
            }
        }
    };
}
pub(crate) use decoded;

/// The table of a record: its fields in the order of their numbers.
macro_rules! record {
    ($kind:ident { $($field:ident),* $(,)? }) => {
        impl $crate::record::plain::Take for $kind {
            fn take(value: $crate::record::plain::Value, wrong: &mut bool) -> Self {
                let mut fields = $crate::record::plain::Fields::of(value);
                let read = $kind { $($field: fields.next()),* };
                fields.end(wrong);
                read
            }
        }
        $crate::record::plain::decoded!($kind);
    };
}
pub(crate) use record;

/// The table of what is one of several records: each one's number, its name, its fields in
/// the order of theirs. The first one is given where something is wrong.
macro_rules! tagged {
    ($kind:ident {
        $first:literal $name0:ident { $($field0:ident),* }
        $($tag:literal $name:ident { $($field:ident),* })*
    }) => {
        impl $crate::record::plain::Take for $kind {
            fn take(value: $crate::record::plain::Value, wrong: &mut bool) -> Self {
                let (tag, mut fields) = $crate::record::plain::Fields::tagged(value);
                let read = match tag {
                    $($tag => $kind::$name { $($field: fields.next()),* },)*
                    other => {
                        fields.wrong |= other != $first;
                        $kind::$name0 { $($field0: fields.next()),* }
                    }
                };
                fields.end(wrong);
                read
            }
        }
        $crate::record::plain::decoded!($kind);
    };
}
pub(crate) use tagged;

/// The table of what is one of several names, each a number.
macro_rules! indexed {
    ($kind:ident { $first:literal $name0:ident $(, $tag:literal $name:ident)* $(,)? }) => {
        impl $crate::record::plain::Take for $kind {
            fn take(value: $crate::record::plain::Value, wrong: &mut bool) -> Self {
                match <u32 as $crate::record::plain::Take>::take(value, wrong) {
                    $($tag => $kind::$name,)*
                    other => {
                        *wrong |= other != $first;
                        $kind::$name0
                    }
                }
            }
        }
        $crate::record::plain::decoded!($kind);
    };
}
pub(crate) use indexed;
