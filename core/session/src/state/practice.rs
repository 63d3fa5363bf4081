//! Practice as the journal tells it: drills with a model dog, what trainees would have found, and
//! what each measurer's own sessions came to. None of it ever counts for a dog.

use standsquare_journal::record::fact::{Fact, Outcome, Seen};
use standsquare_measuring::gauge::practice::{Answer, Drill, Plan};
use standsquare_measuring::{Length, RulePack};

use super::Session;
use super::put::{items, put, put_one_of};
use crate::map::Map;

/// A page beside the day's work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Page {
    /// Who practises, or looks at their own figures.
    Practice,
    /// Somebody's own figures: id in the roster.
    Own(String),
    /// A trainee's own verdict on the dog at the table: id in the roster.
    Shadow(String),
}

put_one_of!(Page { 0 Practice, 1 Own(person), 2 Shadow(person) });

impl Page {
    /// Its name in the journal.
    pub fn name(&self) -> &'static str {
        match self {
            Page::Practice => "practice",
            Page::Own(_) => "own",
            Page::Shadow(_) => "shadow",
        }
    }

    /// Whose it is; empty where it is nobody's.
    pub fn person(&self) -> &str {
        match self {
            Page::Practice => "",
            Page::Own(person) | Page::Shadow(person) => person,
        }
    }

    /// The page of a fact; none where it is put away, or of a later version.
    fn read(page: &str, person: &str) -> Option<Page> {
        match page {
            "practice" => Some(Page::Practice),
            "own" => Some(Page::Own(person.into())),
            "shadow" => Some(Page::Shadow(person.into())),
            _ => None,
        }
    }
}

/// A drill under way, or ended and still on the screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Drilling {
    /// Who practises.
    pub person: String,
    /// The drill.
    pub drill: Drill,
    /// The rules it was made by: id and edition.
    pub rules: (String, String),
    /// What was seen so far.
    pub answers: Vec<Answer>,
    /// When it was begun, Unix milliseconds.
    pub begun_ms: i64,
    /// Who signed the record of it.
    pub signed_by: Option<String>,
}

put!(Drilling {
    person,
    drill,
    rules,
    answers,
    begun_ms,
    signed_by
});

impl Drilling {
    /// Whether every placing is answered.
    pub fn is_done(&self) -> bool {
        self.answers.len() >= self.drill.tasks.len()
    }

    /// The placings that count: the hoop's inside height less the model's, micrometres, and
    /// whether it came down flat.
    pub fn cells(&self) -> Vec<(i64, bool)> {
        let placings = self.drill.placings(&self.answers).into_iter();
        placings
            .map(|(room, flat)| (room.micrometres(), flat))
            .collect()
    }
}

/// A drill that is over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Drilled {
    /// When it was begun, Unix milliseconds.
    pub begun_ms: i64,
    /// As [`Drilling::cells`].
    pub cells: Vec<(i64, bool)>,
    /// Whether a trainer signed the record.
    pub signed: bool,
}

put!(Drilled {
    begun_ms,
    cells,
    signed
});
items!(Drilled);

/// What one session came to for one measurer who sat in it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sitting {
    /// Dogs signed for.
    pub dogs: u64,
    /// Of these, with mixed placings.
    pub mixed: u64,
    /// Dogs on which two measurers could have differed.
    pub compared: u64,
    /// Of these, on which they did not.
    pub alike: u64,
}

put!(Sitting {
    dogs,
    mixed,
    compared,
    alike
});

/// What one session came to for a trainee who watched it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Watched {
    /// Dogs on which they gave their own verdict and a category was signed.
    pub dogs: u64,
    /// Of these, with the same category.
    pub same: u64,
}

put!(Watched { dogs, same });

/// A session, as far as practice and own figures need it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sat {
    /// Each measurer.
    pub measurers: Map<String, Sitting>,
    /// Each trainee.
    pub trainees: Map<String, Watched>,
}

put!(Sat {
    measurers,
    trainees
});

impl Sat {
    /// Of a session as it stands.
    pub fn of(session: &Session) -> Sat {
        let mut sat = Sat::default();
        for visit in session.visits.iter().filter(|v| v.is_signed()) {
            let Some((statement, ..)) = &visit.stated else {
                continue;
            };
            let has = |flag: &str| statement.flags.iter().any(|f| f == flag);
            let category = match &statement.outcome {
                Outcome::Category { id, .. } => Some(id),
                _ => None,
            };
            let compared =
                session.seated.len() > 1 && !matches!(statement.outcome, Outcome::NotToday { .. });
            for person in &session.seated {
                let own = sat.measurers.entry(person.clone()).or_default();
                own.dogs += 1;
                own.mixed += u64::from(has("near-limit"));
                own.compared += u64::from(compared);
                own.alike += u64::from(compared && !has("measurers-differ"));
            }
            for (person, said) in &visit.shadows {
                if let Some(found) = category {
                    let own = sat.trainees.entry(person.clone()).or_default();
                    own.dogs += 1;
                    own.same += u64::from(said == found);
                }
            }
        }
        sat
    }
}

/// All that is kept of practice.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Practice {
    /// The page on the screen.
    pub page: Option<Page>,
    /// The drill on the screen.
    pub drill: Option<Drilling>,
    /// Whole drills, oldest first, of each person.
    pub drills: Map<String, Vec<Drilled>>,
}

put!(Practice {
    page,
    drill,
    drills
});

impl Practice {
    /// Takes a fact in; whether it was one of practice.
    pub(super) fn absorb(&mut self, at_ms: i64, fact: &Fact, pack: Option<&RulePack>) -> bool {
        match fact {
            Fact::PageOpened { page, person } => self.page = Page::read(page, person),
            Fact::DrillBegun {
                person,
                gauge,
                placings,
                reach_um,
                step_um,
                seed,
            } => {
                let plan = Plan {
                    gauge: gauge.as_str().into(),
                    placings: *placings,
                    reach: Length::from_nm(reach_um.saturating_mul(1_000)),
                    step: Length::from_nm(step_um.saturating_mul(1_000)),
                };
                // It was made once before it was written; the pack is the one of then.
                let made = pack.and_then(|p| {
                    let rules = (p.id().to_owned(), p.edition().to_owned());
                    Some((Drill::new(p, plan, *seed).ok()?, rules))
                });
                self.drill = made.map(|(drill, rules)| Drilling {
                    person: person.clone(),
                    drill,
                    rules,
                    answers: Vec::new(),
                    begun_ms: at_ms,
                    signed_by: None,
                });
            }
            Fact::DrillAnswered { seen } => {
                if let Some(drill) = &mut self.drill {
                    drill.answers.push(match seen {
                        Seen::Flat => Answer::Flat,
                        Seen::NotFlat => Answer::NotFlat,
                        _ => Answer::Void,
                    });
                }
            }
            Fact::PracticeSigned { person, .. } => {
                if let Some(drill) = &mut self.drill {
                    drill.signed_by = Some(person.clone());
                }
            }
            Fact::DrillLeft {} => self.put_away(),
            _ => return false,
        }
        true
    }

    /// The drill leaves the screen; a whole one is kept.
    fn put_away(&mut self) {
        if let Some(drill) = self.drill.take().filter(Drilling::is_done) {
            let done = Drilled {
                begun_ms: drill.begun_ms,
                cells: drill.cells(),
                signed: drill.signed_by.is_some(),
            };
            self.drills.entry(drill.person).or_default().push(done);
        }
    }
}
