//! A small phone for tests: writes facts into a journal in memory and cuts frames.
#![allow(dead_code)] // each test file uses its own part

pub mod json;
pub mod web;

use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::record::fact::*;
use standsquare_journal::record::{
    Event, FORMAT, Hash, chain, genesis, seal_bytes, sign_off_bytes,
};
use standsquare_office::db::{Engine, PostgresDb, SqliteDb};
use standsquare_office::{OfficeState, demo};
use standsquare_sync::{Frame, Receipt, frame_id, post_body};

pub const BEGIN_MS: i64 = 1_795_597_200_000;
pub const SESSION: [u8; 16] = [0x5e; 16];
pub const DAY: i32 = 20_782;

/// A device and its journal.
#[derive(Clone)]
pub struct Pen {
    pub device: SigningKey,
    pub journal: [u8; 16],
    pub session: [u8; 16],
    pub head: Hash,
    pub seq: u64,
    run: Vec<Vec<u8>>,
    pub frames: Vec<Vec<u8>>,
    at_ms: i64,
}

/// SplitMix64: the same numbers everywhere.
pub fn number(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// A dog's name that nobody gave.
fn name(random: &mut u64) -> String {
    const PARTS: [&str; 16] = [
        "mo", "ta", "ri", "bel", "no", "sa", "wil", "ke", "du", "fen", "pi", "lo", "gra", "ju",
        "hes", "ty",
    ];
    let mut part = || PARTS[(number(random) % 16) as usize];
    let name = [part(), part(), part()].concat();
    name[..1].to_uppercase() + &name[1..]
}

pub fn person_key(person: &str) -> SigningKey {
    let mut seed = [0x70; 32];
    seed[..person.len()].copy_from_slice(person.as_bytes());
    SigningKey::from_bytes(&seed)
}

impl Pen {
    /// A new journal of device number `n`.
    pub fn new(n: u8) -> Pen {
        let device = SigningKey::from_bytes(&[n; 32]);
        let mut pen = Pen {
            journal: [n; 16],
            session: SESSION,
            head: genesis(),
            seq: 0,
            run: Vec::new(),
            frames: Vec::new(),
            at_ms: BEGIN_MS,
            device,
        };
        pen.write(Fact::JournalBegun {
            device_key: pen.device.verifying_key().to_bytes().into(),
            alg: ALG_ED25519,
            hash_alg: ALG_SHA256,
            journal: pen.journal.into(),
            software: "test".into(),
        });
        pen
    }

    pub fn device_key(&self) -> [u8; 32] {
        self.device.verifying_key().to_bytes()
    }

    /// Writes a fact; the head after it.
    pub fn write(&mut self, fact: Fact) -> Hash {
        self.at_ms += 1_000;
        self.write_bytes(
            Event {
                version: FORMAT,
                at_ms: self.at_ms,
                fact,
            }
            .encode(),
        )
    }

    /// Writes bytes as if they were an event.
    pub fn write_bytes(&mut self, bytes: Vec<u8>) -> Hash {
        self.head = chain(&self.head, &bytes);
        self.seq += 1;
        self.run.push(bytes);
        self.head
    }

    /// Everything up to an open session with two measurers.
    pub fn set_up(&mut self) {
        self.write(Fact::RosterTaken {
            roster: [1; 32].into(),
            pack: [2; 32].into(),
            league: "larkmere".into(),
        });
        self.write(Fact::SessionBegun {
            session: self.session.into(),
            roster: [1; 32].into(),
            pack: [2; 32].into(),
            offset_min: 60,
            day: DAY,
        });
        self.write(Fact::VenueSet {
            name: "Hollin Field".into(),
        });
        for (person, number) in [("ottoline", "LM-014"), ("bram", "LM-022")] {
            self.write(Fact::Seated {
                person: person.into(),
                number: number.into(),
            });
            self.write(Fact::KeyMade {
                person: person.into(),
                key: person_key(person).verifying_key().to_bytes().into(),
                alg: ALG_ED25519,
            });
        }
        self.write(Fact::QueueOpened {});
    }

    pub fn statement(&self, visit: u32, dog: &str, chip: &str) -> Statement {
        Statement {
            session: self.session.into(),
            visit,
            dog: dog.into(),
            chip: chip.into(),
            proof: ChipProof::Equal,
            chip_read: None,
            pack: "larkmere".into(),
            edition: "2026".into(),
            day: DAY,
            outcome: Outcome::Category {
                id: "small".into(),
                label: "Small".into(),
            },
            over_um: None,
            within_um: Some(350_000),
            measure: 1,
            status: "provisional".into(),
            flags: vec![],
            placings: vec![StatedPlacing {
                hoop: "h35".into(),
                seen: Seen::Flat,
            }],
            window_from: Some(DAY + 365),
            window_to: Some(DAY + 730),
            measurers: vec!["LM-014".into(), "LM-022".into()],
            demo: true,
            status_until: Some(DAY + 730),
        }
    }

    /// States it; both measurers sign, the device seals; a frame is cut.
    pub fn dog(&mut self, statement: &Statement) -> Vec<u8> {
        self.state(statement);
        for person in ["ottoline", "bram"] {
            self.sign(statement, person, &person_key(person));
        }
        self.seal()
    }

    pub fn state(&mut self, statement: &Statement) {
        self.write(Fact::Stated {
            statement: statement.encode(),
        });
    }

    /// `person` signs the statement with `key`. The statement's event must be the
    /// newest but for sign-offs.
    pub fn sign(&mut self, statement: &Statement, person: &str, key: &SigningKey) {
        self.sign_at(self.stated_head(statement), statement, person, key);
    }

    /// The same where the head of the statement's event is known.
    pub fn sign_at(&mut self, head: Hash, statement: &Statement, person: &str, key: &SigningKey) {
        let signature = key.sign(&sign_off_bytes(&head, &statement.encode()));
        self.write(Fact::Signed {
            visit: statement.visit,
            person: person.into(),
            alg: ALG_ED25519,
            head: head.into(),
            signature: signature.to_bytes().into(),
        });
    }

    /// The same from a phone of the signer's own.
    pub fn sign_elsewhere(&mut self, statement: &Statement, person: &str, key: &SigningKey) {
        let head = self.stated_head(statement);
        let signature = key.sign(&sign_off_bytes(&head, &statement.encode()));
        self.write(Fact::SignedElsewhere {
            visit: statement.visit,
            person: person.into(),
            alg: ALG_ED25519,
            head: head.into(),
            signature: signature.to_bytes().into(),
            key: key.verifying_key().to_bytes().into(),
            device_key: [9; 32].into(),
        });
    }

    /// The head after the statement's event, worked out from the run.
    fn stated_head(&self, statement: &Statement) -> Hash {
        let mut after = None;
        let mut head = self.run_start();
        for bytes in &self.run {
            head = chain(&head, bytes);
            let event = Event::decode_strict(bytes);
            if matches!(event, Ok(Event { fact: Fact::Stated { statement: s }, .. })
                if s == statement.encode())
            {
                after = Some(head);
            }
        }
        after.expect("stated in this run")
    }

    fn run_start(&self) -> Hash {
        self.frames.iter().fold(genesis(), |head, bytes| {
            let frame = Frame::decode_strict(bytes).expect("a frame");
            frame
                .events
                .iter()
                .fold(head, |head, event| chain(&head, event))
        })
    }

    /// A day's journal: the set-up in one frame, then this many dogs, a frame each.
    pub fn day(n: u8, dogs: usize) -> Pen {
        let mut pen = Pen::new(n);
        pen.set_up();
        pen.seal();
        let mut random = n.into();
        for visit in 1..=dogs {
            pen.routine_dog(u32::try_from(visit).expect("a number"), &mut random);
        }
        pen
    }

    /// A moment passes at the table: up to 20 s, to the millisecond.
    fn pause(&mut self, random: &mut u64) {
        self.at_ms += (number(random) % 20_000) as i64;
    }

    /// A dog as the table writes it, from the call to what the handler is told: the
    /// events of a routine dog, with its own name, chip number, times and category.
    pub fn routine_dog(&mut self, visit: u32, random: &mut u64) {
        let mut bytes = [0; 48];
        bytes
            .chunks_mut(8)
            .for_each(|c| c.copy_from_slice(&number(random).to_be_bytes()));
        let (subject, commitment) = bytes.split_at(16);
        let chip = format!("999000{:09}", number(random) % 1_000_000_000);
        let name = name(random);
        let mut statement = self.statement(visit, &name, &chip);
        if number(random).is_multiple_of(2) {
            statement.outcome = Outcome::Category {
                id: "medium".into(),
                label: "Medium".into(),
            };
            statement.over_um = Some(350_000);
            statement.within_um = Some(430_000);
            let tried = StatedPlacing {
                hoop: "h35".into(),
                seen: Seen::NotFlat,
            };
            statement.placings = vec![tried; 3];
            statement.placings.push(StatedPlacing {
                hoop: "h43".into(),
                seen: Seen::Flat,
            });
        }
        let mut facts = vec![
            Fact::DogCalled {
                visit,
                dog: name.to_lowercase(),
                subject: <[u8; 16]>::try_from(subject).expect("16 bytes").into(),
                commitment: <[u8; 32]>::try_from(commitment).expect("32 bytes").into(),
            },
            Fact::BookAccepted { visit, measure: 1 },
            Fact::HandlerAccepted { visit },
            Fact::ChipAccepted {
                visit,
                proof: ChipProof::Equal,
            },
            Fact::Settled { visit },
            Fact::StoodSquare { visit },
        ];
        facts.extend(statement.placings.iter().map(|p| Fact::Placed {
            visit,
            hoop: p.hoop.clone(),
            seen: p.seen,
        }));
        for fact in facts {
            self.pause(random);
            self.write(fact);
        }
        self.state(&statement);
        let head = self.head;
        for person in ["ottoline", "bram"] {
            self.pause(random);
            self.sign_at(head, &statement, person, &person_key(person));
        }
        for fact in [Fact::BookWritten { visit }, Fact::HandlerTold { visit }] {
            self.pause(random);
            self.write(fact);
        }
        self.seal();
    }

    pub fn close(&mut self) -> Vec<u8> {
        self.write(Fact::SessionClosed {
            not_seen: vec!["tansy".into()],
        });
        self.seal()
    }

    pub fn seal(&mut self) -> Vec<u8> {
        let key = self.device.clone();
        self.seal_with(&key)
    }

    /// Seals with a key, which may be the wrong one, and cuts the frame.
    pub fn seal_with(&mut self, key: &SigningKey) -> Vec<u8> {
        let head = self.head;
        let signature = key.sign(&seal_bytes(&head)).to_bytes();
        self.write(Fact::Sealed {
            why: 1,
            alg: ALG_ED25519,
            head: head.into(),
            signature: signature.into(),
        });
        let events = std::mem::take(&mut self.run);
        let frame = Frame {
            device_key: self.device_key(),
            journal: self.journal,
            from_seq: self.seq + 1 - events.len() as u64,
            events,
        };
        self.frames.push(frame.encode());
        frame.encode()
    }
}

/// Does what blocks on a thread of its own: tests of the pages run inside a runtime,
/// where PostgreSQL's calls may not wait.
pub fn apart<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    std::thread::scope(|scope| match scope.spawn(work).join() {
        Ok(done) => done,
        Err(panic) => std::panic::resume_unwind(panic),
    })
}

/// Whether the tests run on PostgreSQL.
pub fn on_postgres() -> bool {
    std::env::var("STANDSQUARE_TEST_POSTGRES").is_ok()
}

/// An empty database: in memory, or, under `on-postgres.sh`, a schema of its own.
pub fn engine() -> Box<dyn Engine> {
    match std::env::var("STANDSQUARE_TEST_POSTGRES") {
        Err(_) => Box::new(SqliteDb::in_memory().expect("a database in memory")),
        Ok(setting) => Box::new(apart(move || {
            postgres_at(&setting, &fresh_schema(&setting))
        })),
    }
}

/// A new schema's name; the schema is there.
pub fn fresh_schema(setting: &str) -> String {
    use std::sync::atomic::{AtomicU32, Ordering};
    static NEXT: AtomicU32 = AtomicU32::new(0);
    let name = format!(
        "t{}_{}",
        std::process::id(),
        NEXT.fetch_add(1, Ordering::Relaxed)
    );
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build();
    runtime.expect("a runtime").block_on(async {
        let connected = tokio_postgres::connect(setting, tokio_postgres::NoTls).await;
        let (client, connection) = connected.expect("PostgreSQL answers");
        tokio::spawn(connection);
        client
            .batch_execute(&format!("CREATE SCHEMA {name}"))
            .await
            .expect("a schema");
    });
    name
}

pub fn postgres_at(setting: &str, schema: &str) -> PostgresDb {
    let setting = format!("{setting} options='-c search_path={schema}'");
    PostgresDb::open(&setting).expect("the tables are made")
}

/// A demo office over [`engine`].
pub fn office() -> OfficeState {
    office_over(engine())
}

/// A demo office over this database.
pub fn office_over(engine: Box<dyn Engine>) -> OfficeState {
    apart(|| {
        let office = OfficeState::open(engine, demo::demo_only_key(), demo::roster());
        let office = office.expect("the office opens");
        office
            .make_room(2026..=2027)
            .expect("room for the demo's years");
        office
    })
}

/// Posts frames; the receipt, verified.
pub fn post(office: &OfficeState, frames: &[Vec<u8>]) -> Receipt {
    let body = post_body(frames);
    let bytes = apart(|| office.ingest(&body, BEGIN_MS + 9_000_000)).expect("taken in");
    Receipt::verify(&bytes, &office.public_key()).expect("signed by this office")
}

/// Posts one frame that must be refused; the word for why.
pub fn refused(office: &OfficeState, frame: &[u8]) -> String {
    let receipt = post(office, &[frame.to_vec()]);
    assert_eq!(receipt.held, [] as [[u8; 32]; 0]);
    assert_eq!(receipt.refused.len(), 1);
    assert_eq!(receipt.refused[0].0, frame_id(frame));
    receipt.refused[0].1.clone()
}

/// Posts frames that must be held.
pub fn held(office: &OfficeState, frames: &[Vec<u8>]) {
    let receipt = post(office, frames);
    assert_eq!(receipt.refused, []);
    let ids: Vec<_> = frames.iter().map(|f| frame_id(f)).collect();
    assert_eq!(receipt.held, ids);
}

/// A journal of three frames: two dogs, closed.
pub fn two_dogs(n: u8) -> Pen {
    let mut pen = Pen::new(n);
    pen.set_up();
    let pip = pen.statement(1, "Pip", "999000000112233");
    pen.dog(&pip);
    let mut moss = pen.statement(2, "Moss", "999000000204518");
    moss.outcome = Outcome::Category {
        id: "medium".into(),
        label: "Medium".into(),
    };
    moss.over_um = Some(350_000);
    moss.within_um = Some(430_000);
    moss.flags = vec!["near-limit".into()];
    pen.dog(&moss);
    pen.close();
    pen
}
