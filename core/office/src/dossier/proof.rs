//! What frames prove of a measure: the seals, and who signed.

use standsquare_journal::record::fact::{Fact, List, Statement};
use standsquare_journal::record::{
    list_bytes, seal_bytes, sign_off_bytes, statement_hash, verify_signature,
};
use standsquare_sync::Frame;
use std::collections::{BTreeMap, BTreeSet};

use super::facts;
use crate::opened::{self, By, How, facts_of};

pub(super) fn is_sealed(bytes: &[u8]) -> bool {
    let Ok(frame) = Frame::decode_strict(bytes) else {
        return false;
    };
    match facts(bytes).last() {
        Some(Fact::Sealed {
            alg,
            head,
            signature,
            ..
        }) => verify_signature(alg, &frame.device_key, &seal_bytes(&head), &signature).is_ok(),
        _ => false,
    }
}

pub(super) type JournalKeys = BTreeMap<([u8; 32], [u8; 16], String), [u8; 32]>;

/// People's keys, by journal and person.
pub(super) fn keys_made(frames: &[Vec<u8>]) -> JournalKeys {
    let mut keys = JournalKeys::new();
    for bytes in frames {
        let Ok(frame) = Frame::decode_strict(bytes) else {
            continue;
        };
        for fact in facts(bytes) {
            if let Fact::KeyMade { person, key, .. } = fact {
                keys.insert((frame.device_key, frame.journal, person), *key);
            }
        }
    }
    keys
}

/// Who signed, and how they opened their keys.
pub(super) type Signers = BTreeMap<String, How>;

fn here(by: By) -> How {
    How {
        own_phone: false,
        by,
    }
}

fn there() -> How {
    How {
        own_phone: true,
        by: By::NotSaid,
    }
}

/// The statements that were put up, by device and journal: number of the event, visit, bytes.
struct Stated(BTreeMap<([u8; 32], [u8; 16]), Vec<Put>>);

type Put = (i64, u32, Vec<u8>);

impl Stated {
    fn of(frames: &[Vec<u8>]) -> Self {
        let mut all = Stated(BTreeMap::new());
        for bytes in frames {
            let Ok(frame) = Frame::decode_strict(bytes) else {
                continue;
            };
            let of = all.0.entry((frame.device_key, frame.journal)).or_default();
            let (first, facts) = facts_of(bytes);
            for (nth, fact) in facts.into_iter().enumerate() {
                let seq = first.saturating_add(nth as i64);
                if let Fact::Stated { statement } = fact
                    && let Ok(read) = Statement::decode_strict(&statement)
                {
                    of.push((seq, read.visit, statement));
                }
            }
        }
        all
    }

    /// The one that stood when this event was written: a seal may have come in between.
    fn at(&self, frame: &Frame, seq: i64, visit: u32) -> Option<&Vec<u8>> {
        let of = self.0.get(&(frame.device_key, frame.journal))?.iter();
        of.filter(|(at, of, _)| *at < seq && *of == visit)
            .max_by_key(|(at, ..)| *at)
            .map(|(.., statement)| statement)
    }
}

/// The statement under this head and who signed it; nothing if it is not there or a
/// signature under it does not hold.
pub(super) fn signers(
    frames: &[Vec<u8>],
    keys: &JournalKeys,
    head: &str,
) -> Option<(Statement, Signers)> {
    let mut wanted = [0; 32];
    hex::decode_to_slice(head, &mut wanted).ok()?;
    let stated = Stated::of(frames);
    let mut found = None;
    let mut signed = Signers::new();
    for bytes in frames {
        let frame = Frame::decode_strict(bytes).ok()?;
        let (first, all) = facts_of(bytes);
        for (nth, fact) in all.iter().enumerate() {
            let seq = first.saturating_add(nth as i64);
            match fact {
                Fact::Signed {
                    visit,
                    person,
                    alg,
                    head,
                    signature,
                } if **head == wanted => {
                    let statement = stated.at(&frame, seq, *visit)?;
                    let key = keys.get(&(frame.device_key, frame.journal, person.clone()))?;
                    let text = sign_off_bytes(head, statement);
                    verify_signature(*alg, key, &text, signature).ok()?;
                    signed.insert(person.clone(), here(opened::by(&all, nth)));
                    found = Some(Statement::decode_strict(statement).ok()?);
                }
                Fact::SignedElsewhere {
                    visit,
                    person,
                    alg,
                    head,
                    signature,
                    key,
                    ..
                } if **head == wanted => {
                    let statement = stated.at(&frame, seq, *visit)?;
                    let text = sign_off_bytes(head, statement);
                    verify_signature(*alg, key, &text, signature).ok()?;
                    signed.insert(person.clone(), there());
                    found = Some(Statement::decode_strict(statement).ok()?);
                }
                _ => {}
            }
        }
    }
    if let Some((statement, confirmed)) = confirmed(frames, &stated, &wanted) {
        for bytes in frames {
            let people = listed(bytes, keys, &statement)?;
            signed.extend(people.into_iter().filter(|(p, _)| confirmed.contains(p)));
        }
        found = Some(Statement::decode_strict(&statement).ok()?);
    }
    Some((found?, signed))
}

/// The statement that was confirmed under this head, where a session is signed once, and by
/// whom.
fn confirmed(
    frames: &[Vec<u8>],
    stated: &Stated,
    wanted: &[u8; 32],
) -> Option<(Vec<u8>, BTreeSet<String>)> {
    let mut found: Option<(Vec<u8>, BTreeSet<String>)> = None;
    for bytes in frames {
        let frame = Frame::decode_strict(bytes).ok()?;
        let (first, facts) = facts_of(bytes);
        for (nth, fact) in facts.into_iter().enumerate() {
            let seq = first.saturating_add(nth as i64);
            if let Fact::Confirmed {
                visit,
                person,
                head,
            } = fact
                && *head == *wanted
            {
                let statement = stated.at(&frame, seq, visit)?;
                let (_, people) = found.get_or_insert((statement.clone(), BTreeSet::new()));
                people.insert(person);
            }
        }
    }
    found
}

/// Whether this person signs, with this list, the statement of this hash.
pub(super) fn names(list: &List, person: &str, statement: &[u8; 32]) -> bool {
    list.of(person).any(|dog| *dog.statement == *statement)
}

/// Who signed a list of this frame that names the statement; nothing if a signature under
/// one does not hold.
fn listed(bytes: &[u8], keys: &JournalKeys, statement: &[u8]) -> Option<Signers> {
    let frame = Frame::decode_strict(bytes).ok()?;
    let named = statement_hash(statement);
    let mut list: Option<(Vec<u8>, List)> = None;
    let mut people = Signers::new();
    let all: Vec<_> = facts(bytes).collect();
    for (nth, fact) in all.iter().cloned().enumerate() {
        match fact {
            Fact::ListStated { list: bytes } => {
                let read = List::decode_strict(&bytes).ok()?;
                list = Some((bytes, read));
            }
            Fact::ListSigned {
                person,
                alg,
                head,
                signature,
            } => {
                let (text, read) = list.as_ref()?;
                if !names(read, &person, &named) {
                    continue;
                }
                let key = keys.get(&(frame.device_key, frame.journal, person.clone()))?;
                verify_signature(alg, key, &list_bytes(&head, text), &signature).ok()?;
                people.insert(person, here(opened::by(&all, nth)));
            }
            Fact::SignedElsewhere {
                visit: 0,
                person,
                alg,
                head,
                signature,
                key,
                ..
            } => {
                let (text, read) = list.as_ref()?;
                if !names(read, &person, &named) {
                    continue;
                }
                verify_signature(alg, &key, &list_bytes(&head, text), &signature).ok()?;
                people.insert(person, there());
            }
            _ => {}
        }
    }
    Some(people)
}
