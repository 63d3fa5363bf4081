//! Editions of the office's roster: each has a number, and a phone that has one is sent
//! what changed since, signed by the office. `docs/enrol.cddl` has the form.
//!
//! A roster's text at the office is its JSON without spaces. What a phone holds after
//! putting changes into its own text must have the digest that the office signed: where it
//! has not (an older phone does not know a newer office's fields), it asks for the whole.

use minicbor::Encode;
use minicbor::bytes::ByteArray;
use serde::Serialize;
use sha2::{Digest, Sha256};
use standsquare_plain::record;
use std::collections::{BTreeMap, BTreeSet};

use crate::json::{self, FromJson, fields};
use crate::roster::{Dog, Hoop, League, OfficeCard, Person, Roster};
use crate::signed::{Kind, SignedFault};

const EDITION: Kind = Kind {
    what: "a roster's edition",
    format: 1,
    domain: b"standsquare edition 1\0",
};

/// A roster's text as an office keeps it and as its digest is taken of.
pub fn roster_text(roster: &Roster) -> String {
    // A struct of strings, numbers and lists always has a JSON text.
    serde_json::to_string(roster).unwrap_or_default()
}

/// SHA-256 of a roster's text.
pub fn roster_digest(text: &str) -> [u8; 32] {
    Sha256::digest(text.as_bytes()).into()
}

/// Why changes do not give the office's roster: ask for the whole of it (`after` 0).
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum TakeFault {
    /// There is nothing that the changes could be put into.
    #[error("these are changes to a roster that this phone does not have: ask for the whole")]
    NothingHeld,
    /// The changes do not fit what is held.
    #[error("these changes do not fit the roster on this phone ({0}): ask for the whole")]
    Misfit(String),
    /// What comes out is not what the office signed.
    #[error("what comes out is not the office's roster: ask for the whole")]
    OtherDigest,
}

/// What an edition holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Content {
    /// The roster's whole text.
    Whole(String),
    /// What changed since the edition that was asked after.
    Changes(Box<Changes>),
}

/// An office's answer to a [`crate::RosterAsk`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edition {
    /// The office's public key.
    pub office_key: [u8; 32],
    /// The body's id.
    pub body: String,
    /// The edition's number. It only ever grows: an answer with a smaller number than what
    /// the phone has is an old one, played again.
    pub number: u64,
    /// SHA-256 of the roster's text.
    pub digest: [u8; 32],
    /// The edition whose changes these are; 0 for the whole.
    pub after: u64,
    /// The office's clock, Unix milliseconds.
    pub at_ms: i64,
    /// The roster, or what changed.
    pub content: Content,
    /// Notices of keys (`SSK1:`, signed one by one) made since edition `after`, oldest first.
    pub notices: Vec<String>,
}

/// What changed in a roster. Items are JSON texts, as in the roster.
#[derive(Clone, Debug, Default, PartialEq, Eq, Encode)]
pub struct Changes {
    /// Everything but the rule pack and the lists, if any of it changed.
    #[n(0)]
    pub head: Option<String>,
    /// The rule pack's text, if it changed.
    #[n(1)]
    pub pack: Option<String>,
    /// People.
    #[n(2)]
    pub people: Listed,
    /// Hoops.
    #[n(3)]
    pub hoops: Listed,
    /// Dogs.
    #[n(4)]
    pub dogs: Listed,
}

record!(Changes {
    head,
    pack,
    people,
    hoops,
    dogs
});

/// What changed in one list.
#[derive(Clone, Debug, Default, PartialEq, Eq, Encode)]
pub struct Listed {
    /// Ids of those that are there no more.
    #[n(0)]
    pub gone: Vec<String>,
    /// Those that are new or changed, each with its place in the new list, in that order.
    #[n(1)]
    pub put: Vec<Put>,
}

record!(Listed { gone, put });

/// One that is new or changed.
#[derive(Clone, Debug, PartialEq, Eq, Encode)]
pub struct Put {
    /// Its place in the new list, from 0.
    #[n(0)]
    pub at: u32,
    /// The item's JSON text.
    #[n(1)]
    pub item: String,
}

record!(Put { at, item });

#[derive(Encode)]
struct Wire {
    #[n(0)]
    office_key: ByteArray<32>,
    #[n(1)]
    body: String,
    #[n(2)]
    number: u64,
    #[n(3)]
    digest: ByteArray<32>,
    #[n(4)]
    after: u64,
    #[n(5)]
    at_ms: i64,
    #[n(6)]
    whole: Option<String>,
    #[n(7)]
    changes: Option<Changes>,
    #[n(8)]
    notices: Vec<String>,
}

record!(Wire {
    office_key,
    body,
    number,
    digest,
    after,
    at_ms,
    whole,
    changes,
    notices
});

/// A roster without its pack and its lists.
#[derive(Clone, PartialEq, Eq, Serialize)]
struct Head {
    format: u32,
    demo: bool,
    league: League,
    office: OfficeCard,
    venues: Vec<String>,
}

fields!(Head {
    format,
    demo,
    league,
    office,
    venues
});

impl Head {
    fn of(roster: &Roster) -> Head {
        Head {
            format: roster.format,
            demo: roster.demo,
            league: roster.league.clone(),
            office: roster.office.clone(),
            venues: roster.venues.clone(),
        }
    }

    fn put_into(self, roster: &mut Roster) {
        roster.format = self.format;
        roster.demo = self.demo;
        roster.league = self.league;
        roster.office = self.office;
        roster.venues = self.venues;
    }
}

/// One of a list, with an id.
trait Item: Clone + PartialEq + Serialize + FromJson {
    fn id(&self) -> &str;
}

impl Item for Person {
    fn id(&self) -> &str {
        &self.id
    }
}

impl Item for Hoop {
    fn id(&self) -> &str {
        &self.id
    }
}

impl Item for Dog {
    fn id(&self) -> &str {
        &self.id
    }
}

impl Listed {
    fn between<T: Item>(old: &[T], new: &[T]) -> Listed {
        let before: BTreeMap<&str, &T> = old.iter().map(|item| (item.id(), item)).collect();
        let now: BTreeSet<&str> = new.iter().map(Item::id).collect();
        Listed {
            gone: before
                .keys()
                .filter(|id| !now.contains(*id))
                .map(|id| (*id).to_owned())
                .collect(),
            put: new
                .iter()
                .enumerate()
                .filter(|(_, item)| before.get(item.id()) != Some(item))
                .filter_map(|(at, item)| {
                    Some(Put {
                        at: u32::try_from(at).ok()?,
                        item: serde_json::to_string(item).ok()?,
                    })
                })
                .collect(),
        }
    }

    fn put_into<T: Item>(&self, list: &mut Vec<T>) -> Result<(), TakeFault> {
        let items = self
            .put
            .iter()
            .map(|put| Ok((put.at, json::read::<T>(put.item.as_bytes())?)))
            .collect::<Result<Vec<_>, String>>()
            .map_err(TakeFault::Misfit)?;
        // One by one: to sort them first weighs 5 kB on a phone.
        let mut out = BTreeSet::new();
        out.extend(self.gone.iter().map(String::as_str));
        out.extend(items.iter().map(|(_, item)| item.id()));
        let kept: Vec<T> = list
            .iter()
            .filter(|i| !out.contains(i.id()))
            .cloned()
            .collect();
        // Both run once, however long they are.
        let mut kept = kept.into_iter();
        let mut whole = Vec::with_capacity(kept.len() + items.len());
        for (at, item) in items {
            let at = at as usize;
            if at < whole.len() {
                return Err(TakeFault::Misfit("places out of order".into()));
            }
            while whole.len() < at {
                let next = kept.next();
                whole.push(next.ok_or_else(|| TakeFault::Misfit("a place too far".into()))?);
            }
            whole.push(item);
        }
        whole.extend(kept);
        *list = whole;
        Ok(())
    }
}

impl Changes {
    /// What changed from one roster to another; `None` where only the whole can say it (a
    /// list in another order, an id twice).
    pub fn between(old: &Roster, new: &Roster) -> Option<Changes> {
        let (before, now) = (Head::of(old), Head::of(new));
        let changes = Changes {
            head: (before != now)
                .then(|| serde_json::to_string(&now).ok())
                .flatten(),
            pack: (old.pack != new.pack).then(|| new.pack.clone()),
            people: Listed::between(&old.people, &new.people),
            hoops: Listed::between(&old.hoops, &new.hoops),
            dogs: Listed::between(&old.dogs, &new.dogs),
        };
        (changes.put_into(old).ok()? == *new).then_some(changes)
    }

    /// The roster that comes of putting these changes into another one.
    ///
    /// # Errors
    /// [`TakeFault::Misfit`].
    pub fn put_into(&self, old: &Roster) -> Result<Roster, TakeFault> {
        let mut roster = old.clone();
        if let Some(head) = &self.head {
            let head: Head = json::read(head.as_bytes()).map_err(TakeFault::Misfit)?;
            head.put_into(&mut roster);
        }
        if let Some(pack) = &self.pack {
            roster.pack.clone_from(pack);
        }
        self.people.put_into(&mut roster.people)?;
        self.hoops.put_into(&mut roster.hoops)?;
        self.dogs.put_into(&mut roster.dogs)?;
        Ok(roster)
    }

    /// Roughly how many bytes they take.
    fn size(&self) -> usize {
        crate::frame::to_cbor(self).len()
    }
}

impl Content {
    /// What to send of the roster with this text to a phone that has `old`: what changed
    /// if that can be said and is shorter, else the whole. Whether it is the whole decides
    /// what the edition's `after` is.
    pub fn to_bring(old: Option<&str>, text: &str) -> Content {
        let changes = old.and_then(|old| {
            let read = |text: &str| Roster::read(text.as_bytes()).ok();
            let (old, new) = (read(old)?, read(text)?);
            let changes = Changes::between(&old, &new)?;
            (changes.size() < text.len()).then_some(changes)
        });
        match changes {
            Some(changes) => Content::Changes(Box::new(changes)),
            None => Content::Whole(text.to_owned()),
        }
    }
}

impl Edition {
    /// Its bytes. `sign` signs with the private half of the office's key.
    pub fn sign(&self, sign: impl FnOnce(&[u8]) -> [u8; 64]) -> Vec<u8> {
        let (whole, changes) = match &self.content {
            Content::Whole(text) => (Some(text.clone()), None),
            Content::Changes(changes) => (None, Some((**changes).clone())),
        };
        let wire = Wire {
            office_key: self.office_key.into(),
            body: self.body.clone(),
            number: self.number,
            digest: self.digest.into(),
            after: self.after,
            at_ms: self.at_ms,
            whole,
            changes,
            notices: self.notices.clone(),
        };
        EDITION.sign(&wire, sign)
    }

    /// Reads an edition and checks that this office signed it for this body.
    ///
    /// # Errors
    /// [`SignedFault`]; nothing of it counts then.
    pub fn verify(bytes: &[u8], office_key: &[u8; 32], body: &str) -> Result<Edition, SignedFault> {
        let read = EDITION.read::<Wire>(bytes)?;
        if *read.body.office_key != *office_key || read.body.body != body {
            return Err(SignedFault::OtherOffice);
        }
        let wire = EDITION.checked(read, office_key)?;
        let content = match (wire.whole, wire.changes) {
            (Some(text), None) if wire.after == 0 => Content::Whole(text),
            (None, Some(changes)) if wire.after > 0 => Content::Changes(Box::new(changes)),
            _ => return Err(EDITION.unreadable("neither the whole nor changes to an edition")),
        };
        if wire.number == 0 || wire.number < wire.after {
            return Err(EDITION.unreadable("it is older than what was asked after"));
        }
        Ok(Edition {
            office_key: *office_key,
            body: wire.body,
            number: wire.number,
            digest: *wire.digest,
            after: wire.after,
            at_ms: wire.at_ms,
            content,
            notices: wire.notices,
        })
    }

    /// The roster's text of this edition. `held` is the text that the phone has of the
    /// edition that it asked after.
    ///
    /// # Errors
    /// [`TakeFault`]: ask for the whole.
    pub fn take(&self, held: Option<&str>) -> Result<String, TakeFault> {
        let text = match &self.content {
            Content::Whole(text) => text.clone(),
            Content::Changes(changes) => {
                let held = held.ok_or(TakeFault::NothingHeld)?;
                if roster_digest(held) == self.digest {
                    return Ok(held.to_owned());
                }
                let old = Roster::read(held.as_bytes()).map_err(TakeFault::Misfit)?;
                roster_text(&changes.put_into(&old)?)
            }
        };
        if roster_digest(&text) == self.digest {
            Ok(text)
        } else {
            Err(TakeFault::OtherDigest)
        }
    }
}
