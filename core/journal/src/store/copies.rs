//! Other phones' journals as far as they were copied here: when a phone is lost, what it
//! gave after its last dog is here, whole and signed, to be verified and sent on.
//!
//! One file for each journal, `<id>.copy`, a run from the first event on (`record::run`).
//! A run that tells another history than the one held is kept beside it, never over it.

use std::fs;
use std::path::{Path, PathBuf};

use super::files::{make_folder, write};
use super::{Journal, StoreFault};
use crate::record::run::{Copied, Run, RunFault};

/// Why a copy is not taken in.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum CopyFault {
    /// What was given does not hold.
    #[error(transparent)]
    Run(#[from] RunFault),
    /// It could not be kept.
    #[error(transparent)]
    Store(#[from] StoreFault),
    /// It is this phone's own journal.
    #[error("it is a copy of this phone's own journal")]
    OwnJournal,
}

/// What became of a run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Taken {
    /// The journal's random id.
    pub journal: [u8; 16],
    /// Events that were new.
    pub new: u64,
    /// Number of the last event held now.
    pub held: u64,
}

/// The folder of copies.
pub struct Copies {
    folder: PathBuf,
}

fn name(journal: &[u8; 16], suffix: &str) -> String {
    let id: String = journal.iter().map(|b| format!("{b:02x}")).collect();
    format!("{id}{suffix}.copy")
}

impl Copies {
    /// The copies in `folder`, which is made if it is not there.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn open(folder: &Path) -> Result<Copies, StoreFault> {
        make_folder(folder)?;
        Ok(Copies {
            folder: folder.to_owned(),
        })
    }

    fn read(&self, journal: &[u8; 16]) -> Result<Option<Copied>, CopyFault> {
        let path = self.folder.join(name(journal, ""));
        match fs::read(path) {
            Ok(bytes) => Ok(Some(Copied::begin(&Run::decode_strict(&bytes)?)?)),
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(None),
            Err(e) => Err(StoreFault::from(e).into()),
        }
    }

    /// Takes in what another phone gave. After `Ok` it is on the disk. `own` is this
    /// phone's own journal, which is never a copy.
    ///
    /// # Errors
    /// [`CopyFault`]. A run of another history is kept in a file of its own all the same
    /// ([`RunFault::Fork`]); a copy on file that rotted is set aside and begun anew.
    pub fn take(&self, bytes: &[u8], own: &[u8; 16]) -> Result<Taken, CopyFault> {
        let run = Run::decode_strict(bytes)?;
        if run.journal == *own {
            return Err(CopyFault::OwnJournal);
        }
        let held = match self.read(&run.journal) {
            Err(CopyFault::Run(_)) => {
                self.set_aside(&run.journal)?;
                None
            }
            other => other?,
        };
        let before = held.as_ref().map_or(0, Copied::held);
        let copied = match held {
            None => Copied::begin(&run)?,
            Some(mut copied) => {
                let result = copied.take(&run);
                if let Err(RunFault::Fork { seq }) = result {
                    let path = self.free(&run.journal, &format!("-fork-{seq}"));
                    write(&path, bytes).map_err(StoreFault::from)?;
                }
                result?;
                copied
            }
        };
        if copied.held() > before {
            let path = self.folder.join(name(&run.journal, ""));
            write(&path, &copied.run().encode()).map_err(StoreFault::from)?;
        }
        Ok(Taken {
            journal: run.journal,
            new: copied.held() - before,
            held: copied.held(),
        })
    }

    fn set_aside(&self, journal: &[u8; 16]) -> Result<(), StoreFault> {
        let to = self.free(journal, "-damaged");
        super::files::rename(&self.folder.join(name(journal, "")), &to)?;
        Ok(())
    }

    /// A name that is not taken yet.
    fn free(&self, journal: &[u8; 16], suffix: &str) -> PathBuf {
        (1..)
            .map(|n| self.folder.join(name(journal, &format!("{suffix}-{n}"))))
            .find(|path| !path.exists())
            .unwrap_or_else(|| unreachable!("there are more numbers than files"))
    }

    /// Number of the last event held of a journal; 0 for none. The other phone gives what
    /// comes after it.
    ///
    /// # Errors
    /// [`CopyFault`]: the copy on file does not hold.
    pub fn held(&self, journal: &[u8; 16]) -> Result<u64, CopyFault> {
        Ok(self.read(journal)?.map_or(0, |copied| copied.held()))
    }

    /// A journal as far as it was copied, every event followed again.
    ///
    /// # Errors
    /// [`CopyFault`]: the copy on file does not hold.
    pub fn copied(&self, journal: &[u8; 16]) -> Result<Option<Copied>, CopyFault> {
        self.read(journal)
    }

    /// Ids of the journals of which there is a copy.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn journals(&self) -> Result<Vec<[u8; 16]>, StoreFault> {
        let mut out: Vec<[u8; 16]> = Vec::new();
        for entry in fs::read_dir(&self.folder)? {
            let file = entry?.file_name();
            let Some(id) = file.to_str().and_then(|f| f.strip_suffix(".copy")) else {
                continue;
            };
            let digits = id.as_bytes();
            let mut journal = [0; 16];
            let whole = digits.len() == 32
                && digits.chunks(2).zip(&mut journal).all(|(two, byte)| {
                    let read = std::str::from_utf8(two).ok();
                    let read = read.and_then(|two| u8::from_str_radix(two, 16).ok());
                    read.map(|read| *byte = read).is_some()
                });
            if whole {
                // In order as they come: a sort would weigh 2 kB (`core.size`).
                out.insert(out.partition_point(|known| *known < journal), journal);
            }
        }
        Ok(out)
    }
}

impl Journal {
    /// What a second phone is given after a dog: everything behind event number `held`, up
    /// to the last seal; `None` if that phone has all of it.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn copy_after(&self, held: u64) -> Result<Option<Vec<u8>>, StoreFault> {
        let events = self.events_between(held + 1, self.sealed_up_to())?;
        if events.is_empty() {
            return Ok(None);
        }
        let run = Run {
            device_key: self.device_key(),
            journal: self.journal_id(),
            from_seq: held + 1,
            events: events.into_iter().map(|e| e.bytes).collect(),
        };
        Ok(Some(run.encode()))
    }
}
