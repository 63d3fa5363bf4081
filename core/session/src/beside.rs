//! Asking the office what a session's other phones found: when, and what is on its way. Of
//! the moment, like all sending.

use standsquare_journal::store::Journal;
use standsquare_sync::beside::BesideAsk;

use crate::asking::{Pauses, Question};
use crate::sending::BESIDE_PATH;
use crate::state::{Session, State};
use crate::view::Effect;

/// How long after an answer it is asked again, milliseconds, while the session is on the
/// phone. Own choice, no source: the other phone may come to its signal any minute.
const AGAIN_MS: i64 = 60_000;

/// Pauses after answers that brought nothing. Own choice, no source.
const PAUSES: Pauses = Pauses {
    from_ms: 2 * AGAIN_MS,
    to_ms: 10 * 60_000,
};

/// The question about other phones.
pub struct Asking {
    question: Question,
    /// The office does not know the question.
    never: bool,
}

impl Default for Asking {
    fn default() -> Self {
        Asking {
            question: Question::new("beside", PAUSES),
            never: false,
        }
    }
}

/// The newest session on the phone that another phone records too.
pub fn shared(state: &State) -> Option<&Session> {
    let newest = state.session.as_ref().or(state.last.as_ref());
    newest.filter(|s| s.pairing_shown || !s.paired.is_empty())
}

impl Asking {
    /// Something of ours is newly at the office, or the network came back.
    pub fn now(&mut self) {
        self.question.now();
    }

    /// Whether this answer was waited for.
    pub fn answered(&mut self, request: &str) -> bool {
        self.question.answered(request)
    }

    /// It was answered, with something new or not; or nothing came of it.
    pub fn heard(&mut self, news: bool, now_ms: i64) {
        match news {
            true => self.question.in_a_while(now_ms, AGAIN_MS),
            false => self.question.in_vain(now_ms),
        }
    }

    /// The office does not know this question: an older one.
    pub fn never(&mut self) {
        self.never = true;
    }

    /// Asks where it is due; when to look again.
    pub fn ask(
        &mut self,
        state: &State,
        journal: &Journal,
        now_ms: i64,
        out: &mut Vec<Effect>,
    ) -> Option<i64> {
        let session = shared(state).filter(|_| !self.never)?;
        let office_key = state.office_key()?;
        // The office tells nothing to who has sent nothing.
        if !session.visits.iter().any(|v| state.office_holds(v.run)) {
            return None;
        }
        if let Some(at_ms) = self.question.not_now(now_ms, out) {
            return Some(at_ms);
        }
        let ask = BesideAsk {
            office_key,
            device_key: journal.device_key(),
            session: session.id,
            at_ms: now_ms.saturating_sub(state.clock_ahead_ms),
        };
        let (request, until) = self.question.ask(now_ms);
        out.push(Effect::AskOffice {
            request,
            path: BESIDE_PATH.into(),
            body: ask.sign(|bytes| journal.sign_by_device(bytes)),
            address: String::new(),
        });
        Some(until)
    }
}
