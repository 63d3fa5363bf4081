//! What an enrolled phone asks its office for of its own accord: the newest edition of the
//! roster, with notices of keys. When and how often is not recorded.

use standsquare_journal::store::Journal;
use standsquare_sync::edition::roster_digest;
use standsquare_sync::{EnrolAsk, RosterAsk};

use crate::decide::held_text;
use crate::sending::ROSTER_PATH;
use crate::state::State;
use crate::view::Effect;

/// How long the roster is believed to be as the office has it, milliseconds. Own choice, no
/// source: a dog that is entered late is on the phone within the half hour, and at once when
/// the network comes back.
const AGAIN_MS: i64 = 30 * 60_000;

/// First pause after an answer that brought nothing, doubled up to [`AGAIN_MS`]. Own choice,
/// no source.
const TRY_AGAIN_MS: i64 = 60_000;

/// How long an answer is waited for, milliseconds. Own choice, no source.
const PATIENCE_MS: i64 = 30_000;

/// Questions that are on their way, and when the next is due.
#[derive(Default)]
pub struct News {
    enrolling: Option<(String, String, EnrolAsk)>,
    asked: Option<(String, i64)>,
    count: u64,
    due_ms: i64,
    unheard: u32,
    whole: bool,
}

impl News {
    /// A one-time code is on its way to the office at this address; the request's name.
    pub fn enrol(&mut self, address: String, ask: EnrolAsk) -> String {
        self.count += 1;
        let request = format!("enrol-{}", self.count);
        self.enrolling = Some((request.clone(), address, ask));
        request
    }

    /// What that request was about; it is not waited for any more.
    pub fn enrolled(&mut self, request: &str) -> Option<(String, EnrolAsk)> {
        let (_, address, ask) = self.enrolling.take_if(|(name, ..)| name == request)?;
        Some((address, ask))
    }

    /// The network came back or changed, or the app came to the foreground.
    pub fn network_changed(&mut self) {
        self.due_ms = i64::MIN;
        self.unheard = 0;
    }

    /// Asked for as soon as can be.
    pub fn wanted(&mut self) {
        self.network_changed();
    }

    /// Changes did not do: the whole is asked for at once. If that does not do either, it is
    /// an answer that brought nothing.
    pub fn whole(&mut self, now_ms: i64) {
        if self.whole {
            self.failed(now_ms);
        } else {
            self.whole = true;
            self.due_ms = i64::MIN;
        }
    }

    /// Whether this answer was waited for.
    pub fn answered(&mut self, request: &str) -> bool {
        self.asked.take_if(|(name, _)| name == request).is_some()
    }

    /// The answer brought nothing, or none came.
    pub fn failed(&mut self, now_ms: i64) {
        let pause = (TRY_AGAIN_MS << self.unheard.min(10)).min(AGAIN_MS);
        self.unheard += 1;
        self.due_ms = now_ms.saturating_add(pause);
    }

    /// All is as the office has it.
    pub fn later(&mut self, now_ms: i64) {
        self.unheard = 0;
        self.whole = false;
        self.due_ms = now_ms.saturating_add(AGAIN_MS);
    }

    /// Asks where it is due; when to look again.
    pub fn ask(
        &mut self,
        state: &State,
        journal: &Journal,
        now_ms: i64,
        out: &mut Vec<Effect>,
    ) -> Option<i64> {
        let office = state.enrolled.as_ref()?;
        // Somebody loaded another office's roster since: it is not taken away from them.
        let ours = state.office_key().is_none_or(|k| k == office.office_key);
        if office.edition > 0 && !ours {
            return None;
        }
        if let Some((request, sent)) = &self.asked {
            if now_ms.saturating_sub(*sent) < PATIENCE_MS {
                return Some(sent.saturating_add(PATIENCE_MS));
            }
            let request = request.clone();
            out.push(Effect::DropRequest { request });
            self.asked = None;
            // Where the network has changed since, that is no reason to wait.
            let at_once = self.due_ms == i64::MIN;
            self.failed(now_ms);
            if at_once {
                self.due_ms = i64::MIN;
            }
        }
        if now_ms < self.due_ms {
            return Some(self.due_ms);
        }
        let held = || held_text(state, journal).is_some_and(|t| roster_digest(&t) == office.digest);
        let ask = RosterAsk {
            office_key: office.office_key,
            body: office.body.clone(),
            device_key: journal.device_key(),
            after: match !self.whole && office.edition > 0 && held() {
                true => office.edition,
                false => 0,
            },
            at_ms: now_ms.saturating_sub(state.clock_ahead_ms),
        };
        self.count += 1;
        let request = format!("roster-{}", self.count);
        self.due_ms = i64::MAX;
        self.asked = Some((request.clone(), now_ms));
        out.push(Effect::AskOffice {
            request,
            path: ROSTER_PATH.into(),
            body: ask.sign(|bytes| journal.sign_by_device(bytes)),
            address: office.address.clone(),
        });
        Some(now_ms.saturating_add(PATIENCE_MS))
    }
}
