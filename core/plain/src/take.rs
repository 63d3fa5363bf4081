//! What is taken from plain values.

use minicbor::bytes::{ByteArray, ByteVec};
use minicbor::decode::{Decoder, Error};

use crate::value::Value;

/// What is taken from a plain value. Where the value is of another kind, `wrong` is set and
/// something is given that nobody may use.
pub trait Take: Sized {
    /// Takes it.
    fn take(value: Value, wrong: &mut bool) -> Self;

    /// Takes a list of it. Bytes alone come otherwise, as a string of bytes: for them a list
    /// of numbers is wrong.
    fn take_list(value: Value, wrong: &mut bool) -> Vec<Self> {
        let fields = Fields::of(value);
        *wrong |= fields.wrong;
        fields.items.map(|item| Self::take(item, wrong)).collect()
    }
}

/// Values from which fields are taken in order.
pub struct Fields {
    items: std::vec::IntoIter<Value>,
    /// Something was not what it should be.
    wrong: bool,
}

impl Fields {
    /// Those of a list. Of any other value there are none, and that is wrong.
    pub fn of(value: Value) -> Fields {
        let (items, wrong) = match value {
            Value::List(items) => (items, false),
            _ => (Vec::new(), true),
        };
        let items = items.into_iter();
        Fields { items, wrong }
    }

    /// Those of a list of two, a number and a list: the number, and that list's.
    pub fn tagged(value: Value) -> (u32, Fields) {
        let mut outer = Fields::of(value);
        let tag = outer.take();
        let mut inner = Fields::of(outer.items.next().unwrap_or_default());
        inner.wrong |= outer.wrong | (outer.items.len() > 0);
        (tag, inner)
    }

    /// The next field.
    #[inline(never)] // it stands in each table some hundred times
    pub fn take<T: Take>(&mut self) -> T {
        match self.items.next() {
            Some(value) => T::take(value, &mut self.wrong),
            None => {
                self.wrong = true;
                T::take(Value::Nothing, &mut self.wrong)
            }
        }
    }

    /// Notes that they are not those of any record, whatever they hold.
    pub fn spoil(&mut self, wrong: bool) {
        self.wrong |= wrong;
    }

    /// After the last field: sets `wrong` if it was one too few, or anything else was wrong.
    pub fn end(&self, wrong: &mut bool) {
        *wrong |= self.wrong | (self.items.len() > 0);
    }
}

/// Reads `T` by its table, from where `decoder` stands to behind it.
///
/// # Errors
/// If the bytes are no CBOR of the kinds that records are made of, or not such as the table
/// says.
pub fn decode<T: Take>(decoder: &mut Decoder<'_>) -> Result<T, Error> {
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

impl<T: Take> Take for Vec<T> {
    fn take(value: Value, wrong: &mut bool) -> Self {
        T::take_list(value, wrong)
    }
}

impl Take for ByteVec {
    fn take(value: Value, wrong: &mut bool) -> Self {
        u8::take_list(value, wrong).into()
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
    ($($kind:ident $({ $($of_lists:tt)* })?),*) => { $(
        impl Take for $kind {
            fn take(value: Value, wrong: &mut bool) -> Self {
                let found = match value {
                    Value::Number(number) => $kind::try_from(number).ok(),
                    _ => None,
                };
                *wrong |= found.is_none();
                found.unwrap_or_default()
            }

            $($($of_lists)*)?
        }
    )* };
}

numbers!(
    u8 {
        fn take_list(value: Value, wrong: &mut bool) -> Vec<u8> {
            match value {
                Value::Bytes(bytes) => bytes,
                _ => {
                    *wrong = true;
                    Vec::new()
                }
            }
        }
    },
    u32,
    u64,
    i32,
    i64
);
