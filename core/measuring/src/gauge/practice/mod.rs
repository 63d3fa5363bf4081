//! Practice for trainees: drills with a model dog of known height.
//!
//! A drill is made from a seed; the trainer sets the model to each height, the trainee places the
//! hoop and says what they saw, without hearing the height; feedback comes when all are done.
//! Nothing of it ever counts for a dog.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::model::mm;
use super::probit::{Cell, Fit, FitFault, fit};
use super::proportion::{Least, Share, TooFew, enough, share};
use crate::ids::GaugeId;
use crate::length::Length;
use crate::pack::RulePack;

/// What a drill is to be.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// Which hoop.
    pub gauge: GaugeId,
    /// How many placings.
    pub placings: u32,
    /// The furthest that a model dog is from the hoop's height, either way: what the trainer
    /// chooses, or three times the body's spread.
    pub reach: Length,
    /// The step in which the model can be set.
    pub step: Length,
}

/// One placing of a drill.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Task {
    /// The height to which the trainer sets the model; the trainee does not see it.
    pub height: Length,
}

/// A drill: a plan and what the seed made of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Drill {
    /// The plan.
    pub plan: Plan,
    /// The seed, so that the same drill can be made again.
    pub seed: u64,
    /// The placings, in order.
    pub tasks: Vec<Task>,
    /// The hoop's inside height.
    pub hoop: Length,
}

/// What the trainee says of one placing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Answer {
    /// Base flat.
    Flat,
    /// Base not flat.
    NotFlat,
    /// It counts for nothing: the model was moved, or the hoop slipped.
    Void,
}

impl Answer {
    /// Whether it was flat; nothing if it counts for nothing.
    pub fn flat(self) -> Option<bool> {
        match self {
            Answer::Flat => Some(true),
            Answer::NotFlat => Some(false),
            Answer::Void => None,
        }
    }
}

/// Why a drill cannot be made or judged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DrillFault {
    /// The pack has no such hoop.
    UnknownHoop(GaugeId),
    /// No placings, more than a drill holds, or no heights to choose from.
    Plan,
    /// There are more or fewer answers than placings.
    Answers(TooFew),
}

impl fmt::Display for DrillFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            DrillFault::UnknownHoop(id) => {
                write!(
                    f,
                    "the rules have no hoop '{id}'; name one of the pack's hoops"
                )
            }
            DrillFault::Plan => write!(
                f,
                "a drill has 1 to {MOST} placings, a step above nothing, and a reach of at least one step below the hoop's height"
            ),
            DrillFault::Answers(few) => write!(
                f,
                "{} answers to {} placings; answer each, with 'void' for one that counts for nothing",
                few.have, few.need
            ),
        }
    }
}

impl std::error::Error for DrillFault {}

/// The most placings of one drill.
pub const MOST: u32 = 500;

/// Sebastiano Vigna's splitmix64: the same drill from the same seed on every machine.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly below `n`, which is far below 2³², so that the remainder's bias is below 2⁻³².
    fn below(&mut self, n: u64) -> u64 {
        self.next() % n.max(1)
    }
}

impl Drill {
    /// Makes a drill: heights either side of the hoop in steps, each about equally often, in an
    /// order that cannot be guessed. A height exactly at the hoop is left out: there is no right
    /// answer that a hand could feel.
    ///
    /// # Errors
    /// [`DrillFault::UnknownHoop`], [`DrillFault::Plan`].
    pub fn new(pack: &RulePack, plan: Plan, seed: u64) -> Result<Drill, DrillFault> {
        let hoop = pack
            .hoops()
            .find(|g| g.id == plan.gauge)
            .and_then(|g| g.height);
        let hoop = hoop.ok_or_else(|| DrillFault::UnknownHoop(plan.gauge.clone()))?;
        let (step, reach) = (plan.step.nm(), plan.reach.nm());
        if step <= 0 || reach < step || plan.reach >= hoop || !(1..=MOST).contains(&plan.placings) {
            return Err(DrillFault::Plan);
        }
        // No more different heights than placings could ever use.
        let each_way = (reach / step).min(i64::from(MOST));
        let mut all: Vec<i64> = (1..=each_way).flat_map(|i| [-i, i]).collect();
        let mut dice = Dice(seed);
        let mut tasks = Vec::with_capacity(plan.placings as usize);
        while tasks.len() < plan.placings as usize {
            // Fisher and Yates' shuffle of a whole round, so that each height comes as often.
            for i in (1..all.len()).rev() {
                let j = dice.below(i as u64 + 1) as usize;
                all.swap(i, j);
            }
            let missing = plan.placings as usize - tasks.len();
            tasks.extend(all.iter().take(missing).map(|i| Task {
                height: hoop.plus(Length::from_nm(i * step)),
            }));
        }
        Ok(Drill {
            plan,
            seed,
            tasks,
            hoop,
        })
    }

    /// The hoop's inside height.
    pub fn hoop(&self) -> Length {
        self.hoop
    }

    /// The placings that count: the hoop's inside height less the model's, and whether it came
    /// down flat.
    pub fn placings(&self, answers: &[Answer]) -> Vec<(Length, bool)> {
        let all = self.tasks.iter().zip(answers);
        all.filter_map(|(task, answer)| Some((self.hoop.minus(task.height), answer.flat()?)))
            .collect()
    }

    /// The feedback, when all placings are answered.
    ///
    /// # Errors
    /// [`DrillFault::Answers`].
    pub fn feedback(
        &self,
        answers: &[Answer],
        level: f64,
        least: Least,
    ) -> Result<Feedback, DrillFault> {
        if answers.len() != self.tasks.len() {
            return Err(DrillFault::Answers(TooFew {
                have: answers.len() as u64,
                need: self.tasks.len() as u64,
            }));
        }
        let lines = self.tasks.iter().zip(answers).map(|(task, answer)| {
            let within = self.hoop >= task.height;
            Line {
                height: task.height,
                answer: *answer,
                right: answer.flat().map(|flat| flat == within),
            }
        });
        let lines: Vec<Line> = lines.collect();
        let counted = lines.iter().filter(|l| l.right.is_some()).count() as u64;
        let right = lines.iter().filter(|l| l.right == Some(true)).count() as u64;
        let placings = self.placings(answers).into_iter();
        let cells: Vec<Cell> = placings
            .map(|(room, flat)| Cell::one(mm(room), flat))
            .collect();
        Ok(Feedback {
            lines,
            tally: (right, counted),
            right: enough(counted, least.pairs.max(1)).map(|()| share(right, counted, level)),
            fit: fit(&cells, least.placings),
        })
    }
}

/// One placing as the feedback shows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Line {
    /// The model's height.
    pub height: Length,
    /// What the trainee said.
    pub answer: Answer,
    /// Whether that was right; none for a void one.
    pub right: Option<bool>,
}

/// What a drill showed.
#[derive(Clone, Debug, PartialEq)]
pub struct Feedback {
    /// Every placing.
    pub lines: Vec<Line>,
    /// How many were right, of how many that count.
    pub tally: (u64, u64),
    /// The same as a share, once there are enough.
    pub right: Result<Share, TooFew>,
    /// The trainee's own spread and bias.
    pub fit: Result<Fit, FitFault>,
}

/// A drill as it is kept: what the trainer signs. Its bytes are those of its JSON.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DrillRecord {
    /// The trainee, as the office knows them.
    pub trainee: crate::ids::MeasurerId,
    /// The day.
    pub on: chrono::NaiveDate,
    /// The rules' id and edition.
    pub rules: (String, String),
    /// The drill.
    pub drill: Drill,
    /// The answers.
    pub answers: Vec<Answer>,
}

impl DrillRecord {
    /// Whether this is a whole drill of the pack: the tasks are those of its seed and every one
    /// is answered. Whoever checks a signature asks this as well.
    pub fn holds(&self, pack: &RulePack) -> bool {
        let same = Drill::new(pack, self.drill.plan.clone(), self.drill.seed);
        let of_pack = self.rules == (pack.id().to_owned(), pack.edition().to_owned());
        of_pack && same.as_ref() == Ok(&self.drill) && self.answers.len() == self.drill.tasks.len()
    }
}
