//! What the office says of keys: that a measurer's or a phone's key is theirs, or that it is
//! lost or counts no more. Each notice is signed with the office's key, goes to phones, and
//! is only ever added; what follows from it for returns is worked out (`points`).

use ed25519_dalek::Signer;
use standsquare_journal::record::fact::{ALG_ED25519, B32};
use standsquare_journal::record::notice::{KeyRing, Notice, Says, Standing, Why};
use standsquare_journal::record::{sign_off_bytes, verify_signature};
use std::collections::{BTreeMap, BTreeSet};

use crate::accounts::Worker;
use crate::db::{self, DbFault, Row, Sql};
use crate::decide::{LONGEST_REASON, SHORTEST_REASON};
use crate::points::refresh;
use crate::state::OfficeState;

/// Whose a key is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Owner {
    /// A measurer's: their id in the roster.
    Person(String),
    /// A phone's.
    Phone,
}

/// A notice on record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Noticed {
    /// 1 for the first of this office.
    pub nth: i64,
    /// What it says, read.
    pub notice: Notice,
    /// Its text, as it goes to phones.
    pub text: String,
    /// The edition of the roster that brings it.
    pub edition: i64,
    /// Who said so: their name then.
    pub name: String,
    /// Why, in their words; stays at the office.
    pub reason: String,
}

/// A measurer's key, as phones made it known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KnownKey {
    /// The public key.
    pub key: [u8; 32],
    /// The measurer's number beside it.
    pub number: String,
    /// Phones in whose journals it is.
    pub phones: Vec<[u8; 32]>,
}

/// Why a notice is not made.
#[derive(Debug, thiserror::Error)]
pub enum NoticeFault {
    /// No return and no enrolment has this key.
    #[error("no return and no enrolment of this office has that key")]
    Unknown,
    /// Words are missing or too long.
    #[error(
        "say why in {SHORTEST_REASON} to {LONGEST_REASON} characters: who reported it, and how"
    )]
    Reason,
    /// Lost tomorrow.
    #[error("a key cannot be lost or exposed from a moment to come: say when it happened")]
    ToCome,
    /// It would be over before it begins.
    #[error("it would be over before it begins: look at the two moments")]
    Order,
    /// Somebody else said something first.
    #[error("something was said of this key since this page was shown: look at it again")]
    Changed,
    /// This person may not.
    #[error("only a secretary speaks of keys")]
    NotAllowed,
    /// The database failed.
    #[error(transparent)]
    Db(#[from] DbFault),
}

/// Everything that was said, ready to judge by.
#[derive(Clone, Debug, Default)]
pub struct Said {
    /// Of measurers' keys.
    pub ring: KeyRing,
    /// From when on a key counts no more, and why: the earliest moment said.
    pub revoked: BTreeMap<[u8; 32], (i64, Why)>,
    /// Keys of which something was said, by person.
    pub of: BTreeMap<String, BTreeSet<[u8; 32]>>,
}

impl Said {
    /// Takes in a notice.
    pub fn take(&mut self, notice: &Notice) {
        self.ring.take(notice);
        if let Says::Revoked { from_ms, why } = notice.says {
            let new = (from_ms, why);
            self.revoked
                .entry(*notice.key)
                .and_modify(|old| *old = (*old).min(new))
                .or_insert(new);
        }
        self.of
            .entry(notice.person.clone())
            .or_default()
            .insert(*notice.key);
    }

    /// Whether nothing was said at all.
    pub fn is_empty(&self) -> bool {
        self.of.is_empty()
    }

    /// What stands against a key by which this person signed at a moment, Unix milliseconds, or
    /// nothing. A journal vouches for the keys that were made in it, and for no other: one that
    /// is from `elsewhere` needs the office's word.
    pub(crate) fn against(
        &self,
        person: &str,
        key: &[u8; 32],
        at_ms: i64,
        elsewhere: bool,
    ) -> Option<Standing> {
        let standing = self.ring.standing(person, key, at_ms);
        let vouched = standing == Standing::Unknown && !elsewhere;
        (!standing.counts() && !vouched).then_some(standing)
    }

    /// Which key this person signed a statement with: of those that were spoken of the one
    /// that fits, else the newest in the journal. A journal has a new key after a new PIN,
    /// and what was signed before was signed with the old one.
    pub(crate) fn key_used(
        &self,
        person: &str,
        newest: Option<[u8; 32]>,
        head: &[u8; 32],
        statement: &[u8],
        signature: &[u8; 64],
    ) -> Option<[u8; 32]> {
        let spoken_of = self.of.get(person).into_iter().flatten();
        let text = sign_off_bytes(head, statement);
        spoken_of
            .filter(|key| Some(**key) != newest)
            .find(|key| verify_signature(ALG_ED25519, key, &text, signature).is_ok())
            .copied()
            .or(newest)
    }
}

impl OfficeState {
    /// Makes a notice of a key: signs it, keeps it, and works out anew what it leaves in
    /// doubt. `nth` is the number that it will have among those of this key.
    ///
    /// # Errors
    /// [`NoticeFault`]; nothing is said then.
    #[allow(clippy::too_many_arguments)] // one form, one call
    pub fn speak_of_key(
        &self,
        key: [u8; 32],
        owner: &Owner,
        nth: i64,
        says: Says,
        reason: &str,
        by: &Worker,
        now_ms: i64,
    ) -> Result<Noticed, NoticeFault> {
        if !by.role.may_decide() {
            return Err(NoticeFault::NotAllowed);
        }
        let reason = reason.trim();
        if !(SHORTEST_REASON..=LONGEST_REASON).contains(&reason.chars().count()) {
            return Err(NoticeFault::Reason);
        }
        match says {
            Says::Revoked {
                from_ms,
                why: Why::Lost | Why::Exposed,
            } if from_ms > now_ms => return Err(NoticeFault::ToCome),
            Says::Enrolled {
                from_ms,
                until_ms: Some(until_ms),
            } if until_ms <= from_ms => return Err(NoticeFault::Order),
            _ => {}
        }
        db::write(self.engine(), |sql| {
            let Some((person, number)) = whose(self, sql, &key, owner)? else {
                return Ok(Err(NoticeFault::Unknown));
            };
            let before = lines(self, sql, 0)?;
            let of_key = before.iter().filter(|n| *n.notice.key == key).count();
            if nth != of_key as i64 + 1 {
                return Ok(Err(NoticeFault::Changed));
            }
            let notice = Notice {
                person,
                number,
                key: B32::from(key),
                says,
                at_ms: now_ms,
            };
            let text = notice.code(&self.public_key(), |bytes| {
                self.key().sign(bytes).to_bytes()
            });
            let noticed = Noticed {
                nth: before.len() as i64 + 1,
                notice,
                text,
                edition: self.next_edition(sql, now_ms)?,
                name: by.name.clone(),
                reason: reason.to_owned(),
            };
            keep(self, sql, &noticed, by)?;
            // What it says may take a phone out of the roster.
            self.keep_edition(sql, noticed.edition, now_ms)?;
            for chip in chips_signed_with(self, sql, &key)? {
                refresh(self, sql, &chip)?;
            }
            Ok(Ok(noticed))
        })?
    }

    /// Notices after the first `after`, oldest first.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn notices(&self, after: i64) -> Result<Vec<Noticed>, DbFault> {
        db::read(self.engine(), |sql| lines(self, sql, after))
    }

    /// The keys of a measurer, as phones made them known.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn keys_of(&self, person: &str) -> Result<Vec<KnownKey>, DbFault> {
        let rows = db::read(self.engine(), |sql| {
            sql.query(
                "SELECT DISTINCT key, number, device_key FROM people
                 WHERE body = $1 AND person = $2 AND key IS NOT NULL
                 ORDER BY key, device_key",
                &[self.body(), person.into()],
            )
        })?;
        let mut keys: Vec<KnownKey> = Vec::new();
        for row in rows {
            let (key, number, phone) = (row.array(0)?, row.text(1)?, row.array(2)?);
            match keys.last_mut() {
                Some(last) if last.key == key => last.phones.push(phone),
                _ => keys.push(KnownKey {
                    key,
                    number,
                    phones: vec![phone],
                }),
            }
        }
        // A key that is in no journal any more (a new PIN made another one) may still have
        // been spoken of.
        for noticed in self.notices(0)? {
            let key = *noticed.notice.key;
            if noticed.notice.person == person
                && !self.is_phone(&key)?
                && !keys.iter().any(|k| k.key == key)
            {
                keys.push(KnownKey {
                    key,
                    number: noticed.notice.number,
                    phones: Vec::new(),
                });
            }
        }
        Ok(keys)
    }

    /// Whether a key is a phone's: one that wrote a journal or was enrolled.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn is_phone(&self, key: &[u8; 32]) -> Result<bool, DbFault> {
        db::read(self.engine(), |sql| {
            Ok(whose(self, sql, key, &Owner::Phone)?.is_some())
        })
    }
}

/// Whose key it is: id in the roster and number; both empty for a phone of several. `None`
/// if nothing on record has it.
fn whose(
    office: &OfficeState,
    sql: &mut dyn Sql,
    key: &[u8; 32],
    owner: &Owner,
) -> Result<Option<(String, String)>, DbFault> {
    let number_of = |id: &str| {
        let person = office.roster().people.iter().find(|p| p.id == id);
        person.map(|p| p.number.clone()).unwrap_or_default()
    };
    match owner {
        Owner::Person(person) => {
            let row = sql.one(
                "SELECT number FROM people WHERE body = $1 AND person = $2 AND key = $3 LIMIT 1",
                &[office.body(), person.as_str().into(), (*key).into()],
            )?;
            row.map(|row| Ok((person.clone(), row.text(0)?)))
                .transpose()
        }
        Owner::Phone => {
            let named = [office.body(), (*key).into()];
            let enrolled = sql.one(
                "SELECT person FROM phones WHERE body = $1 AND device_key = $2",
                &named,
            )?;
            if let Some(row) = enrolled {
                let person = row.text(0)?;
                let number = number_of(&person);
                return Ok(Some((person, number)));
            }
            let heard = sql.one(
                "SELECT device_key FROM journals WHERE body = $1 AND device_key = $2 LIMIT 1",
                &named,
            )?;
            Ok(heard.map(|_| (String::new(), String::new())))
        }
    }
}

fn lines(office: &OfficeState, sql: &mut dyn Sql, after: i64) -> Result<Vec<Noticed>, DbFault> {
    let rows = sql.query(
        "SELECT nth, notice, edition, name, reason FROM key_notices
         WHERE body = $1 AND nth > $2 ORDER BY nth",
        &[office.body(), after.into()],
    )?;
    rows.iter().map(line).collect()
}

fn line(row: &Row) -> Result<Noticed, DbFault> {
    let text = row.text(1)?;
    let notice =
        Notice::read(&text).map_err(|e| DbFault::Unexpected(format!("a notice on record: {e}")))?;
    Ok(Noticed {
        nth: row.int(0)?,
        notice,
        text,
        edition: row.int(2)?,
        name: row.text(3)?,
        reason: row.text(4)?,
    })
}

fn keep(
    office: &OfficeState,
    sql: &mut dyn Sql,
    noticed: &Noticed,
    by: &Worker,
) -> Result<(), DbFault> {
    sql.put(
        "INSERT INTO key_notices
         (body, nth, key, person, notice, edition, said_ms, account, name, reason)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
        &[
            office.body(),
            noticed.nth.into(),
            (*noticed.notice.key).into(),
            noticed.notice.person.as_str().into(),
            noticed.text.as_str().into(),
            noticed.edition.into(),
            noticed.notice.at_ms.into(),
            by.account.as_str().into(),
            noticed.name.as_str().into(),
            noticed.reason.as_str().into(),
        ],
    )
}

/// Everything that was said, for judging returns by.
pub(crate) fn said(office: &OfficeState, sql: &mut dyn Sql) -> Result<Said, DbFault> {
    let mut said = Said::default();
    for noticed in lines(office, sql, 0)? {
        said.take(&noticed.notice);
    }
    Ok(said)
}

/// Chips of the measures that this key had a part in: a measurer's, of every journal that it
/// is in or that it signed in from their own phone, or the phone's own.
fn chips_signed_with(
    office: &OfficeState,
    sql: &mut dyn Sql,
    key: &[u8; 32],
) -> Result<Vec<String>, DbFault> {
    let rows = sql.query(
        "SELECT v.chip FROM visits v WHERE v.body = $1 AND v.device_key = $2
         UNION
         SELECT v.chip FROM visits v JOIN people p
           ON p.body = v.body AND p.device_key = v.device_key AND p.journal = v.journal
         WHERE v.body = $1 AND p.key = $2
         UNION
         SELECT v.chip FROM visits v JOIN signed_elsewhere e
           ON e.body = v.body AND e.session = v.session AND e.device_key = v.device_key
          AND e.journal = v.journal AND e.visit = v.visit
         WHERE v.body = $1 AND e.key = $2",
        &[office.body(), (*key).into()],
    )?;
    rows.iter().map(|row| row.text(0)).collect()
}
