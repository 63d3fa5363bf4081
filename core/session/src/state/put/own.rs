//! What else the state is made of.

use std::sync::Arc;

use chrono::NaiveDate;

use super::{In, Out, Put, put_one_of};
use crate::act::ReaderCarrier;
use crate::roster::Loaded;

impl Put for Arc<Loaded> {
    fn put(&self, to: &mut Out) {
        let known = to.rosters.iter().position(|l| l.hash == self.hash);
        known.unwrap_or(to.rosters.len()).put(to);
        if known.is_none() {
            to.rosters.push(self.clone());
        }
    }

    fn take(from: &mut In<'_>) -> Self {
        let place = usize::take(from);
        let found = from.rosters.get(place).cloned();
        from.wrong |= found.is_none();
        // Of no bytes at all comes a roster that nobody may use.
        found.unwrap_or_else(|| Arc::new(<Loaded as Put>::take(&mut In::default())))
    }
}

impl Put for NaiveDate {
    fn put(&self, to: &mut Out) {
        crate::days::number(*self).put(to);
    }

    fn take(from: &mut In<'_>) -> Self {
        crate::days::date(i32::take(from))
    }
}

put_one_of!(ReaderCarrier { 0 Ble, 1 Serial, 2 Keys });
