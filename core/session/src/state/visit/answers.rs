//! Who has answered for what was found of a dog, and what puts it in question again.

use super::{Correcting, Visit};
use standsquare_journal::record::fact::{Correction, Putting};

impl Visit {
    /// One signature more, given for this dog alone or with the list.
    pub(in crate::state) fn sign(&mut self, person: &str) {
        if !self.signed.iter().any(|p| p == person) {
            self.signed.push(person.to_owned());
        }
        self.confirmed.retain(|p| p != person);
        self.paper.remove(person);
        self.fully_signed = self.signed.len() >= self.signatures_needed();
    }

    /// One who has signed on paper only, this dog or the list that it is on.
    pub(in crate::state) fn sign_on_paper(&mut self, person: &str, paper: &str) {
        self.confirmed.retain(|p| p != person);
        self.paper.insert(person.to_owned(), paper.to_owned());
        self.signing_late = false;
    }

    /// A seal ends whatever was half signed: it is put up anew, so that what is signed and
    /// its signatures never lie in two runs.
    pub(in crate::state) fn sealed(&mut self) {
        if matches!(self.correcting, Some(Correcting::Sign(..))) {
            self.correcting = Some(Correcting::What);
        }
    }

    fn signatures_needed(&self) -> usize {
        self.stated.as_ref().map_or(0, |(s, ..)| s.measurers.len())
    }

    /// Everybody has answered for it, but somebody on paper only.
    pub fn is_awaiting(&self) -> bool {
        self.is_answered() && !self.fully_signed && !self.paper.is_empty()
    }

    /// Everybody has confirmed it, and the list at the close is still to be signed.
    pub fn is_confirmed(&self) -> bool {
        self.is_answered() && !self.fully_signed && self.paper.is_empty()
    }

    /// Nobody has put their name to the statement yet: here, by a tap, or on paper. One that
    /// settles what two phones found is about what all have signed before.
    pub fn is_untouched(&self) -> bool {
        self.signed.is_empty()
            && self.confirmed.is_empty()
            && self.paper.is_empty()
            && !self.is_settling()
    }

    /// A statement that settles what two phones found was put up, and not all have signed it.
    pub fn is_settling(&self) -> bool {
        self.settles.is_some() && self.stated.is_some() && !self.fully_signed
    }

    /// It belongs into the return: all have answered for it, once at least.
    pub fn is_returned(&self) -> bool {
        self.is_answered() || self.is_settling()
    }

    /// Taken up again. Nobody has watched the dog meanwhile: its chip has to be read
    /// again, and it has to settle and stand again. What was placed stays.
    pub(super) fn resumed(&mut self) {
        if self.is_awaiting() {
            self.signing_late = true;
            return;
        }
        self.parked = false;
        self.unwatched();
    }

    /// Nobody has watched the dog: it is scanned, settles and stands again.
    pub(in crate::state) fn unwatched(&mut self) {
        if self.chip.take().is_some() {
            self.earlier_reads.push(std::mem::take(&mut self.reads));
        }
        self.settled = false;
        self.square = false;
    }

    pub(super) fn correction_signed(&mut self, person: &str) {
        let Some(Correcting::Sign(correction, _, _, signed)) = &mut self.correcting else {
            return;
        };
        if !signed.iter().any(|p| p == person) {
            signed.push(person.to_owned());
        }
        if signed.len() >= correction.measurers.len() {
            let correction = correction.clone();
            self.put_right(&correction);
        }
    }

    /// What a correction does once all have signed it: the sign-off before it holds no
    /// more, and what it names is void or looked at again. Nothing is forgotten.
    pub fn put_right(&mut self, correction: &Correction) {
        self.correcting = None;
        self.corrections += 1;
        self.waited = true;
        match &correction.what {
            Putting::VoidPlacing { number } => {
                let at = (*number as usize).wrapping_sub(1);
                if let Some((_, seen, _)) = self.placings.get_mut(at) {
                    *seen = seen.made_void();
                    self.voided.insert(*number, correction.reason.clone());
                }
                self.square = false;
            }
            Putting::PapersAgain {} => {
                self.measure = None;
                self.book.clear();
            }
            Putting::MovePlacings { visit, .. } => {
                self.set_aside(*visit);
            }
        }
        self.move_to = None;
        self.stated = None;
        self.signed.clear();
        self.confirmed.clear();
        self.paper.clear();
        self.signing_late = false;
        self.fully_signed = false;
        self.disagreed = None;
        self.book_written = false;
        self.told = false;
        self.run = None;
    }

    /// All measurers have answered for it: signed, confirmed, or signed on paper.
    pub fn is_answered(&self) -> bool {
        let answered = self.signed.len() + self.confirmed.len() + self.paper.len();
        self.stated.is_some() && answered >= self.signatures_needed()
    }

    /// All measurers have signed.
    pub fn is_signed(&self) -> bool {
        self.fully_signed
    }
}
