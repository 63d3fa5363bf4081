//! Phones, a link and offices, and what happens to them by one seed.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::RangeInclusive;
use std::sync::Arc;

use standsquare_office::db::SqliteDb;
use standsquare_office::{Arriving, OfficeState};
use standsquare_sync::log::{Ask, Bundle, Checkpoint, origin};
use standsquare_sync::{Command, Receipt, WRITE_AT_ONCE, frame_id};

use crate::air::{Air, InAir};
use crate::failing::{Failing, Plan, Trouble};
use crate::phone::{Phone, Random};
use crate::support::*;

/// A connection: which one it is, to which office, and for what.
#[derive(Clone, Copy)]
pub struct Connection {
    id: u64,
    office: usize,
    phone: usize,
    life: u32,
    attempt: u64,
}

/// A post at the office, as far as it is there.
struct Open {
    connection: Connection,
    got: Vec<u8>,
    arriving: Arriving,
}

pub enum Happens {
    /// The phone finishes its next frame.
    Written { phone: usize },
    /// It is time for the phone to look.
    Wake { phone: usize, life: u32 },
    /// A piece of a post reaches the office.
    Piece {
        on: Connection,
        bytes: Vec<u8>,
        last: bool,
    },
    /// No more of a post comes.
    Cut { on: Connection },
    /// Time for an office to look whether another one has what is lacking.
    Look { office: usize },
    /// An answer reaches the phone.
    AtPhone { on: Connection, answer: Vec<u8> },
    /// A phone hears that a connection is broken.
    Broken { on: Connection },
    /// Something of a post in packets.
    InAir(InAir),
    /// The phone is on another network now, at another address.
    OtherNetwork { phone: usize },
    /// The app is killed and started again.
    Killed { phone: usize },
    /// An office is killed and started again.
    OfficeKilled { office: usize },
}

pub struct World {
    pub random: Random,
    pub now_ms: i64,
    pub order: u64,
    /// By time, then by the order in which it was arranged.
    coming: BTreeMap<(i64, u64), Happens>,
    pub phones: Vec<Phone>,
    /// Two of them before one database.
    pub offices: Vec<OfficeState>,
    db: Arc<SqliteDb>,
    /// Posts that are under way and not answered, by their connection.
    open: BTreeMap<u64, Open>,
    /// Connections of which nothing is read any more.
    done: BTreeSet<u64>,
    pub air: Air,
    plan: Plan,
    /// The link is down at these times.
    down: Vec<RangeInclusive<i64>>,
    trouble_until_ms: i64,
    pub seen: Option<Checkpoint>,
    /// What went wrong, by name.
    pub happened: BTreeMap<&'static str, u32>,
}

impl World {
    pub fn new(seed: u64, pens: &[Pen]) -> World {
        let mut random = Random(seed);
        let plan = Plan::default();
        let db = Arc::new(SqliteDb::in_memory().expect("a database"));
        let offices = (0..2).map(|_| start(&db, &plan)).collect();
        let air = Air::new(&mut random);
        let mut down = Vec::new();
        let mut at = 0;
        for _ in 0..random.below(8) {
            at += random.below(9_000) as i64;
            let end = at + random.below(10_000) as i64;
            down.push(at..=end);
            at = end;
        }
        if random.percent(10) {
            // A hall that no signal reaches.
            let from = random.below(30_000) as i64;
            down.push(from..=from + 60_000 + random.below(60_000) as i64);
        }
        let phones = pens
            .iter()
            .map(|pen| Phone::new(pen, air.is_flown_in()))
            .collect();
        let mut world = World {
            random,
            now_ms: 0,
            order: 0,
            coming: BTreeMap::new(),
            phones,
            offices,
            db,
            open: BTreeMap::new(),
            done: BTreeSet::new(),
            air,
            plan,
            down,
            trouble_until_ms: 60_000,
            seen: None,
            happened: BTreeMap::new(),
        };
        for (phone, pen) in pens.iter().enumerate() {
            // Dog by dog over the day, or a whole morning within a moment of signal.
            let within = if world.random.percent(50) {
                40_000
            } else {
                1_500
            };
            for _ in 0..pen.frames.len() {
                let at = world.random.below(within) as i64;
                world.arrange(at, Happens::Written { phone });
            }
            for _ in 0..world.random.below(4) {
                let at = world.random.below(60_000) as i64;
                world.arrange(at, Happens::Killed { phone });
            }
            for _ in 0..world.random.below(3) {
                let at = world.random.below(60_000) as i64;
                world.arrange(at, Happens::OtherNetwork { phone });
            }
        }
        for _ in 0..world.random.below(3) {
            let at = world.random.below(60_000) as i64;
            let office = world.random.below(2) as usize;
            world.arrange(at, Happens::OfficeKilled { office });
        }
        world
    }

    pub fn arrange(&mut self, at_ms: i64, what: Happens) {
        self.order += 1;
        self.coming
            .insert((at_ms.max(self.now_ms), self.order), what);
    }

    pub fn note(&mut self, what: &'static str) {
        *self.happened.entry(what).or_default() += 1;
    }

    fn troubled(&self) -> bool {
        self.now_ms < self.trouble_until_ms
    }

    pub fn link_is_down(&self, at_ms: i64) -> bool {
        self.down.iter().any(|span| span.contains(&at_ms))
    }

    /// Whether it happens to what is sent now.
    pub fn bad_luck(&mut self, percent: u64) -> bool {
        self.troubled() && self.random.percent(percent)
    }

    /// The phone hears of half of the connections that break.
    fn breaks(&mut self, on: Connection, from_ms: i64) {
        if self.random.percent(50) {
            let at = from_ms + self.random.below(4_000) as i64;
            self.arrange(at, Happens::Broken { on });
        }
    }

    /// Sends a post over the link, in pieces: it may be cut off anywhere, come late, or come
    /// twice.
    fn post(&mut self, phone: usize, attempt: u64, body: &[u8]) {
        let copies = 1 + usize::from(self.bad_luck(10));
        if copies > 1 {
            self.note("doubled");
        }
        for _ in 0..copies {
            self.order += 1;
            let on = Connection {
                id: self.order,
                office: self.random.below(2) as usize,
                phone,
                life: self.phones[phone].life,
                attempt,
            };
            self.connection(on, body);
        }
    }

    fn connection(&mut self, on: Connection, body: &[u8]) {
        let size = WRITE_AT_ONCE - self.random.below(900) as usize;
        let pieces: Vec<_> = body.chunks(size).collect();
        let mut reach = pieces.len();
        if self.link_is_down(self.now_ms) {
            reach = 0;
        } else if self.bad_luck(20) {
            reach = self.random.below(pieces.len() as u64) as usize;
        }
        let mut at = self.now_ms + 100 + self.random.below(3_000) as i64;
        for (n, piece) in pieces.iter().enumerate() {
            // An outage cuts off what has begun before it.
            if n == reach || (n > 0 && self.link_is_down(at)) {
                self.note(if n == 0 { "lost" } else { "cut" });
                self.arrange(at, Happens::Cut { on });
                self.breaks(on, at);
                return;
            }
            let (bytes, last) = (piece.to_vec(), n + 1 == pieces.len());
            self.arrange(at, Happens::Piece { on, bytes, last });
            at += self.random.below(600) as i64;
        }
    }

    fn answer(&mut self, on: Connection, answer: &[u8]) {
        self.open.remove(&on.id);
        self.done.insert(on.id);
        if self.link_is_down(self.now_ms) || self.bad_luck(20) {
            self.note("lost");
            return self.breaks(on, self.now_ms);
        }
        for _ in 0..1 + usize::from(self.bad_luck(10)) {
            let at = self.now_ms + 100 + self.random.below(3_000) as i64;
            let answer = answer.to_vec();
            self.arrange(at, Happens::AtPhone { on, answer });
        }
    }

    fn obey(&mut self, phone: usize, commands: Vec<Command>) {
        let life = self.phones[phone].life;
        for command in commands {
            match command {
                Command::Post { attempt, body } => self.post(phone, attempt, &body),
                Command::WakeAt { at_ms } => self.arrange(at_ms, Happens::Wake { phone, life }),
                Command::Fly { attempt, body } => self.take_off(phone, attempt, &body),
                Command::Drop { attempt } => self.end_flight(phone, attempt),
            }
        }
    }

    pub fn wake(&mut self, phone: usize) {
        let entropy = self.random.next();
        let commands = self.phones[phone].outbox.wake(self.now_ms, entropy);
        self.obey(phone, commands);
        self.fly(phone);
    }

    /// Runs `work` at an office, whose database may fail meanwhile.
    pub fn at_office<T>(
        &mut self,
        office: usize,
        percent: u64,
        work: impl FnOnce(&OfficeState, i64) -> T,
    ) -> T {
        if self.bad_luck(percent) {
            let trouble = if self.random.percent(50) {
                Trouble::Before
            } else {
                Trouble::After
            };
            self.plan.next(trouble);
        }
        let done = work(&self.offices[office], self.now_ms);
        self.plan.clear();
        done
    }

    /// A piece of a post has come: as the office's pages take it (`web/arriving.rs`).
    fn piece(&mut self, on: Connection, bytes: &[u8], last: bool) {
        if self.done.contains(&on.id) {
            return;
        }
        let mut open = self.open.remove(&on.id).unwrap_or_else(|| Open {
            connection: on,
            got: Vec::new(),
            arriving: Arriving::default(),
        });
        open.got.extend_from_slice(bytes);
        let part = open.arriving.part(&open.got);
        let news = part.is_some_and(|part| {
            self.at_office(on.office, 5, |office, now| {
                open.arriving.take(office, &part, now)
            })
        });
        let got = last.then(|| open.got.clone());
        self.open.insert(on.id, open);
        if news {
            self.note("in parts");
            self.news(on.office);
        }
        if let Some(body) = got.filter(|_| self.open.contains_key(&on.id)) {
            self.whole(on, &body);
        }
    }

    fn whole(&mut self, on: Connection, body: &[u8]) {
        match self.at_office(on.office, 15, |office, now| office.ingest(body, now)) {
            Ok(answer) => {
                self.answer(on, &answer);
                self.look(on.office);
            }
            Err(_) => {
                self.note("failed");
                self.close(on);
                self.arrange(self.now_ms + 300, Happens::Broken { on });
            }
        }
        if self.random.percent(30) {
            self.look_at_the_log();
        }
    }

    fn close(&mut self, on: Connection) {
        self.open.remove(&on.id);
        self.done.insert(on.id);
    }

    /// Something was taken in: this office looks at once, the other one when it next does.
    pub fn news(&mut self, office: usize) {
        self.look(office);
        let (at, office) = (self.now_ms + 100, 1 - office);
        self.arrange(at, Happens::Look { office });
    }

    /// Posts under way at this office that rivals have made whole are answered.
    fn look(&mut self, office: usize) {
        let mut answers = Vec::new();
        for open in self.open.values() {
            let here = open.connection.office == office && open.arriving.may_be_early();
            let state = here.then(|| open.arriving.receipt(&self.offices[office], self.now_ms));
            if let Some(receipt) = state.and_then(|r| r.expect("asked")) {
                answers.push((open.connection, receipt));
            }
        }
        for (on, receipt) in answers {
            self.note("early");
            self.answer(on, &receipt);
        }
    }

    fn kill_office(&mut self, office: usize) {
        self.note("office killed");
        let of: Vec<_> = self.open.values().map(|o| o.connection).collect();
        for on in of.into_iter().filter(|on| on.office == office) {
            self.close(on);
            self.breaks(on, self.now_ms);
        }
        self.offices[office] = start(&self.db, &self.plan);
        self.land_nothing_more(office);
    }

    fn other_network(&mut self, phone: usize) {
        let p = &mut self.phones[phone];
        p.address += 1;
        p.flown = None;
        p.outbox.network_changed();
        self.wake(phone);
    }

    fn step(&mut self, what: Happens) {
        match what {
            Happens::Written { phone } => {
                let p = &mut self.phones[phone];
                let bytes = p.pen.frames[p.written].clone();
                p.written += 1;
                p.outbox.add(frame_id(&bytes), bytes);
                self.wake(phone);
            }
            Happens::Killed { phone } => {
                self.note("killed");
                self.phones[phone].restart();
                self.wake(phone);
            }
            Happens::OtherNetwork { phone } => self.other_network(phone),
            Happens::OfficeKilled { office } => self.kill_office(office),
            Happens::InAir(what) => self.in_air(what),
            Happens::Wake { phone, life } if life == self.phones[phone].life => self.wake(phone),
            Happens::Broken { on } if on.life == self.phones[on.phone].life => {
                let entropy = self.random.next();
                let outbox = &mut self.phones[on.phone].outbox;
                outbox.failed(on.attempt, self.now_ms, entropy);
                self.wake(on.phone);
            }
            Happens::Piece { on, bytes, last } => self.piece(on, &bytes, last),
            Happens::Cut { on } => self.close(on),
            Happens::Look { office } => self.look(office),
            Happens::AtPhone { on, answer } => self.hear(on.phone, on.life, on.attempt, &answer),
            Happens::Wake { .. } | Happens::Broken { .. } => {}
        }
    }

    /// A phone hears an answer to what it sent in one of its lives.
    pub fn hear(&mut self, phone: usize, life: u32, attempt: u64, answer: &[u8]) {
        let office = &self.offices[0];
        let receipt = Receipt::verify(answer, &office.public_key());
        let receipt = receipt.expect("the office's own receipt");
        assert_eq!(receipt.refused, [], "nothing of an honest phone is refused");
        // What is acknowledged is there, at this very moment.
        for id in &receipt.held {
            assert!(office.frame_state(*id).expect("asked").is_some());
        }
        let p = &mut self.phones[phone];
        p.acknowledged.extend(receipt.held.iter().copied());
        if life == p.life {
            self.end_flight(phone, attempt);
            let commands = self.phones[phone].outbox.answered(attempt, &receipt);
            self.obey(phone, commands);
            self.wake(phone);
        }
    }

    /// The log grows and never changes what was seen of it.
    pub fn look_at_the_log(&mut self) {
        let office = &self.offices[0];
        office.extend_log().expect("logged");
        let ask = Ask {
            seen: self.seen.as_ref().map_or(0, |s| s.size),
            frames: Vec::new(),
        };
        let answer = office.ask_log(&ask).expect("answered").encode();
        let key = office.public_key();
        let (now, _) = Bundle::verify(&answer, &origin("larkmere"), &key, self.seen.as_ref())
            .expect("the log continues");
        self.seen = Some(now);
    }

    /// Runs until nothing is arranged any more.
    pub fn run(&mut self) {
        let mut steps = 0;
        while let Some(((at_ms, _), what)) = self.coming.pop_first() {
            self.now_ms = at_ms;
            self.step(what);
            steps += 1;
            assert!(steps < 200_000, "it never comes to rest");
        }
        assert!(self.open.is_empty(), "and no post is left without an end");
        self.air.is_clear();
    }
}

fn start(db: &Arc<SqliteDb>, plan: &Plan) -> OfficeState {
    office_over(Box::new(Failing::over(db.clone(), plan.clone())))
}
