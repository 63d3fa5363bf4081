//! Cutting a reader's byte stream into frames. Bytes come cut anywhere;
//! nothing is decoded as text before a frame is whole.

mod fixed;
mod idle;
mod text;

use crate::form::Parsed;
use crate::profile::{Framing, LONGEST, Profile};
use crate::read::{Frame, Read, Refused};
use crate::refusal::Refusal;

/// From this many letters and digits on, a frame that is not accepted is
/// reported as refused; what holds fewer is taken for noise or a reader's
/// chatter and only counted. Half of a 15-digit number; our own choice.
const WORTH_TELLING: usize = 8;

fn worth_telling(raw: &[u8], reason: &Refusal) -> bool {
    let characters = raw.iter().filter(|b| b.is_ascii_alphanumeric()).count();
    characters >= WORTH_TELLING || *reason == Refusal::KeyboardLayout
}

/// Cuts one reader's bytes into frames. Keeps at most one unfinished frame, so
/// its memory is bounded whatever comes in.
#[derive(Clone, Debug)]
pub struct Framer {
    profile: Profile,
    /// The unfinished frame: what a delimited one has after its start, a fixed
    /// one everything since the byte that may be its start.
    held: Vec<u8>,
    /// Inside a delimited frame.
    open: bool,
    /// How many bytes of a line's end have come.
    end_seen: usize,
    /// The unfinished frame is longer than any frame can be.
    over: bool,
    last_ms: Option<i64>,
    noise: u64,
}

impl Framer {
    /// A framer at the beginning of a link.
    pub fn new(profile: Profile) -> Self {
        Self {
            profile,
            held: Vec::new(),
            open: false,
            end_seen: 0,
            over: false,
            last_ms: None,
            noise: 0,
        }
    }

    /// The profile it works by.
    pub fn profile(&self) -> &Profile {
        &self.profile
    }

    /// How many bytes were dropped as noise so far.
    pub fn noise(&self) -> u64 {
        self.noise
    }

    /// Bytes of the unfinished frame that are being kept (never more than 128).
    pub fn held(&self) -> usize {
        self.held.len()
    }

    /// Takes the next bytes of the stream, cut anywhere. `at_ms` is when they
    /// came, milliseconds since 1970.
    pub fn feed(&mut self, bytes: &[u8], at_ms: i64) -> Vec<Frame> {
        let mut out = self.tick(at_ms);
        if !bytes.is_empty() {
            self.last_ms = Some(at_ms);
        }
        for byte in bytes {
            match &self.profile.framing {
                Framing::Line { .. } => self.line_byte(*byte, at_ms, &mut out),
                Framing::Wedge { keys } => {
                    let ends_here = keys.contains(byte);
                    self.text_byte(*byte, ends_here, at_ms, &mut out);
                }
                Framing::Delimited { start, end, .. } => {
                    let (start, end) = (*start, *end);
                    self.delimited_byte(*byte, start, end, at_ms, &mut out);
                }
                Framing::FixedChecked => self.fixed_byte(*byte, at_ms, &mut out),
                Framing::IdleGap { .. } => self.idle_byte(*byte),
            }
        }
        out
    }

    /// Tells the framer that time has passed: completes a frame that ends by
    /// silence, and drops one that stopped half way.
    pub fn tick(&mut self, at_ms: i64) -> Vec<Frame> {
        let silent = match self.last_ms {
            Some(last) => at_ms.saturating_sub(last),
            None => return Vec::new(),
        };
        match self.profile.framing {
            Framing::IdleGap { gap_ms } if silent >= i64::from(gap_ms) => {
                self.idle_end(at_ms).into_iter().collect()
            }
            Framing::IdleGap { .. } => Vec::new(),
            _ if silent > i64::from(self.profile.stall_ms) => {
                self.broken(Refusal::Truncated, at_ms).into_iter().collect()
            }
            _ => Vec::new(),
        }
    }

    /// The link is gone. What was not finished never becomes a number: it is
    /// given back as refused, however whole it looks.
    pub fn link_lost(&mut self) -> Option<Refused> {
        let at_ms = self.last_ms.unwrap_or(0);
        let raw = self.take();
        (!raw.is_empty()).then_some(Refused {
            raw,
            form: Some(self.profile.form),
            reason: Refusal::Truncated,
            at_ms,
        })
    }

    fn take(&mut self) -> Vec<u8> {
        self.over = false;
        self.open = false;
        self.end_seen = 0;
        std::mem::take(&mut self.held)
    }

    fn hold(&mut self, byte: u8) {
        if self.held.len() < LONGEST {
            self.held.push(byte);
        } else {
            self.over = true;
        }
    }

    /// Drops the unfinished frame; tells of it if it was more than noise.
    fn broken(&mut self, reason: Refusal, at_ms: i64) -> Option<Frame> {
        let raw = self.take();
        self.finish(raw, Err(reason), at_ms)
    }

    /// A frame has ended: a read, a refusal worth telling of, or noise.
    fn finish(
        &mut self,
        raw: Vec<u8>,
        parsed: Result<Parsed, Refusal>,
        at_ms: i64,
    ) -> Option<Frame> {
        match parsed {
            Err(reason) if !worth_telling(&raw, &reason) => {
                self.noise += raw.len() as u64;
                None
            }
            parsed => Some(self.framed(raw, parsed, at_ms)),
        }
    }

    fn refused(&self, raw: Vec<u8>, reason: Refusal, at_ms: i64) -> Frame {
        Frame::Refused(Refused {
            raw,
            form: Some(self.profile.form),
            reason,
            at_ms,
        })
    }

    fn framed(&self, raw: Vec<u8>, parsed: Result<Parsed, Refusal>, at_ms: i64) -> Frame {
        match parsed {
            Ok(p) => Frame::Read(Read {
                raw,
                form: self.profile.form,
                number: p.number,
                checksum: p.checksum,
                animal: p.animal,
                code: p.code,
                flags: p.flags,
                at_ms,
            }),
            Err(reason) => self.refused(raw, reason, at_ms),
        }
    }
}
