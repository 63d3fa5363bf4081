//! The journal of one phone in its file.

use std::fs;
use std::path::{Path, PathBuf};

use ed25519_dalek::{Signer, SigningKey};
use rusqlite::{Connection, Transaction, TransactionBehavior, params};
use zeroize::Zeroizing;

use super::files::{folder_of, make_folder, sync_folder};
use super::item::{Head, Item, Stored};
use super::salvage::{Note, SalvageReport};
use super::seals::{derive, open, seal};
use super::subjects::Subject;
use super::whole::{self, Device, Tally, each_event};
use super::{StoreFault, WrappedKey, header, people, schema, subjects};
use crate::record::fact::{ALG_ED25519, ALG_SHA256, Fact};
use crate::record::{ChainCheck, Event, FORMAT, Hash, chain, genesis, seal_bytes};

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

/// The journal of one phone. One process holds it at a time.
pub struct Journal {
    db: Connection,
    path: PathBuf,
    device: SigningKey,
    device_secret: Zeroizing<[u8; 32]>,
    id: [u8; 16],
    chain: ChainCheck,
    tally: Tally,
    salvage: Option<SalvageReport>,
    doubt: Option<String>,
}

impl Journal {
    /// Opens the file at `path`, or makes it and its folder. A damaged file is
    /// set aside (never deleted) and what can be read of it, up to the last good
    /// event, is carried into a new one, which says so in its chain;
    /// [`Journal::salvage`] then tells.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn open(path: &Path, opening: Opening) -> Result<Journal, StoreFault> {
        make_folder(folder_of(path))?;
        let note = match Note::read(path)? {
            Some(note) => note,
            None => match Self::open_sound(path, &opening) {
                Err(StoreFault::Damaged { reason }) => Note::begin(path, &reason, opening.at_ms)?,
                other => return other,
            },
        };
        let report = note.carry_on(path)?;
        let mut journal = Self::open_sound(path, &opening)?;
        journal.tell_of(&note, opening.at_ms)?;
        note.done()?;
        journal.salvage = Some(report);
        Ok(journal)
    }

    fn open_sound(path: &Path, opening: &Opening) -> Result<Journal, StoreFault> {
        header::look(path)?;
        let new = !path.exists();
        let mut db = schema::connect(path, true)?;
        schema::prepare(&db)?;
        schema::migrate(&mut db, |tx| begin(tx, opening))?;
        if new {
            sync_folder(folder_of(path))?;
        }
        let (chain, tally, kept) = whole::check(&db)?;
        let device = open_device(&kept, &opening.device_secret)?;
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
            id: kept.id,
            chain,
            tally,
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
        let result = self.write(at_ms, items);
        if let Err(fault) = &result {
            self.tally = before;
            self.step_back(fault);
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
    fn step_back(&mut self, fault: &StoreFault) {
        if fault.leaves_doubt() || !self.db.is_autocommit() {
            self.doubt = Some(fault.to_string());
            return;
        }
        match whole::follow(&self.db) {
            Ok(chain) if chain.head() == self.tally.head.hash => self.chain = chain,
            _ => self.doubt = Some(fault.to_string()),
        }
    }

    fn in_no_doubt(&self) -> Result<(), StoreFault> {
        match &self.doubt {
            None => Ok(()),
            Some(reason) => Err(StoreFault::MustReopen {
                reason: reason.clone(),
            }),
        }
    }

    /// Every event from this number on, in order. What is read is held to the chain.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn events_from(&self, seq: u64) -> Result<Vec<Stored>, StoreFault> {
        let mut next = seq.max(1);
        let head = self.tally.head;
        if next > head.seq {
            return Ok(Vec::new());
        }
        let room = usize::try_from(head.seq - next + 1).unwrap_or_default();
        let mut out = Vec::with_capacity(room.min(1 << 20));
        let mut before = None;
        // The one before the first is read too, for its hash.
        each_event(&self.db, next - 1, |(seq, hash, bytes)| {
            if seq + 1 == next && before.is_none() {
                before = Some(hash);
                return Ok(());
            }
            let prev = before.unwrap_or_else(genesis);
            if seq != next || chain(&prev, &bytes) != hash {
                return Err(StoreFault::damaged(format!(
                    "event {next} is not as it was written"
                )));
            }
            let event: Event = minicbor::decode(&bytes)
                .map_err(|e| StoreFault::damaged(format!("event {seq}: {e}")))?;
            out.push(Stored {
                seq,
                at_ms: event.at_ms,
                hash,
                bytes,
                fact: event.fact,
            });
            before = Some(hash);
            next += 1;
            Ok(())
        })?;
        if before != Some(head.hash) || next != head.seq + 1 {
            return Err(StoreFault::damaged("its last events are missing"));
        }
        Ok(out)
    }

    /// Every event, in order.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn events(&self) -> Result<Vec<Stored>, StoreFault> {
        self.events_from(1)
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
        subjects::find(&self.db, id)?
            .map(|subject| subject.open(&self.device_secret))
            .transpose()
    }

    /// Erases personal data with its key and salt; whether there was any. The chain
    /// goes on verifying: it holds a random id and a commitment that nobody can open
    /// any more. Copies made before, and damaged files set aside, are not reached.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn erase_subject(&mut self, id: &[u8; 16]) -> Result<bool, StoreFault> {
        self.in_no_doubt()?;
        let result = self.erase(id);
        if let Err(fault) = &result {
            self.step_back(fault);
        }
        let gone = result?;
        // The log still holds the page as it was.
        self.checkpoint()?;
        Ok(gone)
    }

    fn erase(&mut self, id: &[u8; 16]) -> Result<bool, StoreFault> {
        let tx = self
            .db
            .transaction_with_behavior(TransactionBehavior::Immediate)?;
        let gone = subjects::erase(&tx, id)?;
        let mut tally = self.tally;
        tally.subjects -= i64::from(gone);
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

    /// Syncs less than it must: for the control of the crash tests.
    #[doc(hidden)]
    pub fn weaken_for_test(&mut self) -> Result<(), StoreFault> {
        Ok(self.db.pragma_update(None, "synchronous", "NORMAL")?)
    }

    /// How many pages the file has: for tests of a full disk.
    #[doc(hidden)]
    pub fn pages_for_test(&self) -> Result<i64, StoreFault> {
        Ok(self
            .db
            .pragma_query_value(None, "page_count", |row| row.get(0))?)
    }

    /// Lets the file grow to so many pages only: for tests of a full disk.
    #[doc(hidden)]
    pub fn limit_pages_for_test(&mut self, pages: i64) -> Result<(), StoreFault> {
        self.db
            .pragma_update_and_check(None, "max_page_count", pages, |_| Ok(()))?;
        Ok(())
    }
}

/// A new journal: the device's key and the event that names it.
fn begin(tx: &Transaction, opening: &Opening) -> Result<(), StoreFault> {
    let seed = derive::<32>("device/seed", &[], &opening.entropy);
    let id = *derive("journal/id", &[], &opening.entropy);
    let nonce = *derive("device/nonce", &[], &opening.entropy);
    let key = SigningKey::from_bytes(&seed);
    let wrap = derive("device/wrap", &[], &opening.device_secret);
    Device {
        id,
        nonce,
        sealed: seal(&wrap, &nonce, &about_device(&id), seed.as_slice()),
    }
    .write(tx)?;
    let mut tally = Tally::nothing();
    Writing {
        tx,
        chain: &mut ChainCheck::new(),
        tally: &mut tally,
        at_ms: opening.at_ms,
    }
    .fact(Fact::JournalBegun {
        device_key: key.verifying_key().to_bytes().into(),
        alg: ALG_ED25519,
        journal: id.into(),
        software: opening.software.to_owned(),
        hash_alg: ALG_SHA256,
    })?;
    tally.write(tx)
}

fn about_device(id: &[u8; 16]) -> Vec<u8> {
    [b"standsquare/device-key/".as_slice(), id].concat()
}

fn open_device(kept: &Device, device_secret: &[u8; 32]) -> Result<SigningKey, StoreFault> {
    let wrap = derive("device/wrap", &[], device_secret);
    let seed = open(&wrap, &kept.nonce, &about_device(&kept.id), &kept.sealed)
        .ok_or(StoreFault::WrongDeviceSecret {})?;
    let seed: &[u8; 32] = seed
        .as_slice()
        .try_into()
        .map_err(|_| StoreFault::damaged("the device's key has another length"))?;
    Ok(SigningKey::from_bytes(seed))
}

/// A transaction under way.
struct Writing<'a> {
    tx: &'a Transaction<'a>,
    chain: &'a mut ChainCheck,
    tally: &'a mut Tally,
    at_ms: i64,
}

impl Writing<'_> {
    fn item(
        &mut self,
        item: Item,
        device: &SigningKey,
        device_secret: &[u8; 32],
    ) -> Result<(), StoreFault> {
        match item {
            Item::Fact(fact) => self.fact(fact),
            Item::Seal { why } => {
                let head = self.tally.head.hash;
                self.fact(Fact::Sealed {
                    why,
                    alg: ALG_ED25519,
                    head: head.into(),
                    signature: device.sign(&seal_bytes(&head)).to_bytes().into(),
                })
            }
            Item::Blob { hash, bytes } => self.text(hash, &bytes),
            Item::Subject {
                id,
                clear,
                salt,
                key,
                nonce,
            } => {
                let key = Zeroizing::new(key);
                let subject = Subject::new(id, &clear, salt, &key, nonce, device_secret);
                subjects::write(self.tx, &subject)?;
                self.tally.subjects += 1;
                Ok(())
            }
            Item::PersonKey(key) => {
                let new = people::write(self.tx, &key)?;
                self.tally.people += i64::from(new);
                Ok(())
            }
        }
    }

    /// Appends an event. What the office would refuse is refused here.
    fn fact(&mut self, fact: Fact) -> Result<(), StoreFault> {
        let bytes = Event {
            version: FORMAT,
            at_ms: self.at_ms,
            fact,
        }
        .encode();
        self.chain
            .feed(&bytes)
            .map_err(|fault| StoreFault::refused(fault.to_string()))?;
        let hash: Hash = self.chain.head();
        self.tx
            .prepare_cached("INSERT INTO event (seq, hash, bytes) VALUES (?, ?, ?)")?
            .execute(params![self.chain.seq().cast_signed(), hash, bytes])?;
        self.tally.head = Head {
            seq: self.chain.seq(),
            hash,
        };
        Ok(())
    }

    fn text(&mut self, hash: Hash, bytes: &[u8]) -> Result<(), StoreFault> {
        if whole::sha256(bytes) != hash {
            return Err(StoreFault::refused(
                "a text under a hash that is not its own",
            ));
        }
        let new = self
            .tx
            .prepare_cached("INSERT OR IGNORE INTO text VALUES (?, ?)")?
            .execute(params![hash, bytes])?;
        self.tally.texts += new as i64;
        Ok(())
    }
}
