//! Who measures, and what follows when something is not as it should be.

use crate::pack::Plain;
use serde::{Deserialize, Serialize};

use super::measures::Today;
use crate::dates::Span;
use crate::pack::read::{Take, Wrong, only, table, word, words};

/// What a body's rules do about something that is not as it should be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Response {
    /// Nothing.
    Allowed,
    /// Measured, and pointed out on the return.
    Flagged,
    /// Not measured.
    Refused,
    /// Measured, and good only for that long from today.
    ProvisionalFor(Span),
}

impl Take for Response {
    fn take(value: Option<&Plain>, wrong: &mut Wrong) -> Self {
        if let Some(span) = only(value, "provisional-for") {
            return Response::ProvisionalFor(Span::take(Some(span), wrong));
        }
        match word(value, &["allowed", "flagged", "refused"], wrong) {
            0 => Response::Allowed,
            1 => Response::Flagged,
            _ => Response::Refused,
        }
    }
}

pub(super) fn flagged() -> Response {
    Response::Flagged
}

pub(super) fn refused() -> Response {
    Response::Refused
}

fn allowed() -> Response {
    Response::Allowed
}

/// Whether measurers work on the same placings or each on their own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Working {
    /// All watch the same placings and all must be satisfied.
    Together,
    /// Each makes their own, the second not seeing the first's result.
    Independently,
}

words!(Working { "together" Together, "independently" Independently });

/// How measurers sign.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Signing {
    /// A PIN for each dog.
    #[default]
    EachDog,
    /// Unlocked at the start and after idling or handing over; one signed list at the close.
    Session,
}

words!(Signing { "each-dog" EachDog, "session" Session });

/// When the phone shows what an earlier measure found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum EarlierShown {
    /// From the start.
    #[default]
    AtOnce,
    /// Once all have signed this measure, so that nobody measures towards it.
    AfterSigning,
}

words!(EarlierShown { "at-once" AtOnce, "after-signing" AfterSigning });

/// Who measures.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Measurers {
    /// How many at the table.
    pub needed: u32,
    /// Together or independently.
    pub work: Working,
    /// What fewer measurers than needed means.
    #[serde(default = "refused")]
    pub fewer: Response,
    /// How many of them must be of the leading grade.
    #[serde(default)]
    pub leading: u32,
    /// Working together on readings: no two in a row by one measurer.
    #[serde(default)]
    pub alternate: bool,
    /// A separate person writes down.
    #[serde(default)]
    pub recorder: bool,
    /// How they sign.
    #[serde(default)]
    pub sign: Signing,
    /// When the phone shows them what an earlier measure found.
    #[serde(default)]
    pub earlier: EarlierShown,
    /// Where a session is signed once: minutes without anything done after which each
    /// measurer has to type their PIN again.
    #[serde(default = "lock_after")]
    pub lock_after: u32,
    /// A measurer's key may be opened by their own phone's biometrics in place of the PIN.
    #[serde(default = "super::limits::yes")]
    pub biometrics: bool,
    /// What a measurer's tie to the dog means.
    #[serde(default)]
    pub conflict: Conflicts,
}

table!(Measurers {
    needed,
    work,
    fewer = refused(),
    leading = 0,
    alternate = false,
    recorder = false,
    sign = Signing::default(),
    earlier = EarlierShown::default(),
    lock_after = lock_after(),
    biometrics = true,
    conflict = Conflicts::default(),
});

/// Own choice, no source: about one dog's time at the table.
fn lock_after() -> u32 {
    5
}

/// What a measurer's tie to the dog means.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Conflicts {
    /// It is their own dog.
    #[serde(default = "refused")]
    pub own_dog: Response,
    /// It lives in their household.
    #[serde(default = "refused")]
    pub household: Response,
    /// They bred it.
    #[serde(default = "allowed")]
    pub bred: Response,
    /// They train it or its handler.
    #[serde(default = "allowed")]
    pub trains: Response,
    /// They belong to the same club or federation as the handler.
    #[serde(default = "allowed")]
    pub same_club: Response,
}

table!(Conflicts {
    own_dog = refused(),
    household = refused(),
    bred = allowed(),
    trains = allowed(),
    same_club = allowed(),
});

impl Default for Conflicts {
    fn default() -> Self {
        Conflicts {
            own_dog: Response::Refused,
            household: Response::Refused,
            bred: Response::Allowed,
            trains: Response::Allowed,
            same_club: Response::Allowed,
        }
    }
}

/// Who tells the handler something unwelcome.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Teller {
    /// The measurers, at the table.
    #[default]
    Measurers,
    /// The show's organiser.
    Organiser,
    /// The office, afterwards.
    Office,
}

words!(Teller { "measurers" Measurers, "organiser" Organiser, "office" Office });

/// What follows a disagreement between independent measurers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum AfterDisagreement {
    /// The body decides.
    #[default]
    Refer,
    /// One more measurer at the table; the category found more often.
    OneMoreMeasurer,
    /// The lower stands.
    LowerStands,
    /// The higher stands.
    HigherStands,
}

words!(AfterDisagreement {
    "refer" Refer,
    "one-more-measurer" OneMoreMeasurer,
    "lower-stands" LowerStands,
    "higher-stands" HigherStands,
});

/// When independent measurers find different categories.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Disagreement {
    /// The category for today.
    #[serde(default)]
    pub today: Today,
    /// Who tells the handler.
    #[serde(default)]
    pub tell: Teller,
    /// What follows.
    #[serde(default)]
    pub then: AfterDisagreement,
}

table!(Disagreement {
    today = Today::default(),
    tell = Teller::default(),
    then = AfterDisagreement::default(),
});
