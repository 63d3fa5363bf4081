//! Forms in hexadecimal digits.

use super::Parsed;
use crate::number::{IsoCode, IsoNumber};
use crate::read::Checksum;
use crate::refusal::Refusal;

/// Which end of the 64 bits stands first in the text.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Order {
    AnimalFirst,
    AnimalLast,
}

pub(super) fn value(digits: &[u8]) -> Result<u64, Refusal> {
    digits.iter().try_fold(0u64, |n, d| {
        (*d as char)
            .to_digit(16)
            .map(|v| (n << 4) | u64::from(v))
            .ok_or(Refusal::NotANumber)
    })
}

/// `3E7.1CBE991A14`
pub(super) fn dotted(content: &[u8]) -> Result<Parsed, Refusal> {
    if content.len() != 14 || content[3] != b'.' {
        return Err(Refusal::NotANumber);
    }
    let country = value(&content[..3])? as u16;
    Ok(Parsed::plain(IsoNumber::new(
        country,
        value(&content[4..])?,
    )?))
}

/// `009C1486C6F81F`
pub(super) fn four_ten(content: &[u8]) -> Result<Parsed, Refusal> {
    if content.len() != 14 {
        return Err(Refusal::NotANumber);
    }
    let country = value(&content[..4])? as u16;
    Ok(Parsed::plain(IsoNumber::new(
        country,
        value(&content[4..])?,
    )?))
}

fn word(content: &[u8]) -> Result<IsoCode, Refusal> {
    if content.len() == 16 {
        Ok(IsoCode(value(content)?))
    } else {
        Err(Refusal::NotANumber)
    }
}

/// The order is not declared: taken only where exactly one is a plain number.
pub(super) fn either_order(content: &[u8]) -> Result<Parsed, Refusal> {
    let left = word(content)?;
    let right = left.reversed();
    match (left.is_plain(), right.is_plain()) {
        // A palindrome is the same number from both ends.
        (true, true) if left == right => Parsed::of_code(left, Checksum::Absent),
        (true, false) => Parsed::of_code(left, Checksum::Absent),
        (false, true) => Parsed::of_code(right, Checksum::Absent),
        _ => Err(Refusal::BitOrderUnclear),
    }
}

/// The order is declared. Nothing vouches for it, so a declared order that
/// gives an odd number where the other gives a plain one is refused.
pub(super) fn declared(content: &[u8], order: Order) -> Result<Parsed, Refusal> {
    let first = word(content)?;
    let (meant, other) = match order {
        Order::AnimalFirst => (first, first.reversed()),
        Order::AnimalLast => (first.reversed(), first),
    };
    if !meant.is_plain() && other.is_plain() {
        return Err(Refusal::OtherBitOrder);
    }
    Parsed::of_code(meant, Checksum::Absent)
}
