//! What other tables' lists say of this session's dogs.

use standsquare_chip::parse_printed;
use standsquare_journal::record::dogs::{Came, Dogs};

use standsquare_measuring::order;

use super::Session;
use super::put::{items, put};
use crate::judging::hides_others;

/// Another table's list of dogs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeardList {
    /// Its device's public key.
    pub device_key: [u8; 32],
    /// What it says.
    pub dogs: Dogs,
}

put!(HeardList { device_key, dogs });
items!(HeardList);

/// A dog that another table has measured.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Elsewhere {
    /// The journal whose list says it.
    pub journal: [u8; 16],
    /// What came of it there, as far as it may be told here.
    pub came: Came,
    /// When, by that phone's clock, Unix milliseconds.
    pub at_ms: i64,
    /// It is the other phone of this very session.
    pub of_this_session: bool,
    /// The measurers here go on with it.
    pub goes_on: bool,
}

put!(Elsewhere {
    journal,
    came,
    at_ms,
    of_this_session,
    goes_on
});

impl Session {
    /// Takes in a list. Of the same journal's the later one counts, in whatever order they
    /// come.
    pub(super) fn hear(&mut self, device_key: [u8; 32], list: &[u8]) {
        // It was checked before it was written.
        let Ok(dogs) = Dogs::again(list) else { return };
        let heard = HeardList { device_key, dogs };
        match self.heard_of(&heard.dogs.journal) {
            Some(at) if self.heard[at].dogs.seq >= heard.dogs.seq => {}
            Some(at) => self.heard[at] = heard,
            None => {
                self.heard.push(heard);
                order::sort_by_key(&mut self.heard, |h| *h.dogs.journal);
            }
        }
    }

    /// Where this journal's list stands among those heard.
    fn heard_of(&self, journal: &[u8; 16]) -> Option<usize> {
        self.heard.iter().position(|h| *h.dogs.journal == *journal)
    }

    /// The newest list of this journal.
    pub fn list_of(&self, journal: &[u8; 16]) -> Option<&Dogs> {
        Some(&self.heard[self.heard_of(journal)?].dogs)
    }

    /// Whether one of these numbers was measured at another table, and what came of it there
    /// last.
    pub fn elsewhere(&self, numbers: &[String]) -> Option<Elsewhere> {
        let mut newest: Option<Elsewhere> = None;
        for HeardList { dogs, .. } in &self.heard {
            for (came, at_ms) in numbers.iter().filter_map(|n| dogs.find(n)) {
                if newest.as_ref().is_some_and(|n| n.at_ms >= at_ms) {
                    continue;
                }
                let of_this_session = *dogs.session == self.id;
                // What the other phone of a session found is no business of who measures the
                // dog for this one: the two are compared once it is signed.
                let hidden = of_this_session || hides_others(&self.loaded.pack);
                let came = match came {
                    Came::NotToday => Came::NotToday,
                    _ if hidden => Came::Untold,
                    told => told,
                };
                newest = Some(Elsewhere {
                    journal: *dogs.journal,
                    came,
                    at_ms,
                    of_this_session,
                    goes_on: false,
                });
            }
        }
        newest
    }

    /// The same of a dog by the number in its book.
    pub fn elsewhere_by_book(&self, dog: &str) -> Option<Elsewhere> {
        if self.heard.is_empty() {
            return None;
        }
        self.elsewhere(&[plain_number(&self.dog(dog)?.chip)?])
    }

    /// Whether the dog in hand was measured elsewhere, by its book or by what was read of it.
    /// Once its statement is on the glass it is too late to ask.
    pub(super) fn look_elsewhere(&mut self) {
        let Some(visit) = self.in_hand().filter(|_| !self.heard.is_empty()) else {
            return;
        };
        if visit.elsewhere.is_some() || visit.stated.is_some() {
            return;
        }
        let book = self.dog(&visit.dog).and_then(|d| plain_number(&d.chip));
        let read = visit.reads.heard().iter().map(|h| h.number.to_string());
        let numbers: Vec<String> = book.into_iter().chain(read).collect();
        let found = self.elsewhere(&numbers);
        if let Some(visit) = self.at_table.and_then(|n| self.visits.get_mut(n)) {
            visit.elsewhere = found;
        }
    }
}

/// A number as marks are made of it, however it is printed.
pub fn plain_number(printed: &str) -> Option<String> {
    Some(parse_printed(printed).ok()?.number.to_string())
}
