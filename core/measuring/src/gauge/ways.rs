//! Every way that a pack's procedure can go, found by asking the engine itself, and from them
//! the probability of each category.

use std::collections::BTreeMap;

use chrono::Months;

use super::model::{ModelFault, Placer, mm};
use crate::case::{Case, GaugeHere, MeasurerHere, Placing, PlacingResult, Seen};
use crate::ids::{CategoryId, GaugeId, MeasurerId};
use crate::judge::judge;
use crate::pack::{GaugeKind, RulePack};
use crate::progress::{Next, progress};
use crate::verdict::{Outcome, Status};

/// The most different states of the table that are followed. The usual procedure has a dozen.
const MOST_STATES: usize = 20_000;
/// The age of the dog that the ways are worked out for, in months: grown for every pack.
const AGE: u32 = 120;

/// Where a way ends.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum End {
    Category(usize),
    Referred,
    NotToday,
    Readings,
}

/// Placings of one hoop by one measurer: how many flat, how many not.
type Draws = BTreeMap<(usize, usize), (u16, u16)>;

/// Every way a pack's procedure can go for a first measure, with how often each combination of
/// placings comes. Placings are taken to be independent of each other given the dog's height;
/// void ones are left out, since they count for nothing.
#[derive(Clone, Debug)]
pub struct Ways {
    categories: Vec<CategoryId>,
    hoops: Vec<(GaugeId, f64)>,
    measurers: usize,
    ends: Vec<(End, Draws, f64)>,
}

/// The probability of each end. They sum to one.
#[derive(Clone, Debug, PartialEq)]
pub struct Odds {
    /// Of each category, in the pack's order.
    pub found: Vec<f64>,
    /// That the body has to decide.
    pub referred: f64,
    /// That there is no result today.
    pub not_today: f64,
    /// That it goes on to readings of a scale, which this model does not follow.
    pub readings: f64,
}

impl Odds {
    fn none(categories: usize) -> Self {
        Odds {
            found: vec![0.0; categories],
            referred: 0.0,
            not_today: 0.0,
            readings: 0.0,
        }
    }

    /// The probability of a category above the one with this index.
    pub fn over(&self, index: usize) -> f64 {
        self.found.iter().skip(index + 1).sum()
    }
}

impl Ways {
    /// Follows a pack's procedure for the first measure of a grown dog.
    ///
    /// # Errors
    /// [`ModelFault::TooManyWays`], [`ModelFault::Refused`].
    pub fn of(pack: &RulePack) -> Result<Ways, ModelFault> {
        let mut ways = Ways {
            categories: pack.categories().iter().map(|c| c.id.clone()).collect(),
            hoops: pack
                .hoops()
                .filter_map(|g| Some((g.id.clone(), mm(g.height?))))
                .collect(),
            measurers: 0,
            ends: Vec::new(),
        };
        let mut names = Vec::new();
        // Placings of one hoop decide by their numbers, never by their order, so that states with
        // equal numbers are one state that comes as often as all of them together. Fewer placings
        // first: a state is whole when it is followed.
        let mut states = BTreeMap::from([((0_u32, Draws::new()), 1.0)]);
        let mut followed = 0;
        while let Some(((placed, draws), count)) = states.pop_first() {
            followed += 1;
            if followed > MOST_STATES {
                return Err(ModelFault::TooManyWays);
            }
            match ways.step(pack, &draws, &mut names)? {
                Step::End(end) => ways.ends.push((end, draws, count)),
                Step::Place { measurer, hoop } => {
                    for flat in [true, false] {
                        let mut next = draws.clone();
                        let n = next.entry((measurer, hoop)).or_default();
                        *(if flat { &mut n.0 } else { &mut n.1 }) += 1;
                        *states.entry((placed + 1, next)).or_default() += count;
                    }
                }
            }
        }
        ways.measurers = names.len().max(1);
        Ok(ways)
    }

    fn step(
        &self,
        pack: &RulePack,
        draws: &Draws,
        names: &mut Vec<MeasurerId>,
    ) -> Result<Step, ModelFault> {
        let mut case = start(pack);
        for ((measurer, hoop), (flat, not)) in draws {
            // Nothing was placed by somebody without a name or with a hoop not in the list.
            let (Some(by), Some((gauge, _))) = (names.get(*measurer), self.hoops.get(*hoop)) else {
                continue;
            };
            let placing = |result: PlacingResult| {
                Seen::Placing(Placing {
                    gauge: gauge.clone(),
                    result,
                    by: by.clone(),
                    at: None,
                })
            };
            // A hoop that one flat placing settles has had all the others before it.
            case.seen
                .extend((0..*not).map(|_| placing(PlacingResult::NotFlat)));
            case.seen
                .extend((0..*flat).map(|_| placing(PlacingResult::Flat)));
        }
        // Whoever placed is at the table, the one more that was asked for too.
        for name in names
            .iter()
            .filter(|n| draws.keys().any(|(m, _)| names.get(*m) == Some(n)))
        {
            if !case.measurers.iter().any(|m| m.id == *name) {
                case.measurers.push(measurer(name.as_str()));
            }
        }
        let (gauge, by) = match progress(pack, &case).next {
            Next::Place { gauge, by, .. } => (gauge, by.unwrap_or_else(|| nth(1))),
            // They are nobody's turn until they begin; they begin as anybody does.
            Next::OneMoreMeasurer { .. } => match progress(pack, &start(pack)).next {
                Next::Place { gauge, .. } => (gauge, nth(case.measurers.len() + 1)),
                _ => return Ok(Step::End(End::Readings)),
            },
            Next::Read { .. } => return Ok(Step::End(End::Readings)),
            Next::Refused(why) => {
                let key = why.first().map_or("", |r| r.key.as_ref());
                return Err(ModelFault::Refused(key.to_owned()));
            }
            Next::Decided(_) | Next::Differ { .. } | Next::Impasse(_) => {
                return Ok(Step::End(self.end(pack, &case)));
            }
        };
        let index = names.iter().position(|n| *n == by).unwrap_or_else(|| {
            names.push(by);
            names.len() - 1
        });
        let hoop = self.hoops.iter().position(|(id, _)| *id == gauge);
        hoop.map(|hoop| Step::Place {
            measurer: index,
            hoop,
        })
        .ok_or(ModelFault::UnknownHoop(gauge.to_string()))
    }

    fn end(&self, pack: &RulePack, case: &Case) -> End {
        let verdict = judge(pack, case);
        match &verdict.outcome {
            _ if verdict.status == Some(Status::Referred) => End::Referred,
            Outcome::Category(id) => self
                .categories
                .iter()
                .position(|c| c == id)
                .map_or(End::NotToday, End::Category),
            _ => End::NotToday,
        }
    }

    /// The hoops with their heights in millimetres, in the pack's order.
    pub fn hoops(&self) -> &[(GaugeId, f64)] {
        &self.hoops
    }

    /// The categories in the pack's order.
    pub fn categories(&self) -> &[CategoryId] {
        &self.categories
    }

    /// The same with a hoop that is really this high, as its check found.
    ///
    /// # Errors
    /// [`ModelFault::UnknownHoop`].
    pub fn with_hoop(mut self, hoop: &GaugeId, height_mm: f64) -> Result<Ways, ModelFault> {
        match self.hoops.iter_mut().find(|(id, _)| id == hoop) {
            Some((_, height)) => *height = height_mm,
            None => return Err(ModelFault::UnknownHoop(hoop.to_string())),
        }
        Ok(self)
    }

    /// The same with every hoop made lower by a guard band (JCGM 106:2012, 8.3: acceptance limits
    /// inside the tolerance), millimetres.
    pub fn guarded(mut self, by_mm: f64) -> Ways {
        self.hoops
            .iter_mut()
            .for_each(|(_, height)| *height -= by_mm);
        self
    }

    /// The probability of each end for a dog of this height. Each measurer has their own placer;
    /// where there are fewer placers than measurers, the last one stands for the others.
    pub fn odds(&self, height_mm: f64, placers: &[Placer]) -> Odds {
        let mut odds = Odds::none(self.categories.len());
        let Some(last) = placers.last() else {
            odds.not_today = 1.0;
            return odds;
        };
        let flat: Vec<f64> = (0..self.measurers)
            .flat_map(|m| {
                let placer = placers.get(m).unwrap_or(last);
                self.hoops
                    .iter()
                    .map(|(_, hoop)| placer.flat(height_mm, *hoop))
            })
            .collect();
        for (end, draws, count) in &self.ends {
            let chance = draws
                .iter()
                .fold(*count, |all, ((measurer, hoop), (yes, no))| {
                    let p = flat[measurer * self.hoops.len() + hoop];
                    all * p.powi(i32::from(*yes)) * (1.0 - p).powi(i32::from(*no))
                });
            match end {
                End::Category(c) => odds.found[*c] += chance,
                End::Referred => odds.referred += chance,
                End::NotToday => odds.not_today += chance,
                End::Readings => odds.readings += chance,
            }
        }
        odds
    }

    /// The operating curve: [`Ways::odds`] at `points` heights from one to another, both included.
    pub fn curve(
        &self,
        from_mm: f64,
        to_mm: f64,
        points: u32,
        placers: &[Placer],
    ) -> Vec<(f64, Odds)> {
        let steps = f64::from(points.max(2) - 1);
        (0..points.max(2))
            .map(|i| {
                let height = from_mm + (to_mm - from_mm) * f64::from(i) / steps;
                (height, self.odds(height, placers))
            })
            .collect()
    }

    /// The height at which a dog is found above a category with this probability; `None` where
    /// that never happens within a metre of the limit.
    pub fn height_at(
        &self,
        pack: &RulePack,
        category: usize,
        share: f64,
        placers: &[Placer],
    ) -> Option<f64> {
        let limit = mm(pack.categories().get(category)?.up_to?);
        let (mut low, mut high) = (limit - 1_000.0, limit + 1_000.0);
        let over = |h: f64| self.odds(h, placers).over(category);
        if !(over(low) < share && over(high) > share) {
            return None;
        }
        // Sixty halvings of two metres go below a double's last digit.
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            *(if over(middle) < share {
                &mut low
            } else {
                &mut high
            }) = middle;
        }
        Some(0.5 * (low + high))
    }
}

enum Step {
    End(End),
    Place { measurer: usize, hoop: usize },
}

/// The name of the one who comes n-th to the table.
fn nth(n: usize) -> MeasurerId {
    MeasurerId::from(format!("measurer-{n}"))
}

fn measurer(id: &str) -> MeasurerHere {
    MeasurerHere {
        leading: true,
        ..MeasurerHere::new(id)
    }
}

/// A grown dog with its papers in order, everybody there and every gauge checked today.
fn start(pack: &RulePack) -> Case {
    let today = pack.valid_from();
    Case {
        born: today.checked_sub_months(Months::new(AGE)),
        measurers: (1..=pack.measurers_needed().max(1))
            .map(|n| measurer(nth(n as usize).as_str()))
            .collect(),
        gauges: pack
            .gauges()
            .iter()
            .map(|g| GaugeHere {
                gauge: g.id.clone(),
                checked: Some(today),
                height: None,
            })
            .collect(),
        ..Case::new(today)
    }
}

/// What one more placing is worth at one limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Worth {
    /// Valid placings of a hoop that the procedure asks for.
    pub placings: u32,
    /// The height at which half the dogs are found above the limit, millimetres.
    pub half_mm: f64,
    /// From the height at which one in twenty is, to the one at which nineteen in twenty are.
    pub width_mm: f64,
}

/// What the number of placings is worth at a category's upper limit: the pack's procedures with
/// each number from 1 to `most` instead. Numbers that the pack cannot have (an even one where a
/// majority decides) are left out.
///
/// # Errors
/// [`ModelFault`] of any of them.
pub fn worth(
    pack: &RulePack,
    category: usize,
    most: u32,
    placers: &[Placer],
) -> Result<Vec<Worth>, ModelFault> {
    let mut all = Vec::new();
    for n in 1..=most {
        let mut doc = pack.doc().clone();
        for rules in doc.procedure.iter_mut().filter_map(|p| p.placings.as_mut()) {
            rules.needed = n;
            rules.maximum = rules.maximum.max(n);
        }
        let Ok(changed) = RulePack::try_from(doc) else {
            continue;
        };
        let ways = Ways::of(&changed)?;
        let at = |share| ways.height_at(&changed, category, share, placers);
        if let (Some(low), Some(half), Some(high)) = (at(0.05), at(0.5), at(0.95)) {
            all.push(Worth {
                placings: n,
                half_mm: half,
                width_mm: high - low,
            });
        }
    }
    Ok(all)
}

/// Whether the pack finds categories with hoops alone, so that the ways say everything.
pub fn hoops_alone(pack: &RulePack) -> bool {
    pack.gauges().iter().all(|g| g.kind == GaugeKind::Hoop)
}
