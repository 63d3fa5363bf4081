//! A phone with years behind it, for measuring: sessions of dogs, each event as the app
//! writes it, every one signed, sealed and acknowledged.

use std::path::Path;

use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::record::fact::{
    ALG_ED25519, ChipProof, Fact, Found, Outcome, Seen, StatedPlacing, Statement,
};
use standsquare_journal::record::sign_off_bytes;
use standsquare_journal::store::{Item, Journal, Opening};
use standsquare_session::{Act, JOURNAL_FILE, Phone, Stamp};
use standsquare_sync::{Frame, frame_id};

/// The secret of every phone made here.
pub const SECRET: [u8; 32] = [7; 32];
/// 2026-11-25T09:00:00Z.
pub const AT_MS: i64 = 1_795_597_200_000;
/// Dogs of a session; the roster has one more, for whoever measures on.
pub const A_SESSION: u32 = 50;

const PEOPLE: [(&str, &str); 2] = [("ottoline", "LM-014"), ("bram", "LM-022")];
const DAY: i32 = 20_782;

/// A moment, with its randomness.
pub fn stamp(n: u64) -> Stamp {
    let mut entropy = vec![3; 32];
    entropy[..8].copy_from_slice(&n.to_be_bytes());
    Stamp {
        at_ms: AT_MS + 1_500 * n as i64,
        offset_min: 60,
        entropy,
    }
}

/// The demo league's roster with [`A_SESSION`] dogs and one more.
fn roster() -> String {
    let mut roster = standsquare_office::demo::roster();
    let pattern = roster.dogs[0].clone();
    roster.dogs = (1..=A_SESSION + 1)
        .map(|n| {
            let mut dog = pattern.clone();
            dog.id = format!("dog{n}");
            dog.name = format!("Dog {n}");
            dog.chip = format!("999000000{n:06}");
            dog.earlier.clear();
            dog.household_of.clear();
            dog
        })
        .collect();
    serde_json::to_string(&roster).expect("a roster is JSON")
}

struct Filling {
    journal: Journal,
    keys: Vec<SigningKey>,
    sent_up_to: u64,
}

/// Makes a phone in `dir`, which holds none: so many sessions of [`A_SESSION`] dogs, the
/// last one still open with all but the roster's last dog measured.
pub fn fill(dir: &Path, sessions: u32) {
    let mut phone = Phone::open(dir, SECRET, &stamp(0)).expect("opens");
    let text = roster();
    phone
        .apply(&Act::LoadRoster { text }, 1, &stamp(1))
        .expect("loads");
    let taken = phone.journal().events().expect("reads").into_iter().rev();
    let (roster, pack) = taken
        .filter_map(|e| match e.fact {
            Fact::RosterTaken { roster, pack, .. } => Some((roster, pack)),
            _ => None,
        })
        .next()
        .expect("a roster");
    drop(phone);
    let opening = Opening {
        device_secret: SECRET,
        at_ms: AT_MS,
        entropy: [5; 32],
        software: "bench",
    };
    let mut filling = Filling {
        journal: Journal::open(&dir.join(JOURNAL_FILE), opening).expect("opens"),
        keys: (1..=2).map(|n| SigningKey::from_bytes(&[n; 32])).collect(),
        sent_up_to: 0,
    };
    for session in 1..=sessions {
        let mut id = [0; 16];
        id[..4].copy_from_slice(&session.to_be_bytes());
        filling.facts(vec![Fact::SessionBegun {
            session: id.into(),
            roster,
            pack,
            offset_min: 60,
            day: DAY,
        }]);
        filling.set_up(session == 1);
        for visit in 1..=A_SESSION {
            filling.dog(id, visit);
        }
        if session < sessions {
            filling.close();
        }
    }
    drop(filling);
    // What an opening works out is kept at the next tick, a few times a second.
    let mut phone = Phone::open(dir, SECRET, &stamp(2)).expect("opens");
    phone.apply(&Act::Tick, 0, &stamp(3)).expect("ticks");
}

impl Filling {
    fn items(&mut self, items: Vec<Item>) {
        self.journal.commit(AT_MS, items).expect("commits");
    }

    fn facts(&mut self, facts: Vec<Fact>) {
        self.items(facts.into_iter().map(Item::Fact).collect());
    }

    fn set_up(&mut self, first: bool) {
        let mut facts = vec![Fact::VenueSet {
            name: "Hollin Field".into(),
        }];
        for (x_mdeg, y_mdeg) in [(420, -130), (180, -310)] {
            facts.push(Fact::LevelRead { x_mdeg, y_mdeg });
        }
        facts.push(Fact::SurfaceAccepted {});
        for hoop in ["h35", "h43"] {
            facts.push(Fact::HoopLooked {
                hoop: hoop.into(),
                good: true,
            });
        }
        facts.push(Fact::HoopsAccepted {});
        for (n, (person, number)) in PEOPLE.into_iter().enumerate() {
            facts.push(Fact::Seated {
                person: person.into(),
                number: number.into(),
            });
            if first {
                facts.push(Fact::KeyMade {
                    person: person.into(),
                    key: self.keys[n].verifying_key().to_bytes().into(),
                    alg: ALG_ED25519,
                });
            }
        }
        facts.push(Fact::QueueOpened {});
        self.facts(facts);
    }

    fn dog(&mut self, session: [u8; 16], visit: u32) {
        let number = format!("999000000{visit:06}");
        let mut facts = vec![Fact::DogCalled {
            visit,
            dog: format!("dog{visit}"),
            subject: [visit as u8; 16].into(),
            commitment: [3; 32].into(),
        }];
        for item in ["name", "chip", "born", "measures"] {
            facts.push(Fact::BookLooked {
                visit,
                item: item.into(),
                found: Found::Agrees,
            });
        }
        facts.push(Fact::BookAccepted { visit, measure: 1 });
        for question in ["bites", "pain", "sedated", "consents"] {
            facts.push(Fact::HandlerAnswered {
                visit,
                question: question.into(),
                yes: question == "consents",
            });
        }
        facts.push(Fact::HandlerAccepted { visit });
        facts.push(Fact::ChipRead {
            visit,
            raw: [b"\x02".as_slice(), &[b'0'; 28], b"\x03"].concat(),
            form: "stx-etx-wl30".into(),
            number: number.clone(),
            verified: true,
        });
        facts.push(Fact::ChipAccepted {
            visit,
            proof: ChipProof::Equal,
        });
        facts.push(Fact::Settled { visit });
        facts.push(Fact::StoodSquare { visit });
        facts.push(Fact::Placed {
            visit,
            hoop: "h35".into(),
            seen: Seen::Flat,
        });
        let statement = statement(session, visit, number).encode();
        facts.push(Fact::Stated {
            statement: statement.clone(),
        });
        self.facts(facts);
        let head = self.journal.head().hash;
        let signed = sign_off_bytes(&head, &statement);
        let mut items: Vec<Item> = PEOPLE
            .iter()
            .zip(&self.keys)
            .map(|((person, _), key)| {
                Item::Fact(Fact::Signed {
                    visit,
                    person: (*person).into(),
                    alg: ALG_ED25519,
                    head: head.into(),
                    signature: key.sign(&signed).to_bytes().into(),
                })
            })
            .collect();
        items.push(Item::Seal { why: 1 });
        items.push(Item::Fact(Fact::BookWritten { visit }));
        items.push(Item::Fact(Fact::HandlerTold { visit }));
        self.items(items);
    }

    fn close(&mut self) {
        let not_seen = vec![format!("dog{}", A_SESSION + 1)];
        self.items(vec![
            Item::Fact(Fact::CloseReviewed { open: true }),
            Item::Fact(Fact::SessionClosed { not_seen }),
            Item::Seal { why: 2 },
        ]);
        let mut frames = Vec::new();
        let mut from_seq = self.sent_up_to + 1;
        let mut events = Vec::new();
        for event in self.journal.events_from(from_seq).expect("reads") {
            events.push(event.bytes);
            if matches!(event.fact, Fact::Sealed { .. }) {
                let frame = Frame {
                    device_key: self.journal.device_key(),
                    journal: self.journal.journal_id(),
                    from_seq,
                    events: std::mem::take(&mut events),
                };
                frames.push(frame_id(&frame.encode()).into());
                from_seq = event.seq + 1;
            }
        }
        self.sent_up_to = from_seq - 1;
        let receipt = vec![0x5a; 200];
        // The office's log answers a few seconds after its receipt.
        let logged = Fact::Logged {
            frames: frames.clone(),
            checkpoint: "as received".into(),
        };
        self.facts(vec![
            Fact::Acknowledged { frames, receipt },
            logged,
            Fact::SessionLeft {},
        ]);
    }
}

fn statement(session: [u8; 16], visit: u32, chip: String) -> Statement {
    Statement {
        session: session.into(),
        visit,
        dog: format!("Dog {visit}"),
        chip,
        proof: ChipProof::Equal,
        chip_read: None,
        pack: "larkmere-heights".into(),
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
        flags: Vec::new(),
        placings: vec![StatedPlacing {
            hoop: "h35".into(),
            seen: Seen::Flat,
        }],
        window_from: Some(21_147),
        window_to: Some(21_512),
        measurers: PEOPLE.iter().map(|(_, n)| (*n).to_owned()).collect(),
        demo: true,
        status_until: None,
    }
}
