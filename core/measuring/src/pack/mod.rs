//! A rule pack: one body's rules as data, read from TOML, checked as a whole.

mod check;
mod fault;
mod model;
mod shape;
mod view;

pub use fault::PackFault;
pub use model::*;

use fault::Places;
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
        let doc: PackDoc =
            toml::from_str(text).map_err(|e| vec![shape::not_a_pack(&places, &e)])?;
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
