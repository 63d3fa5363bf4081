//! Before the first dog.

use super::{Drawn, Glass};
use crate::act::Act;
use crate::days;
use crate::decide::{DIGITS, hoops_missing, level_tilt_mdeg, may_not_sit, surface_limit_mdeg};
use crate::state::Session;
use crate::view::*;

impl Glass<'_> {
    pub(super) fn home(&self) -> Drawn {
        let sessions = self
            .state
            .sessions_left()
            .map(|s| SessionLine {
                id: hex::encode(s.id),
                day: days::date(s.day).to_string(),
                dogs: s.dogs,
                waiting: self.state.left_waiting(&s),
                open: Act::OpenPast {
                    session: hex::encode(s.id),
                },
                venue: s.venue.unwrap_or_default(),
            })
            .collect();
        let roster = self.state.roster.is_some();
        let drawn = Drawn::new(
            "title.home",
            Screen::Home {
                home: HomeScreen { roster, sessions },
            },
        )
        .offer_if(
            "start_session",
            Act::StartSession,
            Role::Main,
            (!roster).then(|| Text::of("refused.no_roster")),
        );
        let drawn = self
            .way_to_practice(self.way_to_readers(drawn, false))
            .offer("open_slip_check", Act::OpenSlipCheck, Role::Quiet)
            .offer("open_settings", Act::OpenSettings, Role::Quiet)
            .cautioned(self.clock());
        let drawn = match &self.state.last {
            Some(last) => self.of_other_phones(last, drawn),
            None => drawn,
        };
        if self.state.outbox() > 0 {
            return drawn.offer("send_return", Act::SendReturn, Role::Other);
        }
        drawn
    }

    pub(super) fn setting_up(&self, s: &Session) -> Drawn {
        let drawn = if s.venue.is_none() {
            self.venue(s)
        } else if !s.surface_accepted {
            self.surface(s)
        } else if !s.hoops_accepted {
            self.hoops(s)
        } else {
            self.people(s)
        };
        // Somebody is choosing a PIN: nothing else then.
        match drawn.screen {
            Screen::Pin { .. } => drawn,
            _ => self
                .way_to_readers(drawn, false)
                .offer("pair", Act::OpenPairing, Role::Quiet)
                .offer("open_slip_check", Act::OpenSlipCheck, Role::Quiet),
        }
    }

    fn venue(&self, s: &Session) -> Drawn {
        let venues = s.loaded.roster.venues.clone();
        let pack = Text::of("venue.pack")
            .plain("pack", s.loaded.pack.name().to_owned())
            .plain("edition", s.loaded.pack.edition().to_owned());
        let first = venues.first().cloned();
        let drawn = Drawn::new(
            "title.venue",
            Screen::Venue {
                venue: VenueScreen { venues, pack },
            },
        );
        match first {
            Some(name) => drawn
                .offer(
                    "set_venue",
                    Act::SetVenue { name: name.clone() },
                    Role::Main,
                )
                .labelled(Text::of("offer.set_venue").plain("venue", name)),
            None => drawn,
        }
    }

    fn surface(&self, s: &Session) -> Drawn {
        let tilt = level_tilt_mdeg(&s.level);
        let limit = surface_limit_mdeg(&s.loaded);
        let level = tilt.map(|t| t <= limit);
        let instruction = match (s.level.len(), level) {
            (0, _) => "surface.lay_phone",
            (1, _) => "surface.turn_phone",
            (_, Some(true)) => "surface.is_level",
            _ => "surface.not_level",
        };
        let drawn = Drawn::new(
            "title.surface",
            Screen::Surface {
                surface: SurfaceScreen {
                    taken: s.level.len() as u32,
                    instruction: Text::of(instruction),
                    tilt_mdeg: tilt,
                    limit_mdeg: limit,
                    level,
                },
            },
        )
        .caution("caution.floor_for_big_dogs")
        .caution("caution.lightning");
        match level {
            // The platform puts its own tilt into this act before it sends it.
            None => drawn.offer(
                "level_reading",
                Act::LevelReading {
                    x_mdeg: 0,
                    y_mdeg: 0,
                },
                Role::Main,
            ),
            Some(true) => drawn
                .offer("surface_done", Act::SurfaceDone, Role::Main)
                .offer("level_again", Act::LevelAgain, Role::Quiet),
            Some(false) => drawn.offer("level_again", Act::LevelAgain, Role::Main),
        }
    }

    pub(super) fn hoop_line(&self, s: &Session, id: &str) -> HoopLine {
        let hoop = s.loaded.hoop(id);
        let gauge = s.loaded.gauge(id);
        HoopLine {
            id: id.to_owned(),
            label: gauge.map(|g| g.label.clone()).unwrap_or_default(),
            nominal_um: gauge
                .and_then(|g| g.height)
                .map_or(0, crate::judging::micrometres),
            serial: hoop.map(|h| h.serial.clone()).unwrap_or_default(),
            checked: hoop.map(|h| h.checked.clone()).unwrap_or_default(),
            good: s.hoops.get(id).copied(),
            note: crate::judging::hoop_note(s, id),
            say_good: Act::HoopLooked {
                hoop: id.to_owned(),
                good: true,
            },
            say_bad: Act::HoopLooked {
                hoop: id.to_owned(),
                good: false,
            },
        }
    }

    fn hoops(&self, s: &Session) -> Drawn {
        let hoops = s
            .loaded
            .roster
            .hoops
            .iter()
            .map(|h| self.hoop_line(s, &h.id))
            .collect();
        Drawn::new(
            "title.hoops",
            Screen::Hoops {
                hoops: HoopsScreen { hoops },
            },
        )
        .offer_if("hoops_done", Act::HoopsDone, Role::Main, hoops_missing(s))
    }

    fn people(&self, s: &Session) -> Drawn {
        let needed = s.loaded.pack.measurers_needed();
        let full = s.seated.len() >= needed as usize;
        if let Some(person) = s.seated.iter().find(|p| !self.state.keys.contains_key(*p)) {
            let name = s
                .loaded
                .person(person)
                .map(|p| p.name.clone())
                .unwrap_or_default();
            return Drawn::new(
                "title.pin",
                Screen::Pin {
                    pin: PinScreen {
                        person: person.clone(),
                        name,
                        min_digits: DIGITS.0,
                        max_digits: DIGITS.1,
                    },
                },
            )
            .offer(
                "unseat",
                Act::UnseatMeasurer {
                    person: person.clone(),
                },
                Role::Quiet,
            );
        }
        let people = s
            .loaded
            .roster
            .people
            .iter()
            .map(|p| {
                let trainee = p.role == "trainee";
                let seated = s.seated.contains(&p.id) || s.watching.contains(&p.id);
                let why_not = if trainee {
                    None
                } else if p.role != "measurer" {
                    Some(Text::of("refused.not_a_measurer").plain("name", p.name.clone()))
                } else if full && !seated {
                    Some(Text::of("refused.seats_full"))
                } else {
                    let now = (self.now_ms, s.offset_min);
                    may_not_sit(self.state, &s.loaded, &p.id, now).filter(|_| !seated)
                };
                PersonLine {
                    id: p.id.clone(),
                    name: p.name.clone(),
                    number: p.number.clone(),
                    seated,
                    has_pin: self.state.keys.contains_key(&p.id),
                    note: trainee.then(|| Text::of("measurers.watches")),
                    toggle: if trainee {
                        Act::TraineeWatches {
                            person: p.id.clone(),
                            here: !seated,
                        }
                    } else if seated {
                        Act::UnseatMeasurer {
                            person: p.id.clone(),
                        }
                    } else {
                        Act::SeatMeasurer {
                            person: p.id.clone(),
                        }
                    },
                    why_not,
                }
            })
            .collect();
        Drawn::new(
            "title.measurers",
            Screen::Measurers {
                measurers: MeasurersScreen { people, needed },
            },
        )
        .offer_if(
            "open_queue",
            Act::OpenQueue,
            Role::Main,
            (!full)
                .then(|| Text::of("refused.measurers_lacking").count("count", i64::from(needed))),
        )
    }
}
