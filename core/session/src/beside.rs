//! Asking the office what a session's other phones found: when, and what is on its way. Of
//! the moment, like all sending.

use standsquare_journal::store::Journal;
use standsquare_sync::beside::BesideAsk;

use crate::sending::BESIDE_PATH;
use crate::state::{Session, State};
use crate::view::Effect;

/// How long after an answer it is asked again, milliseconds, while the session is on the
/// phone. Own choice: the other phone may come to its signal any minute.
const AGAIN_MS: i64 = 60_000;
/// Longest pause after answers that brought nothing. Own choice.
const LONGEST_MS: i64 = 10 * 60_000;
/// How long an answer is waited for. Own choice.
const PATIENCE_MS: i64 = 30_000;

/// The question that is on its way, and when the next is due.
#[derive(Default)]
pub struct Asking {
    asked: Option<(String, i64)>,
    count: u64,
    due_ms: i64,
    unheard: u32,
    /// The office does not know the question.
    never: bool,
}

/// The newest session on the phone that another phone records too.
pub fn shared(state: &State) -> Option<&Session> {
    let newest = state.session.as_ref().or(state.last.as_ref());
    newest.filter(|s| s.pairing_shown || !s.paired.is_empty())
}

impl Asking {
    /// Something of ours is newly at the office, or the network came back.
    pub fn now(&mut self) {
        self.due_ms = i64::MIN;
        self.unheard = 0;
    }

    /// Whether this answer was waited for.
    pub fn answered(&mut self, request: &str) -> bool {
        self.asked.take_if(|(name, _)| name == request).is_some()
    }

    /// It was answered, with something new or not; or nothing came of it.
    pub fn heard(&mut self, news: bool, now_ms: i64) {
        self.unheard = if news { 0 } else { self.unheard + 1 };
        let pause = (AGAIN_MS << self.unheard.min(10)).min(LONGEST_MS);
        self.due_ms = now_ms.saturating_add(pause);
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
        if let Some((request, sent)) = &self.asked {
            if now_ms.saturating_sub(*sent) < PATIENCE_MS {
                return Some(sent.saturating_add(PATIENCE_MS));
            }
            let request = request.clone();
            out.push(Effect::DropRequest { request });
            self.asked = None;
            self.heard(false, now_ms);
        }
        if now_ms < self.due_ms {
            return Some(self.due_ms);
        }
        let ask = BesideAsk {
            office_key,
            device_key: journal.device_key(),
            session: session.id,
            at_ms: now_ms.saturating_sub(state.clock_ahead_ms),
        };
        self.count += 1;
        let request = format!("beside-{}", self.count);
        self.due_ms = i64::MAX;
        self.asked = Some((request.clone(), now_ms));
        out.push(Effect::AskOffice {
            request,
            path: BESIDE_PATH.into(),
            body: ask.sign(|bytes| journal.sign_by_device(bytes)),
            address: String::new(),
        });
        Some(now_ms.saturating_add(PATIENCE_MS))
    }
}
