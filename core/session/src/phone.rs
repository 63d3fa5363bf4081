//! The phone: one journal, one state, one act at a time.

use std::path::Path;

use standsquare_journal::record::pieces::Gathering;
use standsquare_journal::store::{Journal, Opening, StoreFault};

use crate::act::{Act, ReaderLink, Stamp};
use crate::battery::Battery;
use crate::copies::Kept;
use crate::decide::{Context, Keys, Owner, decide};
use crate::fault::PhoneFault;
use crate::files;
use crate::looking::{InSight, Looking};
use crate::past::Behind;
use crate::random::Source;
use crate::reader::Reader;
use crate::sending::Sending;
use crate::show::Glass;
use crate::state::{EDITION, State};
use crate::view::{Answer, Effect, Notice, Text, Tone, View};

/// What this software calls itself in the journals it begins.
pub const SOFTWARE: &str = concat!("standsquare ", env!("CARGO_PKG_VERSION"));

/// File name of the journal in the phone's folder.
pub const JOURNAL_FILE: &str = "journal.sqlite";

/// Events taken in at a time: what is read lies in memory meanwhile. Own choice, no source.
const AT_A_TIME: u64 = 4_096;

/// Events after which, with a dog in hand, what they came to is kept. Own choice, no source:
/// about a dog's.
const KEPT_AFTER: u64 = 24;

/// Events of a large journal looked through at a tick, which comes a few times a second.
/// Own choice, no source: a few milliseconds' work.
const LOOKED_AT_A_TICK: u64 = 2_000;

/// Nobody taps on purpose what has been on the glass for less: milliseconds. A tap so
/// early was meant for what was there before, or is the second half of a double tap.
/// Own choice, no source: about the time in which a person reacts to what they see.
const TOO_YOUNG_MS: i64 = 300;

/// What is said when the file was found damaged.
fn salvage_notice(journal: &Journal) -> Option<Notice> {
    let report = journal.salvage()?;
    Some(Notice {
        tone: Tone::Bad,
        text: Text::of("notice.salvaged")
            .count("events", report.events as i64)
            .count("left", report.left_behind as i64)
            .plain("file", report.set_aside.display().to_string()),
    })
}

/// What lies under a finger: the screen, the dog, and the offers in their order.
#[derive(PartialEq)]
struct Tappable {
    title: String,
    dog: Option<String>,
    offers: Vec<(String, bool)>,
}

impl Tappable {
    fn of(view: &View) -> Self {
        Tappable {
            title: view.title.key.clone(),
            dog: view.dog.as_ref().map(|d| d.id.clone()),
            offers: view
                .offers
                .iter()
                .map(|o| (o.id.clone(), o.allowed))
                .collect(),
        }
    }
}

/// The phone.
pub struct Phone {
    journal: Journal,
    state: State,
    reader: Reader,
    keys: Keys,
    owner: Owner,
    sending: Sending,
    notice: Option<Notice>,
    /// What could be tapped last, and since when.
    shown: Option<(Tappable, i64)>,
    looking: Vec<Looking>,
    gathering: Gathering,
    in_sight: InSight,
    copies: Kept,
    battery: Battery,
    offset_min: i32,
    device_secret: [u8; 32],
    now_ms: i64,
}

impl Phone {
    /// Opens the folder `dir`, or makes it. `device_secret` is 32 bytes that the
    /// platform keeps (its key store; on a desktop a file with mode 0600).
    ///
    /// # Errors
    /// See [`PhoneFault`]: each tells what can be done.
    pub fn open(dir: &Path, device_secret: [u8; 32], stamp: &Stamp) -> Result<Phone, PhoneFault> {
        let mut random = Source::new(&stamp.entropy);
        let journal = Journal::open(
            &dir.join(JOURNAL_FILE),
            Opening {
                device_secret,
                at_ms: stamp.at_ms,
                entropy: random.bytes(),
                software: SOFTWARE,
            },
        )?;
        let mut phone = Phone {
            notice: salvage_notice(&journal),
            state: State::new(journal.device_key(), journal.journal_id()),
            journal,
            reader: Reader::default(),
            keys: Keys::default(),
            owner: Owner::default(),
            shown: None,
            sending: Sending::default(),
            looking: Vec::new(),
            gathering: Gathering::default(),
            in_sight: InSight::default(),
            copies: Kept::open(dir),
            battery: Battery::default(),
            offset_min: stamp.offset_min,
            device_secret,
            now_ms: stamp.at_ms,
        };
        phone.take_up();
        phone.catch_up()?;
        Ok(phone)
    }

    /// Begins where something was kept, so that what came before need not be read.
    fn take_up(&mut self) {
        let device = (self.journal.device_key(), self.journal.journal_id());
        let kept = self.journal.kept(EDITION);
        if let Some(state) = kept.and_then(|(_, bytes)| State::take_up(device, bytes)) {
            self.state = state;
        }
        self.reader.follow(&self.state.readers);
    }

    /// Takes in every event that the state does not know yet.
    fn catch_up(&mut self) -> Result<(), PhoneFault> {
        // What opening read need not be read again.
        let mut read = self.journal.take_read()?;
        let journal = &self.journal;
        let mut behind = Behind::new(journal, self.state.roster.iter().cloned().collect());
        while self.state.seq < journal.head().seq {
            let from = self.state.seq + 1;
            let events = match std::mem::take(&mut read) {
                read if read.first().is_some_and(|e| e.seq == from) => read,
                _ => journal.events_between(from, from + AT_A_TIME - 1)?,
            };
            for event in &events {
                self.state.absorb(
                    event.seq,
                    event.at_ms,
                    event.hash,
                    &event.bytes,
                    &event.fact,
                    &mut behind,
                );
            }
            if let Some(fault) = behind.fault.take() {
                return Err(fault.into());
            }
        }
        self.reader.follow(&self.state.readers);
        Ok(())
    }

    /// Keeps what everything recorded so far comes to, where that has become much or nobody
    /// is busy with a dog: done at a tick, while no finger waits.
    fn keep_on(&mut self) {
        let kept = self.journal.kept(EDITION).map_or(0, |(seq, _)| seq);
        let since = self.state.seq.saturating_sub(kept);
        let busy = self.state.session.as_ref().and_then(|s| s.in_hand());
        let much = if busy.is_some() { KEPT_AFTER } else { 1 };
        if since >= much {
            // Only speed depends on it: a fault that matters comes back with the next act.
            let _ = self.keep();
        }
    }

    fn keep(&mut self) -> Result<(), StoreFault> {
        let bytes = self.state.put_away();
        self.journal.keep(self.state.seq, EDITION, bytes)
    }

    /// Goes on with looking through a large journal behind the first view. Damage is set
    /// aside, what can be read is carried over, and the phone goes on with that.
    fn look_on(&mut self, stamp: &Stamp) -> Result<(), PhoneFault> {
        match self.journal.check_on(LOOKED_AT_A_TICK) {
            Ok(_) => return Ok(()),
            Err(StoreFault::Damaged { .. }) => {}
            Err(other) => return Err(other.into()),
        }
        let mut random = Source::new(&stamp.entropy);
        self.journal.open_again(Opening {
            device_secret: self.device_secret,
            at_ms: stamp.at_ms,
            entropy: random.bytes(),
            software: SOFTWARE,
        })?;
        self.state = State::new(self.journal.device_key(), self.journal.journal_id());
        self.sending = Sending::default();
        self.looking.clear();
        self.take_up();
        self.catch_up()?;
        self.notice = salvage_notice(&self.journal);
        Ok(())
    }

    /// Whether this is a code that was taken already and is still before the camera.
    fn has_stayed(&mut self, act: &Act, now_ms: i64) -> bool {
        match act {
            Act::CheckSlip { text } => self.in_sight.stays(text, now_ms),
            _ => {
                self.in_sight.forget();
                false
            }
        }
    }

    /// Does one act and answers with what to show and what to do.
    ///
    /// `seen` is the revision of the view that the act was made on: a second tap
    /// on a button that has already done its work changes nothing. Neither does a tap
    /// on what came under the finger only just before it; nor a code that was read and is still
    /// before the camera ([`InSight`]). Acts of the world (the
    /// reader, time, the office) are taken whatever was on the screen.
    ///
    /// # Errors
    /// Only where the record itself cannot be written or read; then nothing of
    /// the act is there, and everything answered before it is.
    pub fn apply(&mut self, act: &Act, seen: i64, stamp: &Stamp) -> Result<Answer, PhoneFault> {
        self.now_ms = stamp.at_ms;
        self.offset_min = stamp.offset_min;
        if matches!(act, Act::Tick) && !self.journal.is_checked() {
            self.look_on(stamp)?;
        }
        let stray = seen != self.state.revision as i64 || self.is_too_young(stamp.at_ms);
        if !act.is_of_the_world() && (stray || self.has_stayed(act, stamp.at_ms)) {
            return Ok(Answer {
                view: self.view(),
                effects: Vec::new(),
            });
        }
        let mut context = Context {
            state: &self.state,
            journal: &self.journal,
            reader: &mut self.reader,
            keys: &mut self.keys,
            owner: &mut self.owner,
            looking: &mut self.looking,
            gathering: &mut self.gathering,
            copies: &mut self.copies,
            battery: &mut self.battery,
            stamp,
            random: Source::new(&stamp.entropy),
            sending: &mut self.sending,
            device_secret: &self.device_secret,
        };
        let outcome = decide(&mut context, act);
        let wrote = !outcome.items.is_empty();
        if wrote {
            self.journal.commit(stamp.at_ms, outcome.items)?;
            self.catch_up()?;
            if !act.is_of_the_world() {
                self.reader.forget_between();
            }
        }
        let back = matches!(
            act,
            Act::ReaderLink {
                link: ReaderLink::Connected,
                ..
            }
        );
        if back
            && self
                .notice
                .as_ref()
                .is_some_and(|n| n.text.key == "notice.reader_gone")
        {
            self.notice = None;
        }
        // A notice stays until something else happens: time and stray bytes do not wipe it.
        // Nor does what the office says while somebody measures.
        let changed = wrote && !act.is_of_sending();
        if outcome.notice.is_some() || changed || !act.is_of_the_world() {
            self.notice = outcome.notice;
        }
        let view = self.view();
        let tappable = Tappable::of(&view);
        if self.shown.as_ref().is_none_or(|(was, _)| *was != tappable) {
            // What was there when the record was opened has always been there.
            let since = match self.shown {
                None if !wrote => i64::MIN,
                _ => stamp.at_ms,
            };
            self.shown = Some((tappable, since));
        }
        let mut effects = outcome.effects;
        effects.extend(self.send_on(act, stamp));
        if matches!(act, Act::Tick) {
            self.keep_on();
        }
        Ok(Answer { view, effects })
    }

    /// Whether what can be tapped has been there too short a time. A clock that was put
    /// back says nothing.
    fn is_too_young(&self, at_ms: i64) -> bool {
        self.shown
            .as_ref()
            .map(|(_, since)| at_ms.saturating_sub(*since))
            .is_some_and(|age| (0..TOO_YOUNG_MS).contains(&age))
    }

    /// What sending needs now. Packing takes its time, so that it is never done while a
    /// finger waits: then the platform is only asked to come back at once.
    fn send_on(&mut self, act: &Act, stamp: &Stamp) -> Vec<Effect> {
        let may = act.is_of_sending() || matches!(act, Act::Tick | Act::SendReturn);
        if !act.is_of_the_world() && !matches!(act, Act::SendReturn) {
            self.sending.not_awaited();
        }
        if self.state.office_key().is_none() && self.state.enrolled.is_none() {
            return Vec::new();
        }
        if !may {
            let at_ms = stamp.at_ms;
            let more = self.sending.has_more(&self.state);
            return more
                .then_some(Effect::WakeAt { at_ms })
                .into_iter()
                .collect();
        }
        // Not the source that made what the act recorded: nothing of that may be told.
        let mut random = Source::new(&[&b"sending"[..], &stamp.entropy].concat());
        // A record that cannot be read is told by the next act that needs it.
        self.sending
            .wake(&self.state, &self.journal, stamp.at_ms, &mut random)
            .unwrap_or_default()
    }

    /// What to show now.
    pub fn view(&self) -> View {
        let glass = Glass {
            state: &self.state,
            personal: self.journal.subjects_opened().ok().into(),
            reader: &self.reader,
            owner: &self.owner,
            looking: self.looking.last(),
            copies: &self.copies.all,
            battery: self.battery.low(),
            now_ms: self.now_ms,
            offset_min: self.offset_min,
        };
        glass.view(self.notice.clone())
    }

    /// `session.json` of the session under way, or of the last one left; empty
    /// where there has been none.
    pub fn session_json(&self) -> String {
        self.state
            .latest()
            .map(files::session_json)
            .unwrap_or_default()
    }

    /// `return.csv` of the same session.
    pub fn return_csv(&self) -> String {
        self.state
            .latest()
            .map(files::return_csv)
            .unwrap_or_default()
    }

    /// Writes a whole copy of the journal to `path`, which must not exist.
    ///
    /// # Errors
    /// As for any write.
    pub fn export_journal(&self, path: &Path) -> Result<(), PhoneFault> {
        Ok(self.journal.export_to(path)?)
    }

    /// The journal, for tests and tools.
    pub fn journal(&self) -> &Journal {
        &self.journal
    }

    /// Throws away what is kept for speed and works everything out of the events again:
    /// for tests.
    ///
    /// # Errors
    /// As for any reading.
    #[doc(hidden)]
    pub fn rebuild_for_test(&mut self) -> Result<(), PhoneFault> {
        self.journal.forget_kept()?;
        self.state = State::new(self.journal.device_key(), self.journal.journal_id());
        self.catch_up()
    }

    /// Keeps what everything recorded so far comes to, and goes on with that: for tests.
    ///
    /// # Errors
    /// As for any write.
    #[doc(hidden)]
    pub fn keep_for_test(&mut self) -> Result<(), PhoneFault> {
        self.keep()?;
        self.state = State::new(self.journal.device_key(), self.journal.journal_id());
        self.take_up();
        Ok(())
    }

    /// Syncs less than it must: for the control of the crash test.
    ///
    /// # Errors
    /// As for any write.
    #[doc(hidden)]
    pub fn weaken_for_test(&mut self) -> Result<(), PhoneFault> {
        Ok(self.journal.weaken_for_test()?)
    }

    /// The state, for tests and tools.
    pub fn state(&self) -> &State {
        &self.state
    }
}
