//! Lines, keyboard wedges, and text between two bytes.

use super::Framer;
use crate::profile::Framing;
use crate::read::Frame;
use crate::refusal::Refusal;

impl Framer {
    /// Whether the byte can be part of a text frame. A wedge's characters come
    /// as UTF-8 and may be anything a keyboard can give; on a serial line
    /// everything beyond printable ASCII is noise.
    fn is_content(&self, byte: u8) -> bool {
        let wedge = matches!(self.profile.framing, Framing::Wedge { .. });
        matches!(byte, 0x20..=0x7E) || (wedge && byte >= 0x80)
    }

    /// One byte of a line whose end is a sequence.
    pub(super) fn line_byte(&mut self, byte: u8, at_ms: i64, out: &mut Vec<Frame>) {
        let expected = match &self.profile.framing {
            Framing::Line { end } => (end.get(self.end_seen).copied(), end.len()),
            _ => return,
        };
        match expected {
            (Some(next), length) if byte == next => {
                if self.end_seen + 1 < length {
                    self.end_seen += 1;
                } else {
                    self.text_byte(byte, true, at_ms, out);
                    self.end_seen = 0;
                }
            }
            // The end broke off: what it was to end is damaged.
            _ if self.end_seen > 0 => {
                out.extend(self.broken(Refusal::Damaged, at_ms));
                self.line_byte(byte, at_ms, out);
            }
            _ => self.text_byte(byte, false, at_ms, out),
        }
    }

    /// One byte of a line: noise starts the line anew, so that noise before a
    /// whole number costs nothing; printable text before it does cost it.
    pub(super) fn text_byte(
        &mut self,
        byte: u8,
        ends_here: bool,
        at_ms: i64,
        out: &mut Vec<Frame>,
    ) {
        if ends_here {
            if self.over {
                out.extend(self.broken(Refusal::TooLong, at_ms));
            } else if !self.held.is_empty() {
                let mut raw = self.take();
                let parsed = self.profile.form.parse(&raw);
                raw.push(byte);
                out.extend(self.finish(raw, parsed, at_ms));
            }
        } else if self.is_content(byte) {
            self.hold(byte);
        } else {
            out.extend(self.broken(Refusal::Damaged, at_ms));
            self.noise += 1;
        }
    }

    /// One byte of a stream of delimited frames.
    pub(super) fn delimited_byte(
        &mut self,
        byte: u8,
        start: u8,
        end: u8,
        at_ms: i64,
        out: &mut Vec<Frame>,
    ) {
        if byte == start {
            out.extend(self.broken(Refusal::Damaged, at_ms));
            self.open = true;
        } else if !self.open {
            self.noise += 1;
        } else if byte == end {
            let over = self.over;
            let content = self.take();
            let parsed = match &self.profile.framing {
                _ if over => Err(Refusal::TooLong),
                Framing::Delimited { suffix, .. } => content
                    .strip_suffix(suffix.as_slice())
                    .ok_or(Refusal::Damaged)
                    .and_then(|text| self.profile.form.parse(text)),
                _ => Err(Refusal::Damaged),
            };
            let raw = [&[start], content.as_slice(), &[end]].concat();
            out.extend(self.finish(raw, parsed, at_ms));
        } else if self.is_content(byte) || matches!(byte, b'\r' | b'\n') {
            self.hold(byte);
        } else {
            out.extend(self.broken(Refusal::Damaged, at_ms));
            self.noise += 1;
        }
    }
}
