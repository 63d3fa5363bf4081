//! How one reader frames its numbers, as data.

use crate::form::Form;
use crate::refusal::Refusal;
use serde::{Deserialize, Serialize};

/// Longest content a frame may have, bytes. The longest known frame has 30.
pub(crate) const LONGEST: usize = 128;

/// Where a frame begins and ends in the stream.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Framing {
    /// Text ended by exactly these bytes: a line whose end is not whole is cut
    /// short like any other.
    Line {
        /// What ends a line, such as CR LF.
        end: Vec<u8>,
    },
    /// Text ended by silence. Only for readers that send no terminator.
    IdleGap {
        /// Silence that ends a frame, milliseconds.
        gap_ms: u32,
    },
    /// Text between two bytes, closed by a suffix just before the last.
    Delimited {
        /// First byte.
        start: u8,
        /// Last byte.
        end: u8,
        /// What must stand before `end`; may be empty.
        suffix: Vec<u8>,
    },
    /// A frame of fixed length with its own check: bytes of any value.
    FixedChecked,
    /// A keyboard wedge: the characters of key strokes, ended by one key.
    Wedge {
        /// The keys that end a number, each as the one byte it gives.
        keys: Vec<u8>,
    },
}

/// One reader's way of sending a number.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Profile {
    /// Its name: what is stored for a paired reader.
    pub name: String,
    /// Where frames begin and end.
    pub framing: Framing,
    /// What stands inside.
    pub form: Form,
    /// A frame whose bytes stop for longer than this is dropped, milliseconds:
    /// two halves of different numbers must never meet.
    pub stall_ms: u32,
}

/// Longest pause inside a frame, milliseconds. Our own choice, no source:
/// several times the slowest connection interval of a radio link, and shorter
/// than the time a person needs to scan again.
const STALL_MS: u32 = 2_000;
/// Silence that ends a frame where a reader sends no terminator, milliseconds.
/// Our own choice, no source.
const GAP_MS: u32 = 300;

/// The forms that come as lines. Each has a profile of this name for lines that
/// end with CR LF, and two more, `-cr` and `-lf`, for one of them alone.
const LINES: [(&str, Form); 9] = [
    ("line-15", Form::Decimal15),
    ("line-hex-dotted", Form::HexDotted),
    ("line-hex16", Form::Hex16),
    ("line-a-7-15", Form::A7x15),
    ("line-1-6-15", Form::One6x15),
    ("line-hex16-left", Form::Hex16Left),
    ("line-hex16-right", Form::Hex16Right),
    ("line-legacy-9", Form::Legacy9),
    ("line-legacy-10", Form::Legacy10),
];

impl Profile {
    fn new(name: &str, framing: Framing, form: Form) -> Self {
        Self {
            name: name.to_owned(),
            framing,
            form,
            stall_ms: STALL_MS,
        }
    }

    /// Every built-in profile, in the order in which they are preferred where
    /// several yield the same number.
    pub fn all() -> Vec<Self> {
        let keys = b"\r\n\t".to_vec();
        let hex14 = Framing::Delimited {
            start: 0x02,
            end: 0x03,
            suffix: b"\r\n".to_vec(),
        };
        let idle = Framing::IdleGap { gap_ms: GAP_MS };
        let mut all = vec![
            Self::new("stx-etx-wl30", Framing::FixedChecked, Form::Frame30),
            Self::new("stx-etx-hex14", hex14, Form::Hex4x10),
        ];
        for (suffix, end) in [("", "\r\n"), ("-cr", "\r"), ("-lf", "\n")] {
            all.extend(LINES.map(|(name, form)| {
                let end = end.as_bytes().to_vec();
                Self::new(&format!("{name}{suffix}"), Framing::Line { end }, form)
            }));
        }
        all.push(Self::new(
            "wedge-15",
            Framing::Wedge { keys },
            Form::Decimal15,
        ));
        all.push(Self::new("idle-15", idle, Form::Decimal15));
        all
    }

    /// The built-in profile of that name.
    pub fn builtin(name: &str) -> Option<Self> {
        Self::all().into_iter().find(|p| p.name == name)
    }

    /// Whether key strokes carry it.
    pub fn is_wedge(&self) -> bool {
        matches!(self.framing, Framing::Wedge { .. })
    }

    /// Whether the profile can work; one read from a file is checked with this.
    ///
    /// # Errors
    /// [`Refusal::NoForm`] where the framing cannot carry the form.
    pub fn check(&self) -> Result<(), Refusal> {
        // What marks a frame must not be able to stand in one.
        let marks = |bytes: &[u8]| !bytes.iter().any(|b| matches!(b, 0x20..=0x7E));
        let good = match &self.framing {
            Framing::FixedChecked => self.form == Form::Frame30,
            Framing::Line { end: marked } | Framing::Wedge { keys: marked } => {
                self.form.is_text() && !marked.is_empty() && marks(marked)
            }
            Framing::IdleGap { gap_ms } => self.form.is_text() && *gap_ms > 0,
            Framing::Delimited { start, end, .. } => {
                self.form.is_text() && start != end && marks(&[*start, *end])
            }
        };
        if good { Ok(()) } else { Err(Refusal::NoForm) }
    }
}
