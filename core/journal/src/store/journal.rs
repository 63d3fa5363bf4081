//! The journal of one phone in its file.

use std::path::{Path, PathBuf};

use ed25519_dalek::{Signer, SigningKey};
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};

use super::fault::damaged;
use super::salvage::{self, SalvageReport};
use super::secrets::{derive, open, seal};
use super::{StoreFault, WrappedKey, schema};
use crate::record::fact::{ALG_ED25519, ALG_SHA256, Fact};
use crate::record::{Event, FORMAT, Hash, chain, genesis, seal_bytes};

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

/// Where the chain stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Head {
    /// The number of the newest event; 0 for none.
    pub seq: u64,
    /// The chain's head.
    pub hash: Hash,
}

/// An event as it is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stored {
    /// Its number, from 1.
    pub seq: u64,
    /// When, Unix milliseconds.
    pub at_ms: i64,
    /// The chain's head after it.
    pub hash: Hash,
    /// Its own bytes.
    pub bytes: Vec<u8>,
    /// What it says.
    pub fact: Fact,
}

/// One thing to write. A list of them is written whole or not at all.
#[derive(Clone, Debug)]
pub enum Item {
    /// An event.
    Fact(Fact),
    /// An event in which the device signs the head as it then stands.
    Seal {
        /// Why: 1 sign-off, 2 closing, 3 before a sync.
        why: u8,
    },
    /// A text kept beside the chain under its hash (a roster, a rule pack).
    Blob {
        /// SHA-256 of the bytes.
        hash: [u8; 32],
        /// The text.
        bytes: Vec<u8>,
    },
    /// Personal data, sealed under a key of its own so that it can be erased.
    Subject {
        /// Its random id.
        id: [u8; 16],
        /// The data.
        clear: Vec<u8>,
        /// The commitment's salt.
        salt: [u8; 32],
        /// Its own key.
        key: [u8; 32],
        /// Fresh.
        nonce: [u8; 24],
    },
    /// A measurer's key.
    PersonKey(WrappedKey),
}

/// The journal of one phone.
pub struct Journal {
    db: Connection,
    path: PathBuf,
    device: SigningKey,
    id: [u8; 16],
    head: Head,
    salvage: Option<SalvageReport>,
}

pub(super) fn bytes_of<const N: usize>(column: Vec<u8>) -> Result<[u8; N], StoreFault> {
    column
        .try_into()
        .map_err(|_| damaged("a column has another length than it must have"))
}

impl Journal {
    /// Opens the file at `path`, or makes it and its folder. A damaged file is
    /// set aside (never deleted) and what can be read of it, up to the last good
    /// event, is carried into a new one; [`Journal::salvage`] then tells.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn open(path: &Path, opening: Opening) -> Result<Journal, StoreFault> {
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder)?;
        }
        match Self::open_sound(path, &opening) {
            Err(StoreFault::Damaged { reason }) => {
                let report = salvage::set_aside(path, &reason, opening.at_ms)?;
                let mut journal = Self::open_sound(path, &opening)?;
                journal.salvage = Some(report);
                Ok(journal)
            }
            other => other,
        }
    }

    fn open_sound(path: &Path, opening: &Opening) -> Result<Journal, StoreFault> {
        let mut db = Connection::open(path)?;
        schema::prepare(&db)?;
        schema::migrate(&mut db)?;
        salvage::check(&db)?;
        let (device, id) = match read_device(&db)? {
            Some((id, nonce, sealed)) => {
                let seed = open(&opening.device_secret, &nonce, &sealed)
                    .ok_or(StoreFault::WrongDeviceSecret {})?;
                (SigningKey::from_bytes(&bytes_of(seed.to_vec())?), id)
            }
            None => {
                return Self::begin(db, path, opening);
            }
        };
        let head = read_head(&db)?;
        Ok(Journal {
            db,
            path: path.to_owned(),
            device,
            id,
            head,
            salvage: None,
        })
    }

    /// A new journal: the device's key and the event that names it, together.
    fn begin(mut db: Connection, path: &Path, opening: &Opening) -> Result<Journal, StoreFault> {
        let device = SigningKey::from_bytes(&derive("device-seed", &opening.entropy));
        let nonce: [u8; 24] = derive("device-nonce", &opening.entropy);
        let id: [u8; 16] = derive("journal-id", &opening.entropy);
        let tx = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        tx.execute(
            "INSERT INTO device (one, id, nonce, sealed) VALUES (1, ?, ?, ?)",
            params![
                id,
                nonce,
                seal(&opening.device_secret, &nonce, device.as_bytes())
            ],
        )?;
        let fact = Fact::JournalBegun {
            device_key: device.verifying_key().to_bytes().into(),
            alg: ALG_ED25519,
            journal: id.into(),
            software: opening.software.to_owned(),
            hash_alg: ALG_SHA256,
        };
        let head = append(
            &tx,
            Head {
                seq: 0,
                hash: genesis(),
            },
            opening.at_ms,
            fact,
        )?;
        tx.commit()?;
        Ok(Journal {
            db,
            path: path.to_owned(),
            device,
            id,
            head,
            salvage: None,
        })
    }

    /// Writes the items in one durable transaction: after `Ok` they are on the
    /// disk, after an error none of them is in the journal.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn commit(&mut self, at_ms: i64, items: Vec<Item>) -> Result<Head, StoreFault> {
        let tx = self
            .db
            .transaction_with_behavior(TransactionBehavior::Immediate)?;
        let mut head = self.head;
        for item in items {
            match item {
                Item::Fact(fact) => head = append(&tx, head, at_ms, fact)?,
                Item::Seal { why } => {
                    let fact = Fact::Sealed {
                        why,
                        alg: ALG_ED25519,
                        head: head.hash.into(),
                        signature: self.device.sign(&seal_bytes(&head.hash)).to_bytes().into(),
                    };
                    head = append(&tx, head, at_ms, fact)?;
                }
                Item::Blob { hash, bytes } => {
                    tx.execute(
                        "INSERT OR IGNORE INTO blob VALUES (?, ?)",
                        params![hash, bytes],
                    )?;
                }
                Item::Subject {
                    id,
                    clear,
                    salt,
                    key,
                    nonce,
                } => {
                    tx.execute(
                        "INSERT INTO subject (id, sealed, salt, key, nonce) VALUES (?, ?, ?, ?, ?)",
                        params![id, seal(&key, &nonce, &clear), salt, key, nonce],
                    )?;
                }
                Item::PersonKey(key) => write_person(&tx, &key)?,
            }
        }
        tx.commit()?;
        self.head = head;
        Ok(head)
    }

    /// Every event from this number on, in order.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn events_from(&self, seq: u64) -> Result<Vec<Stored>, StoreFault> {
        let mut rows = self
            .db
            .prepare_cached("SELECT seq, hash, bytes FROM event WHERE seq >= ? ORDER BY seq")?;
        let mut out = Vec::new();
        let mut rows = rows.query([i64::try_from(seq).unwrap_or(i64::MAX)])?;
        while let Some(row) = rows.next()? {
            let seq = row.get::<_, i64>(0)?.unsigned_abs();
            let bytes: Vec<u8> = row.get(2)?;
            let event = Event::decode_strict(&bytes).map_err(|f| damaged(f.to_string()))?;
            out.push(Stored {
                seq,
                at_ms: event.at_ms,
                hash: bytes_of(row.get(1)?)?,
                bytes,
                fact: event.fact,
            });
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
        self.head
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

    /// What was salvaged when the file was opened, if it was damaged.
    pub fn salvage(&self) -> Option<&SalvageReport> {
        self.salvage.as_ref()
    }

    /// The text kept under a hash.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn blob(&self, hash: &[u8; 32]) -> Result<Option<Vec<u8>>, StoreFault> {
        let mut find = self
            .db
            .prepare_cached("SELECT bytes FROM blob WHERE hash = ?")?;
        Ok(find.query_row([hash], |row| row.get(0)).optional()?)
    }

    /// Personal data by its random id; `None` once erased.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn subject(&self, id: &[u8; 16]) -> Result<Option<Vec<u8>>, StoreFault> {
        let mut find = self
            .db
            .prepare_cached("SELECT sealed, key, nonce FROM subject WHERE id = ?")?;
        let row: Option<(Vec<u8>, Vec<u8>, Vec<u8>)> = find
            .query_row([id], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
            .optional()?;
        let Some((sealed, key, nonce)) = row else {
            return Ok(None);
        };
        Ok(open(&bytes_of(key)?, &bytes_of(nonce)?, &sealed).map(|clear| clear.to_vec()))
    }

    /// Erases personal data with its key and salt. The chain goes on verifying: it
    /// holds a random id and a commitment that nobody can open any more.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn erase_subject(&mut self, id: &[u8; 16]) -> Result<(), StoreFault> {
        self.db.execute("DELETE FROM subject WHERE id = ?", [id])?;
        self.checkpoint()
    }

    /// A measurer's wrapped key.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn person_key(&self, person: &str) -> Result<Option<WrappedKey>, StoreFault> {
        let mut find = self.db.prepare_cached(
            "SELECT public, salt, nonce, sealed, memory, passes, lanes FROM person WHERE person = ?",
        )?;
        let row = find
            .query_row([person], |row| {
                Ok((
                    row.get::<_, Vec<u8>>(0)?,
                    row.get::<_, Vec<u8>>(1)?,
                    row.get::<_, Vec<u8>>(2)?,
                    row.get::<_, Vec<u8>>(3)?,
                    (row.get(4)?, row.get(5)?, row.get(6)?),
                ))
            })
            .optional()?;
        let Some((public, salt, nonce, sealed, cost)) = row else {
            return Ok(None);
        };
        Ok(Some(WrappedKey {
            person: person.to_owned(),
            public: bytes_of(public)?,
            salt: bytes_of(salt)?,
            nonce: bytes_of(nonce)?,
            sealed,
            cost,
        }))
    }

    /// Moves what the write-ahead log holds into the file.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn checkpoint(&mut self) -> Result<(), StoreFault> {
        self.db
            .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))?;
        Ok(())
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

    /// Writes a whole copy to `path`, which must not exist.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn export_to(&self, path: &Path) -> Result<(), StoreFault> {
        self.db.execute("VACUUM INTO ?", [path.to_string_lossy()])?;
        Ok(())
    }
}

fn append(tx: &Transaction, head: Head, at_ms: i64, fact: Fact) -> Result<Head, StoreFault> {
    let bytes = Event {
        version: FORMAT,
        at_ms,
        fact,
    }
    .encode();
    let next = Head {
        seq: head.seq + 1,
        hash: chain(&head.hash, &bytes),
    };
    tx.prepare_cached("INSERT INTO event (seq, hash, bytes) VALUES (?, ?, ?)")?
        .execute(params![
            i64::try_from(next.seq).unwrap_or(i64::MAX),
            next.hash,
            bytes
        ])?;
    Ok(next)
}

fn write_person(tx: &Transaction, key: &WrappedKey) -> Result<(), StoreFault> {
    let (memory, passes, lanes) = key.cost;
    tx.execute(
        "INSERT OR REPLACE INTO person (person, public, salt, nonce, sealed, memory, passes, lanes)
         VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        params![
            key.person, key.public, key.salt, key.nonce, key.sealed, memory, passes, lanes
        ],
    )?;
    Ok(())
}

type Device = ([u8; 16], [u8; 24], Vec<u8>);

fn read_device(db: &Connection) -> Result<Option<Device>, StoreFault> {
    let row: Option<(Vec<u8>, Vec<u8>, Vec<u8>)> = db
        .query_row("SELECT id, nonce, sealed FROM device", [], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?))
        })
        .optional()?;
    row.map(|(id, nonce, sealed)| Ok((bytes_of(id)?, bytes_of(nonce)?, sealed)))
        .transpose()
}

fn read_head(db: &Connection) -> Result<Head, StoreFault> {
    let row: Option<(i64, Vec<u8>)> = db
        .query_row(
            "SELECT seq, hash FROM event ORDER BY seq DESC LIMIT 1",
            [],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?;
    match row {
        Some((seq, hash)) => Ok(Head {
            seq: seq.unsigned_abs(),
            hash: bytes_of(hash)?,
        }),
        None => Err(damaged("it names a device and holds no event")),
    }
}
