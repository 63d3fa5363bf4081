//! A dog's dossier: every measure of one chip with what was signed, the log's proofs, the
//! decisions and the appeals, as one file that verifies without this office's database.

use base64::Engine as _;
use base64::prelude::BASE64_STANDARD;
use ed25519_dalek::{Signature, Signer, VerifyingKey};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use standsquare_journal::record::fact::{Fact, Statement};
use standsquare_sync::frame_id;
use standsquare_sync::log::{Ask, Bundle, origin};
use std::collections::{BTreeMap, BTreeSet};

mod keys;
mod proof;

use crate::appeals::Step;
use crate::db::{self, DbFault, Sql};
use crate::opened::{By, How, facts_of};
use crate::read::VisitLine;
use crate::state::OfficeState;
use keys::{is_doubtful, keys_of_frames, said};
use proof::{is_sealed, keys_made, signers};

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
    /// Who signed, and how they opened their keys, as the phones' records say. Dossiers of before
    /// have none.
    #[serde(default)]
    signatures: Vec<SignedLine>,
}

/// A signature under a measure.
#[derive(Serialize, Deserialize)]
struct SignedLine {
    measure: String,
    person: String,
    number: String,
    at_ms: i64,
    phone: Phone,
    key_opened_by: OpenedBy,
}

/// On which phone.
#[derive(Serialize, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "kebab-case")]
enum Phone {
    /// The one that wrote the session.
    Session,
    /// One of the signer's own.
    Own,
}

/// By what a key was opened.
#[derive(Clone, Copy, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum OpenedBy {
    Pin,
    Biometrics,
    /// That phone has not sent that part of its record.
    NotSaid,
}

impl OpenedBy {
    fn of(by: By) -> Self {
        match by {
            By::Pin => OpenedBy::Pin,
            By::Owner => OpenedBy::Biometrics,
            By::NotSaid => OpenedBy::NotSaid,
        }
    }

    fn by(self) -> By {
        match self {
            OpenedBy::Pin => By::Pin,
            OpenedBy::Biometrics => By::Owner,
            OpenedBy::NotSaid => By::NotSaid,
        }
    }
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
    /// The measures: what was signed, and by whom, as far as the signatures hold.
    pub measures: Vec<(Statement, Vec<ProvenSigner>)>,
    /// Heads of the measures of which a signature, or the phone, counted no more by then,
    /// by what the office said of keys.
    pub doubtful: Vec<String>,
    /// How many decisions and steps of appeals the office vouches for.
    pub notes: usize,
}

/// Whose signature holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProvenSigner {
    /// Id in the roster.
    pub person: String,
    /// How the key was opened: by the session's frames, or, of another phone, by the office's
    /// word.
    pub how: How,
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
        let mut visits = self.dog(chip)?;
        if visits.is_empty() {
            return Ok(None);
        }
        self.how_signed(&mut visits)?;
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
            signatures: visits.iter().flat_map(signed_lines).collect(),
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

fn signed_lines(visit: &VisitLine) -> impl Iterator<Item = SignedLine> {
    let measure = hex::encode(visit.head);
    visit.signed.iter().filter_map(move |signed| {
        let how = signed.how?;
        Some(SignedLine {
            measure: measure.clone(),
            person: signed.person.clone(),
            number: signed.number.clone(),
            at_ms: signed.signed_ms,
            phone: match how.own_phone {
                true => Phone::Own,
                false => Phone::Session,
            },
            key_opened_by: OpenedBy::of(how.by),
        })
    })
}

type Frames = BTreeMap<[u8; 32], Vec<u8>>;

/// The frames that hold the chip's sign-offs, and those in which the measurers' keys were
/// made.
fn frames_of_chip(office: &OfficeState, sql: &mut dyn Sql, chip: &str) -> Result<Frames, DbFault> {
    let signed = sql.query(
        "SELECT g.device_key, g.journal, g.seq, v.head, v.statement FROM visits v JOIN signatures g
           ON g.body = v.body AND g.year = v.year AND g.session = v.session
          AND g.device_key = v.device_key AND g.journal = v.journal AND g.visit = v.visit
         WHERE v.body = $1 AND v.chip = $2 ORDER BY g.device_key, g.journal, g.seq",
        &[office.body(), chip.into()],
    )?;
    let mut frames = Frames::new();
    let mut heads: BTreeSet<[u8; 32]> = BTreeSet::new();
    let mut statements: BTreeSet<Vec<u8>> = BTreeSet::new();
    let mut newest: BTreeMap<([u8; 32], [u8; 16]), i64> = BTreeMap::new();
    for row in &signed {
        let journal = (row.array(0)?, row.array(1)?);
        let seq = row.int(2)?;
        heads.insert(row.array::<32>(3)?);
        statements.insert(row.bytes(4)?);
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
        // Of one list's dogs each was put up, and confirmed, in a frame of its own; and a phone
        // may have sealed before all had signed.
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
                Fact::Stated { statement } => statements.contains(&statement),
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
    facts_of(frame).1.into_iter()
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
        if is_doubtful(&proved, &keys, name, &statement, &said) {
            doubtful.push(name.clone());
        }
        let signers = signers.into_iter().map(|(person, mut how)| {
            // The signer's own phone's frames are not in it: they hold other dogs.
            let told = content.signatures.iter().find(|line| {
                how.own_phone
                    && line.phone == Phone::Own
                    && line.measure == *name
                    && line.person == person
            });
            if let Some(line) = told {
                how.by = line.key_opened_by.by();
            }
            ProvenSigner { person, how }
        });
        measures.push((statement, signers.collect()));
    }
    Ok(Proven {
        chip: content.chip,
        log_size: checkpoint.size,
        measures,
        doubtful,
        notes: content.decisions.len() + content.appeals.len(),
    })
}
