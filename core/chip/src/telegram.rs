//! What a chip sends on the air: FDX-B and HDX telegrams.
//!
//! Only the identification bits and the CRC are protected by the CRC, and the
//! control bits by their fixed value. The 24 trailer bits are protected by
//! nothing: they are kept and never used for anything that matters.

use crate::crc16::crc16;
use crate::form::Parsed;
use crate::number::IsoCode;
use crate::read::Checksum;
use crate::refusal::Refusal;

/// Air bits of an FDX-B telegram.
pub const FDXB_BITS: usize = 128;
/// Air bits of an HDX telegram with its 24 bits after the CRC (the length is
/// from memory, see `docs/sources.md`).
pub const HDX_BITS: usize = 112;

/// One FDX-B telegram whose header, control bits and CRC are right.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FdxB {
    /// The 64 identification bits.
    pub code: IsoCode,
    /// The CRC as sent.
    pub crc: u16,
    /// The 24 trailer bits, first on the air lowest. Unprotected.
    pub trailer: u32,
}

/// One HDX telegram whose start byte and CRC are right.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hdx {
    /// The 64 identification bits.
    pub code: IsoCode,
    /// The CRC as sent.
    pub crc: u16,
    /// The 24 bits after it, first on the air lowest. Unprotected.
    pub trailer: u32,
}

/// Bits of packed bytes, the first on the air highest in each byte.
fn unpack(bytes: &[u8]) -> Vec<bool> {
    bytes
        .iter()
        .flat_map(|b| (0..8).map(move |i| b & (0x80 >> i) != 0))
        .collect()
}

/// Every field is sent lowest bit first.
fn field<'a>(bits: impl Iterator<Item = &'a bool>) -> u64 {
    bits.enumerate()
        .fold(0, |n, (i, bit)| n | (u64::from(*bit) << i))
}

fn checked(code: IsoCode, crc: u16) -> Result<(), Refusal> {
    if crc16(&code.0.to_le_bytes()) == crc {
        Ok(())
    } else {
        Err(Refusal::CheckFailed)
    }
}

impl FdxB {
    /// Decodes 128 air bits that begin with the header: ten 0 and one 1, then
    /// groups of eight bits, each followed by a control bit 1.
    ///
    /// # Errors
    /// [`Refusal::Truncated`] or [`Refusal::TooLong`] for another length,
    /// [`Refusal::TelegramBroken`] for header and control bits,
    /// [`Refusal::CheckFailed`] for the CRC. Nothing is repaired.
    pub fn from_air_bits(bits: &[bool]) -> Result<Self, Refusal> {
        exact_length(bits.len(), FDXB_BITS)?;
        let (header, groups) = bits.split_at(11);
        let header_right = header[..10].iter().all(|b| !b) && header[10];
        let control_right = groups.chunks(9).all(|g| g[8]);
        if !header_right || !control_right {
            return Err(Refusal::TelegramBroken);
        }
        let data: Vec<bool> = groups.chunks(9).flat_map(|g| &g[..8]).copied().collect();
        let telegram = Self {
            code: IsoCode(field(data[..64].iter())),
            crc: field(data[64..80].iter()) as u16,
            trailer: field(data[80..].iter()) as u32,
        };
        checked(telegram.code, telegram.crc)?;
        Ok(telegram)
    }

    /// As [`Self::from_air_bits`], from 16 bytes with the first bit highest.
    ///
    /// # Errors
    /// As there.
    pub fn from_air_bytes(bytes: &[u8]) -> Result<Self, Refusal> {
        exact_length(bytes.len(), FDXB_BITS / 8)?;
        Self::from_air_bits(&unpack(bytes))
    }

    pub(crate) fn parsed(self) -> Result<Parsed, Refusal> {
        Parsed::of_code(self.code, Checksum::Verified)
    }
}

impl Hdx {
    /// Decodes 112 air bits: 01111110, 64 identification bits, 16 of the CRC,
    /// 24 more. No control bits.
    ///
    /// # Errors
    /// As [`FdxB::from_air_bits`].
    pub fn from_air_bits(bits: &[bool]) -> Result<Self, Refusal> {
        exact_length(bits.len(), HDX_BITS)?;
        if field(bits[..8].iter()) != 0x7E {
            return Err(Refusal::TelegramBroken);
        }
        let telegram = Self {
            code: IsoCode(field(bits[8..72].iter())),
            crc: field(bits[72..88].iter()) as u16,
            trailer: field(bits[88..].iter()) as u32,
        };
        checked(telegram.code, telegram.crc)?;
        Ok(telegram)
    }

    /// As [`Self::from_air_bits`], from 14 bytes with the first bit highest.
    ///
    /// # Errors
    /// As there.
    pub fn from_air_bytes(bytes: &[u8]) -> Result<Self, Refusal> {
        exact_length(bytes.len(), HDX_BITS / 8)?;
        Self::from_air_bits(&unpack(bytes))
    }

    pub(crate) fn parsed(self) -> Result<Parsed, Refusal> {
        Parsed::of_code(self.code, Checksum::Verified)
    }
}

fn exact_length(got: usize, wanted: usize) -> Result<(), Refusal> {
    match got.cmp(&wanted) {
        std::cmp::Ordering::Less => Err(Refusal::Truncated),
        std::cmp::Ordering::Equal => Ok(()),
        std::cmp::Ordering::Greater => Err(Refusal::TooLong),
    }
}

/// Ten bytes: identification and CRC, either as air bits packed with the first
/// bit highest, or each lowest byte first. The CRC tells which.
///
/// # Errors
/// [`Refusal::Truncated`], [`Refusal::TooLong`], [`Refusal::CheckFailed`]; and
/// [`Refusal::FormUnclear`] where both orders have a fitting CRC and differ.
pub fn id_with_crc(bytes: &[u8]) -> Result<Parsed, Refusal> {
    exact_length(bytes.len(), 10)?;
    let lowest_first = |b: &[u8]| {
        let code = IsoCode(b[..8].iter().rev().fold(0, |n, x| (n << 8) | u64::from(*x)));
        let crc = u16::from_le_bytes([b[8], b[9]]);
        checked(code, crc).map(|()| code)
    };
    let turned: Vec<u8> = bytes.iter().map(|b| b.reverse_bits()).collect();
    match (lowest_first(&turned), lowest_first(bytes)) {
        (Ok(air), Ok(plain)) if air != plain => Err(Refusal::FormUnclear),
        (Ok(code), _) | (_, Ok(code)) => Parsed::of_code(code, Checksum::Verified),
        (Err(e), Err(_)) => Err(e),
    }
}
