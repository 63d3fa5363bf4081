//! The chip reader as the session knows it: the link, and the bytes that have
//! come so far. Nothing of this is recorded before it is a whole number.

use standsquare_chip::{Frame, Framer, Profile, Refused};

use crate::act::ReaderLink;
use crate::view::{ReaderBadge, Text};

/// The profile used until a reader has been paired by reading a known chip.
const FIRST_PROFILE: &str = "stx-etx-wl30";

/// The reader.
pub struct Reader {
    link: ReaderLink,
    name: String,
    framer: Option<Framer>,
    /// The number read last while no dog was in hand: it finds a dog, and proves nothing.
    between: Option<String>,
}

impl Default for Reader {
    fn default() -> Self {
        Reader {
            link: ReaderLink::None,
            name: String::new(),
            framer: Profile::builtin(FIRST_PROFILE).map(Framer::new),
            between: None,
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
    pub fn badge(&self) -> ReaderBadge {
        ReaderBadge {
            link: self.link,
            name: self.name.clone(),
        }
    }

    /// What the chip screen says while nothing has been read.
    pub fn waiting_text(&self) -> Text {
        Text::of(match self.link {
            ReaderLink::Connected => "chip.waiting",
            ReaderLink::Looking => "chip.looking_for_reader",
            ReaderLink::Lost => "chip.reader_gone",
            ReaderLink::None => "chip.no_reader",
        })
    }

    /// The link changed. If it broke in the middle of a number, that number is
    /// dropped whole and given back as refused.
    pub fn link(&mut self, link: ReaderLink, name: &str) -> Option<Refused> {
        let was = self.link;
        self.link = link;
        if !name.is_empty() {
            self.name = name.to_owned();
        }
        let broke = was == ReaderLink::Connected && link != ReaderLink::Connected;
        if broke {
            self.framer.as_mut().and_then(Framer::link_lost)
        } else {
            None
        }
    }

    /// Bytes came.
    pub fn feed(&mut self, bytes: &[u8], at_ms: i64) -> Vec<Frame> {
        self.framer
            .as_mut()
            .map(|f| f.feed(bytes, at_ms))
            .unwrap_or_default()
    }

    /// Time passed.
    pub fn tick(&mut self, at_ms: i64) -> Vec<Frame> {
        self.framer
            .as_mut()
            .map(|f| f.tick(at_ms))
            .unwrap_or_default()
    }
}
