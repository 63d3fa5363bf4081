//! A reader tried out with a known chip.

use std::cell::OnceCell;

use standsquare_chip::{ChipNumber, Pairing, Profile, Proposal};

use crate::act::ReaderCarrier;

/// What a known chip has given so far.
#[derive(Default)]
pub struct Trial {
    /// Made once something is heard, or asked: opening the app waits for neither.
    pairing: OnceCell<Pairing>,
    known: Option<ChipNumber>,
    keys: bool,
    /// How much was heard when it was last told of.
    told: u32,
}

impl Trial {
    /// From the beginning; the known chip's number stays.
    pub fn again(&mut self) {
        let mut profiles = Profile::all();
        if self.keys {
            // Keys give characters: no profile of bytes can fit.
            profiles.retain(Profile::is_wedge);
        }
        self.pairing = Pairing::new(profiles).into();
        self.told = 0;
    }

    /// From the beginning, for this kind of reader, and without a known number.
    pub fn begin(&mut self, carrier: Option<ReaderCarrier>) {
        self.known = None;
        self.keys = carrier == Some(ReaderCarrier::Keys);
        self.again();
    }

    /// Bytes came.
    pub fn feed(&mut self, bytes: &[u8], at_ms: i64) {
        self.made();
        if let Some(pairing) = self.pairing.get_mut() {
            pairing.feed(bytes, at_ms);
        }
    }

    /// Time passed.
    pub fn tick(&mut self, at_ms: i64) {
        if let Some(pairing) = self.pairing.get_mut() {
            pairing.tick(at_ms);
        }
    }

    /// The link broke.
    pub fn link_lost(&mut self) {
        if let Some(pairing) = self.pairing.get_mut() {
            pairing.link_lost();
        }
    }

    /// Somebody says what is printed with the chip.
    pub fn know(&mut self, number: ChipNumber) {
        self.known = Some(number);
    }

    /// The number that somebody said.
    pub fn known(&self) -> Option<&ChipNumber> {
        self.known.as_ref()
    }

    /// What can be proposed now.
    pub fn proposal(&self) -> Proposal {
        self.made().proposal(self.known.as_ref())
    }

    fn made(&self) -> &Pairing {
        self.pairing.get_or_init(Pairing::default)
    }

    /// Whether more was heard than when this was last asked.
    pub fn news(&mut self) -> bool {
        let heard = self.made().separate();
        let news = heard > self.told;
        self.told = heard;
        news
    }
}
