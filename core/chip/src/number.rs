//! What a chip number is: the fields of ISO 11784, or an older number as text.

use crate::refusal::Refusal;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// Largest national code: 38 bits (ISO 11784; facts found in the public
/// decoder sources named in `docs/sources.md`).
pub const NATIONAL_MAX: u64 = (1 << 38) - 1;

/// One chip number, the same whichever form it came in.
///
/// Shown as 15 digits, or as the text of an older chip. Never padded: a number
/// that lost a leading zero somewhere is damaged, not short.
///
/// A number is no proof of being the only one: duplicates are on record.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ChipNumber {
    /// A number after ISO 11784.
    Iso(IsoNumber),
    /// An older number of nine digits or ten characters, in capitals.
    Legacy(String),
}

/// Country or manufacturer code and national code of ISO 11784.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct IsoNumber {
    country: u16,
    national: u64,
}

impl IsoNumber {
    /// Builds a number from its two codes.
    ///
    /// # Errors
    /// Country 0 names nobody; 1000 and above cannot be printed in three
    /// digits; a national code above 38 bits cannot be on a chip.
    pub fn new(country: u16, national: u64) -> Result<Self, Refusal> {
        if country == 0 {
            return Err(Refusal::CountryZero);
        }
        if country >= 1000 {
            return Err(Refusal::CountryTooLarge { country });
        }
        if national > NATIONAL_MAX {
            return Err(Refusal::NationalTooLarge);
        }
        Ok(Self { country, national })
    }

    /// Builds a number from exactly 15 ASCII digits.
    ///
    /// # Errors
    /// [`Refusal::WrongLength`] or [`Refusal::NotANumber`], or as [`Self::new`].
    pub fn from_digits(digits: &[u8]) -> Result<Self, Refusal> {
        if !digits.iter().all(u8::is_ascii_digit) {
            return Err(Refusal::NotANumber);
        }
        if digits.len() != 15 {
            return Err(Refusal::WrongLength {
                digits: digits.len() as u32,
            });
        }
        let value = |part: &[u8]| part.iter().fold(0u64, |n, d| n * 10 + u64::from(d - b'0'));
        Self::new(value(&digits[..3]) as u16, value(&digits[3..]))
    }

    /// Three-digit country code (ISO 3166-1), or manufacturer code from 900.
    pub fn country(self) -> u16 {
        self.country
    }

    /// The 38-bit national code, printed in twelve digits.
    pub fn national(self) -> u64 {
        self.national
    }
}

impl fmt::Display for IsoNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:03}{:012}", self.country, self.national)
    }
}

impl ChipNumber {
    /// Takes an older number: nine digits, or ten letters and digits.
    ///
    /// # Errors
    /// [`Refusal::NotANumber`] for anything else.
    pub fn legacy(text: &str) -> Result<Self, Refusal> {
        let nine = text.len() == 9 && text.bytes().all(|b| b.is_ascii_digit());
        let ten = text.len() == 10
            && text.bytes().all(|b| b.is_ascii_alphanumeric())
            && text.bytes().any(|b| b.is_ascii_digit());
        if nine || ten {
            Ok(Self::Legacy(text.to_ascii_uppercase()))
        } else {
            Err(Refusal::NotANumber)
        }
    }

    /// The ISO number, if it is one.
    pub fn iso(&self) -> Option<IsoNumber> {
        match self {
            Self::Iso(n) => Some(*n),
            Self::Legacy(_) => None,
        }
    }
}

impl From<IsoNumber> for ChipNumber {
    fn from(n: IsoNumber) -> Self {
        Self::Iso(n)
    }
}

impl fmt::Display for ChipNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Iso(n) => n.fmt(f),
            Self::Legacy(text) => f.write_str(text),
        }
    }
}

/// Reads back what `Display` wrote, and nothing else: for a person's typing or
/// a book's printing use [`crate::parse_printed`].
impl FromStr for ChipNumber {
    type Err = Refusal;

    fn from_str(text: &str) -> Result<Self, Refusal> {
        if text.len() == 15 {
            Ok(Self::Iso(IsoNumber::from_digits(text.as_bytes())?))
        } else {
            Self::legacy(text)
        }
    }
}

impl Serialize for ChipNumber {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for ChipNumber {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        String::deserialize(d)?
            .parse()
            .map_err(serde::de::Error::custom)
    }
}

/// The 64 identification bits of ISO 11784, as the chip sends them: the first
/// bit on the air is bit 0. (The standard's text counts the other way round.)
///
/// Written in text as 16 capital hex digits, animal bit first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct IsoCode(pub u64);

impl IsoCode {
    fn bits(self, from: u32, count: u32) -> u64 {
        (self.0 >> from) & ((1 << count) - 1)
    }

    /// National code, bits 0 to 37.
    pub fn national(self) -> u64 {
        self.bits(0, 38)
    }

    /// Country or manufacturer code, bits 38 to 47. The chip can hold up to
    /// 1023; above 999 there is no printed number.
    pub fn country(self) -> u16 {
        self.bits(38, 10) as u16
    }

    /// Bit 48: a data block follows the number.
    pub fn data_block(self) -> bool {
        self.bits(48, 1) == 1
    }

    /// Bit 49: advanced transponder (RUDI).
    pub fn advanced(self) -> bool {
        self.bits(49, 1) == 1
    }

    /// Bits 50 to 54: reserved, should be 0.
    pub fn reserved(self) -> u8 {
        self.bits(50, 5) as u8
    }

    /// Bits 55 to 59: user information.
    pub fn user(self) -> u8 {
        self.bits(55, 5) as u8
    }

    /// Bits 60 to 62: how often the animal was given a new tag.
    pub fn retag(self) -> u8 {
        self.bits(60, 3) as u8
    }

    /// Bit 63: the chip is for an animal. (One public package documents bit
    /// 49; the captures in `docs/sources.md` show 63.)
    pub fn animal(self) -> bool {
        self.bits(63, 1) == 1
    }

    /// The number in these bits.
    ///
    /// # Errors
    /// As [`IsoNumber::new`].
    pub fn number(self) -> Result<IsoNumber, Refusal> {
        IsoNumber::new(self.country(), self.national())
    }

    /// The same 64 bits read from the other end.
    pub fn reversed(self) -> Self {
        Self(self.0.reverse_bits())
    }

    /// A number that can be printed, and nothing in the fields that plain
    /// chips leave at 0: what tells the right bit order from the wrong one.
    pub fn is_plain(self) -> bool {
        self.number().is_ok()
            && !self.advanced()
            && self.reserved() == 0
            && self.user() == 0
            && self.retag() == 0
    }
}

impl fmt::Display for IsoCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:016X}", self.0)
    }
}

impl Serialize for IsoCode {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for IsoCode {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let text = String::deserialize(d)?;
        if text.len() != 16 || !text.bytes().all(|b| b.is_ascii_hexdigit()) {
            return Err(serde::de::Error::custom("not 16 hex digits"));
        }
        u64::from_str_radix(&text, 16)
            .map(Self)
            .map_err(serde::de::Error::custom)
    }
}
