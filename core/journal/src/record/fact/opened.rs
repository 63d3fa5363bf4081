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

    /// Whether the owner's biometrics opened the key for this: the record says it right after,
    /// in `next`. Otherwise it was the PIN.
    pub fn is_opened_by_owner(&self, next: Option<&Fact>) -> bool {
        let signer = self.key_opened_by();
        matches!(next, Some(Fact::OpenedByOwner { person }) if signer == Some(person))
    }
}
