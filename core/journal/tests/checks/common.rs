//! What the journal's tests share: a journal in a folder of its own, and a small day at
//! the table to fill it with.

use std::path::{Path, PathBuf};

use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::record::elsewhere::signed_bytes;
use standsquare_journal::record::fact::{
    ALG_ED25519, ChipProof, Fact, Found, List, Listed, Outcome, Seen, StatedPlacing, Statement,
};
use standsquare_journal::record::{list_bytes, sign_off_bytes, statement_hash, unlock_bytes};
use standsquare_journal::store::{
    Item, Journal, Opening, WrappedKey, make_person_key, subject_commitment,
};
use tempfile::TempDir;

pub const SECRET: [u8; 32] = [3; 32];
pub const PINS: [(&str, &str); 2] = [("ottoline", "4711"), ("bram", "2580")];
/// 2026-11-25T09:00:00Z.
pub const BEGIN_MS: i64 = 1_795_597_200_000;

pub fn opening() -> Opening<'static> {
    Opening {
        device_secret: SECRET,
        at_ms: BEGIN_MS,
        entropy: [5; 32],
        software: "standsquare test",
    }
}

pub fn fresh() -> (TempDir, PathBuf, Journal) {
    let dir = TempDir::new().expect("a folder");
    let path = dir.path().join("deep/journal.sqlite");
    let journal = Journal::open(&path, opening()).expect("opens");
    (dir, path, journal)
}

pub fn again(path: &Path) -> Journal {
    Journal::open(path, opening()).expect("opens")
}

pub fn told(visit: u32) -> Item {
    Item::Fact(Fact::HandlerTold { visit })
}

/// Twenty times a fact and a seal: with the first event, 41.
pub fn filled() -> (TempDir, PathBuf) {
    let (dir, path, mut journal) = fresh();
    for visit in 1..=20 {
        journal
            .commit(BEGIN_MS, vec![told(visit), Item::Seal { why: 1 }])
            .expect("commits");
    }
    drop(journal);
    (dir, path)
}

/// A statement of the first dog, in which the measure's number may vary.
pub fn statement(visit: u32, measure: u8) -> Statement {
    Statement {
        session: [7; 16].into(),
        visit,
        dog: "Pip".into(),
        chip: "999000000112233".into(),
        proof: ChipProof::Equal,
        chip_read: None,
        pack: "larkmere-heights".into(),
        edition: "2026".into(),
        day: 20_782,
        outcome: Outcome::Category {
            id: "small".into(),
            label: "Small".into(),
        },
        over_um: None,
        within_um: Some(350_000),
        measure,
        status: "provisional".into(),
        flags: vec!["first_measure".into()],
        placings: vec![
            StatedPlacing {
                hoop: "h35".into(),
                seen: Seen::Moved,
            },
            StatedPlacing {
                hoop: "h35".into(),
                seen: Seen::Flat,
            },
        ],
        window_from: Some(21_147),
        window_to: Some(21_512),
        measurers: vec!["LM-014".into(), "LM-022".into()],
        demo: true,
        status_until: None,
    }
}

/// A day in acts, as the session writes them: two measurers, dogs called, measured,
/// signed for by both and sealed, the session closed, an acknowledgement.
/// Keys cost time (Argon2), so they are made once and handed in.
pub struct Day {
    pub keys: Vec<WrappedKey>,
    /// Called when an act was answered.
    pub answered: Option<fn(&Journal)>,
    at_ms: i64,
}

impl Day {
    pub fn new() -> Self {
        let keys = PINS
            .iter()
            .enumerate()
            .map(|(n, (person, pin))| {
                make_person_key(person, pin, &SECRET, [n as u8 + 1; 32]).expect("a key")
            })
            .collect();
        Day {
            keys,
            answered: None,
            at_ms: BEGIN_MS,
        }
    }

    fn act(&mut self, journal: &mut Journal, items: Vec<Item>) {
        self.at_ms += 1_500;
        journal.commit(self.at_ms, items).expect("commits");
        if let Some(answered) = self.answered {
            answered(journal);
        }
    }

    fn facts(&mut self, journal: &mut Journal, facts: Vec<Fact>) {
        self.act(journal, facts.into_iter().map(Item::Fact).collect());
    }

    /// From nothing to an open queue.
    pub fn set_up(&mut self, journal: &mut Journal, dogs: u32) {
        let pack = b"the text of an invented rule pack".repeat(40);
        let roster = format!("an invented roster of {dogs} dogs ").repeat(200);
        let (pack_hash, roster_hash) = (sha256(&pack), sha256(roster.as_bytes()));
        let mut items: Vec<Item> = (1..=dogs).map(subject).collect();
        items.push(Item::Blob {
            hash: roster_hash,
            bytes: roster.into_bytes(),
        });
        items.push(Item::Blob {
            hash: pack_hash,
            bytes: pack,
        });
        items.push(Item::Fact(Fact::RosterTaken {
            roster: roster_hash.into(),
            pack: pack_hash.into(),
            league: "larkmere".into(),
        }));
        self.act(journal, items);
        self.begun(journal, roster_hash, pack_hash);
        let name = "Hollin Field".into();
        self.facts(journal, vec![Fact::VenueSet { name }]);
        for (x_mdeg, y_mdeg) in [(420, -130), (180, -310)] {
            self.facts(journal, vec![Fact::LevelRead { x_mdeg, y_mdeg }]);
        }
        self.facts(journal, vec![Fact::SurfaceAccepted {}]);
        for key in self.keys.clone() {
            let person = key.person().to_owned();
            let number = if person == "bram" { "LM-022" } else { "LM-014" };
            self.facts(
                journal,
                vec![Fact::Seated {
                    person: person.clone(),
                    number: number.into(),
                }],
            );
            let made = Fact::KeyMade {
                person,
                key: key.public().into(),
                alg: ALG_ED25519,
            };
            self.act(journal, vec![Item::PersonKey(key), Item::Fact(made)]);
        }
        self.facts(journal, vec![Fact::QueueOpened {}]);
    }

    fn begun(&mut self, journal: &mut Journal, roster: [u8; 32], pack: [u8; 32]) {
        self.facts(
            journal,
            vec![Fact::SessionBegun {
                session: [7; 16].into(),
                roster: roster.into(),
                pack: pack.into(),
                offset_min: 60,
                day: 20_782,
            }],
        );
    }

    /// Another session on a phone that has a roster and both measurers' keys: their keys
    /// are then those that the file holds.
    pub fn session(&mut self, journal: &mut Journal) {
        let taken = journal.events().expect("reads").into_iter().find_map(|e| {
            let Fact::RosterTaken { roster, pack, .. } = e.fact else {
                return None;
            };
            Some((*roster, *pack))
        });
        let (roster, pack) = taken.expect("a roster was taken in");
        for key in &mut self.keys {
            let kept = journal.person_key(key.person()).expect("reads");
            *key = kept.expect("a key");
        }
        self.begun(journal, roster, pack);
        self.facts(journal, vec![Fact::QueueOpened {}]);
    }

    /// A dog, called to what it came to (flat at the second placing), which is given.
    fn measured(&mut self, journal: &mut Journal, visit: u32) -> Vec<u8> {
        let subject_id = [visit as u8; 16];
        self.facts(
            journal,
            vec![Fact::DogCalled {
                visit,
                dog: "pip".into(),
                subject: subject_id.into(),
                commitment: subject_commitment(b"Ferelith Quarrington", &[2; 32]).into(),
            }],
        );
        self.facts(
            journal,
            vec![
                Fact::BookLooked {
                    visit,
                    item: "chip".into(),
                    found: Found::Agrees,
                },
                Fact::BookAccepted { visit, measure: 1 },
            ],
        );
        self.facts(
            journal,
            vec![Fact::ChipRead {
                visit,
                raw: b"\x02LA999000000112233\x03".to_vec(),
                form: "frame30".into(),
                number: "999000000112233".into(),
                verified: true,
            }],
        );
        self.facts(
            journal,
            vec![Fact::Settled { visit }, Fact::StoodSquare { visit }],
        );
        for seen in [Seen::Moved, Seen::Flat] {
            let hoop = "h35".into();
            self.facts(journal, vec![Fact::Placed { visit, hoop, seen }]);
        }
        let shown = statement(visit, 1).encode();
        self.facts(
            journal,
            vec![Fact::Stated {
                statement: shown.clone(),
            }],
        );
        shown
    }

    /// A dog, called to told, signed by both.
    pub fn dog(&mut self, journal: &mut Journal, visit: u32) {
        let shown = self.measured(journal, visit);
        let head = journal.head().hash;
        for (n, (person, pin)) in PINS.iter().enumerate() {
            let signature = self.keys[n]
                .sign(pin, &SECRET, &sign_off_bytes(&head, &shown))
                .expect("signs");
            let mut items = vec![Item::Fact(Fact::Signed {
                visit,
                person: (*person).into(),
                alg: ALG_ED25519,
                head: head.into(),
                signature: signature.into(),
            })];
            if n == 1 {
                items.push(Item::Seal { why: 1 });
            }
            self.act(journal, items);
        }
        self.facts(
            journal,
            vec![Fact::BookWritten { visit }, Fact::HandlerTold { visit }],
        );
    }

    /// Everybody opens their key for the dogs that follow.
    pub fn unlock(&mut self, journal: &mut Journal) {
        for (n, (person, pin)) in PINS.iter().enumerate() {
            let head = journal.head().hash;
            let signature = self.keys[n]
                .sign(pin, &SECRET, &unlock_bytes(&head))
                .expect("signs");
            let fact = Fact::Unlocked {
                person: (*person).into(),
                alg: ALG_ED25519,
                head: head.into(),
                signature: signature.into(),
            };
            self.facts(journal, vec![fact]);
        }
    }

    /// One dog, confirmed by both and not yet signed.
    pub fn dog_confirmed(&mut self, journal: &mut Journal, visit: u32) {
        self.measured(journal, visit);
        let head = journal.head().hash.into();
        for (person, _) in PINS {
            let person = person.into();
            self.facts(
                journal,
                vec![Fact::Confirmed {
                    visit,
                    person,
                    head,
                }],
            );
        }
        self.act(journal, vec![Item::Seal { why: 1 }]);
    }

    /// Everybody signs one list of dogs 1 to `dogs`.
    pub fn sign_list(&mut self, journal: &mut Journal, dogs: u32) {
        let list = list_of(dogs).encode();
        self.facts(journal, vec![Fact::ListStated { list: list.clone() }]);
        let head = journal.head().hash;
        for (n, (person, pin)) in PINS.iter().enumerate() {
            let signature = self.keys[n]
                .sign(pin, &SECRET, &list_bytes(&head, &list))
                .expect("signs");
            let fact = Fact::ListSigned {
                person: (*person).into(),
                alg: ALG_ED25519,
                head: head.into(),
                signature: signature.into(),
            };
            self.facts(journal, vec![fact]);
        }
        self.act(journal, vec![Item::Seal { why: 1 }]);
    }

    /// The end: closed, sealed, acknowledged.
    pub fn close(&mut self, journal: &mut Journal) {
        let closed = Fact::SessionClosed {
            not_seen: vec!["tansy".into()],
        };
        self.act(journal, vec![Item::Fact(closed), Item::Seal { why: 2 }]);
        let frames = vec![[9; 32].into()];
        self.facts(
            journal,
            vec![Fact::Acknowledged {
                frames,
                receipt: b"a receipt as received".to_vec(),
            }],
        );
        self.facts(journal, vec![Fact::SessionLeft {}]);
    }
}

pub fn subject(n: u32) -> Item {
    Item::Subject {
        id: [n as u8; 16],
        clear: b"Ferelith Quarrington".to_vec(),
        salt: [2; 32],
        key: [n as u8 ^ 0x40; 32],
        nonce: [n as u8 ^ 0x20; 24],
    }
}

pub fn sha256(bytes: &[u8]) -> [u8; 32] {
    use sha2::Digest;
    sha2::Sha256::digest(bytes).into()
}

/// The list of dogs 1 to `dogs` of a day, all confirmed by both.
pub fn list_of(dogs: u32) -> List {
    let listed = |visit| {
        let shown = statement(visit, 1);
        Listed {
            visit,
            statement: statement_hash(&shown.encode()).into(),
            dog: shown.dog,
            chip: shown.chip,
            outcome: shown.outcome,
            by: PINS.iter().map(|(person, _)| (*person).into()).collect(),
        }
    };
    List {
        session: statement(1, 1).session,
        dogs: (1..=dogs).map(listed).collect(),
        demo: true,
    }
}

/// As [`a_day`], by rules that have the session signed once.
pub fn a_day_signed_once(dogs: u32) -> (TempDir, PathBuf) {
    let (dir, path, mut journal) = fresh();
    let mut day = Day::new();
    day.set_up(&mut journal, dogs);
    day.unlock(&mut journal);
    for visit in 1..=dogs {
        day.dog_confirmed(&mut journal, visit);
    }
    day.sign_list(&mut journal, dogs);
    day.close(&mut journal);
    drop(journal);
    (dir, path)
}

/// Two dogs of a session that is signed once. Bram signs the list, and a correction that is
/// left again, on another phone; and here the same for another phone.
pub fn a_day_with_another_phone(correction: Vec<u8>) -> (TempDir, PathBuf) {
    let (dir, path, mut journal) = fresh();
    let mut day = Day::new();
    day.set_up(&mut journal, 2);
    day.unlock(&mut journal);
    for visit in 1..=2 {
        day.dog_confirmed(&mut journal, visit);
    }
    let (person, alg, pin) = ("bram".to_owned(), ALG_ED25519, PINS[1].1);
    let own = SigningKey::from_bytes(&[0x33; 32]);
    for (visit, shown) in [(1, correction), (0, list_of(2).encode())] {
        let put_up = match visit {
            0 => Fact::ListStated {
                list: shown.clone(),
            },
            _ => Fact::CorrectionStated {
                correction: shown.clone(),
            },
        };
        day.facts(&mut journal, vec![put_up]);
        let head = journal.head().hash;
        let over = signed_bytes(&head, &shown);
        let elsewhere = Fact::SignedElsewhere {
            visit,
            person: person.clone(),
            alg,
            head: head.into(),
            signature: own.sign(&over).to_bytes().into(),
            key: own.verifying_key().to_bytes().into(),
            device_key: [9; 32].into(),
        };
        let signature = day.keys[1].sign(pin, &SECRET, &over).expect("signs");
        let for_other = Fact::SignedForOther {
            device_key: [10; 32].into(),
            person: person.clone(),
            statement: shown,
            alg,
            head: head.into(),
            signature: signature.into(),
        };
        day.facts(&mut journal, vec![elsewhere]);
        day.facts(&mut journal, vec![for_other]);
    }
    day.close(&mut journal);
    drop(journal);
    (dir, path)
}

/// A whole day with so many dogs, closed and let go.
pub fn a_day(dogs: u32) -> (TempDir, PathBuf) {
    let (dir, path, mut journal) = fresh();
    let mut day = Day::new();
    day.set_up(&mut journal, dogs);
    for visit in 1..=dogs {
        day.dog(&mut journal, visit);
    }
    day.close(&mut journal);
    drop(journal);
    (dir, path)
}
