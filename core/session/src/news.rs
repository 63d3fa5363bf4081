//! What an enrolled phone asks its office for of its own accord: the newest edition of the
//! roster, with notices of keys. When and how often is not recorded.

use standsquare_journal::store::Journal;
use standsquare_sync::edition::roster_digest;
use standsquare_sync::{EnrolAsk, RosterAsk};

use crate::asking::{Pauses, Question};
use crate::decide::held_text;
use crate::sending::ROSTER_PATH;
use crate::state::State;
use crate::view::Effect;

/// How long the roster is believed to be as the office has it, milliseconds. Own choice, no
/// source: a dog that is entered late is on the phone within the half hour, and at once when
/// the network comes back.
const AGAIN_MS: i64 = 30 * 60_000;

/// Pauses after answers that brought nothing. Own choice, no source.
const PAUSES: Pauses = Pauses {
    from_ms: 60_000,
    to_ms: AGAIN_MS,
};

/// Questions that are on their way.
pub struct News {
    enrolling: Option<(String, String, EnrolAsk)>,
    codes: u64,
    roster: Question,
    whole: bool,
}

impl Default for News {
    fn default() -> Self {
        News {
            enrolling: None,
            codes: 0,
            roster: Question::new("roster", PAUSES),
            whole: false,
        }
    }
}

impl News {
    /// A one-time code is on its way to the office at this address; the request's name.
    pub fn enrol(&mut self, address: String, ask: EnrolAsk) -> String {
        self.codes += 1;
        let request = format!("enrol-{}", self.codes);
        self.enrolling = Some((request.clone(), address, ask));
        request
    }

    /// What that request was about; it is not waited for any more.
    pub fn enrolled(&mut self, request: &str) -> Option<(String, EnrolAsk)> {
        let (_, address, ask) = self.enrolling.take_if(|(name, ..)| name == request)?;
        Some((address, ask))
    }

    /// Asked for as soon as can be: somebody wants it, or the network came back or changed.
    pub fn now(&mut self) {
        self.roster.now();
    }

    /// Changes did not do: the whole is asked for at once. If that does not do either, it is
    /// an answer that brought nothing.
    pub fn whole(&mut self, now_ms: i64) {
        if self.whole {
            self.failed(now_ms);
        } else {
            self.whole = true;
            self.roster.now();
        }
    }

    /// Whether this answer was waited for.
    pub fn answered(&mut self, request: &str) -> bool {
        self.roster.answered(request)
    }

    /// The answer brought nothing, or none came.
    pub fn failed(&mut self, now_ms: i64) {
        self.roster.in_vain(now_ms);
    }

    /// All is as the office has it.
    pub fn later(&mut self, now_ms: i64) {
        self.whole = false;
        self.roster.in_a_while(now_ms, AGAIN_MS);
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
        if let Some(at_ms) = self.roster.not_now(now_ms, out) {
            return Some(at_ms);
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
        let (request, until) = self.roster.ask(now_ms);
        out.push(Effect::AskOffice {
            request,
            path: ROSTER_PATH.into(),
            body: ask.sign(|bytes| journal.sign_by_device(bytes)),
            address: office.address.clone(),
        });
        Some(until)
    }
}
