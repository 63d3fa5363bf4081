//! Phones, a link and offices, and what happens to them by one seed.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::ops::RangeInclusive;
use std::sync::Arc;

use standsquare_journal::record::chain;
use standsquare_office::db::SqliteDb;
use standsquare_office::{Arriving, OfficeState};
use standsquare_sync::log::{Ask, Bundle, Checkpoint, origin};
use standsquare_sync::{Command, Outbox, Receipt, Timers, WRITE_AT_ONCE, frame_id, stretch_body};

use crate::failing::{Failing, Plan, Trouble};
use crate::support::*;

/// The same numbers for the same seed, on every machine.
pub struct Random(pub u64);

impl Random {
    fn next(&mut self) -> u64 {
        number(&mut self.0)
    }

    fn below(&mut self, n: u64) -> u64 {
        self.next() % n.max(1)
    }

    fn percent(&mut self, n: u64) -> bool {
        self.below(100) < n
    }
}

/// Bodies as the phones make them ([`stretch_body`]). Making one takes longer than all else that
/// happens to it here, and seeds come upon the same ones: they are made once.
fn pack(frames: &[Vec<u8>], turn: usize) -> Vec<u8> {
    type Made = HashMap<(Vec<[u8; 32]>, usize), Vec<u8>>;
    thread_local! {
        static MADE: RefCell<Made> = RefCell::default();
    }
    let of: Vec<_> = frames.iter().map(|f| frame_id(f)).collect();
    MADE.with_borrow_mut(|made| {
        if made.len() > 20_000 {
            made.clear();
        }
        let body = made.entry((of, turn));
        body.or_insert_with(|| stretch_body(frames, turn, chain))
            .clone()
    })
}

fn outbox() -> Outbox {
    Outbox::new(Timers::default()).packing(pack)
}

/// A connection: which one it is, to which office, and for what.
#[derive(Clone, Copy)]
struct Connection {
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

#[derive(Clone)]
enum Happens {
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
    /// The app is killed and started again.
    Killed { phone: usize },
    /// An office is killed and started again.
    OfficeKilled { office: usize },
}

pub struct Phone {
    pub pen: Pen,
    /// What lasts: frames finished, and acknowledgements that were believed.
    pub written: usize,
    pub acknowledged: BTreeSet<[u8; 32]>,
    /// What a kill takes away.
    pub outbox: Outbox,
    life: u32,
}

impl Phone {
    fn restart(&mut self) {
        self.life += 1;
        self.outbox = outbox();
        for bytes in &self.pen.frames[..self.written] {
            if !self.acknowledged.contains(&frame_id(bytes)) {
                self.outbox.add(frame_id(bytes), bytes.clone());
            }
        }
    }
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
        let mut down = Vec::new();
        let mut at = 0;
        for _ in 0..random.below(8) {
            at += random.below(9_000) as i64;
            let end = at + random.below(10_000) as i64;
            down.push(at..=end);
            at = end;
        }
        let phones = pens
            .iter()
            .map(|pen| Phone {
                pen: pen.clone(),
                written: 0,
                acknowledged: BTreeSet::new(),
                outbox: outbox(),
                life: 0,
            })
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
        }
        for _ in 0..world.random.below(3) {
            let at = world.random.below(60_000) as i64;
            let office = world.random.below(2) as usize;
            world.arrange(at, Happens::OfficeKilled { office });
        }
        world
    }

    fn arrange(&mut self, at_ms: i64, what: Happens) {
        self.order += 1;
        self.coming
            .insert((at_ms.max(self.now_ms), self.order), what);
    }

    fn note(&mut self, what: &'static str) {
        *self.happened.entry(what).or_default() += 1;
    }

    fn troubled(&self) -> bool {
        self.now_ms < self.trouble_until_ms
    }

    fn link_is_down(&self, at_ms: i64) -> bool {
        self.down.iter().any(|span| span.contains(&at_ms))
    }

    /// Whether it happens to what is sent now.
    fn bad_luck(&mut self, percent: u64) -> bool {
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
                Command::Fly { .. } => unreachable!("they post over connections only"),
                Command::Drop { .. } => {}
            }
        }
    }

    fn wake(&mut self, phone: usize) {
        let entropy = self.random.next();
        let commands = self.phones[phone].outbox.wake(self.now_ms, entropy);
        self.obey(phone, commands);
    }

    /// Runs `work` at an office, whose database may fail meanwhile.
    fn at_office<T>(
        &mut self,
        on: Connection,
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
        let done = work(&self.offices[on.office], self.now_ms);
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
            self.at_office(on, 5, |office, now| open.arriving.take(office, &part, now))
        });
        let got = last.then(|| open.got.clone());
        self.open.insert(on.id, open);
        if news {
            self.note("in parts");
            self.look(on.office);
            let at = self.now_ms + 100;
            let office = 1 - on.office;
            self.arrange(at, Happens::Look { office });
        }
        if let Some(body) = got.filter(|_| self.open.contains_key(&on.id)) {
            self.whole(on, &body);
        }
    }

    fn whole(&mut self, on: Connection, body: &[u8]) {
        match self.at_office(on, 15, |office, now| office.ingest(body, now)) {
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
            Happens::OfficeKilled { office } => self.kill_office(office),
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
            Happens::AtPhone { on, answer } => self.hear(on, &answer),
            Happens::Wake { .. } | Happens::Broken { .. } => {}
        }
    }

    /// A phone hears an answer.
    fn hear(&mut self, on: Connection, answer: &[u8]) {
        let office = &self.offices[0];
        let receipt = Receipt::verify(answer, &office.public_key());
        let receipt = receipt.expect("the office's own receipt");
        assert_eq!(receipt.refused, [], "nothing of an honest phone is refused");
        // What is acknowledged is there, at this very moment.
        for id in &receipt.held {
            assert!(office.frame_state(*id).expect("asked").is_some());
        }
        let p = &mut self.phones[on.phone];
        p.acknowledged.extend(receipt.held.iter().copied());
        if on.life == p.life {
            let commands = p.outbox.answered(on.attempt, &receipt);
            self.obey(on.phone, commands);
            self.wake(on.phone);
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
    }
}

fn start(db: &Arc<SqliteDb>, plan: &Plan) -> OfficeState {
    office_over(Box::new(Failing::over(db.clone(), plan.clone())))
}
