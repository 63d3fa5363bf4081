//! People who work at the office: accounts with roles, passwords and who is signed in.

use argon2::{Argon2, PasswordHasher, PasswordVerifier};
use sha2::{Digest, Sha256};

use crate::db::{self, DbFault, Row};
use crate::state::OfficeState;

/// Shortest password, characters (NIST SP 800-63B-4 asks for 15 where a password is
/// the only factor; stated here from memory).
pub const SHORTEST_PASSWORD: usize = 15;
/// Longest password, bytes: hashing must not become a way to keep the office busy.
pub const LONGEST_PASSWORD: usize = 1_024;
/// Wrong passwords in a row before a pause. Own choice, no source.
const TRIES: i64 = 5;
/// The pause after that, milliseconds. Own choice, no source.
const PAUSE_MS: i64 = 60_000;
/// How long somebody stays signed in, milliseconds: a working day.
pub const SIGNED_IN_MS: i64 = 12 * 60 * 60 * 1000;

/// What somebody may do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Looks.
    Reader,
    /// A measurer: looks.
    Measurer,
    /// Looks, and sees the trainer's pages.
    Trainer,
    /// Decides as well, and sees the trainer's pages.
    Secretary,
}

impl Role {
    /// The word that is kept.
    pub fn word(self) -> &'static str {
        match self {
            Role::Reader => "reader",
            Role::Measurer => "measurer",
            Role::Trainer => "trainer",
            Role::Secretary => "secretary",
        }
    }

    /// The role of a word.
    pub fn read(word: &str) -> Option<Role> {
        [Role::Reader, Role::Measurer, Role::Trainer, Role::Secretary]
            .into_iter()
            .find(|r| r.word() == word)
    }

    /// Whether they see the trainer's pages, which hold numbers of one measurer.
    pub fn may_train(self) -> bool {
        matches!(self, Role::Trainer | Role::Secretary)
    }

    /// Whether they may decide about returns.
    pub fn may_decide(self) -> bool {
        self == Role::Secretary
    }
}

/// Somebody at work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Worker {
    /// What they sign in with.
    pub account: String,
    /// Their name.
    pub name: String,
    /// What they may do.
    pub role: Role,
}

/// Why an account is not made or changed.
#[derive(Debug, thiserror::Error)]
pub enum AccountFault {
    /// Not a usable name to sign in with.
    #[error("an account's name is 2 to 40 of a–z, 0–9, '-', '_' and '.'")]
    Name,
    /// Too short or too long.
    #[error(
        "a password has {SHORTEST_PASSWORD} characters or more, and at most {LONGEST_PASSWORD} bytes"
    )]
    Password,
    /// Hashing failed.
    #[error("the password cannot be hashed: {0}")]
    Hash(String),
    /// The database failed.
    #[error(transparent)]
    Db(#[from] DbFault),
}

/// What became of signing in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SignIn {
    /// Signed in.
    Done(Worker),
    /// No such account, a wrong password, or an account that is closed: which of them
    /// is not told.
    Wrong,
    /// Too many wrong passwords; wait this many milliseconds.
    Wait(i64),
}

fn hashed(token: &[u8; 32]) -> [u8; 32] {
    Sha256::new()
        .chain_update(b"standsquare login\0")
        .chain_update(token)
        .finalize()
        .into()
}

fn worker(row: &Row) -> Result<Worker, DbFault> {
    let word = row.text(2)?;
    Ok(Worker {
        account: row.text(0)?,
        name: row.text(1)?,
        role: Role::read(&word).ok_or_else(|| DbFault::Unexpected(format!("the role '{word}'")))?,
    })
}

impl OfficeState {
    /// Makes an account, or gives an existing one this name, role and password. Whoever
    /// was signed in with it no longer is.
    ///
    /// # Errors
    /// [`AccountFault`]; nothing is changed then.
    pub fn put_account(
        &self,
        account: &str,
        name: &str,
        role: Role,
        password: &str,
        salt: &[u8; 16],
    ) -> Result<(), AccountFault> {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || "-_.".contains(c);
        if !(2..=40).contains(&account.len()) || !account.chars().all(plain) {
            return Err(AccountFault::Name);
        }
        if password.chars().count() < SHORTEST_PASSWORD || password.len() > LONGEST_PASSWORD {
            return Err(AccountFault::Password);
        }
        let hash = Argon2::default()
            .hash_password_with_salt(password.as_bytes(), salt)
            .map_err(|e| AccountFault::Hash(e.to_string()))?
            .to_string();
        db::write(self.engine(), |sql| {
            sql.execute(
                "DELETE FROM logins WHERE body = $1 AND account = $2",
                &[self.body(), account.into()],
            )?;
            sql.execute(
                "INSERT INTO accounts
                 (body, account, name, role, password, active, misses, missed_ms)
                 VALUES ($1, $2, $3, $4, $5, 1, 0, 0)
                 ON CONFLICT (body, account) DO UPDATE SET name = excluded.name,
                 role = excluded.role, password = excluded.password, active = 1, misses = 0",
                &[
                    self.body(),
                    account.into(),
                    name.into(),
                    role.word().into(),
                    hash.as_str().into(),
                ],
            )?;
            Ok(())
        })?;
        Ok(())
    }

    /// Signs somebody in under `token`, which must be fresh random bytes.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn sign_in(
        &self,
        account: &str,
        password: &str,
        token: &[u8; 32],
        now_ms: i64,
    ) -> Result<SignIn, DbFault> {
        let named = [self.body(), account.into()];
        let found = db::read(self.engine(), |sql| {
            sql.one(
                "SELECT account, name, role, password, misses, missed_ms FROM accounts
                 WHERE body = $1 AND account = $2 AND active = 1",
                &named,
            )
        })?;
        let (misses, missed_ms) = match &found {
            Some(row) => (row.int(4)?, row.int(5)?),
            None => (0, 0),
        };
        let left = missed_ms.saturating_add(PAUSE_MS).saturating_sub(now_ms);
        if misses >= TRIES && left > 0 {
            return Ok(SignIn::Wait(left));
        }
        // Without an account just as much is worked out, so that the time tells nothing.
        let hash = match &found {
            Some(row) => row.text(3)?,
            None => NOBODYS_HASH.to_owned(),
        };
        let right = password.len() <= LONGEST_PASSWORD
            && Argon2::default()
                .verify_password(password.as_bytes(), hash.as_str())
                .is_ok();
        let Some(row) = found else {
            return Ok(SignIn::Wrong);
        };
        db::write(self.engine(), |sql| {
            if !right {
                sql.execute(
                    "UPDATE accounts SET misses = misses + 1, missed_ms = $3
                     WHERE body = $1 AND account = $2",
                    &[self.body(), account.into(), now_ms.into()],
                )?;
                return Ok(SignIn::Wrong);
            }
            sql.execute(
                "UPDATE accounts SET misses = 0 WHERE body = $1 AND account = $2",
                &named,
            )?;
            sql.execute(
                "DELETE FROM logins WHERE body = $1 AND until_ms <= $2",
                &[self.body(), now_ms.into()],
            )?;
            sql.execute(
                "INSERT INTO logins (body, token, account, until_ms) VALUES ($1, $2, $3, $4)",
                &[
                    self.body(),
                    hashed(token).into(),
                    account.into(),
                    now_ms.saturating_add(SIGNED_IN_MS).into(),
                ],
            )?;
            worker(&row).map(SignIn::Done)
        })
    }

    /// Who is signed in under this token.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn worker(&self, token: &[u8; 32], now_ms: i64) -> Result<Option<Worker>, DbFault> {
        db::read(self.engine(), |sql| {
            sql.one(
                "SELECT a.account, a.name, a.role FROM logins l
                 JOIN accounts a ON a.body = l.body AND a.account = l.account
                 WHERE l.body = $1 AND l.token = $2 AND l.until_ms > $3 AND a.active = 1",
                &[self.body(), hashed(token).into(), now_ms.into()],
            )?
            .map(|row| worker(&row))
            .transpose()
        })
    }

    /// Signs out.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn sign_out(&self, token: &[u8; 32]) -> Result<(), DbFault> {
        db::write(self.engine(), |sql| {
            sql.execute(
                "DELETE FROM logins WHERE body = $1 AND token = $2",
                &[self.body(), hashed(token).into()],
            )
            .map(|_| ())
        })
    }
}

/// The hash of a password that nobody knows, with the parameters of all others.
const NOBODYS_HASH: &str = "$argon2id$v=19$m=19456,t=2,p=1$AAAAAAAAAAAAAAAAAAAAAA$AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo::in_memory;

    const GOOD: &str = "the hoop hangs by the door";

    fn office() -> OfficeState {
        let office = in_memory();
        office
            .put_account("idris", "Idris Fell", Role::Secretary, GOOD, &[1; 16])
            .expect("made");
        office
    }

    #[test]
    fn somebody_signs_in_stays_and_signs_out() {
        let office = office();
        let SignIn::Done(idris) = office
            .sign_in("idris", GOOD, &[7; 32], 1_000)
            .expect("asked")
        else {
            panic!("the password is right")
        };
        assert_eq!(
            (idris.name.as_str(), idris.role),
            ("Idris Fell", Role::Secretary)
        );
        assert_eq!(office.worker(&[7; 32], 2_000).expect("asked"), Some(idris));
        assert_eq!(office.worker(&[8; 32], 2_000).expect("asked"), None);
        assert_eq!(
            office
                .worker(&[7; 32], 1_000 + SIGNED_IN_MS)
                .expect("asked"),
            None
        );
        office.sign_out(&[7; 32]).expect("signed out");
        assert_eq!(office.worker(&[7; 32], 2_000).expect("asked"), None);
    }

    #[test]
    fn a_wrong_password_is_refused_and_five_make_a_pause() {
        let office = office();
        for _ in 0..TRIES {
            assert_eq!(
                office
                    .sign_in("idris", "guess", &[7; 32], 5)
                    .expect("asked"),
                SignIn::Wrong
            );
        }
        // Even the right one waits then; afterwards it is taken.
        assert_eq!(
            office.sign_in("idris", GOOD, &[7; 32], 5).expect("asked"),
            SignIn::Wait(PAUSE_MS)
        );
        let later = office
            .sign_in("idris", GOOD, &[7; 32], 5 + PAUSE_MS)
            .expect("asked");
        assert!(matches!(later, SignIn::Done(_)));
    }

    #[test]
    fn nobody_is_nobody() {
        assert_eq!(
            office().sign_in("wren", GOOD, &[7; 32], 0).expect("asked"),
            SignIn::Wrong
        );
        assert_eq!(
            office().sign_in("", "", &[7; 32], 0).expect("asked"),
            SignIn::Wrong
        );
        // The stand-in hash is a real one: it is worked out and does not fit.
        let fault = Argon2::default()
            .verify_password(b"", NOBODYS_HASH)
            .expect_err("no fit");
        assert!(
            matches!(fault, argon2::password_hash::Error::PasswordInvalid),
            "{fault:?}"
        );
    }

    #[test]
    fn a_new_password_ends_every_login() {
        let office = office();
        office.sign_in("idris", GOOD, &[7; 32], 0).expect("asked");
        let other = "another very good password";
        office
            .put_account("idris", "Idris Fell", Role::Reader, other, &[2; 16])
            .expect("made");
        assert_eq!(office.worker(&[7; 32], 1).expect("asked"), None);
    }

    #[test]
    fn weak_passwords_and_odd_names_are_refused() {
        let office = in_memory();
        let put = |account: &str, password: &str| {
            office.put_account(account, "X", Role::Reader, password, &[1; 16])
        };
        assert!(matches!(put("wren", "short"), Err(AccountFault::Password)));
        assert!(matches!(
            put("wren", &"x".repeat(2_000)),
            Err(AccountFault::Password)
        ));
        assert!(matches!(put("Wren Ashdown", GOOD), Err(AccountFault::Name)));
        assert!(matches!(put("w", GOOD), Err(AccountFault::Name)));
    }
}
