//! Frames of fixed length: any byte may be content, so only position tells.

use super::{Framer, worth_telling};
use crate::form::{FRAME30_LENGTH, frame30_fits_at};
use crate::read::Frame;
use crate::refusal::Refusal;

impl Framer {
    /// One byte. `held` always begins with a byte that can begin a frame and
    /// fits a frame as far as it goes; where it does not, the search goes on
    /// one byte later, so that a start byte in noise hides no frame after it.
    pub(super) fn fixed_byte(&mut self, byte: u8, at_ms: i64, out: &mut Vec<Frame>) {
        self.held.push(byte);
        loop {
            let fits = self
                .held
                .iter()
                .enumerate()
                .position(|(i, b)| !frame30_fits_at(i, *b))
                .unwrap_or(self.held.len());
            if fits < self.held.len() {
                self.skip_start(fits, Refusal::Damaged, at_ms, out);
            } else if self.held.len() == FRAME30_LENGTH {
                match self.profile.form.parse(&self.held) {
                    Ok(parsed) => {
                        let raw = self.take();
                        out.push(self.framed(raw, Ok(parsed), at_ms));
                    }
                    Err(reason) => self.skip_start(FRAME30_LENGTH, reason, at_ms, out),
                }
            } else {
                return;
            }
        }
    }

    /// What `held` begins with is no frame: tells of it where enough of it
    /// looked like one, and drops its first byte.
    fn skip_start(&mut self, fitted: usize, reason: Refusal, at_ms: i64, out: &mut Vec<Frame>) {
        if worth_telling(&self.held[..fitted], &reason) {
            let raw = self.held.clone();
            out.push(self.refused(raw, reason, at_ms));
        }
        self.held.remove(0);
        self.noise += 1;
    }
}
