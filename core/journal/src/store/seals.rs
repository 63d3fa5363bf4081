//! Deriving keys (HKDF with SHA-256, RFC 5869) and sealing what is kept secret
//! (XChaCha20-Poly1305).

use chacha20poly1305::aead::{Aead, AeadInOut, Payload};
use chacha20poly1305::{KeyInit, XChaCha20Poly1305, XNonce};
use hkdf::Hkdf;
use sha2::{Digest, Sha256};
use zeroize::Zeroizing;

/// `N` bytes for one purpose out of `secret`. Bytes for one purpose tell nothing of
/// those for another.
pub(super) fn derive<const N: usize>(
    purpose: &str,
    salt: &[u8],
    secret: &[u8],
) -> Zeroizing<[u8; N]> {
    // HKDF gives at most 255 hashes' worth.
    const { assert!(N <= 255 * 32) };
    let mut out = Zeroizing::new([0; N]);
    let info = ["standsquare/derive/", purpose].concat();
    if Hkdf::<Sha256>::new(Some(salt), secret)
        .expand(info.as_bytes(), out.as_mut_slice())
        .is_err()
    {
        unreachable!("the length is within what HKDF gives");
    }
    out
}

/// Seals `clear`, bound to `about`: it opens only beside the same `about`.
pub(super) fn seal(key: &[u8; 32], nonce: &[u8; 24], about: &[u8], clear: &[u8]) -> Vec<u8> {
    let payload = Payload {
        msg: clear,
        aad: about,
    };
    match XChaCha20Poly1305::new(&(*key).into()).encrypt(&XNonce::from(*nonce), payload) {
        Ok(sealed) => sealed,
        // Only a text of 256 GiB is refused by this cipher.
        Err(_) => unreachable!("a text of 256 GiB"),
    }
}

/// Opens what was sealed; `None` where the key is another or a byte has changed.
pub(super) fn open(
    key: &[u8; 32],
    nonce: &[u8; 24],
    about: &[u8],
    sealed: &[u8],
) -> Option<Zeroizing<Vec<u8>>> {
    let payload = Payload {
        msg: sealed,
        aad: about,
    };
    XChaCha20Poly1305::new(&(*key).into())
        .decrypt(&XNonce::from(*nonce), payload)
        .ok()
        .map(Zeroizing::new)
}

/// A key that was sealed, as [`open`] opens it: of these one view may need many.
pub(super) fn open_key(
    wrap: &[u8; 32],
    nonce: &[u8; 24],
    about: &[u8],
    sealed: &[u8],
) -> Option<Zeroizing<[u8; 32]>> {
    let (key, tag) = sealed.split_at_checked(32)?;
    let mut key = Zeroizing::new(<[u8; 32]>::try_from(key).ok()?);
    XChaCha20Poly1305::new(&(*wrap).into())
        .decrypt_inout_detached(
            &XNonce::from(*nonce),
            about,
            key.as_mut_slice().into(),
            &tag.try_into().ok()?,
        )
        .ok()?;
    Some(key)
}

/// A sum over a row beside the chain, kept with it. A wrong PIN and a row that rotted
/// look the same to the cipher; with the sum they do not. It guards against damage,
/// not against a person.
pub(super) fn row_sum(table: &str, fields: &[&[u8]]) -> [u8; 32] {
    let mut sum = Sha256::new();
    sum.update(b"standsquare/row/");
    for field in std::iter::once(&table.as_bytes()).chain(fields) {
        sum.update((field.len() as u64).to_be_bytes());
        sum.update(field);
    }
    sum.finalize().into()
}
