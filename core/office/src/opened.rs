//! How measurers opened their keys for what they signed, as the phones' records say it: by PIN or
//! by the biometrics of the phone's owner (decision 25), on the session's phone or on their own.
//!
//! Read from the frames when it is asked for: they hold it already, those of before this was
//! shown as well.

use standsquare_journal::record::Event;
use standsquare_journal::record::fact::Fact;
use standsquare_sync::Frame;
use std::collections::{BTreeMap, BTreeSet};

use crate::db::{self, DbFault, Sql};
use crate::read::VisitLine;
use crate::state::OfficeState;

/// By what a key was opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// The measurer's PIN.
    Pin,
    /// The biometrics of the phone's owner.
    Owner,
    /// The signer's own phone has not sent that part of its record.
    NotSaid,
}

/// How a key was opened for a signature.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct How {
    /// On a phone of the signer's own, not on the one that wrote the session.
    pub own_phone: bool,
    /// By what.
    pub by: By,
}

impl How {
    /// In words.
    pub fn words(self) -> &'static str {
        match (self.own_phone, self.by) {
            (false, By::Owner) => "by finger or face, on the session's phone, which is their own",
            (false, _) => "by PIN, on the session's phone",
            (true, By::Pin) => "by PIN, on their own phone",
            (true, By::Owner) => "by finger or face, on their own phone",
            (true, By::NotSaid) => "on their own phone; how is known once it sends its record",
        }
    }

    /// In few words, where the session's phone goes without saying.
    pub fn short(self) -> &'static str {
        match (self.own_phone, self.by) {
            (false, By::Owner) => "by finger or face",
            (false, _) => "by PIN",
            (true, By::Pin) => "by PIN on their own phone",
            (true, By::Owner) => "by finger or face on their own phone",
            (true, By::NotSaid) => "on their own phone",
        }
    }
}

/// How the key for the signature at `nth` of these facts was opened.
pub(crate) fn by(facts: &[Fact], nth: usize) -> By {
    let next = facts.get(nth + 1);
    match facts.get(nth).is_some_and(|f| f.is_opened_by_owner(next)) {
        true => By::Owner,
        false => By::Pin,
    }
}

/// A device's key and its journal's id.
type Journal = ([u8; 32], [u8; 16]);

/// What one journal says of its signatures, by the event's number.
#[derive(Default)]
struct Says {
    by_owner: BTreeSet<i64>,
    /// The signers' own phones, and the signatures.
    elsewhere: BTreeMap<i64, ([u8; 32], [u8; 64])>,
}

impl OfficeState {
    /// Says of each signature under these measures how its key was opened.
    ///
    /// # Errors
    /// [`DbFault`].
    pub(crate) fn say_how(
        &self,
        sql: &mut dyn Sql,
        visits: &mut [VisitLine],
    ) -> Result<(), DbFault> {
        let mut spans: BTreeMap<Journal, (i64, i64)> = BTreeMap::new();
        for visit in &*visits {
            let span = spans.entry((visit.device_key, visit.journal));
            let span = span.or_insert((i64::MAX, i64::MIN));
            for signed in &visit.signed {
                *span = (span.0.min(signed.seq), span.1.max(signed.seq));
            }
        }
        let mut says = BTreeMap::new();
        for (journal, span) in spans {
            says.insert(journal, says_of(self, sql, journal, span)?);
        }
        let all = says.values().flat_map(|s: &Says| s.elsewhere.values());
        let mut wanted: BTreeMap<[u8; 32], BTreeSet<[u8; 64]>> = BTreeMap::new();
        for (phone, signature) in all {
            wanted.entry(*phone).or_default().insert(*signature);
        }
        let mut there = BTreeMap::new();
        for (phone, signatures) in wanted {
            signed_there(self, sql, phone, &signatures, &mut there)?;
        }
        for visit in visits {
            let says = &says[&(visit.device_key, visit.journal)];
            for signed in &mut visit.signed {
                signed.how = Some(match says.elsewhere.get(&signed.seq) {
                    Some((_, signature)) => How {
                        own_phone: true,
                        by: there.get(signature).copied().unwrap_or(By::NotSaid),
                    },
                    None => How {
                        own_phone: false,
                        by: match says.by_owner.contains(&signed.seq) {
                            true => By::Owner,
                            false => By::Pin,
                        },
                    },
                });
            }
        }
        Ok(())
    }

    /// The same, on a picture of its own.
    ///
    /// # Errors
    /// [`DbFault`].
    pub(crate) fn how_signed(&self, visits: &mut [VisitLine]) -> Result<(), DbFault> {
        db::read(self.engine(), |sql| self.say_how(sql, visits))
    }
}

/// What the events from one number to another say.
fn says_of(
    office: &OfficeState,
    sql: &mut dyn Sql,
    (device_key, journal): Journal,
    (from, to): (i64, i64),
) -> Result<Says, DbFault> {
    let rows = sql.query(
        "SELECT bytes FROM frames
         WHERE body = $1 AND device_key = $2 AND journal = $3 AND state = 1
           AND from_seq <= $4 AND to_seq >= $5",
        &[
            office.body(),
            device_key.into(),
            journal.into(),
            to.into(),
            from.into(),
        ],
    )?;
    let mut says = Says::default();
    for row in &rows {
        let (first, facts) = facts_of(&row.bytes(0)?);
        for (nth, fact) in facts.iter().enumerate() {
            let seq = first.saturating_add(nth as i64);
            match fact {
                Fact::SignedElsewhere {
                    device_key,
                    signature,
                    ..
                } => {
                    says.elsewhere.insert(seq, (**device_key, **signature));
                }
                _ if by(&facts, nth) == By::Owner => {
                    says.by_owner.insert(seq);
                }
                _ => {}
            }
        }
    }
    Ok(says)
}

/// How these signatures for other phones were made on this one. The same signature may have been
/// made twice, the same bytes both times: a finger or face is said then.
fn signed_there(
    office: &OfficeState,
    sql: &mut dyn Sql,
    phone: [u8; 32],
    wanted: &BTreeSet<[u8; 64]>,
    there: &mut BTreeMap<[u8; 64], By>,
) -> Result<(), DbFault> {
    let journals = sql.query(
        "SELECT journal FROM journals WHERE body = $1 AND device_key = $2",
        &[office.body(), phone.into()],
    )?;
    for journal in &journals {
        let rows = sql.query(
            "SELECT bytes FROM frames
             WHERE body = $1 AND device_key = $2 AND journal = $3 AND state = 1",
            &[office.body(), phone.into(), journal.array::<16>(0)?.into()],
        )?;
        for row in &rows {
            let (_, facts) = facts_of(&row.bytes(0)?);
            for (nth, fact) in facts.iter().enumerate() {
                if let Fact::SignedForOther { signature, .. } = fact
                    && wanted.contains(&**signature)
                    && there.get(&**signature) != Some(&By::Owner)
                {
                    there.insert(**signature, by(&facts, nth));
                }
            }
        }
    }
    Ok(())
}

pub(crate) fn facts_of(frame: &[u8]) -> (i64, Vec<Fact>) {
    let (first, events) = events_of(frame);
    (first, events.into_iter().map(|e| e.fact).collect())
}

/// A frame's first event's number, and its events. What the office has taken in is readable; an
/// event that is not ends what is read of it.
pub(crate) fn events_of(frame: &[u8]) -> (i64, Vec<Event>) {
    let Ok(frame) = Frame::decode_strict(frame) else {
        return (0, Vec::new());
    };
    let events = frame.events.iter();
    let events = events.map_while(|e| Event::decode_strict(e).ok());
    let first = i64::try_from(frame.from_seq).unwrap_or(i64::MAX);
    (first, events.collect())
}
