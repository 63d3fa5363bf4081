//! What the session's other phones have, beside what is here.

use super::{Drawn, Glass};
use crate::act::Act;
use crate::judging;
use crate::state::{Closing, Session, Visit};
use crate::view::*;

use standsquare_sync::beside::Beside;

/// What a word of the office's says that a phone found.
fn came_text(s: &Session, came: &str) -> Text {
    match came.split_once(':') {
        Some(("category", id)) => {
            let known = s.loaded.pack.category(&id.into());
            let label = known.map_or_else(|| id.to_owned(), |c| c.label.clone());
            Text::of("outcome.category").plain("category", label)
        }
        Some(("not-today", reason)) => {
            Text::of("outcome.not_today").word("reason", &format!("stop.{reason}"))
        }
        Some(("referred", reason)) => {
            Text::of("outcome.referred").word("reason", &format!("referred.{reason}"))
        }
        _ => Text::of("plain").plain("text", came),
    }
}

/// Results that differ, and devices with two histories.
pub(super) fn lines(s: &Session, v: &Visit) -> Vec<Text> {
    let Some((found, dog)) = judging::beside(s, v) else {
        return Vec::new();
    };
    let key = key_of(found);
    match found {
        Beside::Corroborated | Beside::Left => vec![Text::of(key)],
        _ => vec![Text::of(key), came_text(s, &dog.came)],
    }
}

fn key_of(found: Beside) -> &'static str {
    match found {
        Beside::Corroborated => "beside.same",
        Beside::Disputed => "beside.differs",
        Beside::FirstStands => "beside.ours_stands",
        Beside::SecondStands => "beside.theirs_stands",
        Beside::Left => "beside.left",
    }
}

impl Glass<'_> {
    /// What the other phone has of a dog, in a line of the queue.
    pub(super) fn beside_note(&self, s: &Session, dog: &str) -> Option<Text> {
        match s.visit_of(dog) {
            Some(visit) => judging::beside(s, visit).map(|(found, _)| Text::of(key_of(found))),
            None => judging::only_there(s, dog).then(|| Text::of("beside.only_there")),
        }
    }

    /// What there is to be said of the session's other phones: results that differ, a device
    /// with two histories.
    pub(super) fn of_other_phones(&self, s: &Session, mut drawn: Drawn) -> Drawn {
        let differing = judging::disputed(s);
        if let Some(first) = differing.first() {
            let text = Text::of("caution.phones_differ").count("count", differing.len() as i64);
            drawn = drawn.cautioned(Some(text));
            // The queue has a way to each dog.
            let stated = first.stated.as_ref().map(|(st, ..)| st);
            if let Some(st) = stated.filter(|_| s.closing == Closing::Closed) {
                let chip = st.chip.clone();
                drawn = drawn
                    .offer("differs", Act::OpenHistory { chip }, Role::Other)
                    .labelled(Text::of("offer.differs").plain("dog", &st.dog));
            }
        }
        let own = self.state.device_key();
        for device in s.told.iter().flat_map(|t| &t.forked) {
            drawn = drawn.caution(match **device == own {
                true => "caution.fork_here",
                false => "caution.fork_there",
            });
        }
        drawn
    }

    /// The ways to sign which of two results stands.
    pub(super) fn to_settle(&self, s: &Session, v: &Visit, drawn: Drawn) -> Drawn {
        if judging::may_settle(s, v).is_none() {
            return drawn;
        }
        let act = |here| Act::SettleDispute {
            dog: v.dog.clone(),
            here,
        };
        // Beside a dog's slip there are enough ways on in reach of the thumb.
        let role = match self.state.session {
            Some(_) => Role::Quiet,
            None => Role::Other,
        };
        drawn
            .offer("settle_here", act(true), role)
            .offer("settle_there", act(false), Role::Other)
    }
}
