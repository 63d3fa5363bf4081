//! Going through a large file behind the first view, a piece at a time.

use super::whole::{self, Follow};
use super::{Journal, StoreFault};
use crate::record::ChainCheck;

/// How far it has come: the events first, then what is kept beside them, then the pages.
pub(super) enum Rest {
    Events(Box<Follow>),
    Beside,
    Pages,
}

impl Rest {
    pub(super) fn new() -> Self {
        Rest::Events(Box::new(Follow::from(ChainCheck::new())))
    }
}

impl Journal {
    /// Whether the whole file has been gone through since it was opened.
    pub fn is_checked(&self) -> bool {
        self.rest.is_none()
    }

    /// Goes on with going through the file, at most so many events now; whether that is
    /// done. Everything that is read anyway is held to the chain whatever this has seen.
    ///
    /// # Errors
    /// [`StoreFault::Damaged`]: open the journal again with [`Journal::open_whole`], which
    /// sets the file aside and carries over what can be read. Others as for any reading.
    pub fn check_on(&mut self, events: u64) -> Result<bool, StoreFault> {
        let Some(rest) = self.rest.take() else {
            return Ok(true);
        };
        let next = match rest {
            Rest::Events(mut follow) => {
                let to = follow.seq().saturating_add(events.max(1));
                follow.on(&self.db, to.min(self.tally.head.seq))?;
                if follow.seq() == self.tally.head.seq {
                    whole::ends_there(&follow.end()?, &self.tally)?;
                    Rest::Beside
                } else {
                    Rest::Events(follow)
                }
            }
            Rest::Beside => {
                whole::beside(&self.db, &self.tally)?;
                Rest::Pages
            }
            Rest::Pages => {
                whole::sound(&self.db)?;
                return Ok(true);
            }
        };
        self.rest = Some(next);
        Ok(false)
    }
}
