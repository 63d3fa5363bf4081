//! Practice and own figures on the screen.

use super::signing::{Paper, ways};
use super::{Drawn, Glass};
use crate::act::{Act, PlacingSeen};
use crate::decide::{DIGITS, may_open_practice, may_shadow, practises, trainers};
use crate::figures;
use crate::roster::Loaded;
use crate::state::{Drilling, Page, Session, Visit};
use crate::view::*;

use standsquare_measuring::gauge::Least;
use standsquare_measuring::gauge::practice::Answer;

/// How sure the intervals are.
const LEVEL: f64 = 0.95;

impl Glass<'_> {
    /// The way to practice, where nothing is under way.
    pub(super) fn way_to_practice(&self, drawn: Drawn) -> Drawn {
        if may_open_practice(self.state) {
            return drawn.offer("practice", Act::OpenPractice, Role::Quiet);
        }
        drawn
    }

    /// A page beside the day's work, if one is open.
    pub(super) fn page(&self) -> Option<Drawn> {
        let loaded = self.loaded()?;
        if let Some(drill) = &self.state.practice.drill {
            return Some(if drill.is_done() {
                self.feedback(loaded, drill)
            } else {
                self.drill(loaded, drill)
            });
        }
        match self.state.practice.page.as_ref()? {
            Page::Practice => Some(self.practice(loaded)),
            Page::Own(person) => Some(self.own(loaded, person)),
            Page::Shadow(person) => self.shadow(person),
        }
    }

    fn practice(&self, loaded: &Loaded) -> Drawn {
        let people = loaded.roster.people.iter();
        let people = people
            .filter(|p| practises(&p.role))
            .map(|p| StopChoice {
                id: p.id.clone(),
                act: Act::OpenOwn {
                    person: p.id.clone(),
                },
                label: Text::of("plain").plain("text", p.name.clone()),
            })
            .collect();
        let practice = PracticeScreen { people };
        Drawn::new("title.practice", Screen::Practice { practice }).offer(
            "leave_page",
            Act::LeavePage,
            Role::Main,
        )
    }

    fn own(&self, loaded: &Loaded, person: &str) -> Drawn {
        let drills = self.state.practice.drills.get(person);
        let drills = drills.map(Vec::as_slice).unwrap_or_default();
        let signed = drills.iter().filter(|d| d.signed).count() as i64;
        let mut figures = Vec::new();
        if !drills.is_empty() {
            figures.push(Text::of("own.signed").count("count", signed));
            figures.extend(figures::spread_and_bias(drills));
        }
        let charts = figures::charts(self.state, loaded, person);
        let own = OwnScreen {
            name: loaded.name_of(person).to_owned(),
            empty: (charts.is_empty() && figures.is_empty()).then(|| Text::of("own.nothing")),
            figures,
            charts,
        };
        let mut drawn = Drawn::new("title.own", Screen::Own { own });
        for gauge in loaded.pack.hoops() {
            let act = Act::BeginDrill {
                gauge: gauge.id.to_string(),
            };
            drawn = drawn
                .offer(&format!("drill_{}", gauge.id), act, Role::Other)
                .labelled(Text::of("offer.drill").plain("hoop", gauge.label.clone()));
        }
        drawn.offer("leave_page", Act::LeavePage, Role::Main)
    }

    fn drill(&self, loaded: &Loaded, d: &Drilling) -> Drawn {
        let task = d.drill.tasks.get(d.answers.len());
        let gauge = loaded.pack.gauge(&d.drill.plan.gauge);
        let drill = DrillScreen {
            name: loaded.name_of(&d.person).to_owned(),
            hoop: gauge.map(|g| g.label.clone()).unwrap_or_default(),
            number: d.answers.len() as u32 + 1,
            of: d.drill.tasks.len() as u32,
            set_to_um: task.map_or(0, |t| t.height.micrometres()),
        };
        let saw = |seen| Act::DrillSaw { seen };
        Drawn::new("title.drill", Screen::Drill { drill })
            .offer("base_flat", saw(PlacingSeen::BaseFlat), Role::Equal)
            .offer("base_not_flat", saw(PlacingSeen::BaseNotFlat), Role::Equal)
            .offer("drill_void", saw(PlacingSeen::DogMoved), Role::Other)
            .offer("leave_drill", Act::LeaveDrill, Role::Quiet)
    }

    fn feedback(&self, loaded: &Loaded, d: &Drilling) -> Drawn {
        let found = d.drill.feedback(&d.answers, LEVEL, Least::default());
        let lines = found
            .as_ref()
            .map(|f| f.lines.as_slice())
            .unwrap_or_default();
        let lines = lines.iter().enumerate().map(|(n, line)| FeedbackLine {
            number: n as u32 + 1,
            height_um: line.height.micrometres(),
            seen: match line.answer {
                Answer::Flat => PlacingSeen::BaseFlat,
                Answer::NotFlat => PlacingSeen::BaseNotFlat,
                Answer::Void => PlacingSeen::DogMoved,
            },
            right: line.right,
        });
        let lines: Vec<FeedbackLine> = lines.collect();
        let (right, counted) = found.as_ref().map_or((0, 0), |f| f.tally);
        let seats = trainers(self.state, loaded, &d.person)
            .into_iter()
            .filter(|t| d.signed_by.as_deref().is_none_or(|by| by == *t))
            .map(|id| {
                let mut seat = self.seat(Some(loaded), id);
                seat.signed = d.signed_by.as_deref() == Some(id);
                ways(&mut seat, Paper::No);
                seat
            })
            .collect::<Vec<_>>();
        let feedback = FeedbackScreen {
            name: loaded.name_of(&d.person).to_owned(),
            right: Text::of("feedback.right")
                .count("right", right as i64)
                .count("count", counted as i64),
            lines,
            who_signs: Text::of(match (&d.signed_by, seats.is_empty()) {
                (Some(_), _) => "feedback.signed",
                (None, true) => "feedback.no_trainer",
                (None, false) => "feedback.trainer",
            }),
            seats,
            min_digits: DIGITS.0,
            max_digits: DIGITS.1,
        };
        Drawn::new("title.feedback", Screen::Feedback { feedback })
            .offer("leave_drill", Act::LeaveDrill, Role::Main)
            .labelled(Text::of("offer.drill_done"))
    }

    fn shadow(&self, person: &str) -> Option<Drawn> {
        let s = self.state.session.as_ref()?;
        let categories = s.loaded.pack.categories().iter().map(|c| StopChoice {
            id: c.id.to_string(),
            act: Act::Shadow {
                category: c.id.to_string(),
            },
            label: Text::of("plain").plain("text", c.label.clone()),
        });
        let shadow = ShadowScreen {
            name: s.loaded.name_of(person).to_owned(),
            categories: categories.collect(),
        };
        Some(Drawn::new("title.shadow", Screen::Shadow { shadow }).offer(
            "leave_page",
            Act::LeavePage,
            Role::Quiet,
        ))
    }

    /// What trainees who watch may be asked now.
    pub(super) fn shadows(&self, s: &Session, v: &Visit, mut drawn: Drawn) -> Drawn {
        for id in may_shadow(s, v) {
            let person = id.clone();
            drawn = drawn
                .offer(
                    &format!("shadow_{id}"),
                    Act::OpenShadow { person },
                    Role::Quiet,
                )
                .labelled(Text::of("offer.shadow").plain("name", s.loaded.name_of(id)));
        }
        drawn
    }

    /// What trainees said, once all have signed: beside what was found.
    pub(super) fn shadowed(&self, s: &Session, v: &Visit) -> Vec<Text> {
        if !v.is_signed() {
            return Vec::new();
        }
        let found = match v.stated.as_ref().map(|(st, ..)| &st.outcome) {
            Some(standsquare_journal::record::fact::Outcome::Category { id, .. }) => Some(id),
            _ => None,
        };
        let said = v.shadows.iter().map(|(person, category)| {
            let categories = s.loaded.pack.categories().iter();
            let label = categories
                .into_iter()
                .find(|c| c.id.as_str() == category)
                .map_or_else(|| category.clone(), |c| c.label.clone());
            Text::of(match found {
                Some(found) if found == category => "shadowed.same",
                Some(_) => "shadowed.other",
                None => "shadowed.open",
            })
            .plain("name", s.loaded.name_of(person))
            .plain("category", label)
        });
        said.collect()
    }
}
