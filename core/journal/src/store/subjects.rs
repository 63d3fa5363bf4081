//! Personal data: apart from the chain, each piece sealed under a key of its own, so
//! that it can be erased and the chain still verifies.

use rusqlite::{Connection, OptionalExtension, Row, Transaction, params};
use zeroize::Zeroizing;

use super::StoreFault;
use super::seals::{derive, open, row_sum, seal};

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

    /// The data, if `wrap` is out of the right device's secret.
    pub(super) fn open(&self, wrap: &[u8; 32]) -> Result<Vec<u8>, StoreFault> {
        let about = about(&self.id, &self.salt);
        let wrap_nonce = wrap_nonce(&self.id, &self.nonce);
        let key =
            open(wrap, &wrap_nonce, &about, &self.key).ok_or(StoreFault::WrongDeviceSecret {})?;
        let key: &[u8; 32] = key
            .as_slice()
            .try_into()
            .map_err(|_| StoreFault::damaged("a handler's key has another length"))?;
        open(key, &self.nonce, &about, &self.sealed)
            .map(|clear| clear.to_vec())
            .ok_or_else(|| StoreFault::damaged("a handler's data is not as it was written"))
    }

    /// The commitment's salt.
    pub(super) fn salt(&self) -> [u8; 32] {
        self.salt
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

fn about(id: &[u8; 16], salt: &[u8; 32]) -> Vec<u8> {
    [b"standsquare/subject-key/".as_slice(), id, salt].concat()
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

const COLUMNS: &str = "id, sealed, salt, key, nonce, sum";

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

/// One piece.
pub(super) fn find(db: &Connection, id: &[u8; 16]) -> Result<Option<Subject>, StoreFault> {
    let mut find = db.prepare_cached(&format!("SELECT {COLUMNS} FROM subject WHERE id = ?"))?;
    find.query_row([id], |row| Ok(read(row)))
        .optional()?
        .transpose()
}

/// Every piece on file; an error in place of one that is not as it was written.
pub(super) fn all(
    db: &Connection,
    mut take: impl FnMut(Result<Subject, StoreFault>) -> Result<(), StoreFault>,
) -> Result<(), StoreFault> {
    let mut find = db.prepare(&format!("SELECT {COLUMNS} FROM subject ORDER BY id"))?;
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
    tx.prepare_cached(&format!(
        "INSERT INTO subject ({COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)"
    ))?
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
