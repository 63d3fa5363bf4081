//! Forms in decimal digits, and the older numbers kept as text.

use super::Parsed;
use crate::flag::ChipFlag;
use crate::number::{ChipNumber, IsoNumber};
use crate::refusal::Refusal;

/// 15 digits, whole or in groups of 3 12 or 3 3 3 3 3 with one space between.
pub(super) fn fifteen(content: &[u8]) -> Result<Parsed, Refusal> {
    let groups: Vec<&[u8]> = content.split(|b| *b == b' ').collect();
    let lengths: Vec<usize> = groups.iter().map(|g| g.len()).collect();
    let digits = groups.concat();
    if digits.len() == 15 && !matches!(lengths[..], [15] | [3, 12] | [3, 3, 3, 3, 3]) {
        return Err(Refusal::NotANumber);
    }
    // Signs in the place of digits: each digit key gives one on some layout.
    let signs = String::from_utf8_lossy(content);
    if signs.chars().count() == 15 && signs.chars().all(is_shifted_digit) {
        return Err(Refusal::KeyboardLayout);
    }
    Ok(Parsed::plain(IsoNumber::from_digits(&digits)?))
}

/// Whether a digit key gives this sign with or without Shift on an English,
/// German, French or Spanish keyboard (from memory; used to refuse only).
fn is_shifted_digit(c: char) -> bool {
    "!@#$%^&*()\"£§/=·¡éèçàùëê'-_+ěščřžýáíì".contains(c)
}

/// `lead`, then `middle` digits, then the 15.
pub(super) fn prefixed(content: &[u8], lead: u8, middle: usize) -> Result<Parsed, Refusal> {
    let rest = match content.split_first() {
        Some((first, rest)) if *first == lead => rest,
        _ => return Err(Refusal::NotANumber),
    };
    if rest.len() != middle + 15 || !rest.iter().all(u8::is_ascii_digit) {
        return Err(Refusal::NotANumber);
    }
    let (unknown, number) = rest.split_at(middle);
    Ok(Parsed::plain(IsoNumber::from_digits(number)?)
        .flag_if(unknown.iter().any(|d| *d != b'0'), ChipFlag::UnknownDigits))
}

/// An older number of exactly this length.
pub(super) fn legacy(content: &[u8], length: usize) -> Result<Parsed, Refusal> {
    let text = std::str::from_utf8(content).map_err(|_| Refusal::NotANumber)?;
    if text.len() != length {
        return Err(Refusal::NotANumber);
    }
    Ok(Parsed::plain(ChipNumber::legacy(text)?))
}
