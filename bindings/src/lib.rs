//! The core as Kotlin and Swift see it: one object, [`Phone`], over
//! `standsquare-session`. The types of acts and views come from that crate.
//!
//! One call is one act. The object may be called from any thread and does one
//! act at a time; screens call it from one thread of their own, never the main one.

uniffi::setup_scaffolding!();
standsquare_session::uniffi_reexport_scaffolding!();

use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use standsquare_session as session;
use standsquare_session::{Act, Answer, PhoneFault, Stamp, View};
#[cfg(feature = "recordings")]
use standsquare_session::{Recording, RecordingFault};

/// The phone: opened once, then one act after another.
#[derive(uniffi::Object)]
pub struct Phone {
    inner: Mutex<session::Phone>,
}

impl Phone {
    fn held(&self) -> MutexGuard<'_, session::Phone> {
        // A panic half way through an act leaves the journal as it was: SQLite rolled
        // back. The state is at worst one act behind and is caught up by the next.
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[uniffi::export]
impl Phone {
    /// Opens the folder `dir`, or makes it. `device_secret`: 32 bytes.
    #[uniffi::constructor]
    pub fn open(
        dir: String,
        device_secret: Vec<u8>,
        stamp: Stamp,
    ) -> Result<Arc<Self>, PhoneFault> {
        let secret: [u8; 32] = device_secret.try_into().map_err(|_| PhoneFault::Internal {
            reason: "the device secret must be 32 bytes".into(),
        })?;
        let phone = session::Phone::open(Path::new(&dir), secret, &stamp)?;
        Ok(Arc::new(Phone {
            inner: Mutex::new(phone),
        }))
    }

    /// Does one act; `seen` is the revision of the view it was made on.
    pub fn apply(&self, act: Act, seen: i64, stamp: Stamp) -> Result<Answer, PhoneFault> {
        self.held().apply(&act, seen, &stamp)
    }

    /// What to show now.
    pub fn view(&self) -> Result<View, PhoneFault> {
        Ok(self.held().view())
    }

    /// `session.json` of the session under way or the last one.
    pub fn session_json(&self) -> Result<String, PhoneFault> {
        Ok(self.held().session_json())
    }

    /// `return.csv` of the same session.
    pub fn return_csv(&self) -> Result<String, PhoneFault> {
        Ok(self.held().return_csv())
    }

    /// Writes a whole copy of the journal to `path`, which must not exist.
    pub fn export_journal(&self, path: String) -> Result<(), PhoneFault> {
        self.held().export_journal(Path::new(&path))
    }
}

/// Reads a recorded session.
#[cfg(feature = "recordings")]
#[uniffi::export]
pub fn read_recording(text: String) -> Result<Recording, RecordingFault> {
    Recording::read(&text)
}
