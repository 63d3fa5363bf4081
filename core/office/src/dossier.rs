//! A dog's dossier: every measure of one chip with what was signed, the log's proofs, the
//! decisions and the appeals, as one file that verifies without this office's database.

use base64::Engine as _;
use base64::prelude::BASE64_STANDARD;
use ed25519_dalek::{Signature, Signer, VerifyingKey};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use standsquare_journal::record::fact::{Fact, List, Statement};
use standsquare_journal::record::{
    Event, list_bytes, seal_bytes, sign_off_bytes, statement_hash, verify_signature,
};
use standsquare_sync::log::{Ask, Bundle, origin};
use standsquare_sync::{Frame, frame_id};
use std::collections::{BTreeMap, BTreeSet};

mod keys;

use crate::appeals::Step;
use crate::db::{self, DbFault, Sql};
use crate::state::OfficeState;
use keys::{is_doubtful, keys_of_frames, said};

/// The dossier's format.
const FORMAT: u32 = 1;
/// Goes before what the office signs of a dossier.
const DOMAIN: &[u8] = b"standsquare dossier 1\0";

/// The file: the content's own text, and the office's signature over it.
#[derive(Serialize, Deserialize)]
struct Signed {
    standsquare_dossier: u32,
    /// JSON text of a [`Content`].
    content: String,
    /// Ed25519 over the domain and SHA-256 of the content's bytes, base64.
    signature: String,
}

#[derive(Serialize, Deserialize)]
struct Content {
    demo: bool,
    league: String,
    office: String,
    office_key: String,
    chip: String,
    taken_ms: i64,
    /// The log's answer (`core/sync/docs/log.cddl`), base64.
    log: String,
    /// Frames (`core/sync/docs/frame.cddl`), base64, in the order of the log's answer.
    frames: Vec<String>,
    /// Heads of the measures' statements, hexadecimal, oldest first.
    measures: Vec<String>,
    decisions: Vec<Line>,
    appeals: Vec<Line>,
    /// What the office said of the keys that signed, and of the phones: signed notices
    /// (`core/journal/docs/journal.cddl`). Dossiers of before have none.
    #[serde(default)]
    notices: Vec<String>,
}

/// A decision, or a step of an appeal, about a measure.
#[derive(Serialize, Deserialize)]
struct Line {
    measure: String,
    nth: i64,
    at_ms: i64,
    by: String,
    what: String,
    words: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    interim: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    measurers: String,
}

/// What a dossier proves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Proven {
    /// The chip.
    pub chip: String,
    /// Entries of the log at that time.
    pub log_size: u64,
    /// The measures: what was signed, and by how many whose signatures hold.
    pub measures: Vec<(Statement, usize)>,
    /// Heads of the measures of which a signature, or the phone, counted no more by then,
    /// by what the office said of keys.
    pub doubtful: Vec<String>,
    /// How many decisions and steps of appeals the office vouches for.
    pub notes: usize,
}

/// Why a dossier proves nothing.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DossierFault {
    /// Not one.
    #[error("not a dossier: {0}")]
    Unreadable(String),
    /// By a newer office.
    #[error("dossier format {0} is newer than this program reads; update it")]
    TooNew(u32),
    /// The office did not sign it.
    #[error("the office did not sign this, or it was changed since")]
    Forged,
    /// The log's part does not hold.
    #[error("the log's proof does not hold: {0}")]
    Log(String),
    /// A frame is not in the log, or not sealed.
    #[error("batch {0} is not proved")]
    Frame(String),
    /// A measure is not in the frames, or a signature under it does not hold.
    #[error("measure {0} is not proved")]
    Measure(String),
}

fn signed_bytes(content: &str) -> Vec<u8> {
    [DOMAIN, &Sha256::digest(content)].concat()
}

impl OfficeState {
    /// The dossier of a chip, JSON text; `None` if there is no measure of it. `now_ms` is
    /// the office's clock. What is not in the log yet is not in it: log first.
    ///
    /// # Errors
    /// [`DbFault`].
    pub fn dossier(&self, chip: &str, now_ms: i64) -> Result<Option<String>, DbFault> {
        let visits = self.dog(chip)?;
        if visits.is_empty() {
            return Ok(None);
        }
        let frames = db::read(self.engine(), |sql| frames_of_chip(self, sql, chip))?;
        let ids: Vec<[u8; 32]> = frames.keys().copied().collect();
        let log = self.ask_log(&Ask {
            seen: 0,
            frames: ids,
        })?;
        let (mut decisions, mut appeals) = (Vec::new(), Vec::new());
        for visit in &visits {
            let measure = hex::encode(visit.head);
            for d in self.decisions(visit.head)? {
                decisions.push(Line {
                    measure: measure.clone(),
                    nth: d.nth,
                    at_ms: d.decided_ms,
                    by: d.name,
                    what: d.verdict.word().into(),
                    words: d.reason,
                    interim: String::new(),
                    measurers: String::new(),
                });
            }
            for a in self.appeals(visit.head)? {
                let (what, words, interim, measurers) = match a.step {
                    Step::Objection { words } => ("objection", words, String::new(), String::new()),
                    Step::Appeal {
                        words,
                        interim,
                        measurers,
                    } => ("appeal", words, interim, measurers),
                    Step::Decided { outcome, reason } => {
                        (outcome.word(), reason, String::new(), String::new())
                    }
                };
                appeals.push(Line {
                    measure: measure.clone(),
                    nth: a.nth,
                    at_ms: a.noted_ms,
                    by: a.name,
                    what: what.into(),
                    words,
                    interim,
                    measurers,
                });
            }
        }
        let keys = keys_of_frames(&frames);
        let notices = self.notices(0)?.into_iter();
        let notices = notices.filter(|n| keys.contains(&*n.notice.key));
        let in_log: BTreeSet<_> = log.frames.iter().map(|f| f.frame).collect();
        let content = Content {
            demo: self.roster().demo,
            league: self.roster().league.id.clone(),
            office: self.roster().office.name.clone(),
            office_key: hex::encode(self.public_key()),
            chip: chip.to_owned(),
            taken_ms: now_ms,
            frames: log
                .frames
                .iter()
                .filter_map(|f| frames.get(&f.frame))
                .map(|bytes| BASE64_STANDARD.encode(bytes))
                .collect(),
            log: BASE64_STANDARD.encode(log.encode()),
            measures: visits
                .iter()
                .filter(|v| stated_in(&frames, &in_log, &v.head))
                .map(|v| hex::encode(v.head))
                .collect(),
            decisions,
            appeals,
            notices: notices.map(|n| n.text).collect(),
        };
        let text = |e: serde_json::Error| DbFault::Unexpected(e.to_string());
        let content = serde_json::to_string(&content).map_err(text)?;
        let signature = self.key().sign(&signed_bytes(&content)).to_bytes();
        let signed = Signed {
            standsquare_dossier: FORMAT,
            content,
            signature: BASE64_STANDARD.encode(signature),
        };
        serde_json::to_string_pretty(&signed)
            .map(Some)
            .map_err(text)
    }
}

type Frames = BTreeMap<[u8; 32], Vec<u8>>;

/// The frames that hold the chip's sign-offs, and those in which the measurers' keys were
/// made.
fn frames_of_chip(office: &OfficeState, sql: &mut dyn Sql, chip: &str) -> Result<Frames, DbFault> {
    let signed = sql.query(
        "SELECT g.device_key, g.journal, g.seq, v.head FROM visits v JOIN signatures g
           ON g.body = v.body AND g.year = v.year AND g.session = v.session
          AND g.device_key = v.device_key AND g.journal = v.journal AND g.visit = v.visit
         WHERE v.body = $1 AND v.chip = $2 ORDER BY g.device_key, g.journal, g.seq",
        &[office.body(), chip.into()],
    )?;
    let mut frames = Frames::new();
    let mut heads: BTreeSet<[u8; 32]> = BTreeSet::new();
    let mut newest: BTreeMap<([u8; 32], [u8; 16]), i64> = BTreeMap::new();
    for row in &signed {
        let journal = (row.array(0)?, row.array(1)?);
        let seq = row.int(2)?;
        heads.insert(row.array::<32>(3)?);
        newest.insert(journal, seq);
        let holding = sql.query(
            "SELECT id, bytes FROM frames
             WHERE body = $1 AND device_key = $2 AND journal = $3 AND state = 1
               AND from_seq <= $4 AND to_seq >= $4",
            &[
                office.body(),
                journal.0.into(),
                journal.1.into(),
                seq.into(),
            ],
        )?;
        for row in &holding {
            frames.insert(row.array(0)?, row.bytes(1)?);
        }
    }
    for ((device_key, journal), seq) in newest {
        // Of one list's dogs each was put up, and confirmed, in a frame of its own.
        let earlier = sql.query(
            "SELECT id, bytes FROM frames
             WHERE body = $1 AND device_key = $2 AND journal = $3 AND state = 1
               AND from_seq <= $4",
            &[office.body(), device_key.into(), journal.into(), seq.into()],
        )?;
        for row in &earlier {
            let bytes = row.bytes(1)?;
            let needed = facts(&bytes).any(|fact| match fact {
                Fact::KeyMade { .. } => true,
                Fact::Confirmed { head, .. } => heads.contains(&*head),
                _ => false,
            });
            if needed {
                frames.insert(row.array(0)?, bytes);
            }
        }
    }
    Ok(frames)
}

fn facts(frame: &[u8]) -> impl Iterator<Item = Fact> {
    let events = Frame::decode_strict(frame).map_or_else(|_| Vec::new(), |f| f.events);
    events
        .into_iter()
        .filter_map(|e| Event::decode_strict(&e).ok().map(|e| e.fact))
}

/// Whether a sign-off over this head, or a tap that confirms it, is in a frame of the log.
fn stated_in(frames: &Frames, in_log: &BTreeSet<[u8; 32]>, head: &[u8; 32]) -> bool {
    frames
        .iter()
        .filter(|(id, _)| in_log.contains(*id))
        .any(|(_, bytes)| {
            facts(bytes).any(|f| match f {
                Fact::Signed { head: h, .. }
                | Fact::SignedElsewhere { head: h, .. }
                | Fact::Confirmed { head: h, .. } => *h == *head,
                _ => false,
            })
        })
}

/// Checks a dossier by the office's public key alone.
///
/// # Errors
/// [`DossierFault`]; then nothing of it counts.
pub fn verify_dossier(text: &str, office_key: &[u8; 32]) -> Result<Proven, DossierFault> {
    let unreadable = |e: String| DossierFault::Unreadable(e);
    let signed: Signed = serde_json::from_str(text).map_err(|e| unreadable(e.to_string()))?;
    if signed.standsquare_dossier > FORMAT {
        return Err(DossierFault::TooNew(signed.standsquare_dossier));
    }
    let decode = |text: &str| {
        BASE64_STANDARD
            .decode(text)
            .map_err(|e| unreadable(e.to_string()))
    };
    let signature: [u8; 64] = decode(&signed.signature)?
        .try_into()
        .map_err(|_| DossierFault::Forged)?;
    VerifyingKey::from_bytes(office_key)
        .and_then(|key| {
            key.verify_strict(
                &signed_bytes(&signed.content),
                &Signature::from_bytes(&signature),
            )
        })
        .map_err(|_| DossierFault::Forged)?;
    let content: Content =
        serde_json::from_str(&signed.content).map_err(|e| unreadable(e.to_string()))?;
    let log = decode(&content.log)?;
    let (checkpoint, in_log) = Bundle::verify(&log, &origin(&content.league), office_key, None)
        .map_err(|e| DossierFault::Log(e.to_string()))?;
    let mut proved = Vec::new();
    for text in &content.frames {
        let bytes = decode(text)?;
        let id = frame_id(&bytes);
        if !in_log.contains(&id) || !is_sealed(&bytes) {
            return Err(DossierFault::Frame(hex::encode(id)));
        }
        proved.push(bytes);
    }
    let keys = keys_made(&proved);
    let said = said(&content.notices, office_key)?;
    let (mut measures, mut doubtful) = (Vec::new(), Vec::new());
    for name in &content.measures {
        let fault = || DossierFault::Measure(name.clone());
        let (statement, signers) = signers(&proved, &keys, name).ok_or_else(fault)?;
        if statement.chip != content.chip {
            return Err(fault());
        }
        if is_doubtful(&proved, &keys, name, &said) {
            doubtful.push(name.clone());
        }
        measures.push((statement, signers));
    }
    Ok(Proven {
        chip: content.chip,
        log_size: checkpoint.size,
        measures,
        doubtful,
        notes: content.decisions.len() + content.appeals.len(),
    })
}

fn is_sealed(bytes: &[u8]) -> bool {
    let Ok(frame) = Frame::decode_strict(bytes) else {
        return false;
    };
    match facts(bytes).last() {
        Some(Fact::Sealed {
            alg,
            head,
            signature,
            ..
        }) => verify_signature(alg, &frame.device_key, &seal_bytes(&head), &signature).is_ok(),
        _ => false,
    }
}

type JournalKeys = BTreeMap<([u8; 32], [u8; 16], String), [u8; 32]>;

/// People's keys, by journal and person.
fn keys_made(frames: &[Vec<u8>]) -> JournalKeys {
    let mut keys = JournalKeys::new();
    for bytes in frames {
        let Ok(frame) = Frame::decode_strict(bytes) else {
            continue;
        };
        for fact in facts(bytes) {
            if let Fact::KeyMade { person, key, .. } = fact {
                keys.insert((frame.device_key, frame.journal, person), *key);
            }
        }
    }
    keys
}

/// The statement under this head and how many signed it; nothing if it is not there or a
/// signature under it does not hold.
fn signers(frames: &[Vec<u8>], keys: &JournalKeys, head: &str) -> Option<(Statement, usize)> {
    let mut wanted = [0; 32];
    hex::decode_to_slice(head, &mut wanted).ok()?;
    let mut found = None;
    let mut signed = BTreeSet::new();
    for bytes in frames {
        let frame = Frame::decode_strict(bytes).ok()?;
        let mut stated: Option<Vec<u8>> = None;
        for fact in facts(bytes) {
            match fact {
                Fact::Stated { statement } => stated = Some(statement),
                Fact::Signed {
                    person,
                    alg,
                    head,
                    signature,
                    ..
                } if *head == wanted => {
                    let statement = stated.as_ref()?;
                    let key = keys.get(&(frame.device_key, frame.journal, person.clone()))?;
                    let text = sign_off_bytes(&head, statement);
                    verify_signature(alg, key, &text, &signature).ok()?;
                    signed.insert(person);
                    found = Some(Statement::decode_strict(statement).ok()?);
                }
                Fact::SignedElsewhere {
                    person,
                    alg,
                    head,
                    signature,
                    key,
                    ..
                } if *head == wanted => {
                    let statement = stated.as_ref()?;
                    let text = sign_off_bytes(&head, statement);
                    verify_signature(alg, &key, &text, &signature).ok()?;
                    signed.insert(person);
                    found = Some(Statement::decode_strict(statement).ok()?);
                }
                _ => {}
            }
        }
    }
    if let Some((statement, confirmed)) = confirmed(frames, &wanted) {
        for bytes in frames {
            let people = listed(bytes, keys, &statement)?;
            signed.extend(people.into_iter().filter(|p| confirmed.contains(p)));
        }
        found = Some(Statement::decode_strict(&statement).ok()?);
    }
    Some((found?, signed.len()))
}

/// The statement that was confirmed under this head, where a session is signed once, and by
/// whom.
fn confirmed(frames: &[Vec<u8>], wanted: &[u8; 32]) -> Option<(Vec<u8>, BTreeSet<String>)> {
    let mut found: Option<(Vec<u8>, BTreeSet<String>)> = None;
    for bytes in frames {
        let mut stated: Option<Vec<u8>> = None;
        for fact in facts(bytes) {
            match fact {
                Fact::Stated { statement } => stated = Some(statement),
                Fact::Confirmed { person, head, .. } if *head == *wanted => {
                    // Confirmed in another frame than it was put up in: known from there.
                    if let Some(statement) = stated.clone().filter(|_| found.is_none()) {
                        found = Some((statement, BTreeSet::new()));
                    }
                    if let Some((_, people)) = &mut found {
                        people.insert(person);
                    }
                }
                _ => {}
            }
        }
    }
    found
}

/// Who signed a list of this frame that names the statement; nothing if a signature under
/// one does not hold.
fn listed(bytes: &[u8], keys: &JournalKeys, statement: &[u8]) -> Option<BTreeSet<String>> {
    let frame = Frame::decode_strict(bytes).ok()?;
    let named = statement_hash(statement);
    let mut list: Option<(Vec<u8>, List)> = None;
    let mut people = BTreeSet::new();
    for fact in facts(bytes) {
        match fact {
            Fact::ListStated { list: bytes } => {
                let read = List::decode_strict(&bytes).ok()?;
                list = Some((bytes, read));
            }
            Fact::ListSigned {
                person,
                alg,
                head,
                signature,
            } => {
                let (text, read) = list.as_ref()?;
                if !read.of(&person).any(|dog| *dog.statement == named) {
                    continue;
                }
                let key = keys.get(&(frame.device_key, frame.journal, person.clone()))?;
                verify_signature(alg, key, &list_bytes(&head, text), &signature).ok()?;
                people.insert(person);
            }
            _ => {}
        }
    }
    Some(people)
}
