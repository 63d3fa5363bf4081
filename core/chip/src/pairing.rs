//! Finding a reader's profile by reading one known chip: every profile listens
//! at once, and the one that yields exactly one valid number is proposed.

use crate::framer::Framer;
use crate::identity::{Identity, ReadLog};
use crate::number::ChipNumber;
use crate::profile::Profile;
use crate::read::{Checksum, Frame};
use crate::refusal::Refusal;
use serde::{Deserialize, Serialize};

/// What the bytes so far say about the reader.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "proposal", rename_all = "snake_case")]
pub enum Proposal {
    /// No profile has yielded a number. `refused` frames came.
    Nothing {
        /// Frames that some profile saw and refused.
        refused: u32,
    },
    /// This profile fits; read the same chip once more.
    ReadAgain {
        /// The profile's name.
        profile: String,
        /// The number it gave.
        number: ChipNumber,
    },
    /// Two separate reads gave the same number: the reader is paired.
    Fits {
        /// The profile's name.
        profile: String,
        /// The number it gave.
        number: ChipNumber,
    },
    /// Profiles disagree, or one heard two numbers: a person has to say what
    /// the reader sends, or try again with one chip only.
    Unclear {
        /// Each profile and each number it gave.
        choices: Vec<(String, ChipNumber)>,
    },
    /// A number came and it is not the known chip's.
    NotTheKnownChip {
        /// Each profile and its number.
        choices: Vec<(String, ChipNumber)>,
    },
}

/// Listens with many profiles at once. Memory is bounded as each framer's is.
#[derive(Clone, Debug)]
pub struct Pairing {
    tries: Vec<Try>,
}

#[derive(Clone, Debug)]
struct Try {
    framer: Framer,
    log: ReadLog,
    refused: u32,
}

impl Try {
    fn take(&mut self, frames: Vec<Frame>) {
        for frame in frames {
            // Nobody has declared the form yet.
            if let Frame::Read(read) = &frame
                && let content = read.raw.trim_ascii()
                && read.form.parse_undeclared(content) == Err(Refusal::HexOrIndustrial)
            {
                self.refused = self.refused.saturating_add(1);
                continue;
            }
            if matches!(frame, Frame::Refused(_)) {
                self.refused = self.refused.saturating_add(1);
            }
            self.log.take(frame);
        }
    }

    fn verified(&self) -> bool {
        self.log
            .heard()
            .iter()
            .any(|h| h.reads.iter().any(|r| r.checksum == Checksum::Verified))
    }

    fn separate(&self) -> u32 {
        self.log.heard().iter().map(|h| h.separate).sum()
    }
}

impl Default for Pairing {
    fn default() -> Self {
        Self::new(Profile::all())
    }
}

impl Pairing {
    /// Listens with these profiles, the preferred first.
    pub fn new(profiles: Vec<Profile>) -> Self {
        Self {
            tries: profiles
                .into_iter()
                .map(|p| Try {
                    framer: Framer::new(p),
                    log: ReadLog::new(),
                    refused: 0,
                })
                .collect(),
        }
    }

    /// As [`Framer::feed`], for every profile.
    pub fn feed(&mut self, bytes: &[u8], at_ms: i64) {
        for t in &mut self.tries {
            let frames = t.framer.feed(bytes, at_ms);
            t.take(frames);
        }
    }

    /// As [`Framer::tick`], for every profile.
    pub fn tick(&mut self, at_ms: i64) {
        for t in &mut self.tries {
            let frames = t.framer.tick(at_ms);
            t.take(frames);
        }
    }

    /// As [`Framer::link_lost`], for every profile.
    pub fn link_lost(&mut self) {
        for t in &mut self.tries {
            let frames = t.framer.link_lost().map(Frame::Refused);
            t.take(frames.into_iter().collect());
        }
    }

    /// Separate reads heard so far, of whichever profile heard most: a bounce
    /// adds nothing.
    pub fn separate(&self) -> u32 {
        self.tries.iter().map(Try::separate).max().unwrap_or(0)
    }

    /// What can be proposed. `known` is the number printed with the chip that
    /// is being read, where there is one.
    pub fn proposal(&self, known: Option<&ChipNumber>) -> Proposal {
        let choices: Vec<(String, ChipNumber)> = self
            .tries
            .iter()
            .flat_map(|t| {
                let name = &t.framer.profile().name;
                let heard = t.log.heard().iter();
                heard.map(move |h| (name.clone(), h.number.clone()))
            })
            .collect();
        let Some((_, first)) = choices.first() else {
            let refused = self.tries.iter().map(|t| t.refused).max().unwrap_or(0);
            return Proposal::Nothing { refused };
        };
        let wanted = known.unwrap_or(first).clone();
        // Without a known chip every number heard has to be the same one.
        if known.is_none() && choices.iter().any(|(_, n)| *n != wanted) {
            return Proposal::Unclear { choices };
        }
        let only_wanted = |t: &&Try| {
            !matches!(t.log.identity(), Identity::TwoNumbers { .. })
                && t.log.heard().iter().any(|h| h.number == wanted)
        };
        let best = self
            .tries
            .iter()
            .filter(only_wanted)
            .min_by_key(|t| (!t.verified(), t.refused));
        match best {
            Some(t) if t.separate() >= 2 => Proposal::Fits {
                profile: t.framer.profile().name.clone(),
                number: wanted,
            },
            Some(t) => Proposal::ReadAgain {
                profile: t.framer.profile().name.clone(),
                number: wanted,
            },
            None if choices.iter().any(|(_, n)| *n == wanted) => Proposal::Unclear { choices },
            None => Proposal::NotTheKnownChip { choices },
        }
    }
}
