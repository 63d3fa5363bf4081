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

/// Gives every event from number `from` to number `to` as it stands, in the file's order.
pub(crate) fn each_event<F>(
    db: &Connection,
    from: u64,
    to: u64,
    mut take: F,
) -> Result<(), StoreFault>
where
    F: FnMut(Row) -> Result<(), StoreFault>,
{
    let number = |seq: u64| i64::try_from(seq).unwrap_or(i64::MAX);
    let mut find = db.prepare_cached(
        "SELECT seq, hash, bytes FROM event WHERE seq BETWEEN ? AND ? ORDER BY seq",
    )?;
    let mut rows = find.query([number(from), number(to)])?;
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
pub(crate) fn each_text<F>(db: &Connection, mut take: F) -> Result<(), StoreFault>
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

    /// Both copies, which must say the same.
    pub(super) fn both(db: &Connection) -> Result<Device, StoreFault> {
        let device = Device::read(db, DEVICES[0])?;
        if device != Device::read(db, DEVICES[1])? {
            return Err(StoreFault::damaged(
                "its two copies of the device's key differ",
            ));
        }
        Ok(device)
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

/// What the file says it holds, its tables being those of a journal.
pub(super) fn says(db: &Connection) -> Result<Tally, StoreFault> {
    if !schema::tables_are_ours(db)? {
        return Err(StoreFault::damaged("its tables are not those of a journal"));
    }
    Tally::read(db)?.ok_or_else(|| StoreFault::damaged("it does not say what it holds"))
}

/// Whether the chain ends where the file says.
pub(super) fn ends_there(chain: &ChainCheck, tally: &Tally) -> Result<(), StoreFault> {
    let at_head = Head {
        seq: chain.seq(),
        hash: chain.head(),
    };
    if at_head == tally.head {
        return Ok(());
    }
    Err(StoreFault::damaged(format!(
        "it holds {} events and should hold {}",
        at_head.seq, tally.head.seq
    )))
}

/// An event that is not the one its hash was made of.
pub(super) fn altered(seq: u64) -> StoreFault {
    StoreFault::damaged(format!("event {seq} is not as it was written"))
}

/// The hash of the event with this number, if it is there.
pub(super) fn hash_of(db: &Connection, seq: u64) -> Result<Option<Hash>, StoreFault> {
    let Ok(seq) = i64::try_from(seq) else {
        return Ok(None);
    };
    Ok(db
        .prepare_cached("SELECT hash FROM event WHERE seq = ?")?
        .query_row([seq], |row| row.get(0))
        .optional()?)
}

fn words(fault: RecordFault) -> StoreFault {
    StoreFault::damaged(fault.to_string())
}

/// Following the chain by its hashes, a piece at a time.
///
/// Signatures are checked in one place only: the last seal, which is over all the
/// events before it. That an event's own signature is right was seen to when it was
/// written; `journal verify` and the office see to it again.
pub(super) struct Follow {
    chain: ChainCheck,
    /// The last seal: its number, the head before it, the head it is over, its signature.
    seal: Option<(u64, Hash, Hash, [u8; 64])>,
    /// What was read, where it is asked for.
    read: Option<Vec<Row>>,
}

impl Follow {
    pub(super) fn from(chain: ChainCheck) -> Self {
        Follow {
            chain,
            seal: None,
            read: None,
        }
    }

    pub(super) fn seq(&self) -> u64 {
        self.chain.seq()
    }

    /// Goes on to event number `to`, or as far as there are any.
    pub(super) fn on(&mut self, db: &Connection, to: u64) -> Result<(), StoreFault> {
        // From the very beginning on, so that an event before the first is met too.
        let from = match self.chain.seq() {
            0 => 0,
            seq => seq + 1,
        };
        each_event(db, from, to, |(seq, hash, bytes)| {
            let next = self.chain.seq() + 1;
            if seq != next {
                return Err(StoreFault::damaged(format!("event {next} is missing")));
            }
            let before = self.chain.head();
            if let Some((head, signature)) = self.chain.skim(&bytes).map_err(words)? {
                self.seal = Some((seq, before, head, signature));
            }
            if self.chain.head() != hash {
                return Err(words(RecordFault::Chain { seq }));
            }
            if let Some(read) = &mut self.read {
                read.push((seq, hash, bytes));
            }
            Ok(())
        })
    }

    /// The chain at its end, the last seal holding.
    pub(super) fn end(self) -> Result<ChainCheck, StoreFault> {
        if let Some((seq, before, head, signature)) = self.seal {
            let holds = self.chain.device_key().is_some_and(|key| {
                verify_signature(ALG_ED25519, &key, &seal_bytes(&head), &signature).is_ok()
            });
            if !holds || head != before {
                return Err(words(RecordFault::Seal {
                    seq,
                    reason: "the seal does not hold",
                }));
            }
        }
        Ok(self.chain)
    }
}

/// The chain at the file's last event, followed from `start` on.
pub(super) fn follow(db: &Connection, start: ChainCheck) -> Result<ChainCheck, StoreFault> {
    follow_to(db, start, u64::MAX)
}

/// The same, with the events that were read on the way.
pub(super) fn follow_keeping(
    db: &Connection,
    start: ChainCheck,
) -> Result<(ChainCheck, Vec<Row>), StoreFault> {
    let mut follow = Follow::from(start);
    follow.read = Some(Vec::new());
    follow.on(db, u64::MAX)?;
    let read = follow.read.take().unwrap_or_default();
    Ok((follow.end()?, read))
}

/// The chain at event number `to`, followed from `start` on.
pub(super) fn follow_to(
    db: &Connection,
    start: ChainCheck,
    to: u64,
) -> Result<ChainCheck, StoreFault> {
    let mut follow = Follow::from(start);
    follow.on(db, to)?;
    follow.end()
}

/// Whether everything that the file says is kept beside the chain is there and as it was
/// written, each piece looked up by its key as it will be later.
pub(super) fn beside(db: &Connection, tally: &Tally) -> Result<(), StoreFault> {
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
    if found == (tally.texts, tally.subjects, tally.people) {
        return Ok(());
    }
    Err(StoreFault::damaged(
        "a text, a handler's data or a measurer's key is missing",
    ))
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
