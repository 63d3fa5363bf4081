//! Editions of the roster: what an enrolled phone is told of it, whole or as what changed.

use ed25519_dalek::Signer;
use standsquare_sync::edition::{Content, Edition, roster_digest, roster_text};
use standsquare_sync::roster::Roster;
use standsquare_sync::{RosterAsk, SignedFault};

use crate::db::{self, DbFault, Sql};
use crate::packs::day_of;
use crate::state::OfficeState;

/// Texts of so many editions are kept; who has an older one is given the whole. Own choice,
/// no source.
const KEPT: i64 = 64;

/// Why a phone is not told the roster.
#[derive(Debug, thiserror::Error)]
pub enum RosterFault {
    /// Not such an ask, or for another office.
    #[error(transparent)]
    Ask(#[from] SignedFault),
    /// For another body.
    #[error("this office works for another body")]
    OtherBody,
    /// It was signed long ago, or the phone's clock is wrong.
    #[error("signed too far from this office's time; the office's clock says {0}")]
    Stale(String),
    /// The phone is not enrolled, or was reported.
    #[error("this phone is not enrolled here, or no more; ask the secretary for a new code")]
    NotEnrolled,
    /// The database failed.
    #[error(transparent)]
    Db(#[from] DbFault),
}

impl OfficeState {
    /// Answers an enrolled phone's [`RosterAsk`] with a signed [`Edition`].
    ///
    /// # Errors
    /// [`RosterFault`].
    pub fn answer_roster(&self, bytes: &[u8], now_ms: i64) -> Result<Vec<u8>, RosterFault> {
        let ask = RosterAsk::verify(bytes, &self.public_key())?;
        if ask.body != self.roster().league.id {
            return Err(RosterFault::OtherBody);
        }
        if !ask.is_fresh(now_ms) {
            let now = chrono::DateTime::from_timestamp_millis(now_ms);
            return Err(RosterFault::Stale(
                now.map(|n| n.to_rfc3339()).unwrap_or_default(),
            ));
        }
        let enrolled = db::read(self.engine(), |sql| {
            enrolled_phones(self, sql, now_ms).map(|phones| phones.contains(&ask.device_key))
        })?;
        if !enrolled {
            return Err(RosterFault::NotEnrolled);
        }
        Ok(self.edition_after(ask.after, now_ms)?)
    }

    /// The present edition for a phone that has edition `after`, signed.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn edition_after(&self, after: u64, now_ms: i64) -> Result<Vec<u8>, DbFault> {
        self.present_edition(now_ms)?;
        let asked = i64::try_from(after).unwrap_or(i64::MAX);
        let (number, text, old, notices) = db::read(self.engine(), |sql| {
            let number = newest(self, sql)?.map_or(0, |(number, _)| number);
            let text = kept(self, sql, number)?
                .ok_or_else(|| DbFault::Unexpected("an edition without its text".into()))?;
            let old = kept(self, sql, asked)?;
            Ok((number, text, old, notices_since(self, sql, asked)?))
        })?;
        let content = Content::to_bring(old.as_deref(), &text);
        let (after, notices) = match content {
            Content::Changes(_) => (after, notices),
            // With the whole comes everything: the phone may have nothing.
            Content::Whole(_) => (
                0,
                db::read(self.engine(), |sql| notices_since(self, sql, 0))?,
            ),
        };
        let edition = Edition {
            office_key: self.public_key(),
            body: self.roster().league.id.clone(),
            number: u64::try_from(number).unwrap_or(0),
            digest: roster_digest(&text),
            after,
            at_ms: now_ms,
            content,
            notices,
        };
        Ok(edition.sign(|bytes| self.key().sign(bytes).to_bytes()))
    }

    /// The number of the present edition; it is made if the roster is another one than
    /// the newest kept.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn present_edition(&self, now_ms: i64) -> Result<i64, DbFault> {
        let found = db::read(self.engine(), |sql| {
            let text = roster_text(&self.roster_now(sql, now_ms)?);
            let newest = newest(self, sql)?;
            Ok(newest.filter(|(_, digest)| *digest == roster_digest(&text)))
        })?;
        if let Some((number, _)) = found {
            return Ok(number);
        }
        db::write(self.engine(), |sql| {
            let number = self.next_edition(sql, now_ms)?;
            self.keep_edition(sql, number, now_ms)?;
            Ok(number)
        })
    }

    /// The number that the next edition will have. It is never smaller than the seconds of
    /// the office's clock, so that an office that was put back from a backup goes on with
    /// numbers that no phone has seen.
    pub(crate) fn next_edition(&self, sql: &mut dyn Sql, now_ms: i64) -> Result<i64, DbFault> {
        let newest = newest(self, sql)?.map_or(0, |(number, _)| number);
        Ok((newest + 1).max(now_ms.div_euclid(1000)))
    }

    /// Keeps the present roster as this edition.
    pub(crate) fn keep_edition(
        &self,
        sql: &mut dyn Sql,
        number: i64,
        now_ms: i64,
    ) -> Result<(), DbFault> {
        let text = roster_text(&self.roster_now(sql, now_ms)?);
        let packed = zstd::encode_all(text.as_bytes(), 0)
            .map_err(|e| DbFault::Unexpected(format!("a roster that cannot be packed: {e}")))?;
        sql.put(
            "INSERT INTO editions (body, number, digest, roster, made_ms)
             VALUES ($1, $2, $3, $4, $5)",
            &[
                self.body(),
                number.into(),
                roster_digest(&text).into(),
                packed.as_slice().into(),
                now_ms.into(),
            ],
        )?;
        let oldest = sql.one(
            "SELECT MIN(number) FROM (SELECT number FROM editions WHERE body = $1
             ORDER BY number DESC LIMIT $2) AS newest",
            &[self.body(), KEPT.into()],
        )?;
        let oldest = oldest.map_or(Ok(None), |row| row.maybe_int(0))?;
        sql.put(
            "DELETE FROM editions WHERE body = $1 AND number < $2",
            &[self.body(), oldest.unwrap_or(0).into()],
        )
    }

    /// The roster as it is handed out now: with the phones that are enrolled, and the rule
    /// pack that is in force today.
    pub(crate) fn roster_now(&self, sql: &mut dyn Sql, now_ms: i64) -> Result<Roster, DbFault> {
        let mut roster = self.roster().clone();
        roster.pack = self.pack_in_force(sql, day_of(now_ms))?;
        let known = &mut roster.office.phones;
        let revoked = revoked_keys(self, sql, now_ms)?;
        known.retain(|phone| !revoked.iter().any(|key| hex::encode(key) == *phone));
        for key in enrolled_phones(self, sql, now_ms)? {
            let key = hex::encode(key);
            if !known.contains(&key) {
                known.push(key);
            }
        }
        Ok(roster)
    }
}

fn newest(office: &OfficeState, sql: &mut dyn Sql) -> Result<Option<(i64, [u8; 32])>, DbFault> {
    sql.one(
        "SELECT number, digest FROM editions WHERE body = $1 ORDER BY number DESC LIMIT 1",
        &[office.body()],
    )?
    .map(|row| Ok((row.int(0)?, row.array(1)?)))
    .transpose()
}

/// The text of an edition, if it is still kept.
fn kept(office: &OfficeState, sql: &mut dyn Sql, number: i64) -> Result<Option<String>, DbFault> {
    let row = sql.one(
        "SELECT roster FROM editions WHERE body = $1 AND number = $2",
        &[office.body(), number.into()],
    )?;
    row.map(|row| {
        let damaged = |e: &dyn std::fmt::Display| DbFault::Unexpected(format!("an edition: {e}"));
        let bytes = row.bytes(0)?;
        let text = zstd::decode_all(&bytes[..]).map_err(|e| damaged(&e))?;
        String::from_utf8(text).map_err(|e| damaged(&e))
    })
    .transpose()
}

fn notices_since(
    office: &OfficeState,
    sql: &mut dyn Sql,
    edition: i64,
) -> Result<Vec<String>, DbFault> {
    let rows = sql.query(
        "SELECT notice FROM key_notices WHERE body = $1 AND edition > $2 ORDER BY nth",
        &[office.body(), edition.into()],
    )?;
    rows.iter().map(|row| row.text(0)).collect()
}

/// Keys that count no more by now.
fn revoked_keys(
    office: &OfficeState,
    sql: &mut dyn Sql,
    now_ms: i64,
) -> Result<Vec<[u8; 32]>, DbFault> {
    let said = crate::keys::said(office, sql)?;
    let revoked = said.revoked.into_iter();
    Ok(revoked
        .filter(|(_, (from_ms, _))| *from_ms <= now_ms)
        .map(|(key, _)| key)
        .collect())
}

/// Phones that are enrolled and were not reported.
pub(crate) fn enrolled_phones(
    office: &OfficeState,
    sql: &mut dyn Sql,
    now_ms: i64,
) -> Result<Vec<[u8; 32]>, DbFault> {
    let rows = sql.query(
        "SELECT device_key FROM phones WHERE body = $1 ORDER BY device_key",
        &[office.body()],
    )?;
    let revoked = revoked_keys(office, sql, now_ms)?;
    let mut phones = Vec::new();
    for row in rows {
        let key = row.array(0)?;
        if !revoked.contains(&key) {
            phones.push(key);
        }
    }
    Ok(phones)
}
