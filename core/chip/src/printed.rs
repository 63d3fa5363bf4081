//! Numbers as people write and print them.

use crate::form::Form;
use crate::number::{ChipNumber, IsoNumber};
use crate::refusal::Refusal;
use serde::{Deserialize, Serialize};

/// A number from a book or from a person's typing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Printed {
    /// The number.
    pub number: ChipNumber,
    /// The form it was written in.
    pub form: Form,
}

/// The forms tried on written text. Those whose sixteen digits need a declared
/// bit order, and those with bytes that cannot be written, are not among them.
const WRITTEN: [Form; 7] = [
    Form::Decimal15,
    Form::HexDotted,
    Form::Hex16,
    Form::A7x15,
    Form::One6x15,
    Form::Legacy9,
    Form::Legacy10,
];

/// Reads a number as printed in a record book, on a label or on a display.
///
/// Separators between groups (space, full stop, hyphen) are dropped from decimal
/// digits. Nothing is padded, and text around a number is refused: the person
/// who reads it is asked to give the number alone.
///
/// # Errors
/// [`Refusal::WrongLength`] for digits that are not 15 (nine and ten are taken
/// as an older chip's text), or whatever the form that fits says.
pub fn parse_printed(text: &str) -> Result<Printed, Refusal> {
    let text = text.trim();
    // A frame of a reader is never longer, and neither is a number in a book.
    if text.len() > crate::profile::LONGEST {
        return Err(Refusal::TooLong);
    }
    let separator = |c: char| c == ' ' || c == '\u{a0}' || c == '.' || c == '-';
    let bare: String = text.chars().filter(|c| !separator(*c)).collect();
    let digits_only = !bare.is_empty() && bare.bytes().all(|b| b.is_ascii_digit());
    if digits_only {
        return match bare.len() {
            9 => Ok(Printed {
                number: ChipNumber::legacy(&bare)?,
                form: Form::Legacy9,
            }),
            10 => Ok(Printed {
                number: ChipNumber::legacy(&bare)?,
                form: Form::Legacy10,
            }),
            16 => Err(Refusal::HexOrIndustrial),
            22 => written(Form::One6x15, &bare),
            _ => Ok(Printed {
                number: IsoNumber::from_digits(bare.as_bytes())?.into(),
                form: Form::Decimal15,
            }),
        };
    }
    let mut fault = Refusal::NotANumber;
    for form in WRITTEN {
        match written(form, text) {
            Ok(printed) => return Ok(printed),
            Err(Refusal::NotANumber | Refusal::WrongLength { .. }) => {}
            Err(reason) => fault = reason,
        }
    }
    Err(fault)
}

fn written(form: Form, text: &str) -> Result<Printed, Refusal> {
    Ok(Printed {
        number: form.parse_undeclared(text.as_bytes())?.number,
        form,
    })
}
