//! Why a frame was refused, and what a person can do about it.

use serde::{Deserialize, Serialize};

/// Why bytes were not taken as a chip number. The text says what to do.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, thiserror::Error)]
#[serde(tag = "reason", rename_all = "snake_case")]
pub enum Refusal {
    /// Text that is no chip number in the form the reader is set to.
    #[error("this is not a chip number in the reader's form: scan again, or pair the reader again")]
    NotANumber,
    /// Digits, but not 15. Never padded: a missing leading zero is damage.
    #[error(
        "{digits} digits where a chip number has 15: scan again; if it stays, the reader or a spreadsheet drops digits"
    )]
    WrongLength {
        /// How many there were.
        digits: u32,
    },
    /// The last twelve digits cannot be on a chip.
    #[error(
        "the last twelve digits are above 274877906943, which no chip can hold: check every digit"
    )]
    NationalTooLarge,
    /// Country code 000.
    #[error("country code 000 names nobody: check the first three digits, or scan again")]
    CountryZero,
    /// Country code 1000 to 1023: the bits hold it, three digits cannot print it.
    #[error("country code {country} cannot be a printed chip number: scan again")]
    CountryTooLarge {
        /// The code.
        country: u16,
    },
    /// An industrial tag, such as one on a crate or a key.
    #[error("this is an industrial tag and not an animal's chip: scan the dog")]
    Industrial,
    /// The link dropped, or the bytes stopped, half way through.
    #[error("the reader stopped half way through a number: scan again")]
    Truncated,
    /// The frame never ended.
    #[error("the reader sent more than a chip number can be: scan again, or pair the reader again")]
    TooLong,
    /// A frame with something in it that does not belong there.
    #[error("part of the number did not arrive whole: scan again")]
    Damaged,
    /// The frame's own check does not fit its content.
    #[error("the number's check does not fit, so a digit is wrong: scan again")]
    CheckFailed,
    /// The bits that frame a telegram are not where they must be.
    #[error("the chip's telegram is not whole: scan again")]
    TelegramBroken,
    /// Two different numbers in one frame.
    #[error("two different numbers came at once: move other animals away and scan again")]
    TwoNumbers,
    /// Sixteen hex digits that are a number in both bit orders, or in neither.
    #[error(
        "these sixteen characters do not tell in which order they are: choose the reader's bit order when pairing"
    )]
    BitOrderUnclear,
    /// The declared bit order gives an odd number, the other one a plain number.
    #[error("the reader seems to send its bits in the other order: pair the reader again")]
    OtherBitOrder,
    /// Sixteen decimal digits may be hexadecimal or an industrial number.
    #[error(
        "sixteen digits may be hexadecimal or an industrial tag: choose the reader's form when pairing"
    )]
    HexOrIndustrial,
    /// Signs where digits should be: another keyboard layout.
    #[error(
        "signs came where digits should be: set the phone's layout for this keyboard reader to English"
    )]
    KeyboardLayout,
    /// More than one form fits and they give different numbers.
    #[error(
        "these bytes are a different number in different forms: say which form the reader sends"
    )]
    FormUnclear,
    /// A number without a check, and other bytes beside it.
    #[error(
        "there is more than a number in these bytes and no check vouches for it: give one whole frame, or name its form"
    )]
    NotAlone,
    /// Nine or ten characters: an older number, or what is left of a longer one.
    #[error(
        "this may be an older chip's number or what is left of a longer one: choose the reader's form, or scan again"
    )]
    OlderOrCut,
    /// No known form fits.
    #[error("these bytes fit no known form: check that the whole frame was copied")]
    NoForm,
}

/// What a screen can offer after a refusal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Advice {
    /// Scan once more.
    ScanAgain,
    /// Pair the reader again, or choose its form.
    PairAgain,
    /// Change a setting of the phone or the reader.
    ChangeSetting,
    /// It is not a dog's chip: scan the dog, with nothing else near.
    ScanTheDog,
    /// Look at the digits: the number itself cannot be.
    CheckDigits,
}

impl Refusal {
    /// What a screen can offer.
    pub fn advice(&self) -> Advice {
        match self {
            Self::Truncated
            | Self::Damaged
            | Self::CheckFailed
            | Self::TelegramBroken
            | Self::CountryTooLarge { .. } => Advice::ScanAgain,
            Self::NotANumber
            | Self::TooLong
            | Self::BitOrderUnclear
            | Self::OtherBitOrder
            | Self::HexOrIndustrial
            | Self::FormUnclear
            | Self::OlderOrCut
            | Self::NotAlone
            | Self::NoForm => Advice::PairAgain,
            Self::KeyboardLayout => Advice::ChangeSetting,
            Self::Industrial | Self::TwoNumbers => Advice::ScanTheDog,
            Self::WrongLength { .. } | Self::NationalTooLarge | Self::CountryZero => {
                Advice::CheckDigits
            }
        }
    }
}

impl Refusal {
    /// Its name, as it is written down: a word's key.
    pub fn key(&self) -> &'static str {
        match self {
            Refusal::NotANumber => "not_a_number",
            Refusal::WrongLength { .. } => "wrong_length",
            Refusal::NationalTooLarge => "national_too_large",
            Refusal::CountryZero => "country_zero",
            Refusal::CountryTooLarge { .. } => "country_too_large",
            Refusal::Industrial => "industrial",
            Refusal::Truncated => "truncated",
            Refusal::TooLong => "too_long",
            Refusal::Damaged => "damaged",
            Refusal::CheckFailed => "check_failed",
            Refusal::TelegramBroken => "telegram_broken",
            Refusal::TwoNumbers => "two_numbers",
            Refusal::BitOrderUnclear => "bit_order_unclear",
            Refusal::OtherBitOrder => "other_bit_order",
            Refusal::HexOrIndustrial => "hex_or_industrial",
            Refusal::KeyboardLayout => "keyboard_layout",
            Refusal::FormUnclear => "form_unclear",
            Refusal::NotAlone => "not_alone",
            Refusal::OlderOrCut => "older_or_cut",
            Refusal::NoForm => "no_form",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Refusal;

    #[test]
    fn the_key_is_the_name_in_json() {
        let all = [
            Refusal::NotANumber,
            Refusal::WrongLength { digits: 14 },
            Refusal::NationalTooLarge,
            Refusal::CountryZero,
            Refusal::CountryTooLarge { country: 1_001 },
            Refusal::Industrial,
            Refusal::Truncated,
            Refusal::TooLong,
            Refusal::Damaged,
            Refusal::CheckFailed,
            Refusal::TelegramBroken,
            Refusal::TwoNumbers,
            Refusal::BitOrderUnclear,
            Refusal::OtherBitOrder,
            Refusal::HexOrIndustrial,
            Refusal::KeyboardLayout,
            Refusal::FormUnclear,
            Refusal::NotAlone,
            Refusal::OlderOrCut,
            Refusal::NoForm,
        ];
        for refusal in all {
            let json = serde_json::to_value(&refusal).expect("JSON");
            assert_eq!(json["reason"], refusal.key());
        }
    }
}
