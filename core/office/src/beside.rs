//! What a phone is told of the results of its session's other phones.

use ed25519_dalek::Signer;
use standsquare_journal::record::fact::Statement;
use standsquare_journal::record::statement_hash;
use standsquare_sync::SignedFault;
use standsquare_sync::beside::{BesideAsk, MOST, Paired, Told, ToldDog, settles};

use crate::db::{self, DbFault, Row, Sql};
use crate::state::OfficeState;

/// Why a phone is not told.
#[derive(Debug, thiserror::Error)]
pub enum BesideFault {
    /// Not such an ask, or for another office.
    #[error(transparent)]
    Ask(#[from] SignedFault),
    /// It was signed long ago, or the phone's clock is wrong.
    #[error("signed too far from this office's time; the office's clock says {0}")]
    Stale(String),
    /// It has sent nothing of this session, or was reported.
    #[error("this phone has sent no record of that session: send the return first")]
    NotOfIt,
    /// The database failed.
    #[error(transparent)]
    Db(#[from] DbFault),
}

impl OfficeState {
    /// Answers a phone's [`BesideAsk`] with a signed [`Told`]: what the other phones of its
    /// session sent, signed by all, in one order whatever order it came in; and whose
    /// histories were set aside. Only a phone that has sent of this session itself is told.
    ///
    /// # Errors
    /// [`BesideFault`].
    pub fn answer_beside(&self, bytes: &[u8], now_ms: i64) -> Result<Vec<u8>, BesideFault> {
        let ask = BesideAsk::verify(bytes, &self.public_key())?;
        if !ask.is_fresh(now_ms) {
            let now = chrono::DateTime::from_timestamp_millis(now_ms);
            return Err(BesideFault::Stale(
                now.map(|n| n.to_rfc3339()).unwrap_or_default(),
            ));
        }
        let found = db::read(self.engine(), |sql| look(self, sql, &ask))?;
        let Some((phones, dogs, forked)) = found else {
            return Err(BesideFault::NotOfIt);
        };
        let told = Told {
            office_key: self.public_key().into(),
            session: ask.session.into(),
            at_ms: now_ms,
            phones,
            dogs,
            forked: forked.into_iter().map(Into::into).collect(),
        };
        Ok(told.sign(|bytes| self.key().sign(bytes).to_bytes()))
    }
}

type Found = (Vec<Paired>, Vec<ToldDog>, Vec<[u8; 32]>);

fn look(
    office: &OfficeState,
    sql: &mut dyn Sql,
    ask: &BesideAsk,
) -> Result<Option<Found>, DbFault> {
    let named = [office.body(), ask.session.into()];
    let rows = sql.query(
        "SELECT DISTINCT device_key, journal FROM sessions
         WHERE body = $1 AND session = $2 ORDER BY device_key, journal",
        &named,
    )?;
    let all = rows.iter().map(phone).collect::<Result<Vec<_>, _>>()?;
    let of_it = all.iter().any(|p| *p.device_key == ask.device_key);
    let reported = crate::keys::said(office, sql)?.revoked;
    if !of_it || reported.contains_key(&ask.device_key) {
        return Ok(None);
    }
    let mut forked = Vec::new();
    for device in all.iter().map(|p| *p.device_key) {
        let aside = sql.one(
            "SELECT MIN(received_ms) FROM frames
             WHERE body = $1 AND device_key = $2 AND state = 3 AND state <> 1 AND reason = 'fork'",
            &[office.body(), device.into()],
        )?;
        let any = aside.map_or(Ok(None), |row| row.maybe_int(0))?.is_some();
        if any && !forked.contains(&device) {
            forked.push(device);
        }
    }
    let rows = sql.query(
        "SELECT v.device_key, v.journal, v.visit, v.chip, v.statement FROM visits v
         WHERE v.body = $1 AND v.session = $2
           AND v.measurers <= (SELECT COUNT(*) FROM signatures g
                WHERE g.body = v.body AND g.year = v.year AND g.session = v.session
                  AND g.device_key = v.device_key AND g.journal = v.journal
                  AND g.visit = v.visit)
         ORDER BY v.device_key, v.journal, v.visit",
        &named,
    )?;
    let mut dogs = Vec::new();
    for row in &rows {
        let dog = dog(row)?;
        if *dog.device_key != ask.device_key && dogs.len() < MOST {
            dogs.push(dog);
        }
    }
    let mut phones = all;
    phones.retain(|p| *p.device_key != ask.device_key);
    Ok(Some((phones, dogs, forked)))
}

fn phone(row: &Row) -> Result<Paired, DbFault> {
    Ok(Paired {
        device_key: row.array::<32>(0)?.into(),
        journal: row.array::<16>(1)?.into(),
    })
}

fn dog(row: &Row) -> Result<ToldDog, DbFault> {
    let bytes = row.bytes(4)?;
    let statement = Statement::decode_strict(&bytes)
        .map_err(|e| DbFault::Unexpected(format!("a statement on record: {e}")))?;
    let Paired {
        device_key,
        journal,
    } = phone(row)?;
    Ok(ToldDog {
        device_key,
        journal,
        visit: u32::try_from(row.int(2)?)
            .map_err(|_| DbFault::Unexpected("a visit's number".into()))?,
        chip: row.text(3)?,
        came: statement.outcome.word(),
        statement: statement_hash(&bytes).into(),
        settles: statement.flags.into_iter().filter(|f| settles(f)).collect(),
    })
}
