//! Signatures that were checked ahead, so that a check that follows a journal step by step
//! need not wait for them: they may be checked side by side, and before a transaction.

use std::collections::BTreeSet;

use sha2::{Digest, Sha256};

use super::chain::{Hash, verify_signature};
use super::fault::RecordFault;

/// Signatures that hold. Nothing gets in but by being checked.
#[derive(Clone, Debug, Default)]
pub struct Proved(BTreeSet<Hash>);

fn named(alg: u8, key: &[u8; 32], bytes: &[u8], signature: &[u8; 64]) -> Hash {
    Sha256::new()
        .chain_update([alg])
        .chain_update(key)
        .chain_update(signature)
        .chain_update(bytes)
        .finalize()
        .into()
}

impl Proved {
    /// Checks a signature as [`verify_signature`] does and remembers it if it holds.
    ///
    /// # Errors
    /// Those of [`verify_signature`].
    pub fn check(
        &mut self,
        alg: u8,
        key: &[u8; 32],
        bytes: &[u8],
        signature: &[u8; 64],
    ) -> Result<(), RecordFault> {
        verify_signature(alg, key, bytes, signature)?;
        self.0.insert(named(alg, key, bytes, signature));
        Ok(())
    }

    /// Whether this signature holds, checked now if it was not before.
    ///
    /// # Errors
    /// Those of [`verify_signature`].
    pub(super) fn holds(
        &self,
        alg: u8,
        key: &[u8; 32],
        bytes: &[u8],
        signature: &[u8; 64],
    ) -> Result<(), RecordFault> {
        if !self.0.is_empty() && self.0.contains(&named(alg, key, bytes, signature)) {
            return Ok(());
        }
        verify_signature(alg, key, bytes, signature)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::fact::ALG_ED25519;
    use ed25519_dalek::{Signer, SigningKey};

    #[test]
    fn only_the_very_signature_that_was_checked_is_known() {
        let key = SigningKey::from_bytes(&[3; 32]);
        let whose = key.verifying_key().to_bytes();
        let signature = key.sign(b"flat").to_bytes();
        let mut proved = Proved::default();
        proved
            .check(ALG_ED25519, &whose, b"flat", &signature)
            .expect("it holds");
        assert_eq!(
            proved.holds(ALG_ED25519, &whose, b"flat", &signature),
            Ok(())
        );
        let fault = Err(RecordFault::Signature);
        assert_eq!(
            proved.holds(ALG_ED25519, &whose, b"not flat", &signature),
            fault
        );
        assert_eq!(proved.holds(ALG_ED25519, &whose, b"flat", &[1; 64]), fault);
        assert_eq!(proved.check(ALG_ED25519, &whose, b"flat", &[1; 64]), fault);
        assert_eq!(proved.holds(ALG_ED25519, &whose, b"flat", &[1; 64]), fault);
        assert!(proved.holds(2, &whose, b"flat", &signature).is_err());
    }
}
