//! Keys that are kept wrapped: the device's by the device's secret, a measurer's
//! by their PIN and the device's secret together.

use argon2::{Algorithm, Argon2, Params, Version};
use chacha20poly1305::aead::Aead;
use chacha20poly1305::{KeyInit, XChaCha20Poly1305, XNonce};
use ed25519_dalek::{Signer, SigningKey};
use sha2::{Digest, Sha256};
use zeroize::{Zeroize, Zeroizing};

/// Argon2id's cost: memory in KiB, passes, lanes. The least that is commonly
/// advised for passwords (from memory); kept beside each key, so that a later
/// version can raise it.
const COST: (u32, u32, u32) = (19 * 1024, 2, 1);

/// A key could not be made or used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum KeyFault {
    /// The PIN (or the device's secret) is not the one it was wrapped with.
    #[error("the PIN does not open this key")]
    WrongPin,
    /// Its stretching costs cannot be met here.
    #[error("the key cannot be stretched: {0}")]
    Stretch(String),
}

/// `N` bytes for one purpose out of fresh randomness.
pub(super) fn derive<const N: usize>(purpose: &str, entropy: &[u8; 32]) -> [u8; N] {
    const { assert!(N <= 32) };
    let mut hash = Sha256::new();
    hash.update(b"standsquare/derive/");
    hash.update(purpose.as_bytes());
    hash.update(entropy);
    let mut whole: [u8; 32] = hash.finalize().into();
    let mut out = [0; N];
    out.copy_from_slice(&whole[..N]);
    whole.zeroize();
    out
}

/// Seals `clear` (XChaCha20-Poly1305).
pub(super) fn seal(key: &[u8; 32], nonce: &[u8; 24], clear: &[u8]) -> Vec<u8> {
    XChaCha20Poly1305::new(&(*key).into())
        .encrypt(&XNonce::from(*nonce), clear)
        // Only a text of 256 GiB is refused by this cipher.
        .unwrap_or_default()
}

/// Opens what was sealed; `None` where the key is another or a byte has changed.
pub(super) fn open(key: &[u8; 32], nonce: &[u8; 24], sealed: &[u8]) -> Option<Zeroizing<Vec<u8>>> {
    XChaCha20Poly1305::new(&(*key).into())
        .decrypt(&XNonce::from(*nonce), sealed)
        .ok()
        .map(Zeroizing::new)
}

/// A measurer's key on this phone, wrapped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrappedKey {
    pub(super) person: String,
    pub(super) public: [u8; 32],
    pub(super) salt: [u8; 16],
    pub(super) nonce: [u8; 24],
    pub(super) sealed: Vec<u8>,
    pub(super) cost: (u32, u32, u32),
}

/// Makes a measurer's key and wraps it. `entropy` is fresh and used for nothing else.
///
/// # Errors
/// [`KeyFault::Stretch`] where the machine cannot give the memory.
pub fn make_person_key(
    person: &str,
    pin: &str,
    device_secret: &[u8; 32],
    entropy: [u8; 32],
) -> Result<WrappedKey, KeyFault> {
    let seed = Zeroizing::new(derive::<32>("person-seed", &entropy));
    let salt = derive("person-salt", &entropy);
    let nonce = derive("person-nonce", &entropy);
    let wrap = stretched(pin, &salt, COST, device_secret)?;
    Ok(WrappedKey {
        person: person.to_owned(),
        public: SigningKey::from_bytes(&seed).verifying_key().to_bytes(),
        salt,
        nonce,
        sealed: seal(&wrap, &nonce, seed.as_slice()),
        cost: COST,
    })
}

/// The wrapping key: neither a PIN guessed off the phone nor the phone's secret
/// without the PIN gives it.
fn stretched(
    pin: &str,
    salt: &[u8; 16],
    (memory, passes, lanes): (u32, u32, u32),
    device_secret: &[u8; 32],
) -> Result<Zeroizing<[u8; 32]>, KeyFault> {
    let fault = |e: argon2::Error| KeyFault::Stretch(e.to_string());
    let params = Params::new(memory, passes, lanes, Some(32)).map_err(fault)?;
    let mut from_pin = Zeroizing::new([0u8; 32]);
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
        .hash_password_into(pin.as_bytes(), salt, from_pin.as_mut_slice())
        .map_err(fault)?;
    let mut hash = Sha256::new();
    hash.update(b"standsquare/wrap/");
    hash.update(from_pin.as_slice());
    hash.update(device_secret);
    Ok(Zeroizing::new(hash.finalize().into()))
}

impl WrappedKey {
    /// Whose it is.
    pub fn person(&self) -> &str {
        &self.person
    }

    /// The public key.
    pub fn public(&self) -> [u8; 32] {
        self.public
    }

    /// Signs `bytes` with the key, which is open only for this call.
    ///
    /// # Errors
    /// [`KeyFault::WrongPin`].
    pub fn sign(
        &self,
        pin: &str,
        device_secret: &[u8; 32],
        bytes: &[u8],
    ) -> Result<[u8; 64], KeyFault> {
        let wrap = stretched(pin, &self.salt, self.cost, device_secret)?;
        let seed = open(&wrap, &self.nonce, &self.sealed).ok_or(KeyFault::WrongPin)?;
        let seed: &[u8; 32] = seed.as_slice().try_into().map_err(|_| KeyFault::WrongPin)?;
        Ok(SigningKey::from_bytes(seed).sign(bytes).to_bytes())
    }
}

/// What the chain holds of a dog's personal data: salted, so that nobody can try
/// names until one fits once the salt is gone.
pub fn subject_commitment(clear: &[u8], salt: &[u8; 32]) -> [u8; 32] {
    let mut hash = Sha256::new();
    hash.update(b"standsquare/subject/");
    hash.update(salt);
    hash.update(clear);
    hash.finalize().into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::verify_signature;

    #[test]
    fn a_key_signs_with_its_pin_on_its_phone_only() {
        let key = make_person_key("ottoline", "4711", &[1; 32], [2; 32]).expect("a key");
        let signature = key.sign("4711", &[1; 32], b"text").expect("signs");
        verify_signature(1, &key.public(), b"text", &signature).expect("holds");
        assert_eq!(key.sign("4712", &[1; 32], b"text"), Err(KeyFault::WrongPin));
        assert_eq!(key.sign("4711", &[3; 32], b"text"), Err(KeyFault::WrongPin));
        assert!(verify_signature(1, &key.public(), b"other", &signature).is_err());
        assert!(verify_signature(2, &key.public(), b"text", &signature).is_err());
    }
}
