//! A handler objects to what was found: their words are taken at the table and go to the
//! office, which decides by its own rules. No pack says anything of deadlines or next steps,
//! and so nothing here does.

use super::{Context, Outcome, look, not_now};
use crate::act::Act;
use crate::looking::Looking;
use crate::state::{Session, Step, Visit};
use crate::view::{Cue, Text, Tone};

use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::subject_commitment;
use standsquare_journal::store::Item;

/// Characters of a handler's words. Own choice, no source: some sentences, and far less than
/// what the office takes.
pub(crate) const MOST_WORDS: usize = 600;

/// The visit of which the handler may object: all have answered for it, and the handler is
/// being told, or was.
pub(crate) fn may_object<'a>(session: &'a Session, dog: &str) -> Option<&'a Visit> {
    let visit = session.visit_of(dog)?;
    let told = matches!(visit.step(), Step::Tell | Step::Done);
    (told && visit.is_answered()).then_some(visit)
}

pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    match act {
        Act::OpenObjection { dog } => {
            if c.session().and_then(|s| may_object(s, dog)).is_none() {
                return not_now();
            }
            look::open(c, Looking::Objection(dog.clone()));
            Outcome::default()
        }
        Act::RecordObjection { dog, words } => record(c, dog, words),
        _ => not_now(),
    }
}

fn record(c: &mut Context, dog: &str, words: &str) -> Outcome {
    let asked = matches!(c.looking.last(), Some(Looking::Objection(of)) if of == dog);
    let Some((session, visit)) = c.session().and_then(|s| Some((s, may_object(s, dog)?))) else {
        return not_now();
    };
    if !asked {
        return not_now();
    }
    let words = words.trim();
    if words.chars().count() > MOST_WORDS {
        let most = MOST_WORDS as i64;
        return Outcome::refuse(Text::of("refused.words_long").count("most", most));
    }
    let (visit, seal) = (visit.number, may_seal(session, dog));
    let (id, salt): ([u8; 16], [u8; 32]) = (c.random.bytes(), c.random.bytes());
    let subject = Item::Subject {
        id,
        clear: words.as_bytes().to_vec(),
        salt,
        key: c.random.bytes(),
        nonce: c.random.bytes(),
    };
    let mut out = Outcome {
        items: vec![subject],
        ..Outcome::default()
    }
    .and(Fact::Objected {
        visit,
        words: id.into(),
        commitment: subject_commitment(words.as_bytes(), &salt).into(),
    });
    if seal {
        out.items.push(Item::Seal { why: 1 });
    }
    // Back to the table: what was recorded is what a killed app comes back to.
    c.looking.clear();
    out.say(Tone::Care, Text::of("notice.objected"))
        .play(Cue::Done)
}

/// Whether a seal now breaks nothing off that is being signed. Otherwise the objection goes
/// with the next one.
fn may_seal(session: &Session, dog: &str) -> bool {
    session.list.is_none() && session.in_hand().is_none_or(|v| v.dog == dog)
}
