//! One session, as its facts tell it.

mod looks;

use super::heard::HeardList;
use super::put::{items, put, put_one_of};
use super::visit::{Step, Visit};
use crate::map::{Map, Set};
use crate::roster::Loaded;
use std::sync::Arc;

use chrono::NaiveDate;
use standsquare_journal::record::fact::{Fact, Harm, List, Whom};
use standsquare_journal::record::statement_hash;
use standsquare_measuring::order;
use standsquare_sync::beside::Told;
use standsquare_sync::roster::{Dog, EarlierMeasure};

/// How far the end of a session has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Closing {
    /// Dogs are being measured.
    Open,
    /// The list before closing is on the screen.
    Reviewing,
    /// Closed: nothing more can be measured.
    Closed,
}

put_one_of!(Closing { 0 Open, 1 Reviewing, 2 Closed });

/// Somebody was bitten or fell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Happened {
    /// The visit of the dog at the table; 0 if there was none.
    pub visit: u32,
    /// What.
    pub what: Harm,
    /// To whom.
    pub whom: Whom,
    /// In words; may be empty.
    pub words: String,
}

put!(Happened {
    visit,
    what,
    whom,
    words
});
items!(Happened);

/// The list at the close, while it is being signed.
#[derive(Clone, Debug)]
pub struct OpenList {
    /// What it says.
    pub list: List,
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// The head to sign.
    pub head: [u8; 32],
    /// Who has signed it, here or on paper (then with the paper's number).
    pub answered: Map<String, Option<String>>,
}

put!(OpenList {
    list,
    bytes,
    head,
    answered
});

/// One session.
#[derive(Clone, Debug)]
pub struct Session {
    /// Number of the event that began it.
    pub from_seq: u64,
    /// Its random id.
    pub id: [u8; 16],
    /// What it works by.
    pub loaded: Arc<Loaded>,
    /// Its own time: minutes east of UTC.
    pub offset_min: i32,
    /// Its day, in its own time.
    pub day: NaiveDate,
    /// Where.
    pub venue: Option<String>,
    /// Tilt readings of the surface, thousandths of a degree.
    pub level: Vec<(i32, i32)>,
    /// The surface was accepted.
    pub surface_accepted: bool,
    /// Hoops looked at.
    pub hoops: Map<String, bool>,
    /// The hoops were accepted.
    pub hoops_accepted: bool,
    /// Who measures, in the order seated.
    pub seated: Vec<String>,
    /// Trainees who watch.
    pub watching: Vec<String>,
    /// Who of them is away from the table.
    pub away: Set<String>,
    /// Who has opened their key, where the session is signed once.
    pub unlocked: Set<String>,
    /// The list at the close, while it is being signed.
    pub list: Option<OpenList>,
    /// Dogs can be called.
    pub queue_open: bool,
    /// Dogs that are not on the list.
    pub newcomers: Vec<Dog>,
    /// Dogs called, in order.
    pub visits: Vec<Visit>,
    /// Index of the dog at the table.
    pub at_table: Option<usize>,
    /// How far its end has come.
    pub closing: Closing,
    /// Expected and not seen, once closed.
    pub not_seen: Vec<String>,
    /// The run that holds its closing.
    pub closing_run: Option<usize>,
    /// When the dog in hand was called, the last one was told, and so on.
    pub last_ms: i64,
    /// Bites and falls, in order.
    pub happened: Vec<Happened>,
    /// Lists of other tables' dogs: each journal's newest.
    pub heard: Vec<HeardList>,
    /// Its code for a second phone was shown.
    pub pairing_shown: bool,
    /// Phones that record it too: device key and journal.
    pub paired: Vec<([u8; 32], [u8; 16])>,
    /// What the office told of their results.
    pub told: Option<Told>,
}

put!(Session {
    from_seq,
    id,
    loaded,
    offset_min,
    day,
    venue,
    level,
    surface_accepted,
    hoops,
    hoops_accepted,
    seated,
    watching,
    away,
    unlocked,
    list,
    queue_open,
    newcomers,
    visits,
    at_table,
    closing,
    not_seen,
    closing_run,
    last_ms,
    happened,
    heard,
    pairing_shown,
    paired,
    told,
});

impl Session {
    pub(crate) fn begin(
        id: [u8; 16],
        loaded: Arc<Loaded>,
        offset_min: i32,
        day: i32,
        from_seq: u64,
    ) -> Self {
        Session {
            from_seq,
            happened: Vec::new(),
            heard: Vec::new(),
            pairing_shown: false,
            paired: Vec::new(),
            told: None,
            id,
            loaded,
            offset_min,
            day: crate::days::date(day),
            venue: None,
            level: Vec::new(),
            surface_accepted: false,
            hoops: Map::new_vec(),
            hoops_accepted: false,
            seated: Vec::new(),
            watching: Vec::new(),
            away: Set::new(),
            unlocked: Set::new(),
            list: None,
            queue_open: false,
            newcomers: Vec::new(),
            visits: Vec::new(),
            at_table: None,
            closing: Closing::Open,
            not_seen: Vec::new(),
            closing_run: None,
            last_ms: 0,
        }
    }

    pub(crate) fn absorb(&mut self, at_ms: i64, hash: [u8; 32], fact: &Fact) {
        if self.has_idled(at_ms) {
            self.unlocked.clear();
        }
        self.last_ms = at_ms;
        match fact {
            Fact::Unlocked { person, .. } => {
                self.unlocked.insert(person.clone());
            }
            Fact::Locked {} => self.unlocked.clear(),
            Fact::ListStated { list } => self.put_up(hash, list),
            Fact::ListLeft {} => self.list = None,
            Fact::ListSigned { person, .. }
            | Fact::SignedElsewhere {
                visit: 0, person, ..
            } => self.list_answered(person, None),
            Fact::ListOnPaper { person, paper } => self.list_answered(person, Some(paper)),
            Fact::VenueSet { name } => self.venue = Some(name.clone()),
            Fact::LevelRead { x_mdeg, y_mdeg } => self.level.push((*x_mdeg, *y_mdeg)),
            Fact::LevelDropped {} => self.level.clear(),
            Fact::SurfaceAccepted {} => self.surface_accepted = true,
            Fact::HoopLooked { hoop, good } => {
                self.hoops.insert(hoop.clone(), *good);
            }
            Fact::HoopsAccepted {} => self.hoops_accepted = true,
            Fact::Seated { person, .. } => {
                if !self.seated.contains(person) {
                    self.seated.push(person.clone());
                }
            }
            Fact::TraineeWatches { person, here } => {
                self.watching.retain(|p| p != person);
                if *here {
                    self.watching.push(person.clone());
                }
            }
            Fact::Unseated { person } => self.seated.retain(|p| p != person),
            Fact::QueueOpened {} => self.queue_open = true,
            Fact::DogCalled {
                visit,
                dog,
                subject,
                ..
            } => {
                self.at_table = Some(self.visits.len());
                self.visits
                    .push(Visit::called(*visit, dog.clone(), **subject, at_ms));
            }
            Fact::Newcomer { dog, chip, .. } => {
                self.newcomers.push(Dog {
                    id: dog.clone(),
                    // Until it is described, its chip's number names it.
                    name: crate::show::grouped(chip),
                    handler: String::new(),
                    chip: chip.clone(),
                    born: String::new(),
                    earlier: Vec::new(),
                    household_of: Vec::new(),
                });
                self.absorb_in_visit(at_ms, hash, fact);
            }
            Fact::NewcomerDescribed {
                name,
                born,
                category,
                measured,
                ..
            } => {
                let id = self.in_hand().map(|v| v.dog.clone());
                let dog = self
                    .newcomers
                    .iter_mut()
                    .find(|d| Some(&d.id) == id.as_ref());
                if let Some(dog) = dog {
                    let earlier = category.clone().zip(*measured);
                    describe(dog, name, *born, earlier);
                }
                self.absorb_in_visit(at_ms, hash, fact);
            }
            Fact::SteppedAway { person, away } => {
                if *away {
                    self.away.insert(person.clone());
                    self.unlocked.remove(person);
                } else {
                    self.away.remove(person);
                }
            }
            Fact::Resumed { visit } | Fact::CorrectionAsked { visit } => {
                self.at_table = self.visits.iter().position(|v| v.number == *visit);
                self.absorb_in_visit(at_ms, hash, fact);
            }
            Fact::PlacingsMoved { from, to } => self.move_placings(*from, *to),
            Fact::Parked { .. } => {
                self.absorb_in_visit(at_ms, hash, fact);
                self.at_table = None;
            }
            Fact::CloseReviewed { open } => {
                self.closing = if *open {
                    Closing::Reviewing
                } else {
                    Closing::Open
                };
            }
            Fact::SessionClosed { not_seen } => {
                self.closing = Closing::Closed;
                self.not_seen = not_seen.clone();
            }
            Fact::Incident {
                visit,
                what,
                whom,
                words,
            } => self.happened.push(Happened {
                visit: *visit,
                what: *what,
                whom: *whom,
                words: words.clone(),
            }),
            // Of a dog that is done, too.
            Fact::Objected { visit, words, .. } => {
                if let Some(visit) = self.visits.iter_mut().find(|v| v.number == *visit) {
                    visit.objections.push(**words);
                }
            }
            Fact::PairingShown { .. } => self.pairing_shown = true,
            Fact::Paired {
                device_key,
                journal,
                ..
            } => {
                let phone = (**device_key, **journal);
                if !self.paired.contains(&phone) {
                    self.paired.push(phone);
                    order::sort(&mut self.paired);
                }
            }
            Fact::SettleAsked { visit, .. } => {
                self.at_table = self.visits.iter().position(|v| v.number == *visit);
                let closed = self.closing == Closing::Closed;
                // It is not done with until its statement is signed, which comes next.
                if let Some(visit) = self.at_table.and_then(|n| self.visits.get_mut(n)) {
                    visit.absorb(at_ms, hash, fact);
                    // After the closing neither the handler nor the record book is here.
                    visit.book_written = closed;
                    visit.told = closed;
                }
            }
            Fact::DogsHeard {
                device_key, list, ..
            } => self.hear(**device_key, list),
            fact => self.absorb_in_visit(at_ms, hash, fact),
        }
        // Whatever tells of which dog it is may tell of one that another table has measured.
        if matches!(
            fact,
            Fact::DogsHeard { .. }
                | Fact::DogCalled { .. }
                | Fact::Newcomer { .. }
                | Fact::ChipRead { .. }
                | Fact::ChipTyped { .. }
        ) {
            self.look_elsewhere();
        }
    }

    fn absorb_in_visit(&mut self, at_ms: i64, hash: [u8; 32], fact: &Fact) {
        if let Some(visit) = self.at_table.and_then(|n| self.visits.get_mut(n)) {
            visit.absorb(at_ms, hash, fact);
            if visit.step() == Step::Done {
                self.at_table = None;
            }
        }
    }

    /// The dog to which the placings belong was scanned: it is the one at the table, and
    /// the other waits aside.
    fn move_placings(&mut self, from: u32, to: u32) {
        let at = |visits: &[Visit], number| visits.iter().position(|v| v.number == number);
        if let (Some(from_at), Some(to_at)) = (at(&self.visits, from), at(&self.visits, to)) {
            let moving = self.visits[from_at].give();
            self.visits[to_at].receive(from, moving);
            self.at_table = Some(to_at);
        }
    }

    fn put_up(&mut self, head: [u8; 32], bytes: &[u8]) {
        if let Ok(list) = List::decode_strict(bytes) {
            self.list = Some(OpenList {
                list,
                bytes: bytes.to_vec(),
                head,
                answered: Map::new_vec(),
            });
        }
    }

    /// A measurer signed the list, or signed it on paper: that holds for each dog on it
    /// that they confirmed.
    fn list_answered(&mut self, person: &str, paper: Option<&String>) {
        let Some(open) = &mut self.list else {
            return;
        };
        open.answered.insert(person.to_owned(), paper.cloned());
        for dog in open.list.of(person) {
            let visit = self.visits.iter_mut().find(|v| {
                let stated = v.stated.as_ref().map(|(_, bytes, _)| statement_hash(bytes));
                v.number == dog.visit && stated == Some(*dog.statement)
            });
            match (visit, paper) {
                (None, _) => {}
                (Some(visit), None) => visit.sign(person),
                (Some(visit), Some(paper)) => visit.sign_on_paper(person, paper),
            }
        }
    }

    /// A run was sealed: whatever was finished in it and has none yet is in it.
    pub(crate) fn sealed_in(&mut self, run: usize) {
        self.list = None;
        for visit in &mut self.visits {
            visit.sealed();
            if visit.run.is_none() && visit.fully_signed {
                visit.run = Some(run);
            }
        }
        if self.closing == Closing::Closed && self.closing_run.is_none() {
            self.closing_run = Some(run);
        }
    }
}

/// What the record book says of a dog.
pub(crate) fn describe(
    dog: &mut Dog,
    name: &str,
    born: Option<i32>,
    earlier: Option<(String, i32)>,
) {
    let day = |n: i32| crate::days::date(n).to_string();
    dog.name = name.to_owned();
    dog.born = born.map(day).unwrap_or_default();
    dog.earlier = earlier
        .map(|(category, on)| EarlierMeasure {
            day: day(on),
            category,
            measure: 1,
        })
        .into_iter()
        .collect();
}
