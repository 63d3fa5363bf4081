//! What the office said of the keys in a dossier, and which measures that leaves in doubt.

use standsquare_journal::record::fact::{Fact, List, Statement};
use standsquare_journal::record::notice::Notice;
use standsquare_journal::record::{Event, statement_hash};
use standsquare_sync::Frame;
use std::collections::BTreeSet;

use super::proof::{JournalKeys, names};
use super::{DossierFault, Frames, facts};
use crate::keys::Said;

/// Every key that had a part in these frames: the phones' and the people's.
pub(super) fn keys_of_frames(frames: &Frames) -> BTreeSet<[u8; 32]> {
    let mut keys = BTreeSet::new();
    for bytes in frames.values() {
        keys.extend(Frame::decode_strict(bytes).map(|f| f.device_key));
        keys.extend(facts(bytes).filter_map(|fact| match fact {
            Fact::KeyMade { key, .. } | Fact::SignedElsewhere { key, .. } => Some(*key),
            _ => None,
        }));
    }
    keys
}

/// What was said of keys; each notice is the office's own, or the dossier is none.
pub(super) fn said(notices: &[String], office_key: &[u8; 32]) -> Result<Said, DossierFault> {
    let mut said = Said::default();
    for text in notices {
        let notice = Notice::check(text, &[*office_key]);
        said.take(&notice.map_err(|_| DossierFault::Forged)?);
    }
    Ok(said)
}

/// Whether a key that signed under this head, or the phone's, counted no more when it did, or
/// one of another phone is not known as the signer's.
pub(super) fn is_doubtful(
    frames: &[Vec<u8>],
    keys: &JournalKeys,
    head: &str,
    statement: &Statement,
    said: &Said,
) -> bool {
    let named = statement_hash(&statement.encode());
    let mut wanted = [0; 32];
    if hex::decode_to_slice(head, &mut wanted).is_err() {
        return false;
    }
    let over = |key: &[u8; 32], at_ms: i64| {
        let revoked = said.revoked.get(key);
        revoked.is_some_and(|(from_ms, _)| at_ms >= *from_ms)
    };
    frames.iter().any(|bytes| {
        let Ok(frame) = Frame::decode_strict(bytes) else {
            return false;
        };
        let events = frame.events.iter();
        let mut events = events.filter_map(|e| Event::decode_strict(e).ok());
        let mut list: Option<List> = None;
        events.any(|event| match event.fact {
            Fact::ListStated { list: bytes } => {
                list = List::decode_strict(&bytes).ok();
                false
            }
            Fact::Signed {
                person, head: h, ..
            }
            | Fact::Confirmed {
                person, head: h, ..
            } if *h == wanted => {
                let key = keys.get(&(frame.device_key, frame.journal, person.clone()));
                over(&frame.device_key, event.at_ms)
                    || key
                        .is_some_and(|key| said.against(&person, key, event.at_ms, false).is_some())
            }
            Fact::SignedElsewhere {
                visit,
                person,
                head: h,
                key,
                ..
            } if *h == wanted
                || (visit == 0 && list.iter().any(|list| names(list, &person, &named))) =>
            {
                over(&frame.device_key, event.at_ms)
                    || said.against(&person, &key, event.at_ms, true).is_some()
            }
            _ => false,
        })
    })
}
