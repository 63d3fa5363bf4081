//! The chip readers as the session knows them at the moment: which are near, how
//! the link stands, and the bytes that have come so far. Nothing of this is
//! recorded before it is a whole number, or a profile that somebody keeps.

mod trial;

pub use trial::Trial;

use standsquare_chip::{Frame, Framer, Profile, Proposal, ReadLog, Refused};

use crate::act::{ReaderCarrier, ReaderLink};
use crate::map::Map;
use crate::state::{ChosenReader, Readers};
use crate::view::{ReaderBadge, Text, WantedReader};

/// The profile of a reader that has not been paired: its frames carry a check, so
/// a reader that sends anything else gives no number rather than a wrong one.
const UNPAIRED: &str = "stx-etx-wl30";

/// A radio's reader that was not heard for this long is no longer near,
/// milliseconds. Own choice, no source: readers make themselves known at least
/// every few seconds.
const NEAR_MS: i64 = 15_000;

/// How many readers near are kept; more would not be looked through.
const MOST: usize = 32;

/// A number in another profile counts as a sign that the kept one no longer fits
/// when this profile has stayed silent for so long after it, milliseconds. Own
/// choice, no source: a line's last byte comes well within.
const ELSE_MS: i64 = 1_000;

/// A reader that the radio told of.
#[derive(Clone, Debug)]
pub struct Near {
    /// Which.
    pub is: ChosenReader,
    /// Its signal, dBm, where the radio tells.
    pub signal_dbm: Option<i32>,
    /// When it was heard last, Unix milliseconds.
    pub heard_ms: i64,
}

/// The readers.
pub struct Reader {
    link: ReaderLink,
    /// Which reader the link is to; empty where the platform knows one only.
    current: String,
    name: String,
    framer: Option<Framer>,
    /// The number read last while no dog was in hand: it finds a dog, and proves nothing.
    between: Option<String>,
    paired: bool,
    near: Vec<Near>,
    batteries: Map<String, u8>,
    /// The known chip that is being read.
    pub trial: Trial,
    /// Whether what comes fits another profile.
    other: Trial,
    other_since: Option<i64>,
    /// Numbers came that the reader's profile does not give.
    pub speaks_other: bool,
    /// What is read while the dog is scanned to which placings belong.
    pub moving: Option<ReadLog>,
    /// The dog whose record book's code was read between dogs.
    pub book_found: Option<String>,
}

impl Default for Reader {
    fn default() -> Self {
        Reader {
            link: ReaderLink::None,
            current: String::new(),
            name: String::new(),
            between: None,
            framer: Profile::builtin(UNPAIRED).map(Framer::new),
            paired: false,
            near: Vec::new(),
            batteries: Map::new_vec(),
            trial: Trial::default(),
            other: Trial::default(),
            other_since: None,
            speaks_other: false,
            book_found: None,
            moving: None,
        }
    }
}

impl Reader {
    /// A number was read while no dog was in hand.
    pub fn heard_between(&mut self, number: &str) {
        self.between = Some(number.to_owned());
    }

    /// The number read last while no dog was in hand.
    pub fn between(&self) -> Option<&str> {
        self.between.as_deref()
    }

    /// A dog was taken, or the queue left: what was read before it is forgotten.
    pub fn forget_between(&mut self) {
        self.between = None;
    }

    /// How it stands, for the view.
    pub fn badge(&self, kept: &Readers) -> ReaderBadge {
        ReaderBadge {
            link: self.link,
            name: self.name.clone(),
            battery: self.batteries.get(&self.current).copied(),
            wanted: kept.chosen.as_ref().map(|c| WantedReader {
                reader: c.reader.clone(),
                name: c.name.clone(),
                carrier: c.carrier,
            }),
            look: kept.open,
        }
    }

    /// What the chip screen says while nothing has been read.
    pub fn waiting_text(&self) -> Text {
        Text::of(match self.link {
            ReaderLink::Connected if self.speaks_other => "chip.reader_speaks_other",
            ReaderLink::Connected => "chip.waiting",
            ReaderLink::Looking => "chip.looking_for_reader",
            ReaderLink::Lost => "chip.reader_gone",
            ReaderLink::None => "chip.no_reader",
        })
    }

    /// Whether somebody should look at the readers: none is linked, or it says
    /// what its profile does not fit.
    pub fn needs_care(&self) -> bool {
        self.link != ReaderLink::Connected || self.speaks_other
    }

    /// How the link stands, and to which reader.
    pub fn current(&self) -> (ReaderLink, &str) {
        (self.link, &self.current)
    }

    /// What the linked reader calls itself.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What is left in this reader's battery.
    pub fn battery(&self, reader: &str) -> Option<u8> {
        self.batteries.get(reader).copied()
    }

    /// The readers heard lately, in the order in which they were first heard.
    pub fn near(&self, now_ms: i64) -> impl Iterator<Item = &Near> {
        self.near.iter().filter(move |n| {
            n.is.carrier != ReaderCarrier::Ble || now_ms.saturating_sub(n.heard_ms) <= NEAR_MS
        })
    }

    /// A reader that was told of, near or not.
    pub fn told(&self, reader: &str) -> Option<&Near> {
        self.near.iter().find(|n| n.is.reader == reader)
    }

    /// The radio heard a reader.
    pub fn seen(&mut self, is: ChosenReader, signal_dbm: Option<i32>, at_ms: i64) {
        if let Some(known) = self.near.iter_mut().find(|n| n.is.reader == is.reader) {
            if !is.name.is_empty() {
                known.is.name = is.name;
            }
            known.signal_dbm = signal_dbm;
            known.heard_ms = at_ms;
            return;
        }
        if self.near.len() == MOST {
            let oldest = (0..MOST).min_by_key(|n| self.near[*n].heard_ms);
            oldest.map(|n| self.near.remove(n));
        }
        self.near.push(Near {
            is,
            signal_dbm,
            heard_ms: at_ms,
        });
    }

    /// A reader told of its battery.
    pub fn battery_told(&mut self, reader: &str, percent: u8) {
        if self.batteries.len() < MOST || self.batteries.contains_key(reader) {
            self.batteries.insert(reader.into(), percent.min(100));
        }
    }

    /// Goes by what the journal holds: which reader is used, and its profile.
    pub fn follow(&mut self, kept: &Readers) {
        let chosen = kept.chosen.as_ref();
        if let Some(chosen) = chosen
            && chosen.reader != self.current
        {
            // A link to another one does not carry this one's bytes.
            if self.link != ReaderLink::None {
                self.link = ReaderLink::Looking;
            }
            self.current = chosen.reader.clone();
            self.name = chosen.name.clone();
            self.framer = None;
            self.speaks_other = false;
            self.listen_anew();
        }
        let profile = kept.profile(&self.current);
        self.paired = profile.is_some();
        let wanted = profile.unwrap_or(UNPAIRED);
        if self.framer.as_ref().map(|f| f.profile().name.as_str()) != Some(wanted) {
            let profile = Profile::builtin(wanted).or_else(|| Profile::builtin(UNPAIRED));
            self.framer = profile.map(Framer::new);
            self.speaks_other = false;
            self.listen_anew();
        }
    }

    fn listen_anew(&mut self) {
        self.trial.again();
        self.other.again();
        self.other_since = None;
    }

    /// The link changed. If it broke in the middle of a number, that number is
    /// dropped whole and given back as refused. A message about another reader
    /// than the one in use comes too late and changes nothing.
    pub fn link(
        &mut self,
        link: ReaderLink,
        name: &str,
        reader: &str,
        kept: &Readers,
    ) -> Option<Refused> {
        let chosen = kept.chosen.as_ref().map(|c| c.reader.as_str());
        if !reader.is_empty() && chosen.is_some_and(|c| c != reader) {
            return None;
        }
        let was = self.link;
        self.link = link;
        if !name.is_empty() {
            self.name = name.to_owned();
        }
        if !reader.is_empty() && reader != self.current {
            self.current = reader.to_owned();
            self.follow(kept);
        }
        if link == ReaderLink::Connected {
            return None;
        }
        self.trial.link_lost();
        self.other.again();
        self.other_since = None;
        if was == ReaderLink::Connected {
            self.framer.as_mut().and_then(Framer::link_lost)
        } else {
            None
        }
    }

    /// Bytes came, not for a trial.
    pub fn feed(&mut self, bytes: &[u8], at_ms: i64) -> Vec<Frame> {
        // Another reader was chosen and its link does not stand yet.
        if self.link == ReaderLink::Looking {
            return Vec::new();
        }
        self.other.feed(bytes, at_ms);
        let frames = self.framer.as_mut().map(|f| f.feed(bytes, at_ms));
        self.listened(frames.unwrap_or_default(), at_ms)
    }

    /// Bytes came while the readers are on the screen: they are of the known chip.
    pub fn feed_trial(&mut self, bytes: &[u8], at_ms: i64) {
        if self.link != ReaderLink::Looking {
            self.trial.feed(bytes, at_ms);
        }
    }

    /// Time passed.
    pub fn tick(&mut self, at_ms: i64) -> Vec<Frame> {
        self.other.tick(at_ms);
        let frames = self.framer.as_mut().map(|f| f.tick(at_ms));
        self.listened(frames.unwrap_or_default(), at_ms)
    }

    /// Notices a reader whose numbers its profile does not give.
    fn listened(&mut self, frames: Vec<Frame>, at_ms: i64) -> Vec<Frame> {
        let read = frames.iter().any(|f| matches!(f, Frame::Read(_)));
        let silent = matches!(self.other.proposal(), Proposal::Nothing { .. });
        if read {
            self.speaks_other = false;
            self.other.again();
            self.other_since = None;
        } else if !silent {
            let since = *self.other_since.get_or_insert(at_ms);
            if at_ms.saturating_sub(since) >= ELSE_MS {
                self.speaks_other = true;
                self.other.again();
                self.other_since = None;
            }
        }
        frames
    }
}
