//! The 30-byte frame: STX, 26 hex digits, their XOR, its complement, ETX.
//!
//! The XOR byte may be any value, a line feed or an STX too, and its complement
//! may be above 127: the frame is cut by length and read as bytes, never as text.

use super::Parsed;
use super::hexadecimal::value;
use crate::flag::ChipFlag;
use crate::number::IsoNumber;
use crate::read::Checksum;
use crate::refusal::Refusal;

/// Bytes in a frame.
pub(crate) const LENGTH: usize = 30;
const STX: u8 = 0x02;
const ETX: u8 = 0x03;
const XOR_AT: usize = 27;

/// Whether `byte` can stand at `index`, whatever the rest says.
pub(crate) fn fits_at(index: usize, byte: u8) -> bool {
    match index {
        0 => byte == STX,
        1..XOR_AT => byte.is_ascii_hexdigit(),
        29 => byte == ETX,
        _ => true,
    }
}

/// A field written with its lowest digit first.
fn lowest_first(digits: &[u8]) -> Result<u64, Refusal> {
    let turned: Vec<u8> = digits.iter().rev().copied().collect();
    value(&turned)
}

fn yes_no(digit: u8) -> Result<bool, Refusal> {
    match digit {
        b'0' => Ok(false),
        b'1' => Ok(true),
        _ => Err(Refusal::Damaged),
    }
}

pub(super) fn parse(frame: &[u8]) -> Result<Parsed, Refusal> {
    if frame.len() != LENGTH || !frame.iter().enumerate().all(|(i, b)| fits_at(i, *b)) {
        return Err(Refusal::NotANumber);
    }
    let xor = frame[1..XOR_AT].iter().fold(0, |x, b| x ^ b);
    if frame[XOR_AT] != xor || frame[XOR_AT + 1] != !xor {
        return Err(Refusal::CheckFailed);
    }
    let number = IsoNumber::new(
        u16::try_from(lowest_first(&frame[11..15])?).map_err(|_| Refusal::Damaged)?,
        lowest_first(&frame[1..11])?,
    )?;
    let data = yes_no(frame[15])?;
    let animal = yes_no(frame[16])?;
    let mut parsed = Parsed::plain(number)
        .flag_if(!animal, ChipFlag::NotAnimal)
        .flag_if(
            frame[17..XOR_AT].iter().any(|d| *d != b'0'),
            ChipFlag::ReservedBits,
        )
        .flag_if(data, ChipFlag::ExtraData);
    parsed.checksum = Checksum::Verified;
    parsed.animal = Some(animal);
    Ok(parsed)
}
