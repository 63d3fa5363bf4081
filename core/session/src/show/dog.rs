//! One dog: papers, handler, chip, settling, stance, placings, and stopping.

use super::{Drawn, Glass, grouped, measure_text};
use crate::act::{Act, BookState, PlacingSeen};
use crate::decide::{ChipFinding, chip_finding, may_put_right};
use crate::judging::{self, BookFinding, NextPlacing};
use crate::questions;
use crate::state::{Session, Step, Visit};
use crate::view::*;

use standsquare_chip::{Ground, Heard};
use standsquare_journal::record::fact::{Found, Seen};

impl Glass<'_> {
    pub(super) fn dog(&self, s: &Session, v: &Visit, step: Step) -> Drawn {
        let drawn = match step {
            Step::Papers => self.papers(s, v),
            Step::Handler => self.questions(v),
            Step::Chip => self.chip(s, v),
            Step::Settle => self.settle(v),
            Step::Stance => self.stance(s, v),
            _ => self.placing(s, v),
        };
        self.shadows(s, v, drawn)
            .offer("not_today", Act::AskNotToday, Role::Stop)
            .offer("park", Act::Park, Role::Quiet)
    }

    /// Putting right what was entered, where there is something to put right.
    pub(super) fn put_right(&self, s: &Session, v: &Visit, drawn: Drawn) -> Drawn {
        if !may_put_right(s, v) {
            return drawn;
        }
        let dog = v.dog.clone();
        drawn.offer("put_right", Act::AskCorrection { dog }, Role::Quiet)
    }

    /// The phone goes to the next measurer.
    pub(super) fn hand_over(&self, s: &Session, v: &Visit) -> Drawn {
        let person = v.hand_over.clone().unwrap_or_default();
        let name = s.loaded.name_of(&person).to_owned();
        let hand_over = HandOverScreen {
            person: person.clone(),
            name: name.clone(),
        };
        Drawn::new("title.hand_over", Screen::HandOver { hand_over })
            .offer("take_over", Act::TakeOver { person }, Role::Main)
            .labelled(Text::of("offer.take_over").plain("name", name))
            .offer("not_today", Act::AskNotToday, Role::Stop)
            .caution("caution.never_alone")
    }

    /// Who leaves the table or comes back to it.
    fn away(&self, s: &Session, mut drawn: Drawn) -> Drawn {
        for id in &s.seated {
            let person = id.clone();
            let name = s.loaded.name_of(id);
            let (tag, key, act, role) = if s.away.contains(id) {
                ("back", "offer.back", Act::ComeBack { person }, Role::Other)
            } else {
                ("away", "offer.away", Act::StepAway { person }, Role::Quiet)
            };
            drawn = drawn
                .offer(&format!("{tag}_{id}"), act, role)
                .labelled(Text::of(key).plain("name", name));
        }
        drawn
    }

    fn papers(&self, s: &Session, v: &Visit) -> Drawn {
        let items = judging::book_items(s, v);
        let unseen = items
            .iter()
            .filter(|i| i.state == BookState::Unseen)
            .count();
        let all_agree = items
            .iter()
            .all(|i| matches!(i.state, BookState::Unseen | BookState::Agrees));
        let mut looked = v.book.clone();
        for item in &items {
            looked.entry(item.id.clone()).or_insert(Found::Agrees);
        }
        let (findings, refused) = match judging::book_finding(s, v, &looked) {
            BookFinding::Measure { number, notes } => {
                let mut all = vec![measure_text(number)];
                all.extend(notes);
                (all, None)
            }
            BookFinding::Refused { why } => (vec![why.clone()], Some(why)),
        };
        let mut drawn = Drawn::new(
            "title.papers",
            Screen::Papers {
                papers: PapersScreen { items, findings },
            },
        );
        for id in &s.seated {
            let name = s.loaded.name_of(id);
            let person = id.clone();
            drawn = drawn
                .offer(
                    &format!("may_not_{id}"),
                    Act::MayNotMeasure { person },
                    Role::Quiet,
                )
                .labelled(Text::of("offer.may_not").plain("name", name));
        }
        if all_agree && refused.is_none() {
            drawn.offer("book_agrees", Act::BookAgrees, Role::Main)
        } else if unseen > 0 && refused.is_none() {
            drawn.offer("book_rest_agrees", Act::BookAgrees, Role::Main)
        } else {
            drawn.offer_if("book_done", Act::BookDone, Role::Main, refused)
        }
    }

    fn questions(&self, v: &Visit) -> Drawn {
        let mut care = Vec::new();
        let mut stop = None;
        let mut open = false;
        let questions = questions::ALL
            .iter()
            .map(|q| {
                let answer = v.answers.get(q.id).copied();
                open |= answer.is_none();
                let caution = match answer {
                    Some(a) if a != q.clear && q.stops => {
                        stop.get_or_insert_with(|| Text::of(q.stop_key));
                        Some(Text::of(q.stop_key))
                    }
                    Some(a) if a != q.clear => {
                        care.push(q.care_key);
                        Some(Text::of(q.care_key))
                    }
                    _ => None,
                };
                Question {
                    id: q.id.into(),
                    text: Text::of(&format!("question.{}", q.id)),
                    answer,
                    caution,
                }
            })
            .collect();
        let mut drawn = Drawn::new(
            "title.handler",
            Screen::Handler {
                handler: HandlerScreen { questions },
            },
        )
        .caution("caution.child_handler");
        for key in care {
            drawn = drawn.caution(key);
        }
        if v.answers.is_empty() {
            drawn.offer("handler_all_clear", Act::HandlerAllClear, Role::Main)
        } else if open && stop.is_none() {
            drawn.offer("handler_rest_clear", Act::HandlerAllClear, Role::Main)
        } else {
            drawn.offer_if("handler_done", Act::HandlerDone, Role::Main, stop)
        }
    }

    fn chip(&self, s: &Session, v: &Visit) -> Drawn {
        let finding = chip_finding(s, v);
        let (state, tone, compare) = match &finding {
            ChipFinding::Waiting => (self.reader.waiting_text(), Tone::Care, None),
            ChipFinding::NeedsSecond => (Text::of("chip.second_read"), Tone::Care, None),
            ChipFinding::Matches { .. } => (Text::of("chip.matches"), Tone::Good, None),
            ChipFinding::OtherForm => (Text::of("chip.other_form"), Tone::Care, None),
            ChipFinding::NothingFound => (Text::of("chip.nothing_found"), Tone::Bad, None),
            ChipFinding::MisKeyed { side, neighbours } => (
                Text::of(if *neighbours {
                    "chip.mis_keyed_neighbours"
                } else {
                    "chip.mis_keyed"
                }),
                Tone::Care,
                Some(side.clone()),
            ),
            ChipFinding::Different { side } => {
                (Text::of("chip.different"), Tone::Bad, Some(side.clone()))
            }
            ChipFinding::Two { book: true } => (Text::of("chip.two_in_dog"), Tone::Bad, None),
            ChipFinding::Two { book: false } => (Text::of("chip.two_numbers"), Tone::Bad, None),
            ChipFinding::NoneInBook => (Text::of("chip.none_in_book"), Tone::Bad, None),
        };
        let reads = v.reads.heard().iter().map(read_line).collect();
        let scanning = matches!(finding, ChipFinding::Waiting | ChipFinding::NeedsSecond);
        let places = if scanning || finding == ChipFinding::NothingFound {
            standsquare_chip::SCAN_PLACES.map(Text::of).to_vec()
        } else {
            Vec::new()
        };
        let may_type = scanning || finding == ChipFinding::NothingFound;
        let mut drawn = Drawn::new(
            "title.chip",
            Screen::Chip {
                chip: ChipScreen {
                    state,
                    tone,
                    reads,
                    compare,
                    places,
                    may_type,
                },
            },
        )
        .caution("caution.scan_on_ground");
        if let ChipFinding::NeedsSecond = finding {
            drawn = drawn.offer("chip_confirmed", Act::ChipConfirmed, Role::Other);
        }
        if matches!(finding, ChipFinding::MisKeyed { .. }) {
            drawn = drawn.offer("chip_mis_keyed", Act::ChipMisKeyed, Role::Other);
        }
        if matches!(finding, ChipFinding::Two { book: true }) {
            drawn = drawn.offer("chip_two", Act::ChipConfirmed, Role::Other);
        }
        if matches!(finding, ChipFinding::OtherForm) {
            drawn = drawn.offer("chip_confirmed", Act::ChipConfirmed, Role::Main);
        }
        if !scanning && !matches!(finding, ChipFinding::Matches { .. }) {
            drawn = drawn.offer("scan_again", Act::ScanAgain, Role::Other);
        }
        if scanning || finding == ChipFinding::NothingFound {
            drawn = self.way_to_readers(drawn, true);
        }
        drawn = self.bite_care(v, drawn);
        match finding {
            ChipFinding::Waiting => {
                drawn = drawn.offer("pass_done", Act::NoChip, Role::Quiet);
            }
            ChipFinding::NothingFound => {
                let refused =
                    (!judging::allows_without_chip(s)).then(|| Text::of("refused.no_chip"));
                drawn = drawn.offer_if("no_chip", Act::NoChip, Role::Other, refused);
            }
            _ => {}
        }
        drawn
    }

    fn settle(&self, v: &Visit) -> Drawn {
        let signs = [
            "settle.sign_yawn",
            "settle.sign_away",
            "settle.sign_low",
            "settle.sign_stiff",
        ]
        .map(Text::of)
        .to_vec();
        let drawn = Drawn::new(
            "title.settle",
            Screen::Settle {
                settle: SettleScreen {
                    since_ms: v.on_surface_ms,
                    signs,
                },
            },
        )
        .offer("settled", Act::Settled, Role::Main)
        .caution("caution.never_alone")
        .caution("caution.two_to_lift")
        .caution("caution.floor_big_dog");
        self.bite_care(v, drawn)
    }

    fn stance(&self, s: &Session, v: &Visit) -> Drawn {
        let points = [
            "stance.four_legs",
            "stance.head",
            "stance.no_food",
            "stance.highest_point",
        ]
        .map(Text::of)
        .to_vec();
        let last = v.placings.len().checked_sub(1);
        let again = last.is_some_and(|n| judging::may_see(s, v, n));
        let drawn = Drawn::new(
            if again {
                "title.stance_again"
            } else {
                "title.stance"
            },
            Screen::Stance {
                stance: StanceScreen { again, points },
            },
        )
        .offer("stands_square", Act::StandsSquare, Role::Main)
        .caution("caution.ask_before_touching");
        let drawn = self.put_right(s, v, self.undo(s, v, drawn));
        self.bite_care(v, drawn)
    }

    fn placing(&self, s: &Session, v: &Visit) -> Drawn {
        let (hoop, valid, needed, others, by) = match judging::next(s, v) {
            NextPlacing::Place {
                hoop,
                valid,
                needed,
                others,
                by,
            } => (hoop, valid, needed, others, by),
            // Decided or at an impasse: the sign-off is on the screen, never this.
            _ => (String::new(), 0, 0, Vec::new(), None),
        };
        let placings = v
            .placings
            .iter()
            .enumerate()
            .filter(|(n, _)| judging::may_see(s, v, *n))
            .map(|(_, placing)| placing)
            .enumerate()
            // Counted among those that are shown: a gap would tell of the others.
            .map(|(n, (hoop, seen, _))| PlacingLine {
                number: n as u32 + 1,
                hoop: self.hoop_line(s, hoop).label,
                seen: match seen {
                    Seen::Flat | Seen::FlatVoid => PlacingSeen::BaseFlat,
                    Seen::NotFlat | Seen::NotFlatVoid => PlacingSeen::BaseNotFlat,
                    Seen::Moved => PlacingSeen::DogMoved,
                },
                counts: seen.counts(),
            })
            .collect();
        let place = |seen| Act::Place {
            hoop: hoop.clone(),
            seen,
        };
        let gone = s.away.iter().next().map(|p| {
            let name = s.loaded.name_of(p);
            Text::of("refused.measurer_away").plain("name", name)
        });
        let mut drawn = Drawn::new(
            "title.placing",
            Screen::Placing {
                placing: PlacingScreen {
                    hoop: self.hoop_line(s, &hoop),
                    placings,
                    valid,
                    needed,
                    by: by.map(|id| s.loaded.name_of(&id).to_owned()),
                    keys: gone.is_none().then(|| Text::of("placing.two_keys")),
                },
            },
        )
        .offer_if(
            "base_flat",
            place(PlacingSeen::BaseFlat),
            Role::Equal,
            gone.clone(),
        )
        .offer_if(
            "base_not_flat",
            place(PlacingSeen::BaseNotFlat),
            Role::Equal,
            gone.clone(),
        )
        .offer_if("dog_moved", place(PlacingSeen::DogMoved), Role::Other, gone);
        for other in others {
            let label = self.hoop_line(s, &other).label;
            drawn = drawn
                .offer(
                    &format!("use_{other}"),
                    Act::ChooseHoop { hoop: other },
                    Role::Quiet,
                )
                .labelled(Text::of("offer.use_hoop").plain("hoop", label));
        }
        let drawn = self.put_right(s, v, self.undo(s, v, drawn));
        let drawn = self
            .away(s, drawn)
            .caution("caution.hoop_unpressed")
            .caution("caution.free_the_hoop");
        self.bite_care(v, drawn)
    }

    pub(super) fn undo(&self, s: &Session, v: &Visit, drawn: Drawn) -> Drawn {
        let last = v.placings.len().saturating_sub(1);
        match v.placings.last() {
            Some((_, Seen::NotFlat | Seen::Moved, _)) if judging::may_see(s, v, last) => {
                drawn.offer("undo_placing", Act::UndoPlacing, Role::Quiet)
            }
            _ => drawn,
        }
    }

    /// The handler said that it might bite: said again wherever hands are near.
    fn bite_care(&self, v: &Visit, drawn: Drawn) -> Drawn {
        if v.answers.get("bites") == Some(&true) {
            drawn.caution("caution.may_bite")
        } else {
            drawn
        }
    }

    pub(super) fn stop(&self) -> Drawn {
        let reasons = questions::STOPS
            .iter()
            .map(|id| StopChoice {
                act: Act::NotToday {
                    reason: (*id).into(),
                },
                id: (*id).into(),
                label: Text::of(&format!("stop.{id}")),
            })
            .collect();
        Drawn::new(
            "title.stop",
            Screen::Stop {
                stop: StopScreen { reasons },
            },
        )
        .offer("keep_going", Act::KeepGoing, Role::Other)
        .caution("caution.free_the_hoop")
    }
}

fn read_line(heard: &Heard) -> ReadLine {
    let number = heard.number.to_string();
    ReadLine {
        number: grouped(&number),
        count: heard.separate.max(1),
        proof: Text::of(match heard.ground() {
            Some(Ground::Checksum) => "chip.proof_checked",
            Some(Ground::SecondRead) => "chip.proof_twice",
            Some(Ground::Confirmed) => "chip.proof_confirmed",
            Some(Ground::Typed) => "chip.proof_typed",
            None => "chip.proof_none",
        }),
        flags: judging::chip_flags(&number),
    }
}
