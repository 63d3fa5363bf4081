//! The journal of one phone in its file.

use std::fs;
use std::path::{Path, PathBuf};

use ed25519_dalek::SigningKey;
use rusqlite::{Connection, TransactionBehavior};
use zeroize::Zeroizing;

use super::files::{folder_of, make_folder, sync_folder};
use super::item::{Head, Item};
use super::kept::{self, Kept};
use super::rest::Rest;
use super::salvage::{Note, SalvageReport};
use super::whole::{self, Device, Row, Tally};
use super::writing::{Writing, begin, open_device};
use super::{Salted, StoreFault, WrappedKey, header, people, schema, subjects};
use crate::record::ChainCheck;
use crate::record::fact::Fact;

/// How a journal is opened.
pub struct Opening<'a> {
    /// 32 bytes that the platform keeps for this phone.
    pub device_secret: [u8; 32],
    /// Now, Unix milliseconds.
    pub at_ms: i64,
    /// Fresh randomness, used only if the journal has to be made.
    pub entropy: [u8; 32],
    /// What the software calls itself.
    pub software: &'a str,
}

/// Why the device seals a journal by itself: its file was salvaged.
const WHY_SALVAGED: u8 = 4;

/// A file of at most so many events is gone through whole before it opens; what a larger
/// one holds from before is left to [`Journal::check_on`]. Own choice: on the machine it
/// was measured on, going through so many takes some ten milliseconds.
const AT_ONCE: u64 = 5_000;

/// The journal of one phone. One process holds it at a time.
pub struct Journal {
    pub(super) db: Connection,
    path: PathBuf,
    device: SigningKey,
    pub(super) device_secret: Zeroizing<[u8; 32]>,
    /// Out of that secret: opens handlers' data, of which one view may ask for many.
    wrap: Zeroizing<[u8; 32]>,
    id: [u8; 16],
    pub(super) chain: ChainCheck,
    pub(super) tally: Tally,
    /// What was worked out of the events earlier, and the chain as it stood there.
    pub(super) kept: Option<Kept>,
    /// What of the file has not been gone through since it was opened.
    pub(super) rest: Option<Rest>,
    /// Events that opening read and held to the chain, until somebody asks for them.
    pub(super) read: Vec<Row>,
    salvage: Option<SalvageReport>,
    doubt: Option<String>,
}

impl Journal {
    /// Opens the file at `path`, or makes it and its folder. A damaged file is
    /// set aside (never deleted) and what can be read of it, up to the last good
    /// event, is carried into a new one, which says so in its chain;
    /// [`Journal::salvage`] then tells.
    ///
    /// A small file is gone through whole first. Of a large one that has something kept
    /// ([`Journal::keep`]) only what came after it is; [`Journal::check_on`] does the rest.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn open(path: &Path, opening: Opening) -> Result<Journal, StoreFault> {
        Self::open_at(path, &opening, AT_ONCE)
    }

    /// As [`Journal::open`], the file gone through whole whatever its size: after
    /// [`Journal::check_on`] has found damage, and for tools.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn open_whole(path: &Path, opening: Opening) -> Result<Journal, StoreFault> {
        Self::open_at(path, &opening, u64::MAX)
    }

    /// As [`Journal::open`], leaving the rest of any file for later: for tests.
    #[doc(hidden)]
    pub fn open_for_test(path: &Path, opening: Opening) -> Result<Journal, StoreFault> {
        Self::open_at(path, &opening, 0)
    }

    /// Lets the file go and opens it again, gone through whole: after
    /// [`Journal::check_on`] has found damage.
    ///
    /// # Errors
    /// See [`StoreFault`]. The journal is then in doubt, and this may be tried again.
    pub fn open_again(&mut self, opening: Opening) -> Result<(), StoreFault> {
        // The file is held for as long as the connection lives.
        self.db = Connection::open_in_memory()?;
        self.doubt = Some("it is being opened again".into());
        let path = self.path.clone();
        *self = Self::open_whole(&path, opening)?;
        Ok(())
    }

    fn open_at(path: &Path, opening: &Opening, at_once: u64) -> Result<Journal, StoreFault> {
        make_folder(folder_of(path))?;
        let note = match Note::read(path)? {
            Some(note) => note,
            None => match Self::open_sound(path, opening, at_once) {
                Err(StoreFault::Damaged { reason }) => Note::begin(path, &reason, opening.at_ms)?,
                other => return other,
            },
        };
        let report = note.carry_on(path)?;
        let mut journal = Self::open_sound(path, opening, u64::MAX)?;
        journal.tell_of(&note, opening.at_ms)?;
        note.done()?;
        journal.salvage = Some(report);
        Ok(journal)
    }

    fn open_sound(path: &Path, opening: &Opening, at_once: u64) -> Result<Journal, StoreFault> {
        header::look(path)?;
        let new = !path.exists();
        let mut db = schema::connect(path, true)?;
        schema::prepare(&db)?;
        schema::migrate(&mut db, |tx| begin(tx, opening))?;
        if new {
            sync_folder(folder_of(path))?;
        }
        let tally = whole::says(&db)?;
        let sealed = Device::both(&db)?;
        let device = open_device(&sealed, &opening.device_secret)?;
        let kept = kept::read(&db, &opening.device_secret)?;
        let (chain, rest, read) = match &kept {
            Some(kept) if tally.head.seq > at_once => {
                let (chain, read) = whole::follow_keeping(&db, kept.chain.clone())?;
                (chain, Some(Rest::new()), read)
            }
            _ => {
                whole::sound(&db)?;
                whole::beside(&db, &tally)?;
                let chain = whole::follow(&db, ChainCheck::new())?;
                (chain, None, Vec::new())
            }
        };
        whole::ends_there(&chain, &tally)?;
        if chain.device_key() != Some(device.verifying_key().to_bytes()) {
            return Err(StoreFault::damaged(
                "its device key is not the one that its first event names",
            ));
        }
        Ok(Journal {
            db,
            path: path.to_owned(),
            device,
            device_secret: Zeroizing::new(opening.device_secret),
            wrap: subjects::wrap(&opening.device_secret),
            id: sealed.id,
            chain,
            tally,
            kept,
            rest,
            read,
            salvage: None,
            doubt: None,
        })
    }

    /// Tells in the chain that the file was salvaged, if it does not say so yet.
    fn tell_of(&mut self, note: &Note, at_ms: i64) -> Result<(), StoreFault> {
        let name = note.name();
        let told = self
            .events_from(self.tally.head.seq.saturating_sub(1))?
            .into_iter()
            .any(|e| matches!(e.fact, Fact::Salvaged { set_aside, .. } if set_aside == name));
        if !told {
            let fact = Fact::Salvaged {
                set_aside: name,
                file: note.hash()?.into(),
                reason: note.reason().to_owned(),
            };
            let seal = Item::Seal { why: WHY_SALVAGED };
            self.commit(at_ms, vec![Item::Fact(fact), seal])?;
        }
        Ok(())
    }

    /// Writes the items in one durable transaction: after `Ok` they are on the
    /// disk, after an error none of them is in the journal, and it can be used on.
    ///
    /// # Errors
    /// See [`StoreFault`]. After [`StoreFault::MustReopen`], and after an error that the
    /// system gave while it was putting them on the disk, the journal has to be opened
    /// again: only then is it seen whether they are there, all of them, or not.
    pub fn commit(&mut self, at_ms: i64, items: Vec<Item>) -> Result<Head, StoreFault> {
        self.in_no_doubt()?;
        let before = self.tally;
        let erases = items.iter().any(|i| matches!(i, Item::Erase { .. }));
        let result = self.write(at_ms, items);
        if let Err(fault) = &result {
            self.tally = before;
            self.step_back(fault);
        }
        if erases && result.is_ok() {
            // The log still holds the pages as they were. The act is done all the same: what
            // is left in the log goes with the next checkpoint.
            let _ = self.checkpoint();
        }
        result
    }

    fn write(&mut self, at_ms: i64, items: Vec<Item>) -> Result<Head, StoreFault> {
        let tx = self
            .db
            .transaction_with_behavior(TransactionBehavior::Immediate)?;
        let mut writing = Writing {
            tx: &tx,
            chain: &mut self.chain,
            tally: &mut self.tally,
            at_ms,
        };
        for item in items {
            writing.item(item, &self.device, &self.device_secret)?;
        }
        self.tally.write(&tx)?;
        tx.commit()?;
        Ok(self.tally.head)
    }

    /// After a failed write: the chain as it stands on the disk, or doubt.
    pub(super) fn step_back(&mut self, fault: &StoreFault) {
        if fault.leaves_doubt() || !self.db.is_autocommit() {
            self.doubt = Some(fault.to_string());
            return;
        }
        let start = self.kept.as_ref().map(|kept| kept.chain.clone());
        match whole::follow(&self.db, start.unwrap_or_default()) {
            Ok(chain) if chain.head() == self.tally.head.hash => self.chain = chain,
            _ => self.doubt = Some(fault.to_string()),
        }
    }

    pub(super) fn in_no_doubt(&self) -> Result<(), StoreFault> {
        match &self.doubt {
            None => Ok(()),
            Some(reason) => Err(StoreFault::MustReopen {
                reason: reason.clone(),
            }),
        }
    }

    /// Where the chain stands.
    pub fn head(&self) -> Head {
        self.tally.head
    }

    /// Number of the last seal; 0 for none.
    pub fn sealed_up_to(&self) -> u64 {
        self.chain.sealed_up_to()
    }

    /// The device's public key.
    pub fn device_key(&self) -> [u8; 32] {
        self.device.verifying_key().to_bytes()
    }

    /// Signs with the device's key. The bytes begin with the domain of what they are, so
    /// that one thing's signature is never another's.
    pub fn sign_by_device(&self, bytes: &[u8]) -> [u8; 64] {
        use ed25519_dalek::Signer;
        self.device.sign(bytes).to_bytes()
    }

    /// The code of a slip, signed by this device.
    #[cfg(feature = "slip")]
    pub fn slip(&self, slip: &crate::record::slip::Slip) -> String {
        slip.code(&self.device_key(), |bytes| self.sign_by_device(bytes))
    }

    /// The journal's random id.
    pub fn journal_id(&self) -> [u8; 16] {
        self.id
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What was salvaged, if this opening found the file damaged.
    pub fn salvage(&self) -> Option<&SalvageReport> {
        self.salvage.as_ref()
    }

    /// The text kept under a hash.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn blob(&self, hash: &[u8; 32]) -> Result<Option<Vec<u8>>, StoreFault> {
        whole::text(&self.db, hash)
    }

    /// Personal data by its random id; `None` once erased.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn subject(&self, id: &[u8; 16]) -> Result<Option<Vec<u8>>, StoreFault> {
        self.subjects_opened()?.clear(id)
    }

    /// The same, for asking after many.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn subjects_opened(&self) -> Result<subjects::Opener<'_>, StoreFault> {
        subjects::Opener::new(&self.db, &self.wrap)
    }

    /// The same with the salt of its commitment: whoever has both can hold them against the
    /// chain.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn subject_salted(&self, id: &[u8; 16]) -> Result<Option<Salted>, StoreFault> {
        self.subjects_opened()?.salted(id)
    }

    /// The ids of all personal data that is kept.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn subjects(&self) -> Result<Vec<[u8; 16]>, StoreFault> {
        subjects::ids(&self.db)
    }

    /// Erases personal data with its key and salt; whether there was any. The chain
    /// goes on verifying: it holds a random id and a commitment that nobody can open
    /// any more. Copies made before, and damaged files set aside, are not reached.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn erase_subject(&mut self, id: &[u8; 16]) -> Result<bool, StoreFault> {
        Ok(self.erase_subjects(std::slice::from_ref(id))? > 0)
    }

    /// Erases many at once, all or none (what a roster brought that is past its keeping);
    /// how many there were. Otherwise as [`Journal::erase_subject`].
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn erase_subjects(&mut self, ids: &[[u8; 16]]) -> Result<u64, StoreFault> {
        self.in_no_doubt()?;
        let result = self.erase(ids);
        if let Err(fault) = &result {
            self.step_back(fault);
        }
        let gone = result?;
        // The log still holds the pages as they were.
        self.checkpoint()?;
        Ok(gone)
    }

    fn erase(&mut self, ids: &[[u8; 16]]) -> Result<u64, StoreFault> {
        let tx = self
            .db
            .transaction_with_behavior(TransactionBehavior::Immediate)?;
        let mut gone = 0;
        for id in ids {
            gone += u64::from(subjects::erase(&tx, id)?);
        }
        let mut tally = self.tally;
        tally.subjects -= gone.cast_signed();
        tally.write(&tx)?;
        tx.commit()?;
        self.tally = tally;
        Ok(gone)
    }

    /// A measurer's wrapped key.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn person_key(&self, person: &str) -> Result<Option<WrappedKey>, StoreFault> {
        people::find(&self.db, person)
    }

    /// The key of the phone's owner as it is wrapped for their biometrics, if it is.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn owner_key(&self) -> Result<Option<WrappedKey>, StoreFault> {
        people::owner(&self.db)
    }

    /// Moves what the write-ahead log holds into the file, and empties the log.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn checkpoint(&mut self) -> Result<(), StoreFault> {
        let blocked: i64 = self
            .db
            .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
        if blocked != 0 {
            return Err(StoreFault::Busy {
                reason: "the log is being read".into(),
            });
        }
        Ok(())
    }

    /// Writes a whole copy to `path`, which must not exist: the events, and with them
    /// everything kept beside the chain, wrapped as it is here.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn export_to(&self, path: &Path) -> Result<(), StoreFault> {
        if path.exists() {
            return Err(StoreFault::refused("a file of that name is there already"));
        }
        let name = path
            .to_str()
            .ok_or_else(|| StoreFault::refused("the name of the copy is not Unicode"))?;
        self.db.execute("VACUUM INTO ?", [name])?;
        fs::File::open(path)?.sync_all()?;
        sync_folder(folder_of(path))?;
        Ok(())
    }
}
