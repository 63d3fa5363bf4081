//! Bytes in QR codes: cut into texts that a camera reads one after another, in any order,
//! and put together again.
//!
//! A text is `SSC1:` and, in base45 (RFC 9285), a deterministic CBOR array: the first 16
//! bytes of the whole's SHA-256, the piece's number from 0, how many there are, the piece.

use minicbor::Encode;
use minicbor::bytes::{ByteArray, ByteVec};
use sha2::{Digest, Sha256};
use standsquare_plain::record;

use super::canonical;
use crate::map::Map;

const BEGINS: &str = "SSC1:";

/// Bytes of the whole in one text: the code is then one of version 15 at most, with low
/// error correction, which a phone's camera takes from another phone's screen.
pub const PIECE: usize = 440;

/// Most pieces of one whole: about a day's dogs. Own choice, no source: beyond it a file is quicker.
pub const MOST: usize = 1_000;

#[derive(Encode)]
struct Piece {
    #[n(0)]
    whole: ByteArray<16>,
    #[n(1)]
    number: u32,
    #[n(2)]
    count: u32,
    #[n(3)]
    bytes: ByteVec,
}

record!(Piece {
    whole,
    number,
    count,
    bytes
});

/// Why a text is not taken.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum PieceFault {
    /// It is a code of something else.
    #[error("this is not a part of a copy")]
    NotAPiece,
    /// It is damaged, or not in its one form.
    #[error("this code cannot be read: {0}")]
    Unreadable(&'static str),
    /// It is of another whole than the ones before it; begin again to take that one.
    #[error("this code is of another copy")]
    OtherWhole,
    /// All pieces are there, and they are not what was cut.
    #[error("the codes do not fit together: begin again")]
    NotWhole,
    /// More than can be shown in codes.
    #[error("too long for codes: give it as a file")]
    TooLong,
}

fn id(bytes: &[u8]) -> ByteArray<16> {
    let mut id = [0; 16];
    id.copy_from_slice(&Sha256::digest(bytes)[..16]);
    id.into()
}

/// The texts for `bytes`, in order.
///
/// # Errors
/// [`PieceFault::TooLong`]
pub fn pieces(bytes: &[u8]) -> Result<Vec<String>, PieceFault> {
    pieces_of(bytes, PIECE)
}

/// The same, with at most so many bytes in a text: fewer make codes that are read in worse
/// light.
///
/// # Errors
/// [`PieceFault::TooLong`]
pub fn pieces_of(bytes: &[u8], size: usize) -> Result<Vec<String>, PieceFault> {
    let parts: Vec<&[u8]> = match bytes {
        [] => vec![bytes],
        _ => bytes.chunks(size.max(1)).collect(),
    };
    if parts.len() > MOST {
        return Err(PieceFault::TooLong);
    }
    let texts = parts.iter().enumerate().map(|(n, part)| {
        let piece = canonical::encode(&Piece {
            whole: id(bytes),
            number: n as u32,
            count: parts.len() as u32,
            bytes: part.to_vec().into(),
        });
        [BEGINS, &base45::encode(piece)].concat()
    });
    Ok(texts.collect())
}

/// Bytes of a name with its version and colon, such as `SSD1:`.
const NAME: usize = 5;

/// The texts by which a camera takes `text`, a name with its version and what is coded in
/// base45: the text itself where it has at most `longest` characters, else pieces of `size`
/// bytes of the same, its name first and then what base45 stands for.
///
/// # Errors
/// [`PieceFault::TooLong`]; [`PieceFault::Unreadable`] where it is no such text.
pub fn texts(text: &str, longest: usize, size: usize) -> Result<Vec<String>, PieceFault> {
    if text.len() <= longest {
        return Ok(vec![text.to_owned()]);
    }
    let coded = text
        .get(NAME..)
        .and_then(|coded| base45::decode(coded).ok());
    let coded = coded.ok_or(PieceFault::Unreadable("not base45"))?;
    pieces_of(&[&text.as_bytes()[..NAME], &coded].concat(), size)
}

/// The text that [`texts`] cut, of the whole that was gathered; `None` if it is bytes of
/// something else.
pub fn text_of(whole: &[u8]) -> Option<String> {
    let (name, coded) = whole.split_at_checked(NAME)?;
    let is_name = matches!(name, [b'S', b'S', b'A'..=b'Z', b'0'..=b'9', b':']);
    let name = std::str::from_utf8(name).ok().filter(|_| is_name)?;
    Some([name, &base45::encode(coded)].concat())
}

/// Whether a text is a piece of something.
pub fn is_piece(text: &str) -> bool {
    text.trim().starts_with(BEGINS)
}

/// Pieces as they are read.
#[derive(Clone, Debug, Default)]
pub struct Gathering {
    whole: Option<(ByteArray<16>, u32)>,
    parts: Map<u32, Vec<u8>>,
}

impl Gathering {
    /// Takes a text; the whole, once every piece is there. A piece that was taken before
    /// changes nothing.
    ///
    /// # Errors
    /// [`PieceFault`]; what was taken before stays.
    pub fn take(&mut self, text: &str) -> Result<Option<Vec<u8>>, PieceFault> {
        let coded = text.trim().strip_prefix(BEGINS);
        let coded = coded.ok_or(PieceFault::NotAPiece)?;
        let bytes = base45::decode(coded).map_err(|_| PieceFault::Unreadable("not base45"))?;
        let piece: Piece = canonical::decode(&bytes, "a piece")
            .map_err(|_| PieceFault::Unreadable("not in its one form"))?;
        if piece.number >= piece.count || piece.count as usize > MOST {
            return Err(PieceFault::Unreadable("its numbers are not possible"));
        }
        let this = (piece.whole, piece.count);
        if *self.whole.get_or_insert(this) != this {
            return Err(PieceFault::OtherWhole);
        }
        self.parts.insert(piece.number, piece.bytes.into());
        if self.parts.len() < piece.count as usize {
            return Ok(None);
        }
        let whole: Vec<u8> = self.parts.values().flatten().copied().collect();
        if id(&whole) == piece.whole {
            return Ok(Some(whole));
        }
        *self = Gathering::default();
        Err(PieceFault::NotWhole)
    }

    /// The numbers, from 1, of the pieces that are still to be read.
    pub fn missing(&self) -> impl Iterator<Item = u32> {
        let count = self.whole.map_or(0, |(_, count)| count);
        (0..count)
            .filter(|n| !self.parts.contains_key(n))
            .map(|n| n + 1)
    }

    /// How many pieces are there, of how many; `None` before the first.
    pub fn progress(&self) -> Option<(usize, usize)> {
        let (_, count) = self.whole?;
        Some((self.parts.len(), count as usize))
    }
}
