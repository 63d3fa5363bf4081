//! From state to view: one file for each part of the day. Nothing is decided
//! here; what may be done is asked of the same code that decides.

mod beside;
mod codes;
mod correct;
mod dog;
mod ending;
mod look;
mod once;
mod practice;
mod queue;
mod readers;
mod setup;
pub(crate) mod sheets;
mod signing;

pub(crate) use codes::{code_line, moment};

use std::cell::RefCell;

use crate::act::Act;
use crate::copies::KeptCopy;
use crate::decide::{Owner, may_happen, may_put_right};
use crate::looking::Looking;
use crate::reader::Reader;
use crate::roster::Loaded;
use crate::state::{Closing, Session, State, Step, Visit};
use crate::view::*;

use standsquare_journal::record::fact::{Outcome as Ends, Statement};
use standsquare_journal::store::Opener;
use standsquare_sync::beside::SETTLES;

/// What a view is drawn from.
pub struct Glass<'a> {
    /// The state.
    pub state: &'a State,
    /// Handlers' names and words.
    pub personal: RefCell<Option<Opener<'a>>>,
    /// The reader.
    pub reader: &'a Reader,
    /// The owner's biometrics.
    pub owner: &'a Owner,
    /// What is looked at beside the session, if anything.
    pub looking: Option<&'a Looking>,
    /// Copies of other phones' records.
    pub copies: &'a [KeptCopy],
    /// What is left in the phone's battery where that is little, percent.
    pub battery: Option<u8>,
    /// Now, Unix milliseconds.
    pub now_ms: i64,
    /// The phone's own time: minutes east of UTC.
    pub offset_min: i32,
}

/// A screen with what belongs to it.
struct Drawn {
    title: Text,
    screen: Screen,
    offers: Vec<Offer>,
    cautions: Vec<Text>,
}

impl Drawn {
    fn new(title: &str, screen: Screen) -> Self {
        Drawn {
            title: Text::of(title),
            screen,
            offers: Vec::new(),
            cautions: Vec::new(),
        }
    }

    fn offer(mut self, id: &str, act: Act, role: Role) -> Self {
        self.offers.push(Offer {
            id: id.into(),
            act,
            role,
            label: Text::of(&format!("offer.{id}")),
            allowed: true,
            why_not: None,
        });
        self
    }

    /// An offer that can be refused: it is shown all the same, with why.
    fn offer_if(mut self, id: &str, act: Act, role: Role, why_not: Option<Text>) -> Self {
        self = self.offer(id, act, role);
        if let (Some(offer), Some(why)) = (self.offers.last_mut(), why_not) {
            offer.allowed = false;
            offer.why_not = Some(why);
        }
        self
    }

    fn labelled(mut self, label: Text) -> Self {
        if let Some(offer) = self.offers.last_mut() {
            offer.label = label;
        }
        self
    }

    /// A caution in words of its own, if there is any.
    fn cautioned(mut self, text: Option<Text>) -> Self {
        self.cautions.extend(text);
        self
    }

    fn caution(mut self, key: &str) -> Self {
        self.cautions.push(Text::of(key));
        self
    }
}

pub(crate) use signing::signed_lines;

impl Glass<'_> {
    /// Everything on the glass.
    pub fn view(&self, notice: Option<Notice>) -> View {
        let drawn = match &self.state.session {
            _ if self.state.readers.open => self.readers(),
            session => match (self.looking, session) {
                (Some(looking), _) => self.look(looking),
                (None, session) => match (self.page(), session) {
                    (Some(page), _) => page,
                    (None, None) => self.home(),
                    (None, Some(session)) if may_happen(self.state) => {
                        self.session(session)
                            .offer("incident", Act::OpenIncident, Role::Quiet)
                    }
                    (None, Some(session)) => self.session(session),
                },
            },
        };
        let roster = self.loaded().map(|l| &l.roster);
        let waiting = self.state.outbox();
        let words = self.state.words_waiting() as i64;
        View {
            revision: self.state.revision as i64,
            demo: roster.is_some_and(|r| r.demo),
            league: roster.map(|r| r.league.name.clone()).unwrap_or_default(),
            title: drawn.title,
            dog: self
                .state
                .session
                .as_ref()
                .and_then(|s| s.in_hand().map(|v| self.card(s, v))),
            screen: drawn.screen,
            offers: drawn.offers,
            notice,
            cautions: drawn.cautions,
            reader: self.reader.badge(&self.state.readers),
            outbox: OutboxBadge {
                waiting,
                text: match (waiting, self.state.at_office()) {
                    (0, _) if words > 0 => Text::of("outbox.words").count("count", words),
                    (0, 0) => Text::of("outbox.none"),
                    (0, held) => Text::of("outbox.at_office").count("count", held),
                    _ => Text::of("outbox.waiting").count("count", waiting),
                },
            },
        }
    }

    fn loaded(&self) -> Option<&Loaded> {
        self.state.loaded()
    }

    /// That the phone's clock and the office's differ, where they were found to.
    fn clock(&self) -> Option<Text> {
        let ahead = self.state.clock_ahead_ms;
        let key = match ahead {
            0 => return None,
            1.. => "caution.clock_ahead",
            _ => "caution.clock_behind",
        };
        // At least two, so that it is never said of a clock that is right to the minute.
        let minutes = (ahead.unsigned_abs() / 60_000).max(2);
        Some(Text::of(key).count("count", i64::try_from(minutes).unwrap_or(i64::MAX)))
    }

    fn session(&self, s: &Session) -> Drawn {
        if !s.queue_open {
            return self.setting_up(s);
        }
        match (s.closing, s.in_hand()) {
            // Only to settle what two phones found.
            (Closing::Closed, Some(visit)) => self.sign(s, visit),
            (Closing::Closed, None) => self.sent(s),
            (Closing::Reviewing, _) if s.list.is_some() => self.sign_list(s),
            (Closing::Reviewing, _) => self.closing(s),
            (Closing::Open, None) if self.is_locked(s) => self.unlock(s),
            (Closing::Open, None) => self.queue(s),
            (Closing::Open, Some(visit)) => match visit.step() {
                Step::Stop => self.stop(),
                Step::Newcomer => self.newcomer(s, visit),
                Step::Correct => self.correct(s, visit),
                Step::Heard => match &visit.elsewhere {
                    Some(elsewhere) => self.heard(s, visit, elsewhere),
                    None => self.queue(s),
                },
                Step::HandOver => self.hand_over(s, visit),
                Step::Sign => self.sign(s, visit),
                Step::BookLine => self.book_line(s, visit),
                Step::Tell | Step::Done => self.tell(s, visit),
                step => self.dog(s, visit, step),
            },
        }
    }

    /// Personal data, from where it is kept; none once erased.
    fn personal(&self, id: &[u8; 16]) -> Option<Vec<u8>> {
        self.personal.borrow_mut().as_mut()?.clear(id).ok()?
    }

    /// The handler's name, from where personal data is kept; a dash once erased.
    fn handler(&self, s: &Session, dog: &str) -> String {
        s.loaded
            .subject(dog)
            .and_then(|(id, _)| self.personal(&id))
            .and_then(|clear| String::from_utf8(clear).ok())
            .unwrap_or_else(|| "–".into())
    }

    fn card(&self, s: &Session, visit: &Visit) -> DogCard {
        let dog = s.dog(&visit.dog);
        DogCard {
            id: visit.dog.clone(),
            name: dog.map(|d| d.name.clone()).unwrap_or_default(),
            handler: self.handler(s, &visit.dog),
            chip: dog.map(|d| grouped(&d.chip)).unwrap_or_default(),
            measure: visit.measure.map(measure_text),
            number: visit.number,
        }
    }

    /// Where the record of a dog is. One that awaits a signature has none of its own to go
    /// with; what was done with it goes with the session's closing.
    fn whereabouts(&self, s: &Session, visit: &Visit) -> Whereabouts {
        // What settles it waits for the last signature.
        let run = match visit.is_settling() {
            true => None,
            false => visit.run.or(s.closing_run),
        };
        match (self.state.runs.in_log(run), self.state.office_holds(run)) {
            (true, _) => Whereabouts::InLog,
            (false, true) => Whereabouts::AtOffice,
            (false, false) => Whereabouts::OnPhone,
        }
    }

    fn dog_line(&self, s: &Session, id: &str) -> DogLine {
        let dog = s.dog(id);
        let visit = s.visit_of(id);
        let state = match visit {
            None => DogState::Waiting,
            Some(v) if v.parked => DogState::Parked,
            Some(v) if v.is_awaiting() && s.at_table.is_none() => DogState::Awaiting,
            Some(v) if v.is_confirmed() && s.in_hand().is_none_or(|h| h.number != v.number) => {
                DogState::Confirmed
            }
            Some(v) if !v.fully_signed => DogState::AtTable,
            Some(v) if v.stopped.is_some() => DogState::NotToday,
            Some(_) => DogState::Measured,
        };
        let why_not = crate::judging::may_not_call(s, id);
        let free = s.at_table.is_none() && s.queue_open && s.closing == Closing::Open;
        let dog_id = || id.to_owned();
        DogLine {
            id: id.to_owned(),
            name: dog.map(|d| d.name.clone()).unwrap_or_default(),
            handler: self.handler(s, id),
            note: match visit.and_then(|v| v.stated.as_ref()) {
                Some((statement, ..)) => Some(outcome_text(&statement.outcome)),
                // A dog that was called says where it stands by its state.
                None if visit.is_some() => None,
                None => why_not
                    .clone()
                    .or_else(|| self.heard_note(s, id))
                    .or_else(|| crate::judging::known_before(s, id)),
            },
            whereabouts: visit
                .filter(|v| v.fully_signed)
                .map(|v| self.whereabouts(s, v)),
            call: match state {
                DogState::Waiting if free && why_not.is_none() => {
                    Some(Act::CallDog { dog: dog_id() })
                }
                DogState::Parked | DogState::Awaiting if free => {
                    Some(Act::Resume { dog: dog_id() })
                }
                _ => None,
            },
            put_right: visit
                .filter(|v| free && may_put_right(s, v))
                .map(|_| Act::AskCorrection { dog: dog_id() }),
            wait: None,
            beside: self.beside_note(s, id),
            look: dog.and_then(|d| look::history_of(&d.chip)).filter(|_| free),
            state,
        }
    }
}

/// What is pointed out of a signed dog, on screens and sheets.
pub(crate) fn row_notes(visit: &Visit, st: &Statement) -> Vec<Text> {
    let flags = st.flags.iter().map(|flag| flag_text(flag));
    let awaits = visit
        .is_awaiting()
        .then(|| Text::of("flag.awaiting-signature"));
    let unlisted = visit
        .is_confirmed()
        .then(|| Text::of("flag.list-not-signed"));
    let settling = visit
        .is_settling()
        .then(|| Text::of("flag.settling-unsigned"));
    let objected = (!visit.objections.is_empty()).then(|| Text::of("flag.objection"));
    flags
        .chain(awaits)
        .chain(unlisted)
        .chain(settling)
        .chain(objected)
        .chain(signing::proof_note(st.proof))
        .collect()
}

/// A statement's flag in words.
pub(crate) fn flag_text(flag: &str) -> Text {
    let settles = flag.strip_prefix(SETTLES);
    match settles.and_then(|settles| settles.split_once(':')) {
        Some((hash, came)) => Text::of("flag.settles")
            .plain("came", came.rsplit(':').next().unwrap_or(came))
            .plain("hash", in_fours(hash)),
        None => Text::of(&format!("flag.{flag}")),
    }
}

/// A hash in groups of four, as it is read aloud, and so that it can be broken.
fn in_fours(hash: &str) -> String {
    let mut out = String::new();
    for (n, digit) in hash.chars().enumerate() {
        if n > 0 && n % 4 == 0 {
            out.push(' ');
        }
        out.push(digit);
    }
    out
}

/// What a statement's outcome says.
pub(crate) fn outcome_text(outcome: &Ends) -> Text {
    match outcome {
        Ends::Category { label, .. } => {
            Text::of("outcome.category").plain("category", label.clone())
        }
        Ends::NotToday { reason } => {
            Text::of("outcome.not_today").word("reason", &format!("stop.{reason}"))
        }
        Ends::Referred { reason } => {
            Text::of("outcome.referred").word("reason", &format!("referred.{reason}"))
        }
    }
}

/// First, second or a further measure.
fn measure_text(number: u8) -> Text {
    match number {
        1 => Text::of("measure.first"),
        2 => Text::of("measure.second"),
        n => Text::of("measure.further").count("count", n),
    }
}

/// A 15-digit number in groups of three, as it is read aloud; others as they are.
pub(crate) fn grouped(chip: &str) -> String {
    if chip.len() == 15 && chip.bytes().all(|b| b.is_ascii_digit()) {
        let parts: Vec<&str> = (0..5).map(|n| &chip[n * 3..n * 3 + 3]).collect();
        return parts.join(" ");
    }
    chip.to_owned()
}
