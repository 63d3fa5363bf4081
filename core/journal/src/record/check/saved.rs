//! A check put away beside the journal, and taken up again at the same place.

use std::sync::Arc;

use minicbor::Encode;
use minicbor::bytes::ByteArray;
use standsquare_plain::record;

use super::{ChainCheck, Open};
use crate::map::{Map, Set, map_of};

/// The form in which a check is put away. A change to what a check remembers, or to what
/// facts mean to it, needs the next number.
const SAVED: u32 = 4;

#[derive(Encode)]
struct Saved {
    #[n(0)]
    edition: u32,
    #[n(1)]
    head: ByteArray<32>,
    #[n(2)]
    seq: u64,
    #[n(3)]
    sealed: u64,
    #[n(4)]
    device: Option<ByteArray<32>>,
    #[n(5)]
    people: Vec<Key>,
    #[n(6)]
    session: Option<ByteArray<16>>,
    #[n(7)]
    open: Vec<Put>,
    #[n(8)]
    corrections: Vec<Put>,
    #[n(9)]
    list: Option<Put>,
    #[n(10)]
    unlocked: Vec<String>,
    #[n(11)]
    confirmed: Vec<Who>,
    #[n(12)]
    in_the_middle: bool,
}

record!(Saved {
    edition,
    head,
    seq,
    sealed,
    device,
    people,
    session,
    open,
    corrections,
    list,
    unlocked,
    confirmed,
    in_the_middle
});

/// A measurer's public key.
#[derive(Encode)]
struct Key {
    #[n(0)]
    person: String,
    #[n(1)]
    key: ByteArray<32>,
}

record!(Key { person, key });

/// What may be signed of a visit; of the list, whose visit is 0.
#[derive(Encode)]
struct Put {
    #[n(0)]
    visit: u32,
    #[n(1)]
    head: ByteArray<32>,
    #[n(2)]
    #[cbor(with = "minicbor::bytes")]
    bytes: Vec<u8>,
}

record!(Put { visit, head, bytes });

impl Put {
    fn of((visit, open): (u32, Open)) -> Self {
        let head = open.head.into();
        let bytes = open.bytes;
        Put { visit, head, bytes }
    }

    fn open(self) -> (u32, Open) {
        let head = *self.head;
        let bytes = self.bytes;
        (self.visit, Open { head, bytes })
    }
}

/// Who confirmed the statement of a visit.
#[derive(Encode)]
struct Who {
    #[n(0)]
    visit: u32,
    #[n(1)]
    people: Vec<String>,
}

record!(Who { visit, people });

fn puts(of: Map<u32, Open>) -> Vec<Put> {
    of.into_iter().map(Put::of).collect()
}

fn opens(of: Vec<Put>) -> Map<u32, Open> {
    map_of(of.into_iter().map(Put::open))
}

impl ChainCheck {
    /// Everything it remembers, to be put away and taken up again at the same place.
    pub(crate) fn save(&self) -> Vec<u8> {
        // Named one by one: a new field must not be forgotten here.
        let ChainCheck {
            head,
            seq,
            sealed,
            device,
            people,
            session,
            open,
            corrections,
            list,
            unlocked,
            confirmed,
            in_the_middle,
            proved: _,
        } = self.clone();
        crate::record::canonical::encode(&Saved {
            edition: SAVED,
            head: head.into(),
            seq,
            sealed,
            device: device.map(Into::into),
            people: people
                .into_iter()
                .map(|(person, key)| Key {
                    person,
                    key: key.into(),
                })
                .collect(),
            session: session.map(Into::into),
            open: puts(open),
            corrections: puts(corrections),
            list: list.map(|open| Put::of((0, open))),
            unlocked: unlocked.into_iter().collect(),
            confirmed: confirmed
                .into_iter()
                .map(|(visit, people)| Who {
                    visit,
                    people: people.into_iter().collect(),
                })
                .collect(),
            in_the_middle,
        })
    }

    /// What [`ChainCheck::save`] put away; `None` if it is of another edition.
    pub(crate) fn restore(bytes: &[u8]) -> Option<Self> {
        let saved: Saved = minicbor::decode(bytes).ok()?;
        if saved.edition != SAVED {
            return None;
        }
        Some(ChainCheck {
            head: *saved.head,
            seq: saved.seq,
            sealed: saved.sealed,
            device: saved.device.map(|key| *key),
            people: map_of(saved.people.into_iter().map(|k| (k.person, *k.key))),
            session: saved.session.map(|id| *id),
            open: opens(saved.open),
            corrections: opens(saved.corrections),
            list: saved.list.map(|put| put.open().1),
            unlocked: saved.unlocked.into_iter().collect(),
            confirmed: map_of(
                (saved.confirmed.into_iter())
                    .map(|who| (who.visit, who.people.into_iter().collect::<Set<_>>())),
            ),
            in_the_middle: saved.in_the_middle,
            proved: Arc::default(),
        })
    }
}
