//! A rule pack: one body's rules as data, read from TOML, checked as a whole.

mod check;
mod fault;
mod model;
mod shape;
mod view;

pub use fault::PackFault;
pub use model::*;

use fault::Places;
use serde::de::value::{MapAccessDeserializer, MapDeserializer, SeqDeserializer};
use serde::de::{Deserializer, IntoDeserializer, Visitor};
use serde::{Deserialize, Serialize};
use toml::de::DeTable;

/// The Larkmere Agility League's rules: invented, for showing the app and for its tests.
pub const LARKMERE: &str = include_str!("../../packs/larkmere.toml");

/// The largest pack read, in bytes: a hundred times the usual one.
pub const LARGEST_PACK: usize = 1_000_000;

/// One body's rules, whole and without contradictions: only [`RulePack::parse`] makes one.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "PackDoc", into = "PackDoc")]
pub struct RulePack {
    doc: PackDoc,
}

impl RulePack {
    /// Reads a pack. A bad one is refused with everything that is wrong with it: its shape first
    /// (one fault at a time), then all that doesn't fit together.
    pub fn parse(text: &str) -> Result<RulePack, Vec<PackFault>> {
        if text.len() > LARGEST_PACK {
            return Err(vec![PackFault {
                line: 1,
                clause: "pack".into(),
                reason: format!("the file is larger than {LARGEST_PACK} bytes"),
                fix: "leave out what is not a rule; a pack is a few kilobytes".into(),
            }]);
        }
        let table =
            DeTable::parse(text).map_err(|e| vec![shape::not_toml(&Places::unknown(text), &e)])?;
        let places = Places::new(text, table.get_ref());
        let doc = read(text).map_err(|e| vec![shape::not_a_pack(&places, &e)])?;
        let faults: Vec<PackFault> = check::check(&doc)
            .into_iter()
            .map(|f| PackFault {
                line: places.line_of(&f.clause),
                ..f
            })
            .collect();
        if faults.is_empty() {
            Ok(RulePack { doc })
        } else {
            Err(faults)
        }
    }

    /// The pack as TOML; read again, it judges alike.
    pub fn to_toml(&self) -> String {
        // Every field has a TOML form, so this can't fail; an empty text would not parse again.
        toml::to_string_pretty(&self.doc).unwrap_or_default()
    }

    /// The pack as written.
    pub fn doc(&self) -> &PackDoc {
        &self.doc
    }
}

/// Reads a pack's shape.
fn read(text: &str) -> Result<PackDoc, toml::de::Error> {
    if cfg!(feature = "explain") {
        toml::from_str::<PackDoc>(text)?; // it knows the places of what it refuses
    }
    read_small(text)
}

/// The same by way of plain values, which weighs a third: nothing carries its place along,
/// and each type is read by one function.
fn read_small(text: &str) -> Result<PackDoc, toml::de::Error> {
    PackDoc::deserialize(Plain(toml::Value::Table(text.parse()?)))
}

/// A value of a pack. A date is its text, which every date of a pack may be as well.
struct Plain(toml::Value);

impl<'de> IntoDeserializer<'de, toml::de::Error> for Plain {
    type Deserializer = Self;

    fn into_deserializer(self) -> Self {
        self
    }
}

/// A table's fields. A type of its own, since a closure would be another one in each function.
struct Fields(toml::map::IntoIter<String, toml::Value>);

impl Iterator for Fields {
    type Item = (String, Plain);

    fn next(&mut self) -> Option<Self::Item> {
        self.0.next().map(|(key, value)| (key, Plain(value)))
    }
}

/// A list's items.
struct Items(std::vec::IntoIter<toml::Value>);

impl Iterator for Items {
    type Item = Plain;

    fn next(&mut self) -> Option<Self::Item> {
        self.0.next().map(Plain)
    }
}

fn not_a_table(name: &str, found: &toml::Value) -> toml::de::Error {
    serde::de::Error::custom(format!("{name} is a table, not {}", found.type_str()))
}

impl<'de> Deserializer<'de> for Plain {
    type Error = toml::de::Error;

    #[inline(never)] // or there is a copy in each of the functions below
    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Self::Error> {
        use toml::Value;
        match self.0 {
            Value::String(text) => visitor.visit_string(text),
            Value::Integer(n) => visitor.visit_i64(n),
            Value::Float(n) => visitor.visit_f64(n),
            Value::Boolean(yes) => visitor.visit_bool(yes),
            Value::Datetime(date) => visitor.visit_string(date.to_string()),
            Value::Array(items) => {
                visitor.visit_seq(SeqDeserializer::new(Items(items.into_iter())))
            }
            Value::Table(table) => {
                visitor.visit_map(MapDeserializer::new(Fields(table.into_iter())))
            }
        }
    }

    // A table only: what serde writes to read a struct from a list weighs as much again.
    fn deserialize_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Self::Error> {
        match self.0 {
            toml::Value::Table(table) => {
                visitor.visit_map(MapDeserializer::new(Fields(table.into_iter())))
            }
            other => Err(not_a_table(name, &other)),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Self::Error> {
        visitor.visit_some(self)
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, Self::Error> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Self::Error> {
        match self.0 {
            toml::Value::String(text) => text
                .into_deserializer()
                .deserialize_enum(name, variants, visitor),
            toml::Value::Table(table) => {
                let fields = MapDeserializer::new(Fields(table.into_iter()));
                MapAccessDeserializer::new(fields).deserialize_enum(name, variants, visitor)
            }
            other => Plain(other).deserialize_any(visitor),
        }
    }

    serde::forward_to_deserialize_any! {
        bool u8 u16 u32 u64 i8 i16 i32 i64 f32 f64 char str string seq bytes byte_buf map
        unit ignored_any unit_struct tuple_struct tuple identifier
    }
}

impl TryFrom<PackDoc> for RulePack {
    type Error = String;

    fn try_from(doc: PackDoc) -> Result<Self, String> {
        match check::check(&doc).first() {
            None => Ok(RulePack { doc }),
            Some(fault) => Err(format!("{}: {}", fault.clause, fault.reason)),
        }
    }
}

impl From<RulePack> for PackDoc {
    fn from(pack: RulePack) -> PackDoc {
        pack.doc
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the phone reads is what the office read, and it refuses the same.
    #[test]
    fn a_pack_reads_the_same_either_way() {
        let doc: PackDoc = toml::from_str(LARKMERE).expect("reads");
        assert_eq!(read_small(LARKMERE).expect("reads"), doc);
        let lines: Vec<&str> = LARKMERE.lines().collect();
        let (mut read, mut refused) = (0, 0);
        for n in 0..lines.len() {
            // Without the line, and with its value of another kind.
            let key = lines[n].split('=').next().unwrap_or_default();
            for other in [
                String::new(),
                format!("{key}= [17]"),
                format!("{key}= \"x\""),
            ] {
                let mut changed = lines.clone();
                changed[n] = &other;
                let text = changed.join("\n");
                match (toml::from_str::<PackDoc>(&text), read_small(&text)) {
                    (Ok(a), Ok(b)) => {
                        assert_eq!(a, b, "line {}: {other}", n + 1);
                        read += 1;
                    }
                    (Err(_), Err(_)) => refused += 1,
                    (a, b) => panic!("line {}: {other}: {a:?} and {b:?}", n + 1),
                }
            }
        }
        assert!(read > 20 && refused > 20, "{read} read, {refused} refused");
    }
}
