//! Enrolling phones: a secretary makes a one-time code, a phone brings it back with proof
//! that it has its device key, and is answered with a signed enrolment.

use ed25519_dalek::Signer;
use sha2::{Digest, Sha256};
use standsquare_sync::SignedFault;
use standsquare_sync::enrol::{CODE_GOOD_MS, EnrolAsk, EnrolCode, Enrolment};

use crate::accounts::Worker;
use crate::db::{self, DbFault, Row, Sql};
use crate::state::OfficeState;

/// Longest name of a phone, characters.
pub const LONGEST_LABEL: usize = 60;
/// Wrong codes a minute before the answer is to wait. Own choice, no source: the codes have
/// 128 bits, so that this is only against noise. A right code is taken all the same.
const MISSES_A_MINUTE: i64 = 30;
/// How long used and missed codes stay on record, milliseconds. Own choice, no source.
const CODES_KEPT_MS: i64 = 90 * 24 * 60 * 60 * 1000;

/// A phone that was enrolled, or that wrote a journal which came in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Phone {
    /// Its public key.
    pub key: [u8; 32],
    /// Its enrolment; `None` for one that only sent returns.
    pub enrolled: Option<Enrolled>,
    /// How many sessions it sent.
    pub sessions: i64,
}

/// How a phone was enrolled.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Enrolled {
    /// Whose it is: id in the roster; empty for one that several use.
    pub person: String,
    /// What the secretary calls it.
    pub label: String,
    /// When, by the office's clock, Unix milliseconds.
    pub at_ms: i64,
    /// Who made its code: their name then.
    pub name: String,
}

/// Why no code is made.
#[derive(Debug, thiserror::Error)]
pub enum CodeFault {
    /// Nobody of the roster.
    #[error("the roster has nobody of that id")]
    Person,
    /// No name, or too long a one.
    #[error("give the phone a name of 1 to {LONGEST_LABEL} characters, such as 'Ottoline's phone'")]
    Label,
    /// The address would not do for a phone.
    #[error(
        "give the office's address as phones reach it: https://, the host and maybe a port, \
         nothing after it"
    )]
    Address,
    /// This person may not.
    #[error("only a secretary enrols phones")]
    NotAllowed,
    /// The database failed.
    #[error(transparent)]
    Db(#[from] DbFault),
}

/// Why a phone is not enrolled.
#[derive(Debug, thiserror::Error)]
pub enum EnrolFault {
    /// Not such an ask, or for another office.
    #[error(transparent)]
    Ask(#[from] SignedFault),
    /// For another body.
    #[error("this office works for another body")]
    OtherBody,
    /// Wrong, over, or used by another phone: which of them is not told.
    #[error("this code is good no more; ask the secretary for a new one")]
    Code,
    /// The phone's key was reported.
    #[error("this phone's key was reported as lost; set the app up anew, then ask for a new code")]
    Reported,
    /// Too many wrong codes came of late.
    #[error("too many wrong codes came of late; try again in a minute")]
    Wait,
    /// The database failed.
    #[error(transparent)]
    Db(#[from] DbFault),
}

fn hashed(secret: &[u8; 16]) -> [u8; 32] {
    Sha256::new()
        .chain_update(b"standsquare enrol code\0")
        .chain_update(secret)
        .finalize()
        .into()
}

impl OfficeState {
    /// Makes a one-time code for a phone of this person (empty: of several). `secret` must
    /// be fresh random bytes; only their hash is kept.
    ///
    /// # Errors
    /// [`CodeFault`].
    pub fn make_enrol_code(
        &self,
        person: &str,
        label: &str,
        address: &str,
        secret: [u8; 16],
        by: &Worker,
        now_ms: i64,
    ) -> Result<EnrolCode, CodeFault> {
        if !by.role.may_decide() {
            return Err(CodeFault::NotAllowed);
        }
        if !person.is_empty() && !self.roster().people.iter().any(|p| p.id == person) {
            return Err(CodeFault::Person);
        }
        let label = label.trim();
        if !(1..=LONGEST_LABEL).contains(&label.chars().count()) {
            return Err(CodeFault::Label);
        }
        let code = EnrolCode {
            address: address.trim().trim_end_matches('/').to_owned(),
            body: self.roster().league.id.clone(),
            office_key: self.public_key(),
            code: secret,
            until_ms: now_ms.saturating_add(CODE_GOOD_MS),
        };
        // As the phone will read it.
        if EnrolCode::read(&code.text()).as_ref() != Ok(&code) {
            return Err(CodeFault::Address);
        }
        db::write(self.engine(), |sql| {
            sql.put(
                "DELETE FROM enrol_codes WHERE body = $1 AND until_ms < $2",
                &[self.body(), now_ms.saturating_sub(CODES_KEPT_MS).into()],
            )?;
            sql.put(
                "INSERT INTO enrol_codes
                 (body, hash, person, label, made_ms, until_ms, account, name)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
                &[
                    self.body(),
                    hashed(&secret).into(),
                    person.into(),
                    label.into(),
                    now_ms.into(),
                    code.until_ms.into(),
                    by.account.as_str().into(),
                    by.name.as_str().into(),
                ],
            )
        })?;
        Ok(code)
    }

    /// Enrols the phone that brings a code ([`EnrolAsk`]); the bytes of the signed
    /// [`Enrolment`]. The same phone with the same code is answered again, so that an
    /// answer that was lost on its way does no harm.
    ///
    /// # Errors
    /// [`EnrolFault`]; nothing changes then but the count of wrong codes.
    pub fn enrol(&self, bytes: &[u8], now_ms: i64) -> Result<Vec<u8>, EnrolFault> {
        let ask = EnrolAsk::verify(bytes, &self.public_key())?;
        if ask.body != self.roster().league.id {
            return Err(EnrolFault::OtherBody);
        }
        let person = db::write(self.engine(), |sql| use_code(self, sql, &ask, now_ms))??;
        let edition = self.present_edition(now_ms)?;
        let enrolment = Enrolment {
            office_key: ask.office_key,
            body: ask.body,
            device_key: ask.device_key,
            person,
            edition: u64::try_from(edition).unwrap_or(0),
            at_ms: now_ms,
        };
        Ok(enrolment.sign(|bytes| self.key().sign(bytes).to_bytes()))
    }

    /// Every phone that was enrolled or sent a return, the enrolled ones first.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn phones(&self) -> Result<Vec<Phone>, DbFault> {
        db::read(self.engine(), |sql| {
            let rows = sql.query(
                "SELECT device_key, person, label, enrolled_ms, name FROM phones
                 WHERE body = $1 ORDER BY label, device_key",
                &[self.body()],
            )?;
            let mut phones = rows.iter().map(enrolled).collect::<Result<Vec<_>, _>>()?;
            let sent = sql.query(
                "SELECT j.device_key, (SELECT COUNT(*) FROM sessions s
                   WHERE s.body = j.body AND s.device_key = j.device_key)
                 FROM (SELECT DISTINCT body, device_key FROM journals WHERE body = $1) AS j
                 ORDER BY j.device_key",
                &[self.body()],
            )?;
            for row in sent {
                let (key, sessions) = (row.array(0)?, row.int(1)?);
                match phones.iter_mut().find(|p| p.key == key) {
                    Some(phone) => phone.sessions = sessions,
                    None => phones.push(Phone {
                        key,
                        enrolled: None,
                        sessions,
                    }),
                }
            }
            Ok(phones)
        })
    }
}

fn enrolled(row: &Row) -> Result<Phone, DbFault> {
    Ok(Phone {
        key: row.array(0)?,
        enrolled: Some(Enrolled {
            person: row.text(1)?,
            label: row.text(2)?,
            at_ms: row.int(3)?,
            name: row.text(4)?,
        }),
        sessions: 0,
    })
}

/// Uses a code; whose phone it is.
fn use_code(
    office: &OfficeState,
    sql: &mut dyn Sql,
    ask: &EnrolAsk,
    now_ms: i64,
) -> Result<Result<String, EnrolFault>, DbFault> {
    let named = [office.body(), hashed(&ask.code).into()];
    let row = sql.one(
        "SELECT person, label, until_ms, account, name, device_key FROM enrol_codes
         WHERE body = $1 AND hash = $2",
        &named,
    )?;
    let Some(row) = row else {
        return missed(office, sql, now_ms).map(Err);
    };
    let used_by = row.maybe_array::<32>(5)?;
    let good = row.int(2)? > now_ms && used_by.is_none_or(|by| by == ask.device_key);
    if !good {
        return missed(office, sql, now_ms).map(Err);
    }
    if crate::keys::said(office, sql)?
        .revoked
        .contains_key(&ask.device_key)
    {
        return Ok(Err(EnrolFault::Reported));
    }
    let person = row.text(0)?;
    if used_by.is_some() {
        return Ok(Ok(person));
    }
    sql.put(
        "UPDATE enrol_codes SET device_key = $3 WHERE body = $1 AND hash = $2",
        &[
            office.body(),
            hashed(&ask.code).into(),
            ask.device_key.into(),
        ],
    )?;
    sql.put(
        "INSERT INTO phones (body, device_key, person, label, enrolled_ms, account, name)
         VALUES ($1, $2, $3, $4, $5, $6, $7)
         ON CONFLICT (body, device_key) DO UPDATE SET person = excluded.person,
         label = excluded.label, enrolled_ms = excluded.enrolled_ms,
         account = excluded.account, name = excluded.name",
        &[
            office.body(),
            ask.device_key.into(),
            person.as_str().into(),
            row.text(1)?.into(),
            now_ms.into(),
            row.text(3)?.into(),
            row.text(4)?.into(),
        ],
    )?;
    Ok(Ok(person))
}

/// Counts a wrong code; how it is answered.
fn missed(office: &OfficeState, sql: &mut dyn Sql, now_ms: i64) -> Result<EnrolFault, DbFault> {
    let minute = now_ms.div_euclid(60_000);
    sql.put(
        "DELETE FROM enrol_misses WHERE body = $1 AND minute < $2",
        &[office.body(), minute.into()],
    )?;
    sql.put(
        "INSERT INTO enrol_misses (body, minute, misses) VALUES ($1, $2, 1)
         ON CONFLICT (body, minute) DO UPDATE SET misses = enrol_misses.misses + 1",
        &[office.body(), minute.into()],
    )?;
    let row = sql.one(
        "SELECT misses FROM enrol_misses WHERE body = $1 AND minute = $2",
        &[office.body(), minute.into()],
    )?;
    let misses = row.map_or(Ok(0), |row| row.int(0))?;
    Ok(if misses > MISSES_A_MINUTE {
        EnrolFault::Wait
    } else {
        EnrolFault::Code
    })
}
