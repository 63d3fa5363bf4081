//! Which dog it is, how and where it stands, and what is written down.

use serde::{Deserialize, Serialize};

use super::people::{Response, refused};
use crate::dates::Span;
use crate::pack::read::{table, words};

/// Which dog it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Identity {
    /// No chip is found.
    #[serde(default = "refused")]
    pub no_chip: Response,
    /// Identities that do instead, such as `tattoo`: then `no_chip` does not apply.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub alternatives: Vec<String>,
}

table!(Identity { no_chip = refused(), alternatives = Vec::new() });

impl Default for Identity {
    fn default() -> Self {
        Identity {
            no_chip: Response::Refused,
            alternatives: Vec::new(),
        }
    }
}

/// Whether the coat is pressed down.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Coat {
    /// The gauge rests under its own weight only.
    #[default]
    NotPressed,
    /// The coat is pressed down to the skin.
    Pressed,
}

words!(Coat { "not-pressed" NotPressed, "pressed" Pressed });

/// How the dog stands.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Stance {
    /// The coat.
    #[serde(default)]
    pub coat: Coat,
}

table!(Stance { coat = Coat::default() });

/// What the dog stands on.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Surface {
    /// The most it may be out of level, in hundredths of a degree.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_tilt_centidegrees: Option<u32>,
}

table!(Surface { max_tilt_centidegrees = None });

/// A step before the placings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Step {
    /// The record book.
    Papers,
    /// The handler's answers and consent.
    Handler,
    /// The chip.
    Chip,
    /// Settling on the surface.
    Settle,
    /// The stance.
    Stance,
}

words!(Step {
    "papers" Papers,
    "handler" Handler,
    "chip" Chip,
    "settle" Settle,
    "stance" Stance,
});

/// The order of the steps before the placings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Steps {
    /// In this order.
    #[serde(default = "usual_steps")]
    pub order: Vec<Step>,
    /// Pairs of neighbours that may swap.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub may_swap: Vec<(Step, Step)>,
}

table!(Steps { order = usual_steps(), may_swap = Vec::new() });

/// Papers, handler, chip, settle, stance: common practice, no source.
fn usual_steps() -> Vec<Step> {
    vec![
        Step::Papers,
        Step::Handler,
        Step::Chip,
        Step::Settle,
        Step::Stance,
    ]
}

impl Default for Steps {
    fn default() -> Self {
        Steps {
            order: usual_steps(),
            may_swap: Vec::new(),
        }
    }
}

/// An entry of the record book.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum BookEntry {
    /// The book's own number.
    Number,
    /// The dog's name.
    Name,
    /// The chip number.
    Chip,
    /// The date of birth.
    Born,
    /// The breed or type.
    Breed,
    /// The dog's sex.
    Sex,
    /// The handler's or owner's name.
    Handler,
    /// An earlier measure's date.
    MeasureDate,
    /// An earlier measure's category.
    MeasureCategory,
    /// An earlier measure's signatures.
    MeasureSignatures,
}

words!(BookEntry {
    "number" Number,
    "name" Name,
    "chip" Chip,
    "born" Born,
    "breed" Breed,
    "sex" Sex,
    "handler" Handler,
    "measure-date" MeasureDate,
    "measure-category" MeasureCategory,
    "measure-signatures" MeasureSignatures,
});

/// What the record book must hold.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Book {
    /// Without these the dog is not measured.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub must_have: Vec<BookEntry>,
    /// Without these it is measured and the lack pointed out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub should_have: Vec<BookEntry>,
    /// Signatures an earlier measure must carry; none: `measurers.needed`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub signatures: Option<u32>,
}

table!(Book { must_have = Vec::new(), should_have = Vec::new(), signatures = None });

/// How long records are kept.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Records {
    /// Measures.
    #[serde(default = "ten_years")]
    pub keep: Span,
    /// The handler's name and contact.
    #[serde(default = "two_years")]
    pub keep_personal: Span,
}

table!(Records { keep = ten_years(), keep_personal = two_years() });

/// Own choice, no source; a pack should state its own.
fn ten_years() -> Span {
    Span::months(120)
}

/// Own choice, no source; a pack should state its own.
fn two_years() -> Span {
    Span::months(24)
}

impl Default for Records {
    fn default() -> Self {
        Records {
            keep: ten_years(),
            keep_personal: two_years(),
        }
    }
}
