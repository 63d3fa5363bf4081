//! The office's signing key: made at the first start, kept in a file that only the
//! office's own user can read.

use ed25519_dalek::SigningKey;
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::Path;

/// File name of the key in the office's folder: 64 hexadecimal digits.
pub const KEY_FILE: &str = "office.key";

/// Why there is no key to sign with.
#[derive(Debug, thiserror::Error)]
pub enum KeyFault {
    /// The file cannot be read or written.
    #[error("the office's key file {file} cannot be used: {reason}")]
    File {
        /// Which.
        file: String,
        /// Why.
        reason: io::Error,
    },
    /// The file holds something else.
    #[error(
        "{0} does not hold a key (64 hexadecimal digits); put the right one back: with another \
         key every phone would refuse this office's receipts"
    )]
    NotAKey(String),
    /// The system gives no randomness.
    #[error("the system gives no random bytes: {0}")]
    NoRandomness(String),
}

/// Reads the key in `dir`, or makes one and keeps it there (mode 0600).
///
/// # Errors
/// [`KeyFault`]. A file that is there is never overwritten.
pub fn load_or_make(dir: &Path) -> Result<SigningKey, KeyFault> {
    let file = dir.join(KEY_FILE);
    let name = file.display().to_string();
    match fs::read_to_string(&file) {
        Ok(text) => {
            let mut seed = [0; 32];
            hex::decode_to_slice(text.trim(), &mut seed).map_err(|_| KeyFault::NotAKey(name))?;
            Ok(SigningKey::from_bytes(&seed))
        }
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            let mut seed = [0; 32];
            getrandom::fill(&mut seed).map_err(|e| KeyFault::NoRandomness(e.to_string()))?;
            keep(&file, &seed).map_err(|reason| KeyFault::File { file: name, reason })?;
            Ok(SigningKey::from_bytes(&seed))
        }
        Err(reason) => Err(KeyFault::File { file: name, reason }),
    }
}

/// Writes the key beside its place and moves it there, so that a crash never leaves
/// half a key.
fn keep(file: &Path, seed: &[u8; 32]) -> io::Result<()> {
    let beside = file.with_extension("new");
    let _ = fs::remove_file(&beside);
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut out = options.open(&beside)?;
    out.write_all(hex::encode(seed).as_bytes())?;
    out.sync_all()?;
    fs::rename(&beside, file)?;
    #[cfg(unix)]
    if let Some(dir) = file.parent() {
        fs::File::open(dir)?.sync_all()?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_made_once_and_kept_to_oneself() {
        let dir = tempfile::tempdir().expect("a folder");
        let first = load_or_make(dir.path()).expect("made");
        let again = load_or_make(dir.path()).expect("read");
        assert_eq!(first.to_bytes(), again.to_bytes());
        assert_ne!(first.to_bytes(), [0; 32]);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = fs::metadata(dir.path().join(KEY_FILE))
                .expect("there")
                .permissions()
                .mode();
            assert_eq!(mode & 0o777, 0o600);
        }
    }

    #[test]
    fn a_file_that_holds_no_key_is_left_alone() {
        let dir = tempfile::tempdir().expect("a folder");
        let file = dir.path().join(KEY_FILE);
        fs::write(&file, "something else").expect("written");
        assert!(matches!(
            load_or_make(dir.path()),
            Err(KeyFault::NotAKey(_))
        ));
        assert_eq!(
            fs::read_to_string(&file).expect("still there"),
            "something else"
        );
    }
}
