//! What to point out about a number that is accepted all the same.

use crate::number::{ChipNumber, IsoCode};
use serde::{Deserialize, Serialize};

/// Something to point out about an accepted number. None of them makes the
/// number wrong; each goes onto the record.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ChipFlag {
    /// Code 999: a test number.
    TestCode,
    /// Code 900: shared by many makers, so duplicates are more likely.
    SharedCode,
    /// A code below 900 that ISO 3166-1 gives to no country today.
    UnassignedCountry,
    /// The animal bit is 0.
    NotAnimal,
    /// A reserved field is not 0.
    ReservedBits,
    /// The advanced-transponder bit is set.
    Advanced,
    /// The user-information field is not 0.
    UserInfo,
    /// The retag counter is not 0: a replacement chip.
    Retagged,
    /// The chip sent more data (such as a temperature). No check covers it, so
    /// it is kept in the raw bytes and used for nothing.
    ExtraData,
    /// Digits beside the number whose meaning is not published are not 0.
    UnknownDigits,
    /// An older number, kept as text.
    LegacyText,
}

impl ChipFlag {
    /// Its name in records and in JSON.
    pub fn name(self) -> &'static str {
        match self {
            Self::TestCode => "test_code",
            Self::SharedCode => "shared_code",
            Self::UnassignedCountry => "unassigned_country",
            Self::NotAnimal => "not_animal",
            Self::ReservedBits => "reserved_bits",
            Self::Advanced => "advanced",
            Self::UserInfo => "user_info",
            Self::Retagged => "retagged",
            Self::ExtraData => "extra_data",
            Self::UnknownDigits => "unknown_digits",
            Self::LegacyText => "legacy_text",
        }
    }

    /// What the number itself shows.
    pub(crate) fn of_number(number: &ChipNumber) -> Vec<Self> {
        match number {
            ChipNumber::Legacy(_) => vec![Self::LegacyText],
            ChipNumber::Iso(iso) => match iso.country() {
                999 => vec![Self::TestCode],
                900 => vec![Self::SharedCode],
                code if code < 900 && iso3166_static::Numeric::try_from(code).is_err() => {
                    vec![Self::UnassignedCountry]
                }
                _ => Vec::new(),
            },
        }
    }

    /// What the other bits of the chip show.
    pub(crate) fn of_code(code: IsoCode) -> Vec<Self> {
        let mut flags = Vec::new();
        let mut add = |on: bool, flag| {
            if on {
                flags.push(flag);
            }
        };
        add(!code.animal(), Self::NotAnimal);
        add(code.reserved() != 0, Self::ReservedBits);
        add(code.advanced(), Self::Advanced);
        add(code.user() != 0, Self::UserInfo);
        add(code.retag() != 0, Self::Retagged);
        add(code.data_block(), Self::ExtraData);
        flags
    }
}
