//! What may stand inside one frame, and how each form is read. Every form is
//! anchored: the whole content has to be it, from the first byte to the last.

mod decimal;
mod frame30;
mod hexadecimal;

use crate::flag::ChipFlag;
use crate::number::{ChipNumber, IsoCode};
use crate::read::Checksum;
use crate::refusal::Refusal;
use serde::{Deserialize, Serialize};

pub(crate) use frame30::{LENGTH as FRAME30_LENGTH, fits_at as frame30_fits_at};

/// The forms a number comes in. Sources of each: `docs/forms.md`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Form {
    /// 15 decimal digits, also as `3 12` or `3 3 3 3 3` with single spaces.
    #[serde(rename = "decimal-15")]
    Decimal15,
    /// Three hex digits of country, a full stop, ten of national code.
    #[serde(rename = "hex-dotted")]
    HexDotted,
    /// The chip's 64 bits as 16 hex digits, order not declared: taken only
    /// where just one order is plausible.
    #[serde(rename = "hex-16")]
    Hex16,
    /// 16 hex digits, animal bit first.
    #[serde(rename = "hex-16-left")]
    Hex16Left,
    /// 16 hex digits, animal bit last.
    #[serde(rename = "hex-16-right")]
    Hex16Right,
    /// 14 hex digits: four of country, ten of national code.
    #[serde(rename = "hex-4-10")]
    Hex4x10,
    /// `A`, seven digits of unpublished meaning, 15 digits.
    #[serde(rename = "a-7-15")]
    A7x15,
    /// `1`, six digits of unpublished meaning, 15 digits.
    #[serde(rename = "1-6-15")]
    One6x15,
    /// The 30-byte frame with XOR and its complement; the content is the whole
    /// frame, STX and ETX included.
    #[serde(rename = "frame-30")]
    Frame30,
    /// Nine digits of an older chip.
    #[serde(rename = "legacy-9")]
    Legacy9,
    /// Ten characters of an older chip.
    #[serde(rename = "legacy-10")]
    Legacy10,
    /// FDX-B telegram: 128 air bits in 16 bytes, first bit highest.
    #[serde(rename = "fdx-b")]
    FdxB,
    /// HDX telegram: 112 air bits in 14 bytes, first bit highest.
    #[serde(rename = "hdx")]
    Hdx,
    /// The eight identification bytes and the two of the CRC, in air order
    /// (first bit highest) or lowest byte first.
    #[serde(rename = "id-crc")]
    IdCrc,
}

/// What one form's content says, before it becomes a [`crate::Read`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Parsed {
    /// The number.
    pub number: ChipNumber,
    /// Whether the content carried a check that fits.
    pub checksum: Checksum,
    /// The animal bit, where the form carries it.
    pub animal: Option<bool>,
    /// All 64 bits, where the form carries them.
    pub code: Option<IsoCode>,
    /// What to point out.
    pub flags: Vec<ChipFlag>,
}

impl Parsed {
    fn plain(number: impl Into<ChipNumber>) -> Self {
        let number = number.into();
        Self {
            flags: ChipFlag::of_number(&number),
            number,
            checksum: Checksum::Absent,
            animal: None,
            code: None,
        }
    }

    /// What the whole 64 bits say.
    ///
    /// # Errors
    /// As [`IsoCode::number`].
    pub fn of_code(code: IsoCode, checksum: Checksum) -> Result<Self, Refusal> {
        let mut parsed = Self::plain(code.number()?);
        parsed.flags.extend(ChipFlag::of_code(code));
        parsed.checksum = checksum;
        parsed.animal = Some(code.animal());
        parsed.code = Some(code);
        Ok(parsed)
    }

    fn flag_if(mut self, on: bool, flag: ChipFlag) -> Self {
        if on {
            self.flags.push(flag);
        }
        self
    }
}

impl Form {
    /// Every form, in the order in which they are preferred where several give
    /// the same number: those with a check first.
    pub const ALL: [Form; 14] = [
        Form::Frame30,
        Form::FdxB,
        Form::Hdx,
        Form::IdCrc,
        Form::Decimal15,
        Form::HexDotted,
        Form::Hex16,
        Form::Hex16Left,
        Form::Hex16Right,
        Form::Hex4x10,
        Form::A7x15,
        Form::One6x15,
        Form::Legacy9,
        Form::Legacy10,
    ];

    /// Its name in profiles, records and on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Self::Decimal15 => "decimal-15",
            Self::HexDotted => "hex-dotted",
            Self::Hex16 => "hex-16",
            Self::Hex16Left => "hex-16-left",
            Self::Hex16Right => "hex-16-right",
            Self::Hex4x10 => "hex-4-10",
            Self::A7x15 => "a-7-15",
            Self::One6x15 => "1-6-15",
            Self::Frame30 => "frame-30",
            Self::Legacy9 => "legacy-9",
            Self::Legacy10 => "legacy-10",
            Self::FdxB => "fdx-b",
            Self::Hdx => "hdx",
            Self::IdCrc => "id-crc",
        }
    }

    /// The form of that name.
    pub fn by_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|f| f.name() == name)
    }

    /// Whether the content is text; the others are bytes of any value.
    pub fn is_text(self) -> bool {
        !matches!(self, Self::Frame30 | Self::FdxB | Self::Hdx | Self::IdCrc)
    }

    /// As [`Self::parse`], where nobody has declared the form: decimal digits
    /// alone are never taken for hexadecimal, for they may be damaged or an
    /// industrial tag's.
    ///
    /// # Errors
    /// [`Refusal::HexOrIndustrial`], [`Refusal::FormUnclear`],
    /// [`Refusal::WrongLength`], or as [`Self::parse`].
    pub fn parse_undeclared(self, content: &[u8]) -> Result<Parsed, Refusal> {
        let digits = content.iter().filter(|b| b.is_ascii_digit()).count();
        let decimal = |separators| digits == content.len() - separators;
        match (self, content.len()) {
            (Self::Hex16 | Self::Hex16Left | Self::Hex16Right, 16) if decimal(0) => {
                Err(Refusal::HexOrIndustrial)
            }
            // The beginning of the form with A and seven digits.
            (Self::Hex16 | Self::Hex16Left | Self::Hex16Right, 16)
                if content[0] == b'A' && digits == 15 =>
            {
                Err(Refusal::FormUnclear)
            }
            (Self::Hex4x10, 14) if decimal(0) => Err(Refusal::WrongLength { digits: 14 }),
            (Self::HexDotted, 14) if decimal(1) && content[3] == b'.' => {
                Err(Refusal::WrongLength { digits: 13 })
            }
            _ => self.parse(content),
        }
    }

    /// Reads the whole content of one frame.
    ///
    /// # Errors
    /// The reason why it is not exactly one number in this form.
    pub fn parse(self, content: &[u8]) -> Result<Parsed, Refusal> {
        if self.is_text() && content.starts_with(b"LR ") {
            return Err(Refusal::Industrial);
        }
        match self {
            Self::Decimal15 => decimal::fifteen(content),
            Self::A7x15 => decimal::prefixed(content, b'A', 7),
            Self::One6x15 => decimal::prefixed(content, b'1', 6),
            Self::Legacy9 => decimal::legacy(content, 9),
            Self::Legacy10 => decimal::legacy(content, 10),
            Self::HexDotted => hexadecimal::dotted(content),
            Self::Hex4x10 => hexadecimal::four_ten(content),
            Self::Hex16 => hexadecimal::either_order(content),
            Self::Hex16Left => hexadecimal::declared(content, hexadecimal::Order::AnimalFirst),
            Self::Hex16Right => hexadecimal::declared(content, hexadecimal::Order::AnimalLast),
            Self::Frame30 => frame30::parse(content),
            Self::FdxB => crate::telegram::FdxB::from_air_bytes(content)?.parsed(),
            Self::Hdx => crate::telegram::Hdx::from_air_bytes(content)?.parsed(),
            Self::IdCrc => crate::telegram::id_with_crc(content),
        }
    }
}
