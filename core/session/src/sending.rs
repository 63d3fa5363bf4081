//! What is on its way to the office at the moment. Which frames there are, and which of
//! them the office holds, is recorded; when to try and over which connections is not: a
//! killed app begins anew, and sending twice is sending once.

use standsquare_journal::store::{Journal, StoreFault};
use standsquare_sync::log::Ask;
use standsquare_sync::packets::Flight;
use standsquare_sync::{
    Attempt, Command, EnrolAsk, Frame, Limits, Outbox, Receipt, Spoken, Timers,
};

use crate::asking::{Pauses, Question};
use crate::beside::Asking;
use crate::flying::Flying;
use crate::map::{Map, Set};
use crate::news::News;
use crate::past::Behind;
use crate::random::Source;
use crate::state::{Said, SealedRun, State};
use crate::view::Effect;

/// Where frames go at the office.
pub const POST_PATH: &str = "/v1/frames";

/// Where an office's one-time code is brought.
pub const ENROL_PATH: &str = "/v1/enrol";

/// Where an enrolled phone asks for the roster.
pub const ROSTER_PATH: &str = "/v1/roster";

/// Where it is asked what a session's other phones found.
pub const BESIDE_PATH: &str = "/v1/beside";

/// Where the office's log is asked.
pub const LOG_PATH: &str = "/v1/log";

/// How long after a receipt the log is asked, milliseconds. Own choice, no source: an
/// office gives frames their places about once a second.
const LOG_FROM_MS: i64 = 2_000;

/// Pauses after answers of the log that proved nothing. Own choice, no source.
const LOG_PAUSES: Pauses = Pauses {
    from_ms: 2 * LOG_FROM_MS,
    to_ms: 10 * 60_000,
};

/// Frames in one question to the log: a proof of each comes back.
const ASKED_AT_A_TIME: usize = 64;

/// Times of requests that are remembered, to hold the office's clock against.
const REMEMBERED: usize = 64;

/// Sending, as the moment knows it.
pub struct Sending {
    outbox: Outbox,
    /// The post that goes in packets as well.
    flying: Flying,
    /// When each request was sent, Unix milliseconds.
    sent: Map<String, i64>,
    /// Runs there were when it was looked last.
    runs: usize,
    /// Somebody pressed the button and has not heard yet.
    awaited: bool,
    wake_at: Option<i64>,
    log: Question,
    news: News,
    /// What the session's other phones found.
    pub beside: Asking,
}

impl Default for Sending {
    fn default() -> Self {
        Sending {
            outbox: Outbox::new(Timers::default()).packing(pack_turned).flying(),
            flying: Flying::default(),
            sent: Map::new_vec(),
            runs: 0,
            awaited: false,
            wake_at: None,
            log: Question::new("log", LOG_PAUSES),
            news: News::default(),
            beside: Asking::default(),
        }
    }
}

/// As short as this build can make it.
pub fn pack(frames: &[Vec<u8>]) -> Vec<u8> {
    #[cfg(feature = "zstd")]
    return standsquare_sync::lean_body(frames, standsquare_journal::record::chain);
    #[cfg(not(feature = "zstd"))]
    return standsquare_sync::post_body(frames);
}

/// The same, so that the beginning is of use on a bad link before the end is there.
fn pack_turned(frames: &[Vec<u8>], turn: usize) -> Vec<u8> {
    #[cfg(feature = "zstd")]
    return standsquare_sync::stretch_body(frames, turn, standsquare_journal::record::chain);
    #[cfg(not(feature = "zstd"))]
    {
        let _ = turn;
        pack(frames)
    }
}

fn request_of(attempt: Attempt) -> String {
    format!("frames-{attempt}")
}

/// The attempt that a request's name stands for; none for another kind of request.
fn attempt_of(request: &str) -> Option<Attempt> {
    request.strip_prefix("frames-")?.parse().ok()
}

impl Sending {
    /// Somebody wants it sent now: no pause counts any more, and they are told what comes
    /// of it.
    pub fn now(&mut self) {
        self.awaited = true;
        self.network_changed();
    }

    /// The network came back or changed, or the app came to the foreground.
    pub fn network_changed(&mut self) {
        self.outbox.network_changed();
        self.flying = Flying::default();
        self.log.now();
        self.news.now();
        self.beside.now();
    }

    /// Whether somebody waits to be told; an act of another kind ends that.
    pub fn is_awaited(&self) -> bool {
        self.awaited
    }

    /// Nobody waits any more.
    pub fn not_awaited(&mut self) {
        self.awaited = false;
    }

    /// Whether a run was finished since it was looked last.
    pub fn has_more(&self, state: &State) -> bool {
        state.runs.count() > self.runs
            && (state.unsent().next().is_some() || state.unsaid().next().is_some())
    }

    /// When a request was sent, Unix milliseconds; none that was forgotten.
    pub fn sent_at(&self, request: &str) -> Option<i64> {
        self.sent.get(request).copied()
    }

    /// A receipt that was verified. The frames in it are recorded by the caller.
    pub fn answered(&mut self, request: &str, receipt: &Receipt, now_ms: i64) -> Vec<Effect> {
        let Some(attempt) = attempt_of(request) else {
            return Vec::new();
        };
        self.log.in_a_while(now_ms, LOG_FROM_MS);
        self.beside.now();
        self.flying.end(attempt);
        let commands = self.outbox.answered(attempt, receipt);
        self.obey(commands, now_ms)
    }

    /// A packet came. Where it was the last of an answer, the request that this is of, the
    /// answer's status as in HTTP, and its body.
    pub fn packet(&mut self, packet: &[u8], now_ms: i64) -> Option<(String, u16, Vec<u8>)> {
        let (attempt, status, body) = self.flying.heard(packet, now_ms)?;
        Some((request_of(attempt), status, body))
    }

    /// A request ended without anything that counts. `plainly`: the office does not know
    /// this way of packing.
    pub fn failed(&mut self, request: &str, plainly: bool, now_ms: i64, random: &mut Source) {
        if self.log.answered(request) {
            self.log.in_vain(now_ms);
        }
        if self.news.answered(request) {
            self.news.failed(now_ms);
        }
        if self.beside.answered(request) {
            self.beside.heard(false, now_ms);
        }
        if let Some(attempt) = attempt_of(request) {
            self.flying.end(attempt);
            self.outbox.failed(attempt, now_ms, entropy(random));
            if plainly {
                self.outbox.plainly();
            }
        }
    }

    /// The log answered: `news` if any frame was proved.
    pub fn log_heard(&mut self, request: &str, news: bool, now_ms: i64) {
        // One that was given up is as welcome.
        self.log.answered(request);
        match news {
            true => self.log.in_a_while(now_ms, LOG_FROM_MS),
            false => self.log.in_vain(now_ms),
        }
    }

    /// Time has come, or something changed: what the platform is to do now.
    ///
    /// # Errors
    /// Where frames cannot be read from the journal.
    pub fn wake(
        &mut self,
        state: &State,
        journal: &Journal,
        now_ms: i64,
        random: &mut Source,
    ) -> Result<Vec<Effect>, StoreFault> {
        self.runs = state.runs.count();
        let mut out = Vec::new();
        let asked = self.news.ask(state, journal, now_ms, &mut out);
        if let Some(Effect::AskOffice { request, .. }) = out.last() {
            let request = request.clone();
            self.remember(&request, now_ms);
        }
        let Some(office_key) = state.office_key() else {
            return Ok(self.woken_again(asked, out));
        };
        self.feed(state, journal)?;
        let commands = self.outbox.wake(now_ms, entropy(random));
        self.take_off(&commands, &office_key, random, now_ms);
        let mut next = commands.iter().find_map(|c| match c {
            Command::WakeAt { at_ms } => Some(*at_ms),
            _ => None,
        });
        out.extend(self.obey(commands, now_ms));
        let flight = self.fly(now_ms, &mut out);
        let from = out.len();
        let beside = self.beside.ask(state, journal, now_ms, &mut out);
        if let Some(Effect::AskOffice { request, .. }) = out[from..].last() {
            let request = request.clone();
            self.remember(&request, now_ms);
        }
        for due in [
            asked,
            beside,
            flight,
            self.ask_log(state, journal, now_ms, &mut out)?,
        ] {
            next = next.into_iter().chain(due).min();
        }
        let address = address(state);
        for effect in &mut out {
            if let Effect::AskOffice { address: at, .. } | Effect::SendPackets { address: at, .. } =
                effect
                && at.is_empty()
            {
                at.clone_from(&address);
            }
        }
        Ok(self.woken_again(next, out))
    }

    /// Said once: a platform that was told keeps it.
    fn woken_again(&mut self, next: Option<i64>, mut out: Vec<Effect>) -> Vec<Effect> {
        if next != self.wake_at {
            self.wake_at = next;
            out.extend(next.map(|at_ms| Effect::WakeAt { at_ms }));
        }
        out
    }

    /// A one-time code is on its way to the office at this address; the request's name.
    pub fn enrol(&mut self, address: String, ask: EnrolAsk, now_ms: i64) -> String {
        let request = self.news.enrol(address, ask);
        self.remember(&request, now_ms);
        request
    }

    /// What that request was about; it is not waited for any more.
    pub fn enrolled(&mut self, request: &str) -> Option<(String, EnrolAsk)> {
        self.news.enrolled(request)
    }

    /// The roster is asked for as soon as can be.
    pub fn roster_wanted(&mut self) {
        self.news.now();
    }

    /// Changes did not do: the whole of it is asked for.
    pub fn roster_whole(&mut self, now_ms: i64) {
        self.news.whole(now_ms);
    }

    /// Whether this answer was waited for.
    pub fn roster_answered(&mut self, request: &str) -> bool {
        self.news.answered(request)
    }

    /// The answer brought nothing.
    pub fn roster_failed(&mut self, now_ms: i64) {
        self.news.failed(now_ms);
    }

    /// The roster is as the office has it; it is asked again some time.
    pub fn roster_later(&mut self, now_ms: i64) {
        self.news.later(now_ms);
    }

    /// Gives the outbox the oldest frames that it does not have, as many as one post takes.
    fn feed(&mut self, state: &State, journal: &Journal) -> Result<(), StoreFault> {
        let said = state.unsaid().map(|said| said.commitment);
        let unsent: Set<[u8; 32]> = state.unsent().map(|run| run.id).chain(said).collect();
        self.outbox.retain(|id| unsent.contains(id));
        let most = Limits::default();
        for run in state.unsent() {
            if self.outbox.waiting() >= most.frames {
                break;
            }
            if self.outbox.knows(&run.id) {
                continue;
            }
            self.outbox.add(run.id, frame(journal, run)?);
        }
        // After the frames, so that the office knows what they are about.
        for said in state.unsaid() {
            if self.outbox.waiting() >= most.frames {
                break;
            }
            if !self.outbox.knows(&said.commitment)
                && let Some(words) = spoken(journal, said)?
            {
                self.outbox.add(said.commitment, words);
            }
        }
        Ok(())
    }

    /// Takes up the post that is to go in packets, if there is one.
    fn take_off(
        &mut self,
        commands: &[Command],
        office_key: &[u8; 32],
        random: &mut Source,
        now_ms: i64,
    ) {
        for command in commands {
            if let Command::Fly { attempt, body } = command {
                self.remember(&request_of(*attempt), now_ms);
                let flight = Flight::new(body, office_key, random.bytes(), now_ms);
                if !self.flying.begin(*attempt, flight) {
                    self.outbox.fell(*attempt);
                }
            }
        }
    }

    /// Sends the packets that are due; when there are more.
    fn fly(&mut self, now_ms: i64, out: &mut Vec<Effect>) -> Option<i64> {
        let (packets, next) = self.flying.wake(now_ms);
        if !packets.is_empty() {
            out.push(Effect::SendPackets {
                packets,
                address: String::new(),
            });
        }
        next?.map_err(|attempt| self.outbox.fell(attempt)).ok()
    }

    fn obey(&mut self, commands: Vec<Command>, now_ms: i64) -> Vec<Effect> {
        let mut out = Vec::new();
        for command in commands {
            match command {
                Command::Post { attempt, body } => {
                    let request = request_of(attempt);
                    self.remember(&request, now_ms);
                    out.push(Effect::AskOffice {
                        request,
                        path: POST_PATH.into(),
                        body,
                        address: String::new(),
                    });
                }
                Command::Drop { attempt } => {
                    if !self.flying.end(attempt) {
                        out.push(Effect::DropRequest {
                            request: request_of(attempt),
                        });
                    }
                }
                // See `take_off`.
                Command::Fly { .. } | Command::WakeAt { .. } => {}
            }
        }
        out
    }

    /// Asks the log about what the office holds and is not proved to be in it; when to look
    /// again.
    fn ask_log(
        &mut self,
        state: &State,
        journal: &Journal,
        now_ms: i64,
        out: &mut Vec<Effect>,
    ) -> Result<Option<i64>, StoreFault> {
        if !state.runs.any_not_in_log() {
            return Ok(None);
        }
        if let Some(at_ms) = self.log.not_now(now_ms, out) {
            return Ok(Some(at_ms));
        }
        let frames = asked_of_the_log(state, journal)?;
        let (request, until) = self.log.ask(now_ms);
        self.remember(&request, now_ms);
        let seen = state.checkpoint().map_or(0, |seen| seen.size);
        out.push(Effect::AskOffice {
            request,
            path: LOG_PATH.into(),
            body: Ask { seen, frames }.encode(),
            address: String::new(),
        });
        Ok(Some(until))
    }

    fn remember(&mut self, request: &str, now_ms: i64) {
        if self.sent.len() >= REMEMBERED {
            let oldest = self.sent.iter().min_by_key(|(_, at)| **at);
            if let Some(oldest) = oldest.map(|(request, _)| request.clone()) {
                self.sent.remove(&oldest);
            }
        }
        self.sent.insert(request.into(), now_ms);
    }
}

/// Where the office of the roster in use answers, if this phone was enrolled there.
fn address(state: &State) -> String {
    let ours = state.enrolled.as_ref();
    let ours = ours.filter(|e| Some(e.office_key) == state.office_key());
    ours.map(|e| e.address.clone()).unwrap_or_default()
}

/// The frames that the log is asked about, oldest first.
///
/// # Errors
/// Where they cannot be read from the journal.
pub fn asked_of_the_log(state: &State, journal: &Journal) -> Result<Vec<[u8; 32]>, StoreFault> {
    let mut behind = Behind::new(journal, Vec::new());
    let frames = state.runs.not_in_log(ASKED_AT_A_TIME, &mut behind);
    behind.fault.map_or(Ok(frames), Err)
}

fn frame(journal: &Journal, run: &SealedRun) -> Result<Vec<u8>, StoreFault> {
    let events = journal.events_between(run.from_seq, run.to_seq)?;
    let frame = Frame {
        device_key: journal.device_key(),
        journal: journal.journal_id(),
        from_seq: run.from_seq,
        events: events.into_iter().map(|e| e.bytes).collect(),
    };
    Ok(frame.encode())
}

/// An objection's words as they are posted; none once they are erased.
fn spoken(journal: &Journal, said: &Said) -> Result<Option<Vec<u8>>, StoreFault> {
    let Some((clear, salt)) = journal.subject_salted(&said.words)? else {
        return Ok(None);
    };
    let spoken = Spoken {
        device_key: journal.device_key(),
        journal: journal.journal_id(),
        id: said.words,
        salt,
        words: String::from_utf8_lossy(&clear).into_owned(),
    };
    Ok(Some(spoken.encode()))
}

/// Objections' words that the office does not have, as a carried file takes them after the
/// frames.
///
/// # Errors
/// Where they cannot be read from the journal.
pub fn words_to_carry(state: &State, journal: &Journal) -> Result<Vec<Vec<u8>>, StoreFault> {
    let words = state.unsaid().map(|said| spoken(journal, said));
    words.filter_map(Result::transpose).collect()
}

/// The frames that the office has not acknowledged, oldest first, as many as a carried file
/// takes.
///
/// # Errors
/// Where they cannot be read from the journal.
pub fn frames_to_carry(state: &State, journal: &Journal) -> Result<Vec<Vec<u8>>, StoreFault> {
    let most = Limits::carried();
    let mut room = most.body_bytes;
    let mut frames = Vec::new();
    for run in state.unsent().take(most.frames) {
        let frame = frame(journal, run)?;
        match room.checked_sub(frame.len() + 64) {
            Some(left) => room = left,
            None => break,
        }
        frames.push(frame);
    }
    Ok(frames)
}

fn entropy(random: &mut Source) -> u64 {
    u64::from_be_bytes(random.bytes())
}
