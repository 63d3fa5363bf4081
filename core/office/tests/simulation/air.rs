//! Posts in packets beside the connections: flown as the phone's core does it
//! (`core/session/src/sending.rs`), landed as the office's pages do (`web/packets.rs`). Packets
//! are lost, doubled, overtaken, spoilt, and come to the other office; an office or a phone stops
//! between any two of them, a phone's address changes, and strangers send what they like.

use std::collections::{BTreeMap, BTreeSet};

use standsquare_office::IngestFault;
use standsquare_sync::packets::{Flight, LONGEST, Landing, TO_OFFICE, VERSION, Whole};

use crate::phone::Random;
use crate::support::*;
use crate::world::{Happens, World};

/// A post is named by the key that the phone made for it.
type Name = [u8; 32];

/// What happens in the air over the seeds, or nothing was shown of it.
pub const TO_HAPPEN: [&str; 17] = [
    "packets",
    "packets lost",
    "packets doubled",
    "packets overtaken",
    "packets spoilt",
    "packets astray",
    "packets of strangers",
    "packets swallowed",
    "landed",
    "landed and failed",
    "half landed at a crash",
    "landed at a crash, not taken in",
    "taken in at a crash, not answered",
    "back to an old address",
    "acknowledged in packets",
    "answered too late",
    "fell",
];

/// What a seed's network does with packets.
enum Sky {
    /// The phones send none.
    NoneFlown,
    /// The network lets none through.
    Closed,
    /// So many of a hundred are lost, and come to the other office, in the time of troubles.
    Open { lost: u64, astray: u64 },
}

/// Where a packet came from.
#[derive(Clone, Copy)]
pub struct From {
    phone: usize,
    address: u32,
}

/// What a phone has in the air.
pub struct Flown {
    attempt: u64,
    flight: Flight,
    name: Option<Name>,
    /// Where its packets come to, unless they go astray.
    office: usize,
    /// When it is to be woken: what is arranged.
    wake_ms: i64,
}

pub enum InAir {
    /// Time for a phone to send packets.
    Flies { phone: usize },
    /// A packet reaches an office. One that is spoilt must come to nothing.
    Lands {
        office: usize,
        from: From,
        packet: Vec<u8>,
        spoilt: bool,
    },
    /// Time for an office to send packets back.
    Due { office: usize },
    /// An office gets round to a post that has landed.
    TakenIn {
        office: usize,
        era: u32,
        whole: Whole,
    },
    /// What came of it is known where packets are answered.
    Answered {
        office: usize,
        era: u32,
        post: Name,
        status: u16,
        answer: Vec<u8>,
    },
    /// A packet is back.
    Back {
        to: From,
        packet: Vec<u8>,
        spoilt: bool,
    },
}

/// What is known of a post beside the code that is tried.
#[derive(Default)]
struct Known {
    body: Vec<u8>,
    answers: BTreeSet<(u16, Vec<u8>)>,
}

/// What a kill of an office takes away.
struct Ground {
    era: u32,
    landing: Landing<From>,
    whole: BTreeSet<Name>,
    due_ms: i64,
}

impl Ground {
    fn new(era: u32, random: &mut Random) -> Ground {
        Ground {
            era,
            landing: Landing::new(&standsquare_office::demo::demo_only_key(), bytes(random)),
            whole: BTreeSet::new(),
            due_ms: i64::MIN,
        }
    }
}

pub struct Air {
    sky: Sky,
    ground: [Ground; 2],
    posts: BTreeMap<Name, Known>,
    /// When the last packet that was sent is there: one that is there sooner overtook it.
    last_ms: i64,
}

impl Air {
    pub fn new(random: &mut Random) -> Air {
        let sky = match random.below(10) {
            0..3 => Sky::NoneFlown,
            3 => Sky::Closed,
            _ => Sky::Open {
                lost: [0, 10, 30, 60][random.below(4) as usize],
                astray: [0, 0, 5, 50][random.below(4) as usize],
            },
        };
        Air {
            sky,
            ground: [Ground::new(0, random), Ground::new(0, random)],
            posts: BTreeMap::new(),
            last_ms: i64::MIN,
        }
    }

    /// Whether the phones send packets.
    pub fn is_flown_in(&self) -> bool {
        !matches!(self.sky, Sky::NoneFlown)
    }

    /// In the end the offices remember no post that came in packets.
    pub fn is_clear(&self) {
        for ground in &self.ground {
            assert_eq!(ground.landing.posts(), 0, "a landing is never forgotten");
        }
    }
}

fn bytes(random: &mut Random) -> [u8; 32] {
    let mut out = [0; 32];
    for part in out.chunks_mut(8) {
        part.copy_from_slice(&random.next().to_be_bytes());
    }
    out
}

/// The name on a packet to the office.
fn name_on(packet: &[u8]) -> Name {
    let mark = TO_OFFICE.len() + 1;
    packet[mark..mark + 32].try_into().expect("32 bytes")
}

impl World {
    /// A phone takes a post up.
    pub fn take_off(&mut self, phone: usize, attempt: u64, body: &[u8]) {
        let office_key = self.offices[0].public_key();
        let flight = Flight::new(body, &office_key, bytes(&mut self.random), self.now_ms);
        let mut flown = Flown {
            attempt,
            flight: flight.expect("short enough"),
            name: None,
            office: self.random.below(2) as usize,
            wake_ms: i64::MIN,
        };
        // The first packets tell the post's name.
        let packets = flown.flight.wake(self.now_ms);
        let name = name_on(&packets[0]);
        flown.name = Some(name);
        let before = self.air.posts.insert(
            name,
            Known {
                body: body.to_vec(),
                answers: BTreeSet::new(),
            },
        );
        assert!(before.is_none(), "two posts of one name");
        let office = flown.office;
        self.phones[phone].flown = Some(flown);
        self.send(phone, office, packets);
    }

    /// Nobody waits for this one any more.
    pub fn end_flight(&mut self, phone: usize, attempt: u64) {
        let flown = &mut self.phones[phone].flown;
        flown.take_if(|f| f.attempt == attempt);
    }

    /// Sends what is due.
    pub fn fly(&mut self, phone: usize) {
        let now = self.now_ms;
        let p = &mut self.phones[phone];
        let Some(flown) = &mut p.flown else { return };
        let packets = flown.flight.wake(now);
        let office = flown.office;
        match flown.flight.next_ms() {
            Some(at) if flown.wake_ms <= now || at < flown.wake_ms => {
                flown.wake_ms = at;
                self.arrange(at, Happens::InAir(InAir::Flies { phone }));
            }
            Some(_) => {}
            None => {
                let attempt = flown.attempt;
                p.flown = None;
                p.outbox.fell(attempt);
                self.note("fell");
            }
        }
        self.send(phone, office, packets);
    }

    fn send(&mut self, phone: usize, office: usize, packets: Vec<Vec<u8>>) {
        let from = From {
            phone,
            address: self.phones[phone].address,
        };
        for packet in packets {
            self.note("packets");
            self.carry(packet, |world, packet, spoilt| {
                let astray = match world.air.sky {
                    Sky::Open { astray, .. } => world.bad_luck(astray),
                    _ => false,
                };
                if astray {
                    world.note("packets astray");
                }
                let office = if astray { 1 - office } else { office };
                InAir::Lands {
                    office,
                    from,
                    packet,
                    spoilt,
                }
            });
        }
        if self.bad_luck(2) {
            self.strangers(office, from);
        }
    }

    /// A packet goes over the network, in either direction.
    fn carry(
        &mut self,
        packet: Vec<u8>,
        mut lands: impl FnMut(&mut World, Vec<u8>, bool) -> InAir,
    ) {
        assert!(packet.len() <= LONGEST);
        let Sky::Open { lost, .. } = self.air.sky else {
            return self.note("packets swallowed");
        };
        if self.link_is_down(self.now_ms) || self.bad_luck(lost) {
            return self.note("packets lost");
        }
        let copies = 1 + usize::from(self.bad_luck(10));
        if copies > 1 {
            self.note("packets doubled");
        }
        for _ in 0..copies {
            let mut packet = packet.clone();
            let spoilt = self.bad_luck(3);
            if spoilt {
                self.note("packets spoilt");
                self.spoil(&mut packet);
            }
            let mut at = self.now_ms + 20 + self.random.below(200) as i64;
            if self.bad_luck(10) {
                at += self.random.below(4_000) as i64;
            }
            if at < self.air.last_ms {
                self.note("packets overtaken");
            }
            self.air.last_ms = at;
            let what = lands(self, packet, spoilt);
            self.arrange(at, Happens::InAir(what));
        }
    }

    /// A bit is another one, the end is lacking, or there is more than was sent.
    fn spoil(&mut self, packet: &mut Vec<u8>) {
        let at = self.random.below(packet.len() as u64) as usize;
        match self.random.below(4) {
            0 => packet.truncate(at),
            1 => packet.push(self.random.next() as u8),
            _ => packet[at] ^= 1 << self.random.below(8),
        }
    }

    /// What was not sealed for this office, or not sealed at all.
    fn strangers(&mut self, office: usize, from: From) {
        self.note("packets of strangers");
        let packet = if self.random.percent(50) {
            let other = person_key("nobody").verifying_key().to_bytes();
            let secret = bytes(&mut self.random);
            let flight = Flight::new(&[7; 99], &other, secret, self.now_ms);
            flight.expect("short").wake(self.now_ms).remove(0)
        } else {
            let noise = bytes(&mut self.random);
            [&TO_OFFICE[..], &[VERSION], &noise, &noise, &noise].concat()
        };
        let lands = InAir::Lands {
            office,
            from,
            packet,
            spoilt: true,
        };
        self.arrange(self.now_ms + 50, Happens::InAir(lands));
    }

    pub fn in_air(&mut self, what: InAir) {
        match what {
            InAir::Flies { phone } => self.fly(phone),
            InAir::Lands {
                office,
                from,
                packet,
                spoilt,
            } => self.land(office, from, &packet, spoilt),
            InAir::Due { office } => self.due(office),
            InAir::TakenIn { office, era, whole } => self.take_in(office, era, whole),
            InAir::Answered {
                office,
                era,
                post,
                status,
                answer,
            } => {
                if era != self.air.ground[office].era {
                    return self.note("taken in at a crash, not answered");
                }
                let now = self.now_ms;
                let landing = &mut self.air.ground[office].landing;
                landing.answer(&post, status, &answer, now);
                let known = self.air.posts.get_mut(&post).expect("it was sent");
                known.answers.insert((status, answer));
                self.due(office);
            }
            InAir::Back { to, packet, spoilt } => self.back(to, &packet, spoilt),
        }
    }

    fn land(&mut self, office: usize, from: From, packet: &[u8], spoilt: bool) {
        let ground = &mut self.air.ground[office];
        let before = ground.landing.posts();
        let whole = ground.landing.take(packet, from, self.now_ms);
        if spoilt {
            assert_eq!(whole, None, "a spoilt packet came to something");
            assert_eq!(ground.landing.posts(), before);
        }
        if let Some(whole) = whole {
            let known = &self.air.posts[&whole.post];
            assert_eq!(whole.body, known.body, "what landed is not what was sent");
            ground.whole.insert(whole.post);
            let era = ground.era;
            self.note("landed");
            if self.bad_luck(4) {
                // Just now: before or after it is taken in, or answered.
                let at = self.now_ms + self.random.below(500) as i64;
                self.arrange(at, Happens::OfficeKilled { office });
            }
            let at = self.now_ms + self.random.below(200) as i64;
            let taken_in = InAir::TakenIn { office, era, whole };
            self.arrange(at, Happens::InAir(taken_in));
        } else if self.bad_luck(1) {
            // In the middle of a post, as often as not.
            self.arrange(self.now_ms, Happens::OfficeKilled { office });
        }
        self.due(office);
    }

    fn take_in(&mut self, office: usize, era: u32, whole: Whole) {
        if era != self.air.ground[office].era {
            return self.note("landed at a crash, not taken in");
        }
        let done = self.at_office(office, 15, |o, now| o.ingest(&whole.body, now));
        let (status, answer) = match done {
            Ok(receipt) => (200, receipt),
            Err(IngestFault::Db(fault)) => {
                self.note("landed and failed");
                (503, fault.to_string().into_bytes())
            }
            Err(IngestFault::Body(fault)) => panic!("what landed is no post: {fault}"),
        };
        self.news(office);
        let at = self.now_ms + self.random.below(300) as i64;
        let answered = InAir::Answered {
            office,
            era,
            post: whole.post,
            status,
            answer,
        };
        self.arrange(at, Happens::InAir(answered));
        if self.random.percent(30) {
            self.look_at_the_log();
        }
    }

    /// Sends back what is due.
    fn due(&mut self, office: usize) {
        let now = self.now_ms;
        let ground = &mut self.air.ground[office];
        let packets = ground.landing.due(now);
        if let Some(at) = ground.landing.next_ms()
            && (ground.due_ms <= now || at < ground.due_ms)
        {
            ground.due_ms = at;
            self.arrange(at, Happens::InAir(InAir::Due { office }));
        }
        for (to, packet) in packets {
            self.carry(packet, |_, packet, spoilt| InAir::Back {
                to,
                packet,
                spoilt,
            });
        }
    }

    fn back(&mut self, to: From, packet: &[u8], spoilt: bool) {
        let p = &mut self.phones[to.phone];
        if to.address != p.address {
            return self.note("back to an old address");
        }
        let Some(flown) = &mut p.flown else {
            return self.note("answered too late");
        };
        let Some((status, answer)) = flown.flight.heard(packet, self.now_ms) else {
            return self.fly(to.phone);
        };
        assert!(!spoilt, "a spoilt packet was heard");
        let (attempt, name) = (flown.attempt, flown.name.expect("it was sent"));
        let answers = &self.air.posts[&name].answers;
        let said = (status, answer);
        assert!(answers.contains(&said), "no office said this of the post");
        let life = p.life;
        if status == 200 {
            let before = p.acknowledged.len();
            self.hear(to.phone, life, attempt, &said.1);
            if self.phones[to.phone].acknowledged.len() > before {
                self.note("acknowledged in packets");
            }
        } else {
            p.flown = None;
            let entropy = self.random.next();
            p.outbox.failed(attempt, self.now_ms, entropy);
            self.wake(to.phone);
        }
    }

    /// An office is killed: what landed of a post is gone.
    pub fn land_nothing_more(&mut self, office: usize) {
        let ground = &self.air.ground[office];
        let here = self.air.posts.keys().filter(|name| {
            let packet = [&TO_OFFICE[..], &[VERSION], &name[..]].concat();
            !ground.whole.contains(*name) && ground.landing.knows(&packet)
        });
        let half = here.count();
        for _ in 0..half {
            self.note("half landed at a crash");
        }
        self.air.ground[office] = Ground::new(self.air.ground[office].era + 1, &mut self.random);
    }
}
