//! Whether a journal's file is whole: every page, every event, and everything kept
//! beside the chain.

use rusqlite::{Connection, OptionalExtension, Transaction, params};
use sha2::{Digest, Sha256};

use super::item::Head;
use super::{StoreFault, people, schema, seals, subjects};
use crate::record::fact::ALG_ED25519;
use crate::record::{ChainCheck, Hash, RecordFault, genesis, seal_bytes, verify_signature};

/// What the file says it holds. It stands in a table of its own: an event, a text, a
/// key or a handler's data that vanished is missed here.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Tally {
    pub(crate) head: Head,
    pub(super) texts: i64,
    pub(super) subjects: i64,
    pub(super) people: i64,
}

impl Tally {
    /// Of a journal in which nothing stands yet.
    pub(super) fn nothing() -> Self {
        Tally {
            head: Head {
                seq: 0,
                hash: genesis(),
            },
            texts: 0,
            subjects: 0,
            people: 0,
        }
    }

    pub(crate) fn read(db: &Connection) -> Result<Option<Tally>, StoreFault> {
        let mut find = db.prepare_cached("SELECT seq, hash, texts, subjects, people FROM head")?;
        Ok(find
            .query_row([], |row| {
                Ok(Tally {
                    head: Head {
                        seq: row.get::<_, i64>(0)?.cast_unsigned(),
                        hash: row.get(1)?,
                    },
                    texts: row.get(2)?,
                    subjects: row.get(3)?,
                    people: row.get(4)?,
                })
            })
            .optional()?)
    }

    pub(super) fn write(&self, tx: &Transaction) -> Result<(), StoreFault> {
        tx.prepare_cached("INSERT OR REPLACE INTO head VALUES (1, ?, ?, ?, ?, ?, ?)")?
            .execute(params![
                schema::FORMAT,
                self.head.seq.cast_signed(),
                self.head.hash,
                self.texts,
                self.subjects,
                self.people
            ])?;
        Ok(())
    }
}

/// A row of the chain.
pub(crate) type Row = (u64, Hash, Vec<u8>);

/// Gives every event from number `from` on as it stands, in the file's order.
pub(crate) fn each_event<F>(db: &Connection, from: u64, mut take: F) -> Result<(), StoreFault>
where
    F: FnMut(Row) -> Result<(), StoreFault>,
{
    let mut find =
        db.prepare_cached("SELECT seq, hash, bytes FROM event WHERE seq >= ? ORDER BY seq")?;
    let mut rows = find.query([i64::try_from(from).unwrap_or(i64::MAX)])?;
    while let Some(row) = rows.next()? {
        take((
            row.get::<_, i64>(0)?.cast_unsigned(),
            row.get(1)?,
            row.get(2)?,
        ))?;
    }
    Ok(())
}

/// Gives every text with the hash it is kept under, checked or not.
pub(super) fn each_text<F>(db: &Connection, mut take: F) -> Result<(), StoreFault>
where
    F: FnMut(Hash, Vec<u8>) -> Result<(), StoreFault>,
{
    let mut find = db.prepare("SELECT hash, bytes FROM text ORDER BY hash")?;
    let mut rows = find.query([])?;
    while let Some(row) = rows.next()? {
        take(row.get(0)?, row.get(1)?)?;
    }
    Ok(())
}

/// SHA-256.
pub(super) fn sha256(bytes: &[u8]) -> Hash {
    Sha256::digest(bytes).into()
}

/// The device's key as it is kept: the journal's id, the nonce, the sealed seed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Device {
    pub(super) id: [u8; 16],
    pub(super) nonce: [u8; 24],
    pub(super) sealed: Vec<u8>,
}

const DEVICES: [&str; 2] = ["device", "device_spare"];

impl Device {
    fn sum(&self) -> [u8; 32] {
        seals::row_sum("device", &[&self.id, &self.nonce, &self.sealed])
    }

    pub(super) fn write(&self, tx: &Transaction) -> Result<(), StoreFault> {
        for table in DEVICES {
            tx.execute(
                &format!("INSERT INTO {table} VALUES (1, ?, ?, ?, ?)"),
                params![self.id, self.nonce, self.sealed, self.sum()],
            )?;
        }
        Ok(())
    }

    fn read(db: &Connection, table: &str) -> Result<Device, StoreFault> {
        let (device, sum): (Device, [u8; 32]) = db.query_row(
            &format!("SELECT id, nonce, sealed, sum FROM {table}"),
            [],
            |row| {
                let device = Device {
                    id: row.get(0)?,
                    nonce: row.get(1)?,
                    sealed: row.get(2)?,
                };
                Ok((device, row.get(3)?))
            },
        )?;
        if sum == device.sum() {
            Ok(device)
        } else {
            Err(StoreFault::damaged(
                "the device's key is not as it was written",
            ))
        }
    }

    /// The first of the two copies that can be read.
    pub(super) fn find(db: &Connection) -> Result<Device, StoreFault> {
        Device::read(db, DEVICES[0]).or_else(|_| Device::read(db, DEVICES[1]))
    }
}

/// Whether the file's pages hang together.
pub(crate) fn sound(db: &Connection) -> Result<(), StoreFault> {
    match db.query_row("PRAGMA quick_check(1)", [], |row| row.get::<_, String>(0))? {
        sound if sound == "ok" => Ok(()),
        found => Err(StoreFault::damaged(found)),
    }
}

/// Goes through the whole file. Gives the chain's state at its end, and the device's key.
///
/// Signatures are checked in one place only: the last seal, which is over all the
/// events before it. That an event's own signature is right was seen to when it was
/// written; `journal verify` and the office see to it again.
pub(super) fn check(db: &Connection) -> Result<(ChainCheck, Tally, Device), StoreFault> {
    sound(db)?;
    if !schema::tables_are_ours(db)? {
        return Err(StoreFault::damaged("its tables are not those of a journal"));
    }
    let tally =
        Tally::read(db)?.ok_or_else(|| StoreFault::damaged("it does not say what it holds"))?;
    let chain = follow(db)?;
    let at_head = Head {
        seq: chain.seq(),
        hash: chain.head(),
    };
    if at_head != tally.head {
        return Err(StoreFault::damaged(format!(
            "it holds {} events and should hold {}",
            at_head.seq, tally.head.seq
        )));
    }
    let found = beside(db)?;
    if found != (tally.texts, tally.subjects, tally.people) {
        return Err(StoreFault::damaged(
            "a text, a handler's data or a measurer's key is missing",
        ));
    }
    let device = Device::read(db, DEVICES[0])?;
    if device != Device::read(db, DEVICES[1])? {
        return Err(StoreFault::damaged(
            "its two copies of the device's key differ",
        ));
    }
    Ok((chain, tally, device))
}

/// Follows the chain by its hashes, to the last seal's signature.
pub(super) fn follow(db: &Connection) -> Result<ChainCheck, StoreFault> {
    let words = |fault: RecordFault| StoreFault::damaged(fault.to_string());
    let mut chain = ChainCheck::new();
    let mut last = None;
    each_event(db, 0, |(seq, hash, bytes)| {
        let next = chain.seq() + 1;
        if seq != next {
            return Err(StoreFault::damaged(format!("event {next} is missing")));
        }
        let before = chain.head();
        if let Some((head, signature)) = chain.skim(&bytes).map_err(words)? {
            last = Some((seq, before, head, signature));
        }
        if chain.head() != hash {
            return Err(words(RecordFault::Chain { seq }));
        }
        Ok(())
    })?;
    if let Some((seq, before, head, signature)) = last {
        let holds = chain.device_key().is_some_and(|key| {
            verify_signature(ALG_ED25519, &key, &seal_bytes(&head), &signature).is_ok()
        });
        if !holds || head != before {
            return Err(words(RecordFault::Seal {
                seq,
                reason: "the seal does not hold",
            }));
        }
    }
    Ok(chain)
}

/// What is kept beside the chain, each piece looked up by its key as it will be later.
fn beside(db: &Connection) -> Result<(i64, i64, i64), StoreFault> {
    let mut found = (0, 0, 0);
    each_text(db, |hash, bytes| {
        if sha256(&bytes) != hash || text(db, &hash)?.is_none() {
            return Err(StoreFault::damaged("a text is not as it was written"));
        }
        found.0 += 1;
        Ok(())
    })?;
    subjects::all(db, |subject| {
        if subjects::find(db, &subject?.id())?.is_none() {
            return Err(StoreFault::damaged("a handler's data is not found"));
        }
        found.1 += 1;
        Ok(())
    })?;
    people::all(db, |key| {
        if people::find(db, key?.person())?.is_none() {
            return Err(StoreFault::damaged("a measurer's key is not found"));
        }
        found.2 += 1;
        Ok(())
    })?;
    Ok(found)
}

/// The text kept under a hash.
pub(crate) fn text(db: &Connection, hash: &Hash) -> Result<Option<Vec<u8>>, StoreFault> {
    let mut find = db.prepare_cached("SELECT bytes FROM text WHERE hash = ?")?;
    let bytes: Option<Vec<u8>> = find.query_row([hash], |row| row.get(0)).optional()?;
    match bytes {
        Some(bytes) if sha256(&bytes) != *hash => {
            Err(StoreFault::damaged("a text is not as it was written"))
        }
        other => Ok(other),
    }
}
