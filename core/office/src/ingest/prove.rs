//! People's signatures in a frame, checked before any transaction.

use standsquare_journal::record::elsewhere::signed_bytes;
use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::{Proved, list_bytes, sign_off_bytes, unlock_bytes};
use standsquare_sync::Frame;
use std::collections::BTreeMap;

use super::verify::read;

/// Checks what is signed in it by people whose keys are known (`keys`) or made in this very frame.
/// What holds is remembered in `proved`; what does not is found again by `follow`, and named.
pub(super) fn sign_offs(frame: &Frame, keys: &BTreeMap<String, [u8; 32]>, proved: &mut Proved) {
    let mut keys = std::borrow::Cow::Borrowed(keys);
    let mut stated: Option<Vec<u8>> = None;
    let mut listed: Option<Vec<u8>> = None;
    for bytes in &frame.events {
        let Ok(event) = read(bytes) else { return };
        match event.fact {
            Fact::ListStated { list } => listed = Some(list),
            Fact::ListSigned {
                person,
                alg,
                head,
                signature,
            } => {
                if let (Some(list), Some(key)) = (&listed, keys.get(&person)) {
                    let _ = proved.check(alg, key, &list_bytes(&head, list), &signature);
                }
            }
            Fact::Unlocked {
                person,
                alg,
                head,
                signature,
            } => {
                if let Some(key) = keys.get(&person) {
                    let _ = proved.check(alg, key, &unlock_bytes(&head), &signature);
                }
            }
            Fact::KeyMade { person, key, .. } => {
                keys.to_mut().insert(person, *key);
            }
            Fact::Stated { statement } => stated = Some(statement),
            Fact::Signed {
                person,
                alg,
                head,
                signature,
                ..
            } => {
                if let (Some(statement), Some(key)) = (&stated, keys.get(&person)) {
                    let signed = sign_off_bytes(&head, statement);
                    // Whether it is over the right statement is seen in its turn.
                    let _ = proved.check(alg, key, &signed, &signature);
                }
            }
            Fact::SignedElsewhere {
                visit,
                alg,
                head,
                signature,
                key,
                ..
            } => {
                let shown = if visit == 0 { &listed } else { &stated };
                if let Some(shown) = shown {
                    let signed = signed_bytes(&head, shown);
                    let _ = proved.check(alg, &key, &signed, &signature);
                }
            }
            _ => {}
        }
    }
}
