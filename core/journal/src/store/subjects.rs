//! Personal data: apart from the chain, each piece sealed under a key of its own, so
//! that it can be erased and the chain still verifies.

use rusqlite::{CachedStatement, Connection, OptionalExtension, Row, Transaction, params};
use zeroize::Zeroizing;

use super::StoreFault;
use super::seals::{derive, open, open_key, row_sum, seal};

/// Personal data in the clear, and the salt of its commitment.
pub type Salted = (Vec<u8>, [u8; 32]);

/// A row as it stands in the file.
#[derive(Clone)]
pub(super) struct Subject {
    id: [u8; 16],
    sealed: Vec<u8>,
    salt: [u8; 32],
    /// The piece's own key, wrapped by the device's secret.
    key: Vec<u8>,
    nonce: [u8; 24],
}

impl Subject {
    /// Seals `clear`.
    pub(super) fn new(
        id: [u8; 16],
        clear: &[u8],
        salt: [u8; 32],
        key: &[u8; 32],
        nonce: [u8; 24],
        device_secret: &[u8; 32],
    ) -> Self {
        let (wrap, wrap_nonce) = (wrap(device_secret), wrap_nonce(&id, &nonce));
        Subject {
            sealed: seal(key, &nonce, &about(&id, &salt), clear),
            key: seal(&wrap, &wrap_nonce, &about(&id, &salt), key),
            id,
            salt,
            nonce,
        }
    }

    /// Its random id.
    pub(super) fn id(&self) -> [u8; 16] {
        self.id
    }

    fn sum(&self) -> [u8; 32] {
        row_sum(
            "subject",
            &[&self.id, &self.sealed, &self.salt, &self.key, &self.nonce],
        )
    }
}

fn about(id: &[u8; 16], salt: &[u8; 32]) -> [u8; 72] {
    let mut about = [0; 72];
    about[..24].copy_from_slice(b"standsquare/subject-key/");
    about[24..40].copy_from_slice(id);
    about[40..].copy_from_slice(salt);
    about
}

/// The key that wraps every piece's own key.
pub(super) fn wrap(device_secret: &[u8; 32]) -> Zeroizing<[u8; 32]> {
    derive("subject/wrap", &[], device_secret)
}

/// The nonce with which a piece's own key is wrapped. It is derived: the piece's own is
/// fresh, so this one never comes twice either.
fn wrap_nonce(id: &[u8; 16], nonce: &[u8; 24]) -> [u8; 24] {
    *derive("subject/nonce", id, nonce)
}

const ONE: &str = "SELECT id, sealed, salt, key, nonce, sum FROM subject WHERE id = ?";
const ALL: &str = "SELECT id, sealed, salt, key, nonce, sum FROM subject ORDER BY id";

fn read(row: &Row) -> Result<Subject, StoreFault> {
    let subject = Subject {
        id: row.get(0)?,
        sealed: row.get(1)?,
        salt: row.get(2)?,
        key: row.get(3)?,
        nonce: row.get(4)?,
    };
    let sum: [u8; 32] = row.get(5)?;
    if sum == subject.sum() {
        Ok(subject)
    } else {
        Err(StoreFault::damaged(
            "a handler's data is not as it was written",
        ))
    }
}

/// Opens pieces one after the other.
pub struct Opener<'a> {
    db: &'a Connection,
    find: CachedStatement<'a>,
    wrap: &'a [u8; 32],
}

impl<'a> Opener<'a> {
    pub(super) fn new(db: &'a Connection, wrap: &'a [u8; 32]) -> Result<Self, StoreFault> {
        let find = db.prepare_cached(ONE)?;
        Ok(Opener { db, find, wrap })
    }

    /// What one piece says; `None` once erased.
    ///
    /// What opens is as it was written: every field of the row is bound to the seal. Only of
    /// one that does not open is the sum asked, which tells damage from another secret.
    ///
    /// # Errors
    /// See [`StoreFault`].
    pub fn clear(&mut self, id: &[u8; 16]) -> Result<Option<Vec<u8>>, StoreFault> {
        Ok(self.salted(id)?.map(|(clear, _)| clear))
    }

    /// The same with the salt of its commitment.
    pub(super) fn salted(&mut self, id: &[u8; 16]) -> Result<Option<Salted>, StoreFault> {
        let found = self.find.query_row([id], |row| Ok(opened(row, self.wrap)));
        match found.optional()? {
            None => Ok(None),
            Some(Some(salted)) => Ok(Some(salted)),
            Some(None) => {
                find(self.db, id)?;
                Err(StoreFault::WrongDeviceSecret {})
            }
        }
    }
}

/// What a row says with its salt, if it reads and `wrap` opens it.
fn opened(row: &Row, wrap: &[u8; 32]) -> Option<Salted> {
    let blob = |n: usize| row.get_ref(n).ok()?.as_blob().ok();
    let (id, salt, nonce) = (
        blob(0)?.try_into().ok()?,
        blob(2)?.try_into().ok()?,
        blob(4)?.try_into().ok()?,
    );
    let about = about(id, salt);
    let key = open_key(wrap, &wrap_nonce(id, nonce), &about, blob(3)?)?;
    Some((open(&key, nonce, &about, blob(1)?)?.to_vec(), *salt))
}

/// One piece.
pub(super) fn find(db: &Connection, id: &[u8; 16]) -> Result<Option<Subject>, StoreFault> {
    let mut find = db.prepare_cached(ONE)?;
    find.query_row([id], |row| Ok(read(row)))
        .optional()?
        .transpose()
}

/// Every piece on file; an error in place of one that is not as it was written.
pub(super) fn all(
    db: &Connection,
    mut take: impl FnMut(Result<Subject, StoreFault>) -> Result<(), StoreFault>,
) -> Result<(), StoreFault> {
    let mut find = db.prepare(ALL)?;
    let mut rows = find.query([])?;
    while let Some(row) = rows.next()? {
        take(read(row))?;
    }
    Ok(())
}

/// The ids of all.
pub(super) fn ids(db: &Connection) -> Result<Vec<[u8; 16]>, StoreFault> {
    let mut find = db.prepare_cached("SELECT id FROM subject ORDER BY id")?;
    let ids = find.query_map([], |row| row.get(0))?;
    Ok(ids.collect::<Result<_, _>>()?)
}

/// Writes one.
pub(super) fn write(tx: &Transaction, subject: &Subject) -> Result<(), StoreFault> {
    if find(tx, &subject.id)?.is_some() {
        return Err(StoreFault::refused(
            "personal data is already kept under that id",
        ));
    }
    tx.prepare_cached(
        "INSERT INTO subject (id, sealed, salt, key, nonce, sum) VALUES (?, ?, ?, ?, ?, ?)",
    )?
    .execute(params![
        subject.id,
        subject.sealed,
        subject.salt,
        subject.key,
        subject.nonce,
        subject.sum()
    ])?;
    Ok(())
}

/// Erases one; whether it was there.
pub(super) fn erase(tx: &Transaction, id: &[u8; 16]) -> Result<bool, StoreFault> {
    Ok(tx.execute("DELETE FROM subject WHERE id = ?", [id])? > 0)
}
