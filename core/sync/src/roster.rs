//! The roster: what the office hands a phone before a session. One JSON text
//! with the league, its rule pack, the people who may measure, their hoops and
//! the dogs that are expected.

use serde::{Deserialize, Serialize};

use crate::json::{self, fields};

/// The roster's format that this code writes and reads.
pub const ROSTER_FORMAT: u32 = 1;

/// A league.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct League {
    /// Short id.
    pub id: String,
    /// Its name, as screens show it.
    pub name: String,
}

fields!(League { id, name });

/// The office that the return goes to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OfficeCard {
    /// Its name, as screens show it.
    pub name: String,
    /// Its Ed25519 public key, 64 hexadecimal digits: receipts are checked with it.
    pub key: String,
    /// Public keys of phones whose slips it vouches for, 64 hexadecimal digits each.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub phones: Vec<String>,
}

fields!(OfficeCard { name, key; phones });

/// Somebody who may sit at the table.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Person {
    /// Short id.
    pub id: String,
    /// Their name.
    pub name: String,
    /// Their measurer's number.
    pub number: String,
    /// `measurer` or `trainee`.
    pub role: String,
}

fields!(Person {
    id,
    name,
    number,
    role
});

/// A hoop.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hoop {
    /// Short id.
    pub id: String,
    /// Which gauge of the rule pack it is.
    pub gauge: String,
    /// The number stamped on it.
    pub serial: String,
    /// Day of its last check, `YYYY-MM-DD`.
    pub checked: String,
}

fields!(Hoop {
    id,
    gauge,
    serial,
    checked
});

/// An earlier measure that the office knows of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct EarlierMeasure {
    /// Its day, `YYYY-MM-DD`.
    pub day: String,
    /// The category's id in the pack.
    pub category: String,
    /// 1 for a first measure, 2 for a second.
    pub measure: u8,
}

fields!(EarlierMeasure {
    day,
    category,
    measure
});

/// A dog that is expected.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Dog {
    /// Short id.
    pub id: String,
    /// Call name.
    pub name: String,
    /// The handler's name. Personal data: kept apart, never in the chain.
    pub handler: String,
    /// The chip number as the office knows it; empty if none.
    pub chip: String,
    /// Day of birth, `YYYY-MM-DD`.
    pub born: String,
    /// Earlier measures, oldest first.
    #[serde(default)]
    pub earlier: Vec<EarlierMeasure>,
    /// Ids of people who must not measure it: their own dog, or their household's.
    #[serde(default)]
    pub household_of: Vec<String>,
}

fields!(Dog { id, name, handler, chip, born; earlier, household_of });

/// What the office hands a phone before a session.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Roster {
    /// [`ROSTER_FORMAT`].
    pub format: u32,
    /// Whether this is an invented league: then every screen and file says so.
    pub demo: bool,
    /// The league.
    pub league: League,
    /// The office.
    pub office: OfficeCard,
    /// The rule pack's TOML text.
    pub pack: String,
    /// Usual venues.
    pub venues: Vec<String>,
    /// People.
    pub people: Vec<Person>,
    /// Hoops.
    pub hoops: Vec<Hoop>,
    /// Dogs.
    pub dogs: Vec<Dog>,
}

fields!(Roster {
    format,
    demo,
    league,
    office,
    pack,
    venues,
    people,
    hoops,
    dogs
});

impl Roster {
    /// Reads a roster's JSON text.
    ///
    /// # Errors
    /// In words, what is wrong with it.
    pub fn read(text: &[u8]) -> Result<Roster, String> {
        json::read(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A roster with everything in it.
    fn full() -> String {
        let text = |t: &str| t.to_owned();
        let roster = Roster {
            format: 1,
            demo: true,
            league: League {
                id: text("larkmere"),
                name: text("Larkmere Agility League"),
            },
            office: OfficeCard {
                name: text("Larkmere office"),
                key: text("00"),
                phones: vec![text("01")],
            },
            pack: text("[pack]\n"),
            venues: vec![text("Hollin Field")],
            people: vec![Person {
                id: text("bram"),
                name: text("Bram Tolley"),
                number: text("LM-022"),
                role: text("measurer"),
            }],
            hoops: vec![Hoop {
                id: text("h35"),
                gauge: text("hoop-35"),
                serial: text("35-7"),
                checked: text("2026-03-01"),
            }],
            dogs: vec![Dog {
                id: text("pip"),
                name: text("Pip"),
                handler: text("Nell Harrow"),
                chip: text("999000000001001"),
                born: text("2024-02-03"),
                earlier: vec![EarlierMeasure {
                    day: text("2025-10-04"),
                    category: text("small"),
                    measure: 1,
                }],
                household_of: vec![text("bram")],
            }],
        };
        serde_json::to_string_pretty(&roster).expect("JSON")
    }

    /// What the lists read, serde reads alike, and both refuse the same.
    #[test]
    fn a_roster_reads_the_same_either_way() {
        let whole = full();
        let lines: Vec<&str> = whole.lines().collect();
        let (mut read, mut refused) = (0, 0);
        let mut hold = |text: &str| match (
            Roster::read(text.as_bytes()),
            serde_json::from_str::<Roster>(text),
        ) {
            (Ok(ours), Ok(theirs)) => {
                assert_eq!(ours, theirs, "{text}");
                read += 1;
            }
            (Err(_), Err(_)) => refused += 1,
            (ours, theirs) => panic!("{ours:?} and {theirs:?} of {text}"),
        };
        hold(&whole);
        for n in 0..lines.len() {
            let comma = if lines[n].ends_with(',') { "," } else { "" };
            let key = lines[n].split_once(": ").map(|(key, _)| key);
            let mut others = vec![String::new(), format!("{}{}", lines[n], lines[n])];
            if let Some(key) = key {
                for value in [
                    "17",
                    "-1",
                    "1.5",
                    "null",
                    "[]",
                    "{}",
                    "true",
                    "\"x\"",
                    "99999999999",
                ] {
                    others.push(format!("{key}: {value}{comma}"));
                }
                others.push(format!("{key}: {{\"more\": 1}}{comma}"));
                others.push(format!("\"more\": [1, -2, 0.5],\n{}", lines[n]));
            }
            for other in others {
                let mut changed = lines.clone();
                changed[n] = &other;
                hold(&changed.join("\n"));
            }
        }
        assert!(read > 30 && refused > 100, "{read} read, {refused} refused");
    }
}
