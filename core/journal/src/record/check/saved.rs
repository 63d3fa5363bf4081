//! A check put away beside the journal, and taken up again at the same place.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use minicbor::bytes::ByteArray;

use super::{ChainCheck, Open};

/// The form in which a check is put away. A change to what a check remembers, or to what
/// facts mean to it, needs the next number.
const SAVED: u32 = 3;

#[derive(minicbor::Encode, minicbor::Decode)]
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
    people: Vec<(String, ByteArray<32>)>,
    #[n(6)]
    session: Option<ByteArray<16>>,
    #[n(7)]
    open: BTreeMap<u32, Open>,
    #[n(8)]
    corrections: BTreeMap<u32, Open>,
    #[n(9)]
    list: Option<Open>,
    #[n(10)]
    unlocked: BTreeSet<String>,
    #[n(11)]
    confirmed: BTreeMap<u32, BTreeSet<String>>,
    #[n(12)]
    in_the_middle: bool,
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
            people: people.into_iter().map(|(p, key)| (p, key.into())).collect(),
            session: session.map(Into::into),
            open,
            corrections,
            list,
            unlocked,
            confirmed,
            in_the_middle,
        })
    }

    /// What [`ChainCheck::save`] put away; `None` if it is of another edition.
    pub(crate) fn restore(bytes: &[u8]) -> Option<Self> {
        let saved: Saved = minicbor::decode(bytes).ok()?;
        if saved.edition != SAVED {
            return None;
        }
        let mut people = BTreeMap::new();
        for (person, key) in saved.people {
            people.insert(person, *key);
        }
        Some(ChainCheck {
            head: *saved.head,
            seq: saved.seq,
            sealed: saved.sealed,
            device: saved.device.map(|key| *key),
            people,
            session: saved.session.map(|id| *id),
            open: saved.open,
            corrections: saved.corrections,
            list: saved.list,
            unlocked: saved.unlocked,
            confirmed: saved.confirmed,
            in_the_middle: saved.in_the_middle,
            proved: Arc::default(),
        })
    }
}
