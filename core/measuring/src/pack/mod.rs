//! A rule pack: one body's rules as data, read from TOML, checked as a whole.

mod check;
mod fault;
mod model;
mod read;
mod shape;
mod view;

pub use fault::PackFault;
pub use model::*;
pub use read::Plain;

use fault::Places;
use read::Take;
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
        let table = DeTable::parse(text).map_err(|e| vec![not_toml(&Places::unknown(text), &e)])?;
        let places = Places::new(text, table.get_ref());
        if cfg!(feature = "explain") {
            // It knows the places of what it refuses, and what was meant.
            toml::from_str::<PackDoc>(text).map_err(|e| vec![shape::not_a_pack(&places, &e)])?;
        }
        let doc =
            read(&Plain::of(table.get_ref())).map_err(|clause| vec![misshapen(&places, clause)])?;
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

    /// What stands in a pack's text, to be kept beside it; `None` if it is not TOML.
    pub fn plain(text: &str) -> Option<Plain> {
        let table = DeTable::parse(text).ok()?;
        Some(Plain::of(table.get_ref()))
    }

    /// The pack of what [`RulePack::plain`] gave, read and held together as
    /// [`RulePack::parse`] does: the text need not be parsed for it. Where there is anything
    /// wrong with it, `wrong` is set, and nobody may use what is given.
    pub fn of_plain(plain: &Plain, wrong: &mut bool) -> RulePack {
        let mut clause = None;
        let doc = PackDoc::take(Some(plain), &mut clause);
        *wrong |= clause.is_some() || !check::check(&doc).is_empty();
        RulePack { doc }
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

/// Reads a pack's shape; the field that is not as it should be, where one is not.
fn read(file: &Plain) -> Result<PackDoc, &'static str> {
    let mut wrong = None;
    let doc = PackDoc::take(Some(file), &mut wrong);
    wrong.map_or(Ok(doc), Err)
}

fn not_toml(places: &Places<'_>, error: &toml::de::Error) -> PackFault {
    if cfg!(feature = "explain") {
        return shape::not_toml(places, error);
    }
    PackFault {
        line: places.line_at(error.span().unwrap_or(0..0).start),
        clause: "(file)".to_owned(),
        reason: error.message().to_owned(),
        fix: TO_THE_OFFICE.to_owned(),
    }
}

/// What the lists of fields say of a pack that they cannot read.
fn misshapen(places: &Places<'_>, clause: &'static str) -> PackFault {
    PackFault {
        line: places.line_of(clause),
        clause: clause.to_owned(),
        reason: "it is missing, of another kind, or has something unknown in it".to_owned(),
        fix: TO_THE_OFFICE.to_owned(),
    }
}

/// Whoever holds a phone did not write the pack.
const TO_THE_OFFICE: &str = "give it to whoever wrote it: cargo xtask rules check explains";

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

    fn small(text: &str) -> Result<PackDoc, String> {
        let table = DeTable::parse(text).map_err(|e| e.to_string())?;
        read(&Plain::of(table.get_ref())).map_err(str::to_owned)
    }

    /// What the phone reads is what the office read, and it refuses the same.
    #[test]
    fn a_pack_reads_the_same_either_way() {
        let doc: PackDoc = toml::from_str(LARKMERE).expect("reads");
        assert_eq!(small(LARKMERE).expect("reads"), doc);
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
                match (toml::from_str::<PackDoc>(&text), small(&text)) {
                    (Ok(a), Ok(b)) => {
                        assert_eq!(a, b, "line {}: {other}", n + 1);
                        read += 1;
                    }
                    (Err(_), Err(_)) => refused += 1,
                    (a, b) => panic!("line {}: {other}: {a:?} and {b:?}", n + 1),
                }
            }
        }
        let plain = RulePack::plain(LARKMERE).expect("is TOML");
        let mut wrong = false;
        let pack = RulePack::of_plain(&plain, &mut wrong);
        assert_eq!(Ok(pack), RulePack::parse(LARKMERE));
        assert!(!wrong);
        RulePack::of_plain(&Plain::Other, &mut wrong);
        assert!(wrong);
        assert!(read > 20 && refused > 20, "{read} read, {refused} refused");
    }
}
