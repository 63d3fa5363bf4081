//! A pack's tables, each read into its struct by a list of its fields, in the words of the
//! file. What serde derives knows the same, and of what is wrong much more: where the file is
//! written, it reads it first (feature `explain`). On a phone, which is given packs that the
//! office has read, that weighed 160 kB, and these lists do alone.

use chrono::NaiveDate;
use toml::de::{DeTable, DeValue};

use crate::dates::{Span, day};
use crate::ids::{CategoryId, GaugeId, ProcedureId};
use crate::length::Length;

/// What stands in a pack's file, without the text that it was read from: for whoever keeps a
/// pack that was read before. Days are texts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Plain {
    /// A text.
    Text(String),
    /// A whole number.
    Number(i64),
    /// Yes or no.
    Yes(bool),
    /// Values in order.
    List(Vec<Plain>),
    /// Values by their names.
    Table(Vec<(String, Plain)>),
    /// Anything else: no pack has it.
    Other,
}

impl Plain {
    /// Of a file's table.
    pub(super) fn of(table: &DeTable<'_>) -> Plain {
        let named = |(name, value): (&toml::Spanned<_>, &toml::Spanned<DeValue<'_>>)| {
            let name: &std::borrow::Cow<'_, str> = name.get_ref();
            (name.to_string(), Plain::of_value(value.get_ref()))
        };
        Plain::Table(table.iter().map(named).collect())
    }

    fn of_value(value: &DeValue<'_>) -> Plain {
        match value {
            DeValue::String(text) => Plain::Text(text.to_string()),
            DeValue::Integer(number) => {
                let read = i64::from_str_radix(number.as_str(), number.radix());
                read.map_or(Plain::Other, Plain::Number)
            }
            DeValue::Boolean(yes) => Plain::Yes(*yes),
            DeValue::Datetime(date) => Plain::Text(date.to_string()),
            DeValue::Array(items) => {
                let items = items.iter().map(|item| Plain::of_value(item.get_ref()));
                Plain::List(items.collect())
            }
            DeValue::Table(table) => Plain::of(table),
            DeValue::Float(_) => Plain::Other,
        }
    }

    fn table(&self) -> Option<&[(String, Plain)]> {
        match self {
            Plain::Table(fields) => Some(fields),
            _ => None,
        }
    }

    fn list(&self) -> Option<&[Plain]> {
        match self {
            Plain::List(items) => Some(items),
            _ => None,
        }
    }
}

fn named<'a>(table: &'a [(String, Plain)], name: &str) -> Option<&'a Plain> {
    let field = table.iter().find(|(n, _)| n == name);
    field.map(|(_, value)| value)
}

/// The field at which something first was not as it should be; empty while the field's name
/// is still to be put there.
pub(super) type Wrong = Option<&'static str>;

/// What is taken from a value of the file. Where there is none, or one of another kind,
/// `wrong` says so and something is given that nobody may use.
pub(super) trait Take: Sized {
    /// Takes it.
    fn take(value: Option<&Plain>, wrong: &mut Wrong) -> Self;
}

/// A table's fields, asked for by name.
pub(super) struct Fields<'a> {
    table: Option<&'a [(String, Plain)]>,
    found: usize,
}

impl<'a> Fields<'a> {
    /// Those of a table.
    pub(super) fn of(value: Option<&'a Plain>, wrong: &mut Wrong) -> Self {
        let table = value.and_then(Plain::table);
        if table.is_none() {
            wrong.get_or_insert("");
        }
        Fields { table, found: 0 }
    }

    fn find(&mut self, name: &str) -> Option<&'a Plain> {
        let value = named(self.table?, name)?;
        self.found += 1;
        Some(value)
    }

    /// A field that must be there.
    #[inline(never)] // it stands in the lists some hundred times
    pub(super) fn must<T: Take>(&mut self, name: &'static str, wrong: &mut Wrong) -> T {
        let read = T::take(self.find(name), wrong);
        if *wrong == Some("") {
            *wrong = Some(name);
        }
        read
    }

    /// A field that may be left out.
    #[inline(never)]
    pub(super) fn may<T: Take>(&mut self, name: &'static str, or: T, wrong: &mut Wrong) -> T {
        if self.table.is_none_or(|table| named(table, name).is_none()) {
            return or;
        }
        self.must(name, wrong)
    }

    /// After the last field: whether the table has any that nobody asked for.
    pub(super) fn end(&self, wrong: &mut Wrong) {
        if self.table.is_some_and(|table| table.len() != self.found) {
            wrong.get_or_insert("");
        }
    }
}

fn text<'a>(value: Option<&'a Plain>, wrong: &mut Wrong) -> &'a str {
    match value {
        Some(Plain::Text(text)) => text,
        _ => {
            wrong.get_or_insert("");
            ""
        }
    }
}

fn number(value: Option<&Plain>) -> Option<i64> {
    match value {
        Some(Plain::Number(number)) => Some(*number),
        _ => None,
    }
}

/// What is written as a text with a meaning.
fn parsed<T>(
    value: Option<&Plain>,
    parse: impl FnOnce(&str) -> Option<T>,
    wrong: &mut Wrong,
) -> Option<T> {
    let read = parse(text(value, wrong));
    if read.is_none() {
        wrong.get_or_insert("");
    }
    read
}

/// The number of the word in a list of words.
pub(super) fn word(value: Option<&Plain>, words: &[&str], wrong: &mut Wrong) -> usize {
    let find = |text: &str| words.iter().position(|word| *word == text);
    parsed(value, find, wrong).unwrap_or_default()
}

/// The one field of a table with one field, if it has this name.
pub(super) fn only<'a>(value: Option<&'a Plain>, name: &str) -> Option<&'a Plain> {
    let table = value?.table().filter(|table| table.len() == 1)?;
    named(table, name)
}

impl Take for bool {
    fn take(value: Option<&Plain>, wrong: &mut Wrong) -> Self {
        let found = match value {
            Some(Plain::Yes(yes)) => Some(*yes),
            _ => None,
        };
        if found.is_none() {
            wrong.get_or_insert("");
        }
        found.unwrap_or_default()
    }
}

impl Take for u32 {
    fn take(value: Option<&Plain>, wrong: &mut Wrong) -> Self {
        let found = number(value).and_then(|number| number.try_into().ok());
        if found.is_none() {
            wrong.get_or_insert("");
        }
        found.unwrap_or_default()
    }
}

impl Take for String {
    fn take(value: Option<&Plain>, wrong: &mut Wrong) -> Self {
        text(value, wrong).to_owned()
    }
}

macro_rules! ids {
    ($($id:ident)*) => { $(
        impl Take for $id {
            fn take(value: Option<&Plain>, wrong: &mut Wrong) -> Self {
                String::take(value, wrong).into()
            }
        }
    )* };
}

ids!(CategoryId GaugeId ProcedureId);

impl Take for Span {
    fn take(value: Option<&Plain>, wrong: &mut Wrong) -> Self {
        parsed(value, |text| text.parse().ok(), wrong).unwrap_or_default()
    }
}

impl Take for Length {
    fn take(value: Option<&Plain>, wrong: &mut Wrong) -> Self {
        match number(value) {
            Some(mm) => Length::from_whole_mm(mm).unwrap_or_else(|| {
                wrong.get_or_insert("");
                Length::default()
            }),
            None => parsed(value, |text| text.parse().ok(), wrong).unwrap_or_default(),
        }
    }
}

/// As TOML's date or as a text; either way the year first, ten characters.
impl Take for NaiveDate {
    fn take(value: Option<&Plain>, wrong: &mut Wrong) -> Self {
        let parse = |text: &str| day(text).filter(|_| text.len() == 10);
        parsed(value, parse, wrong).unwrap_or_default()
    }
}

impl<T: Take> Take for Option<T> {
    fn take(value: Option<&Plain>, wrong: &mut Wrong) -> Self {
        Some(T::take(value, wrong))
    }
}

impl<T: Take> Take for Vec<T> {
    fn take(value: Option<&Plain>, wrong: &mut Wrong) -> Self {
        let Some(items) = value.and_then(Plain::list) else {
            wrong.get_or_insert("");
            return Vec::new();
        };
        let mut read = Vec::new();
        for item in items.iter() {
            read.push(T::take(Some(item), wrong));
        }
        read
    }
}

impl<T: Take> Take for (T, T) {
    fn take(value: Option<&Plain>, wrong: &mut Wrong) -> Self {
        let items = value.and_then(Plain::list).filter(|a| a.len() == 2);
        let item = |n: usize| items?.get(n);
        (T::take(item(0), wrong), T::take(item(1), wrong))
    }
}

/// A table's fields: each by its name, and what it is where it is left out.
macro_rules! table {
    ($kind:ident { $($field:ident $(= $or:expr)?),* $(,)? }) => {
        impl $crate::pack::read::Take for $kind {
            fn take(
                value: Option<&$crate::pack::Plain>,
                wrong: &mut $crate::pack::read::Wrong,
            ) -> Self {
                let mut fields = $crate::pack::read::Fields::of(value, wrong);
                let read = $kind {
                    $($field: $crate::pack::read::table!(@ fields wrong $field $($or)?),)*
                };
                fields.end(wrong);
                read
            }
        }
    };
    (@ $fields:ident $wrong:ident $field:ident) => {
        $fields.must(stringify!($field), $wrong)
    };
    (@ $fields:ident $wrong:ident $field:ident $or:expr) => {
        $fields.may(stringify!($field), $or, $wrong)
    };
}
pub(super) use table;

/// Words, and what each stands for. The first one is given where something is wrong.
macro_rules! words {
    ($kind:ident { $($word:literal $name:ident),* $(,)? }) => {
        impl $crate::pack::read::Take for $kind {
            fn take(
                value: Option<&$crate::pack::Plain>,
                wrong: &mut $crate::pack::read::Wrong,
            ) -> Self {
                const ALL: &[$kind] = &[$($kind::$name),*];
                ALL[$crate::pack::read::word(value, &[$($word),*], wrong)]
            }
        }
    };
}
pub(super) use words;
