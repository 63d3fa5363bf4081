//! What the rules say to a dog that another table has measured already.

use std::borrow::Cow;

use standsquare_journal::record::dogs::Came;
use standsquare_measuring as measuring;
use standsquare_measuring::Next;
use standsquare_sync::roster::{Dog, EarlierMeasure};

use super::{case_for, message};
use crate::days;
use crate::state::{Elsewhere, Session, Visit};
use crate::view::Text;

/// What is to be said of measuring it here too.
pub struct Again {
    /// In words.
    pub says: Text,
    /// Nothing speaks against it: it is what is usually done then.
    pub is_usual: bool,
    /// It counts here as an earlier measure.
    pub counts: bool,
}

/// The dog with what was found of it elsewhere among its earlier measures.
fn with(session: &Session, dog: &Dog, e: &Elsewhere) -> Option<Dog> {
    let Came::Category(category) = &e.came else {
        return None;
    };
    session.loaded.pack.category(&category.as_str().into())?;
    let mut dog = dog.clone();
    dog.earlier.push(EarlierMeasure {
        day: days::of_moment(e.at_ms, session.offset_min).to_string(),
        category: category.clone(),
        measure: u8::try_from(dog.earlier.len() + 1).unwrap_or(u8::MAX),
    });
    Some(dog)
}

/// What the rules say to measuring it here too.
pub fn again(session: &Session, visit: &Visit, e: &Elsewhere) -> Again {
    let say = |key: &str, is_usual| Again {
        says: Text::of(key),
        is_usual,
        counts: false,
    };
    match &e.came {
        // Both phones of a session are meant to measure it, each for itself.
        _ if e.of_this_session => return say("heard.both_count", true),
        Came::NotToday => return say("heard.may_try", true),
        Came::Referred => return say("heard.office_decides", false),
        Came::Untold => return say("heard.hidden", false),
        Came::Category(_) => {}
    }
    let dog = session.dog(&visit.dog);
    let Some(dog) = dog.and_then(|dog| with(session, dog, e)) else {
        return say("heard.other_rules", false);
    };
    let case = case_for(session, Some(&dog));
    match measuring::progress(&session.loaded.pack, &case).next {
        Next::Refused(why) => Again {
            says: why
                .first()
                .map_or_else(|| Text::of("heard.hidden"), |r| message(session, r)),
            is_usual: false,
            counts: false,
        },
        _ => Again {
            counts: true,
            ..say("heard.further", true)
        },
    }
}

/// The dog of a visit, what another table found among its earlier measures where it counts.
pub(super) fn known<'a>(session: &'a Session, visit: &Visit) -> Option<Cow<'a, Dog>> {
    let dog = session.dog(&visit.dog)?;
    let counted = visit.elsewhere.as_ref().filter(|e| e.goes_on);
    let counted = counted.filter(|e| again(session, visit, e).counts);
    let more = counted.and_then(|e| with(session, dog, e));
    Some(more.map_or(Cow::Borrowed(dog), Cow::Owned))
}
