//! A roster as this phone keeps it: the text without personal data under its
//! hash, the rule pack read, and for each dog the random id under which the
//! handler's name is kept apart.

use serde::Serialize;
use sha2::{Digest, Sha256};
use standsquare_journal::store::{Item, subject_commitment};
use standsquare_measuring::{AfterDisagreement, Gauge, Plain, RulePack, Step, Working};
use standsquare_sync::json::{self, Fields, FromJson, Json, Wrong};
use standsquare_sync::roster::{Dog, Hoop, Person, ROSTER_FORMAT, Roster};

use crate::map::{Map, Set, map_of};
use crate::random::Source;
use crate::state::put::{In, Out, Put};

/// Why a roster cannot be used. Each names what to do.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
pub enum RosterFault {
    /// Not JSON, or not a roster.
    #[error("not a roster: {0}")]
    Unreadable(String),
    /// Written by a newer office.
    #[error("roster format {0} is newer than this app")]
    TooNew(u32),
    /// Its rule pack is refused; the first fault is told.
    #[error("its rule pack is refused: {0}")]
    Pack(String),
    /// The pack asks for something that this version's screens cannot do; the key of
    /// its words.
    #[error("its rule pack needs what this app cannot do yet: {0}")]
    Unsupported(&'static str),
    /// A hoop names no gauge of the pack, or two things share an id.
    #[error("{0}")]
    Inconsistent(String),
}

/// What is kept under the roster's hash.
#[derive(Serialize)]
struct Kept {
    roster: Roster,
    subjects: Subjects,
}

/// Dog id → random id (hex) and commitment (hex) of its personal data.
#[derive(Serialize)]
struct Subjects(#[serde(serialize_with = "crate::map::serialize")] Map<String, (String, String)>);

impl FromJson for Kept {
    fn from_json(json: Json, wrong: &mut Wrong) -> Self {
        let mut fields = Fields::of(json, wrong);
        Kept {
            roster: fields.must("roster", wrong),
            subjects: fields.must("subjects", wrong),
        }
    }
}

impl FromJson for Subjects {
    fn from_json(json: Json, wrong: &mut Wrong) -> Self {
        let mut subjects = Map::new_vec();
        let Json::Table(dogs) = json else {
            wrong.get_or_insert("");
            return Subjects(subjects);
        };
        for (dog, ids) in dogs {
            let ids = Vec::from_json(ids, wrong);
            match <[String; 2]>::try_from(ids) {
                Ok([id, commitment]) => {
                    subjects.insert(dog, (id, commitment));
                }
                Err(_) => {
                    wrong.get_or_insert("");
                }
            }
        }
        Subjects(subjects)
    }
}

/// A roster ready to work by.
pub struct Loaded {
    /// SHA-256 of what is kept.
    pub hash: [u8; 32],
    /// SHA-256 of the rule pack's text.
    pub pack_hash: [u8; 32],
    /// The roster, handlers' names left empty.
    pub roster: Roster,
    /// The rule pack.
    pub pack: RulePack,
    subjects: Map<String, ([u8; 16], [u8; 32])>,
}

impl Put for Loaded {
    fn put(&self, to: &mut Out) {
        let Loaded {
            hash,
            pack_hash,
            roster,
            // Of the roster's text, as it stands there.
            pack: _,
            subjects,
        } = self;
        // It was read once; of none comes one that is thrown away.
        let plain = RulePack::plain(&roster.pack);
        plain.unwrap_or(Plain::Other).put(to);
        hash.put(to);
        pack_hash.put(to);
        roster.put(to);
        subjects.put(to);
    }

    fn take(from: &mut In<'_>) -> Self {
        Loaded {
            pack: RulePack::of_plain(&Put::take(from), &mut from.wrong),
            hash: Put::take(from),
            pack_hash: Put::take(from),
            roster: Put::take(from),
            subjects: Put::take(from),
        }
    }
}

impl std::fmt::Debug for Loaded {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // Its hash is all of it.
        write!(f, "Loaded({})", hex::encode(self.hash))
    }
}

/// SHA-256.
pub fn sha256(bytes: &[u8]) -> [u8; 32] {
    Sha256::digest(bytes).into()
}

fn read_pack(text: &str) -> Result<RulePack, RosterFault> {
    RulePack::parse(text).map_err(|faults| {
        RosterFault::Pack(faults.first().map_or_else(String::new, ToString::to_string))
    })
}

impl Loaded {
    /// Reads an office's text and takes the personal data out of it. The items
    /// are what has to be kept.
    pub fn take(text: &str, random: &mut Source) -> Result<(Loaded, Vec<Item>), RosterFault> {
        let mut roster = Roster::read(text.as_bytes()).map_err(RosterFault::Unreadable)?;
        if roster.format > ROSTER_FORMAT {
            return Err(RosterFault::TooNew(roster.format));
        }
        let pack = read_pack(&roster.pack)?;
        check(&roster, &pack)?;
        if let Some(what) = unsupported(&pack) {
            return Err(RosterFault::Unsupported(what));
        }
        let mut items = Vec::new();
        let mut subjects = Map::new_vec();
        for dog in &mut roster.dogs {
            let clear = std::mem::take(&mut dog.handler).into_bytes();
            let id: [u8; 16] = random.bytes();
            let salt: [u8; 32] = random.bytes();
            let commitment = subject_commitment(&clear, &salt);
            subjects.insert(dog.id.clone(), (id, commitment));
            items.push(Item::Subject {
                id,
                clear,
                salt,
                key: random.bytes(),
                nonce: random.bytes(),
            });
        }
        let kept = Kept {
            subjects: Subjects(map_of(subjects.iter().map(|(dog, (id, commitment))| {
                (dog.clone(), (hex::encode(id), hex::encode(commitment)))
            }))),
            roster: roster.clone(),
        };
        let bytes =
            serde_json::to_vec(&kept).map_err(|e| RosterFault::Unreadable(e.to_string()))?;
        let hash = sha256(&bytes);
        let pack_hash = sha256(roster.pack.as_bytes());
        items.push(Item::Blob { hash, bytes });
        Ok((
            Loaded {
                hash,
                pack_hash,
                roster,
                pack,
                subjects,
            },
            items,
        ))
    }

    /// Reads again what was kept under `hash`.
    pub fn again(hash: [u8; 32], bytes: &[u8]) -> Result<Loaded, RosterFault> {
        let kept: Kept = json::read(bytes).map_err(RosterFault::Unreadable)?;
        let pack = read_pack(&kept.roster.pack)?;
        let pack_hash = sha256(kept.roster.pack.as_bytes());
        let mut subjects = Map::new_vec();
        for (dog, (id, commitment)) in kept.subjects.0 {
            let mut ids = ([0; 16], [0; 32]);
            hex::decode_to_slice(id, &mut ids.0)
                .and_then(|()| hex::decode_to_slice(commitment, &mut ids.1))
                .map_err(|e| RosterFault::Unreadable(e.to_string()))?;
            subjects.insert(dog, ids);
        }
        Ok(Loaded {
            hash,
            pack_hash,
            roster: kept.roster,
            pack,
            subjects,
        })
    }

    /// The random ids of all personal data that a kept roster has brought; none if it does
    /// not read.
    pub(crate) fn subjects_in(bytes: &[u8]) -> Vec<[u8; 16]> {
        let kept: Option<Kept> = json::read(bytes).ok();
        let ids = kept
            .into_iter()
            .flat_map(|kept| kept.subjects.0.into_iter().map(|(_, subject)| subject));
        ids.filter_map(|(id, _)| {
            let mut bytes = [0; 16];
            hex::decode_to_slice(id, &mut bytes).ok().map(|()| bytes)
        })
        .collect()
    }

    /// The random id and commitment that stand for a dog's personal data.
    pub fn subject(&self, dog: &str) -> Option<([u8; 16], [u8; 32])> {
        self.subjects.get(dog).copied()
    }

    /// A dog by its id.
    pub fn dog(&self, id: &str) -> Option<&Dog> {
        self.roster.dogs.iter().find(|d| d.id == id)
    }

    /// A person by their id.
    pub fn person(&self, id: &str) -> Option<&Person> {
        self.roster.people.iter().find(|p| p.id == id)
    }

    /// A person's name; their id where the roster does not have them.
    pub fn name_of<'a>(&'a self, id: &'a str) -> &'a str {
        self.person(id).map_or(id, |p| p.name.as_str())
    }

    /// A hoop by its id.
    pub fn hoop(&self, id: &str) -> Option<&Hoop> {
        self.roster.hoops.iter().find(|h| h.id == id)
    }

    /// The gauge that a hoop of this id is.
    pub fn gauge(&self, hoop: &str) -> Option<&Gauge> {
        let gauge = self.hoop(hoop)?.gauge.as_str();
        let mut gauges = self.pack.gauges().iter();
        gauges.find(|g| g.id.as_str() == gauge)
    }

    /// Public keys of phones whose slips the office vouches for; those not whole are
    /// left out.
    pub fn phone_keys(&self) -> Vec<[u8; 32]> {
        let keys = self.roster.office.phones.iter().filter_map(|text| {
            let mut key = [0; 32];
            hex::decode_to_slice(text, &mut key).ok().map(|()| key)
        });
        keys.collect()
    }

    /// The office's public key, if the roster gives a whole one.
    pub fn office_key(&self) -> Option<[u8; 32]> {
        let mut key = [0; 32];
        hex::decode_to_slice(&self.roster.office.key, &mut key)
            .ok()
            .map(|()| key)
    }
}

/// What a pack asks for that this version's screens cannot do: such a pack is
/// refused when it is loaded, never measured by wrongly. `standsquare-measuring`
/// judges all of these already.
fn unsupported(pack: &RulePack) -> Option<&'static str> {
    let doc = pack.doc();
    if pack.working() != Working::Together
        && doc.disagreement.then == AfterDisagreement::OneMoreMeasurer
    {
        return Some("unsupported.third_measurer");
    }
    if doc.procedure.iter().any(|p| p.readings.is_some()) {
        return Some("unsupported.readings");
    }
    if doc.measurers.recorder || doc.measurers.alternate {
        return Some("unsupported.recorder");
    }
    if doc.steps.order
        != [
            Step::Papers,
            Step::Handler,
            Step::Chip,
            Step::Settle,
            Step::Stance,
        ]
    {
        return Some("unsupported.step_order");
    }
    None
}

fn check(roster: &Roster, pack: &RulePack) -> Result<(), RosterFault> {
    let twice = |what: &str, ids: &mut dyn Iterator<Item = &String>| {
        let mut seen = Set::new();
        for id in ids {
            if !seen.insert(id.clone()) {
                return Err(RosterFault::Inconsistent(format!(
                    "two {what} share the id '{id}'"
                )));
            }
        }
        Ok(())
    };
    twice("people", &mut roster.people.iter().map(|p| &p.id))?;
    twice("hoops", &mut roster.hoops.iter().map(|h| &h.id))?;
    twice("dogs", &mut roster.dogs.iter().map(|d| &d.id))?;
    for hoop in &roster.hoops {
        if !pack.gauges().iter().any(|g| g.id.as_str() == hoop.gauge) {
            return Err(RosterFault::Inconsistent(format!(
                "hoop '{}' is for gauge '{}', which the rule pack does not have",
                hoop.id, hoop.gauge
            )));
        }
    }
    Ok(())
}
