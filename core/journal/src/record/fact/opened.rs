//! Which facts a measurer's own key was opened for.

use super::Fact;

impl Fact {
    /// Who opened their own key on this phone to write this: their id in the roster.
    pub fn key_opened_by(&self) -> Option<&str> {
        match self {
            Fact::Signed { person, .. }
            | Fact::SignedForOther { person, .. }
            | Fact::Unlocked { person, .. }
            | Fact::ListSigned { person, .. }
            | Fact::CorrectionSigned { person, .. }
            | Fact::PracticeSigned { person, .. } => Some(person),
            _ => None,
        }
    }
}
