//! JSON read by way of plain values: a text is read once into values that know nothing of
//! rosters, and each record's list says which fields it takes from them.
//!
//! What serde derives knows the same, and of what is wrong much more; for the few records
//! that a phone reads it weighed 35 kB there.

use std::fmt;

use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};

/// A value of JSON, of the kinds that records are made of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Json {
    /// Nothing: `null`, or no value at all.
    Nothing,
    /// Yes or no.
    Yes(bool),
    /// A whole number, 0 or more.
    Number(u64),
    /// Another number: no record has it.
    Other,
    /// Text.
    Text(String),
    /// Values in order.
    List(Vec<Json>),
    /// Values by their names, each name once.
    Table(Vec<(String, Json)>),
}

struct Plain;

impl<'de> Visitor<'de> for Plain {
    type Value = Json;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("JSON")
    }

    fn visit_unit<E: Error>(self) -> Result<Json, E> {
        Ok(Json::Nothing)
    }

    fn visit_bool<E: Error>(self, yes: bool) -> Result<Json, E> {
        Ok(Json::Yes(yes))
    }

    fn visit_u64<E: Error>(self, number: u64) -> Result<Json, E> {
        Ok(Json::Number(number))
    }

    fn visit_i64<E: Error>(self, number: i64) -> Result<Json, E> {
        Ok(u64::try_from(number).map_or(Json::Other, Json::Number))
    }

    fn visit_f64<E: Error>(self, _: f64) -> Result<Json, E> {
        Ok(Json::Other)
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<Json, E> {
        Ok(Json::Text(text.to_owned()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<Json, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = access.next_element()? {
            items.push(item);
        }
        Ok(Json::List(items))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Json, A::Error> {
        let mut fields: Vec<(String, Json)> = Vec::new();
        while let Some((name, value)) = access.next_entry()? {
            fields.push((name, value));
        }
        Ok(Json::Table(fields))
    }
}

impl<'de> Deserialize<'de> for Json {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Json, D::Error> {
        from.deserialize_any(Plain)
    }
}

/// The field at which something first was not as it should be; empty while its name is still
/// to be put there.
pub type Wrong = Option<&'static str>;

/// What is taken from a plain value. Where there is none, or one of another kind, `wrong`
/// says so and something is given that nobody may use.
pub trait FromJson: Sized {
    /// Takes it.
    fn from_json(json: Json, wrong: &mut Wrong) -> Self;
}

/// A table's fields, asked for by name. Those that nobody asks for are passed over: a newer
/// office may have more.
pub struct Fields(Vec<(String, Json)>);

impl Fields {
    /// Those of a table, each name once.
    pub fn of(json: Json, wrong: &mut Wrong) -> Fields {
        let Json::Table(fields) = json else {
            wrong.get_or_insert("");
            return Fields(Vec::new());
        };
        let twice = |n: usize| fields[..n].iter().any(|(name, _)| *name == fields[n].0);
        if (0..fields.len()).any(twice) {
            wrong.get_or_insert("");
        }
        Fields(fields)
    }

    fn find(&mut self, name: &str) -> Option<Json> {
        let (_, value) = self.0.iter_mut().find(|(n, _)| n == name)?;
        Some(std::mem::replace(value, Json::Nothing))
    }

    /// A field that must be there.
    #[inline(never)]
    pub fn must<T: FromJson>(&mut self, name: &'static str, wrong: &mut Wrong) -> T {
        let read = T::from_json(self.find(name).unwrap_or(Json::Nothing), wrong);
        if *wrong == Some("") {
            *wrong = Some(name);
        }
        read
    }

    /// A field that may be left out.
    #[inline(never)]
    pub fn may<T: FromJson + Default>(&mut self, name: &'static str, wrong: &mut Wrong) -> T {
        match self.0.iter().any(|(n, _)| n == name) {
            true => self.must(name, wrong),
            false => T::default(),
        }
    }
}

impl FromJson for bool {
    fn from_json(json: Json, wrong: &mut Wrong) -> Self {
        match json {
            Json::Yes(yes) => yes,
            _ => {
                wrong.get_or_insert("");
                false
            }
        }
    }
}

impl FromJson for String {
    fn from_json(json: Json, wrong: &mut Wrong) -> Self {
        match json {
            Json::Text(text) => text,
            _ => {
                wrong.get_or_insert("");
                String::new()
            }
        }
    }
}

macro_rules! numbers {
    ($($kind:ident)*) => { $(
        impl FromJson for $kind {
            fn from_json(json: Json, wrong: &mut Wrong) -> Self {
                let found = match json {
                    Json::Number(number) => number.try_into().ok(),
                    _ => None,
                };
                if found.is_none() {
                    wrong.get_or_insert("");
                }
                found.unwrap_or_default()
            }
        }
    )* };
}

numbers!(u8 u32);

impl<T: FromJson> FromJson for Vec<T> {
    fn from_json(json: Json, wrong: &mut Wrong) -> Self {
        let Json::List(items) = json else {
            wrong.get_or_insert("");
            return Vec::new();
        };
        let items = items.into_iter();
        items.map(|item| T::from_json(item, wrong)).collect()
    }
}

/// A record's fields, each by its name; after a `;` those that may be left out.
macro_rules! fields {
    ($kind:ident { $($field:ident),* $(; $($may:ident),*)? }) => {
        impl $crate::json::FromJson for $kind {
            fn from_json(
                json: $crate::json::Json,
                wrong: &mut $crate::json::Wrong,
            ) -> Self {
                let mut fields = $crate::json::Fields::of(json, wrong);
                $kind {
                    $($field: fields.must(stringify!($field), wrong),)*
                    $($($may: fields.may(stringify!($may), wrong),)*)?
                }
            }
        }
    };
}
pub(crate) use fields;

/// Reads a record.
///
/// # Errors
/// In words, what is wrong with the text.
pub fn read<T: FromJson>(text: &[u8]) -> Result<T, String> {
    let json = serde_json::from_slice(text).map_err(|e| e.to_string())?;
    let mut wrong = None;
    let read = T::from_json(json, &mut wrong);
    match wrong {
        None => Ok(read),
        Some("") => Err("it is not made of named fields, each once".into()),
        Some(field) => Err(format!("`{field}` is missing, or of another kind")),
    }
}
