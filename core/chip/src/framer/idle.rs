//! Frames that end by silence.

use super::Framer;
use crate::read::Frame;
use crate::refusal::Refusal;

impl Framer {
    pub(super) fn idle_byte(&mut self, byte: u8) {
        self.hold(byte);
    }

    /// The silence has come: what lies between noise bytes and line ends must
    /// be one number, once or repeated, and nothing else.
    pub(super) fn idle_end(&mut self, at_ms: i64) -> Option<Frame> {
        let over = self.over;
        let raw = self.take();
        let mut pieces = raw
            .split(|b| !matches!(b, 0x20..=0x7E))
            .filter(|p| !p.is_empty())
            .map(|p| self.profile.form.parse(p));
        let first = pieces.next();
        let result = match first {
            _ if over => Err(Refusal::TooLong),
            None => {
                self.noise += raw.len() as u64;
                return None;
            }
            Some(Err(reason)) => Err(reason),
            Some(Ok(one)) => {
                let mut result = Ok(one.clone());
                for piece in pieces {
                    match piece {
                        Ok(again) if again == one => {}
                        Ok(_) => {
                            result = Err(Refusal::TwoNumbers);
                            break;
                        }
                        Err(reason) => result = Err(reason),
                    }
                }
                result
            }
        };
        self.finish(raw, result, at_ms)
    }
}
