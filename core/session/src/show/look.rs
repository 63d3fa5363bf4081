//! What is looked at beside the session.

use super::{Drawn, Glass, beside, grouped, measure_text, outcome_text, row_notes, signing};
use crate::act::Act;
use crate::days;
use crate::decide::{
    BITTEN, DIGITS, FALLEN, MOST_WORDS, may_have_slip, may_object, may_own, may_pair,
};
use crate::judging;
use crate::looking::{Checked, GivenSlip, History, Known, Looking};
use crate::phone::SOFTWARE;
use crate::state::{Session, Visit};
use crate::view::*;

use signing::{line, shown, window_text};
use standsquare_journal::record::fact::Outcome as Ends;
use standsquare_journal::record::slip::Slip;

/// A plain line of a page.
fn page_line(id: &str, heading: Text, notes: Vec<Text>) -> PageLine {
    PageLine {
        id: id.into(),
        heading,
        notes,
        whereabouts: None,
        open: None,
    }
}

fn section(heading: &str, none: Option<&str>, lines: Vec<PageLine>) -> PageSection {
    PageSection {
        heading: Text::of(heading),
        none: none.filter(|_| lines.is_empty()).map(Text::of),
        lines,
    }
}

/// What a slip says it came to.
fn result_text(result: &str) -> Text {
    match result.split_once(':') {
        Some(("not-today", reason)) => {
            Text::of("outcome.not_today").word("reason", &format!("stop.{reason}"))
        }
        Some(("referred", reason)) => {
            Text::of("outcome.referred").word("reason", &format!("referred.{reason}"))
        }
        _ => Text::of("outcome.category").plain("category", result),
    }
}

/// What a slip says, line by line: beside its code, on its sheet and after a check.
pub(super) fn slip_lines(slip: &Slip) -> Vec<StatementLine> {
    let chip = if slip.chip.is_empty() {
        Text::of("statement.no_chip")
    } else {
        shown(grouped(&slip.chip))
    };
    let mut lines = vec![
        line("statement.dog", shown(&slip.dog)),
        line("slip.chip", chip),
        line("statement.outcome", result_text(&slip.result)),
    ];
    if !slip.status.is_empty() {
        let status = Text::of(&format!("status.{}", slip.status));
        lines.push(line("statement.status", status));
    }
    let day = Text::of("plain_day").day("day", days::date(slip.day));
    lines.push(line("statement.day", day));
    if let (Some(from), Some(to)) = (slip.window_from, slip.window_to) {
        lines.push(line("statement.window", window_text(from, to)));
    }
    let measurers = shown(slip.measurers.join(", "));
    lines.push(line("statement.measurers", measurers));
    lines.push(line("statement.pack", shown(&slip.pack)));
    if slip.demo {
        lines.push(line("statement.mark", Text::of("demo.mark")));
    }
    lines
}

impl Glass<'_> {
    pub(super) fn look(&self, looking: &Looking) -> Drawn {
        let drawn = match looking {
            Looking::Slip(given) => self.slip(given),
            Looking::SlipCheck(checked) => slip_check(checked.as_ref()),
            Looking::Past(session) => self.past(session),
            Looking::History(history) => self.history(history),
            Looking::Settings => self.settings(),
            Looking::OwnPhone(person) => self.own_phone(person),
            Looking::Incident => incident(),
            Looking::Objection(dog) => self.objection(dog),
            Looking::SignFor(asked) => self.sign_for(&asked.0, &asked.1),
            Looking::Codes(shown) => self.codes(shown),
        };
        drawn.offer("leave_look", Act::LeaveLook, Role::Other)
    }

    fn slip(&self, given: &GivenSlip) -> Drawn {
        let slip = &given.slip;
        let session = self.state.session.as_ref();
        let visit = session.and_then(|s| Some((s, s.visit_of(&given.dog)?)));
        let reasons = visit.map(|(s, v)| judging::verdict(s, v).reasons);
        let window = slip.window_from.and(slip.window_to);
        let calendar = window.map(|_| Text::of("slip.calendar").plain("dog", &slip.dog));
        let screen = SlipScreen {
            code: given.code.clone(),
            line: slip_lines(slip),
            reasons: reasons
                .unwrap_or_default()
                .into_iter()
                .map(|r| r.text)
                .collect(),
            calendar: calendar.clone(),
        };
        let dog = || given.dog.clone();
        let mut drawn = Drawn::new("title.slip", Screen::Slip { slip: screen });
        if calendar.is_some() {
            // The platform puts its own words into this act before it sends it.
            let summary = String::new();
            let act = Act::CalendarEntry {
                dog: dog(),
                summary,
            };
            drawn = drawn.offer("calendar_entry", act, Role::Quiet);
        }
        drawn.offer("print_slip", Act::PrintSlip { dog: dog() }, Role::Main)
    }

    fn past(&self, s: &Session) -> Drawn {
        let dogs = |stopped: bool| -> Vec<PageLine> {
            let of = s.visits.iter().filter(|v| v.is_returned());
            of.filter(|v| v.stopped.is_some() == stopped)
                .filter_map(|v| Some((v, &v.stated.as_ref()?.0)))
                .map(|(v, st)| {
                    let mut notes = vec![outcome_text(&st.outcome)];
                    notes.extend(row_notes(v, st));
                    notes.extend(self.beside_note(s, &v.dog));
                    PageLine {
                        whereabouts: Some(self.whereabouts(s, v)),
                        open: history_of(&st.chip),
                        ..page_line(&v.dog, shown(&st.dog), notes)
                    }
                })
                .collect()
        };
        let names = s.seated.iter().map(|p| {
            let person = s.loaded.person(p);
            let number = person.map(|p| p.number.clone()).unwrap_or_default();
            page_line(p, shown(s.loaded.name_of(p)), vec![shown(number)])
        });
        let happened = s.happened.iter().enumerate().map(|(n, h)| {
            let name = s.visits.iter().find(|v| v.number == h.visit);
            let dog = name.and_then(|v| s.dog(&v.dog)).map(|d| shown(&d.name));
            let words = (!h.words.is_empty()).then(|| shown(&h.words));
            let what = incident_text(
                crate::files::harm_word(h.what),
                crate::files::whom_word(h.whom),
            );
            page_line(
                &format!("incident{n}"),
                what,
                dog.into_iter().chain(words).collect(),
            )
        });
        let mut sections = vec![
            PageSection {
                heading: Text::of("past.heading")
                    .day("day", s.day)
                    .plain("venue", s.venue.clone().unwrap_or_default()),
                none: None,
                lines: names.collect(),
            },
            section("past.measured", Some("past.none"), dogs(false)),
        ];
        let stopped = dogs(true);
        if !stopped.is_empty() {
            sections.push(section("past.stopped", None, stopped));
        }
        let happened: Vec<_> = happened.collect();
        if !happened.is_empty() {
            sections.push(section("past.incidents", None, happened));
        }
        let past = PageScreen { sections };
        let drawn = Drawn::new("title.past", Screen::Past { past })
            .offer("print_return", Act::PrintReturn, Role::Quiet)
            .offer("share_return", Act::ShareReturn, Role::Quiet);
        if self.state.outbox() > 0 {
            return drawn.offer("send_return", Act::SendReturn, Role::Main);
        }
        drawn
    }

    fn history(&self, history: &History) -> Drawn {
        let measures = history.measures.iter().enumerate().map(|(n, known)| {
            let Known {
                day,
                venue,
                outcome,
                number,
                notes,
                at_office,
            } = known;
            let mut said = vec![outcome.clone(), measure_text(*number)];
            if !venue.is_empty() {
                said.push(shown(venue));
            }
            if at_office.is_none() {
                said.push(Text::of("history.told_by_office"));
            }
            said.extend(notes.iter().cloned());
            PageLine {
                whereabouts: at_office.map(|held| {
                    if held {
                        Whereabouts::AtOffice
                    } else {
                        Whereabouts::OnPhone
                    }
                }),
                ..page_line(
                    &format!("measure{n}"),
                    Text::of("plain_day").day("day", *day),
                    said,
                )
            }
        });
        let measures: Vec<_> = measures.collect();
        let who = page_line(
            "who",
            shown(&history.name),
            vec![shown(grouped(&history.chip))],
        );
        let mut sections = vec![
            section("history.dog", None, vec![who]),
            section("history.measures", Some("history.none"), measures),
        ];
        let here = self.state.session.iter().flat_map(|s| &s.visits);
        let objected: Vec<_> = here
            .filter(|v| {
                let stated = v.stated.as_ref();
                stated.is_some_and(|(st, ..)| st.chip == history.chip)
            })
            .flat_map(|v| self.objections(Some(v)))
            .enumerate()
            .map(|(n, words)| page_line(&format!("objection{n}"), words, Vec::new()))
            .collect();
        if !objected.is_empty() {
            sections.push(section("history.objections", None, objected));
        }
        let session = self.state.session.as_ref();
        let here = self.state.latest().and_then(|s| {
            let of = |v: &&Visit| s.dog(&v.dog).is_some_and(|d| d.chip == history.chip);
            Some((s, s.visits.iter().rev().find(of)?))
        });
        let said = here.map(|(s, v)| beside::lines(s, v)).unwrap_or_default();
        if let Some((first, rest)) = said.split_first() {
            let line = page_line("beside", first.clone(), rest.to_vec());
            sections.push(section("beside.heading", None, vec![line]));
        }
        let page = PageScreen { sections };
        let mut drawn = Drawn::new("title.history", Screen::History { history: page });
        if let Some((s, v)) = here {
            drawn = self.to_settle(s, v, drawn);
        }
        let visit = session.and_then(|s| {
            let of_chip = |v: &&Visit| {
                let stated = v.stated.as_ref();
                stated.is_some_and(|(st, ..)| st.chip == history.chip)
            };
            Some((s, s.visits.iter().rev().find(of_chip)?))
        });
        let dog = || visit.map(|(_, v)| v.dog.clone()).unwrap_or_default();
        let slip = visit.and_then(|(s, v)| may_have_slip(s, &v.dog));
        let drawn = match slip {
            Some(_) => drawn.offer("slip", Act::OpenSlip { dog: dog() }, Role::Main),
            None => drawn,
        };
        match visit.and_then(|(s, v)| may_object(s, &v.dog)) {
            Some(_) => drawn.offer("objection", Act::OpenObjection { dog: dog() }, Role::Other),
            None => drawn,
        }
    }

    fn objection(&self, dog: &str) -> Drawn {
        let session = self.state.session.as_ref();
        let visit = session.and_then(|s| may_object(s, dog));
        let stated = visit.and_then(|v| v.stated.as_ref()).map(|(st, ..)| st);
        let about = stated.map_or_else(
            || shown(dog),
            |st| {
                let chip = Text::of("objection.about").plain("dog", &st.dog);
                match &st.outcome {
                    Ends::Category { label, .. } => chip.plain("outcome", label.clone()),
                    Ends::NotToday { .. } => chip.word("outcome", "objection.not_today"),
                    Ends::Referred { .. } => chip.word("outcome", "objection.referred"),
                }
            },
        );
        let objection = ObjectionScreen {
            about,
            before: self.objections(visit),
            record: Act::RecordObjection {
                dog: dog.to_owned(),
                words: String::new(),
            },
            next: [
                "objection.to_the_office",
                "objection.stands",
                "objection.body_decides",
            ]
            .map(Text::of)
            .to_vec(),
            most: MOST_WORDS as u32,
        };
        Drawn::new("title.objection", Screen::Objection { objection })
    }

    /// What the handler objected to a visit so far, in their words.
    fn objections(&self, visit: Option<&Visit>) -> Vec<Text> {
        let ids = visit.map(|v| v.objections.as_slice()).unwrap_or_default();
        let said = |id| match self.personal(id) {
            Some(clear) if !clear.is_empty() => Text::of("objection.said")
                .plain("words", String::from_utf8_lossy(&clear).into_owned()),
            Some(_) => Text::of("objection.wordless"),
            None => Text::of("objection.erased"),
        };
        ids.iter().map(said).collect()
    }

    fn settings(&self) -> Drawn {
        let state = self.state;
        let count = |key: &str, n: u64| Text::of(key).count("count", n as i64);
        let sessions = state.sessions_left().count() + usize::from(state.session.is_some());
        let mut here = vec![page_line(
            "software",
            shown(SOFTWARE),
            vec![
                count("settings.entries", state.seq),
                count("settings.sessions", sessions as u64),
            ],
        )];
        if let Some(loaded) = self.loaded() {
            let roster = &loaded.roster;
            here.push(page_line(
                "roster",
                shown(&roster.league.name),
                vec![
                    Text::of("venue.pack")
                        .plain("pack", loaded.pack.name().to_owned())
                        .plain("edition", loaded.pack.edition().to_owned()),
                    count("settings.dogs", roster.dogs.len() as u64),
                ],
            ));
            let mut office = Vec::new();
            office.push(match state.acknowledged_ms {
                Some(at) => {
                    let day = days::of_moment(at, self.offset_min);
                    let minutes = at.div_euclid(60_000) + i64::from(self.offset_min);
                    let time = minutes.rem_euclid(24 * 60);
                    Text::of("settings.last_answer")
                        .day("day", day)
                        .plain("time", format!("{:02}:{:02}", time / 60, time % 60))
                }
                None => Text::of("settings.no_answer"),
            });
            let ours = state.enrolled.as_ref();
            let ours = ours.filter(|e| Some(e.office_key) == loaded.office_key());
            office.push(match ours {
                Some(e) => Text::of("settings.enrolled").plain("address", e.address.clone()),
                None => Text::of("settings.not_enrolled"),
            });
            office.push(match state.outbox() {
                0 => Text::of("outbox.none"),
                n => count("outbox.waiting", u64::from(n)),
            });
            here.push(page_line("office", shown(&roster.office.name), office));
        }
        let keys = state.keys.keys().map(|p| {
            let name = self.loaded().map_or(p.as_str(), |l| l.name_of(p));
            page_line(p, shown(name), vec![Text::of("settings.pin_here")])
        });
        let mut sections = vec![section("settings.here", None, here)];
        let keys: Vec<_> = keys.collect();
        if !keys.is_empty() {
            sections.push(section("settings.pins", None, keys));
        }
        let copies: Vec<_> = self
            .copies
            .iter()
            .map(|kept| {
                let day = days::of_moment(kept.last_ms, self.offset_min);
                let notes = vec![
                    count("settings.copied_entries", kept.held),
                    Text::of("settings.copied_last").day("day", day),
                ];
                let id = format!("copy-{}", hex::encode(&kept.journal[..4]));
                page_line(
                    &id,
                    count("settings.copied_dogs", u64::from(kept.dogs)),
                    notes,
                )
            })
            .collect();
        let any = !copies.is_empty();
        if any {
            sections.push(section("settings.copies", None, copies));
        }
        let settings = PageScreen { sections };
        let mut drawn = Drawn::new("title.settings", Screen::Settings { settings });
        if state.session.as_ref().is_some_and(may_pair) {
            drawn = drawn.offer("pair", Act::OpenPairing, Role::Quiet);
        }
        if any {
            drawn = drawn.offer("carry_copies", Act::CarryCopies, Role::Quiet);
        }
        drawn = self.ways_to_own(drawn);
        self.way_to_readers(drawn, false)
            .offer("open_slip_check", Act::OpenSlipCheck, Role::Quiet)
    }

    /// Whose own phone it is, or could be.
    fn ways_to_own(&self, mut drawn: Drawn) -> Drawn {
        let state = self.state;
        let name = |p: &str| self.loaded().map_or(p, |l| l.name_of(p)).to_owned();
        if let Some(owner) = &state.owner {
            return drawn
                .offer("not_own_phone", Act::NotOwnPhone, Role::Quiet)
                .labelled(Text::of("offer.not_own_phone").plain("name", name(owner)));
        }
        for person in state.keys.keys().filter(|_| self.owner.can) {
            let (id, why_not) = (format!("own_phone_{person}"), may_own(self.loaded()));
            let person = person.clone();
            let label = Text::of("offer.own_phone").plain("name", name(&person));
            drawn = drawn
                .offer_if(&id, Act::OwnPhone { person }, Role::Quiet, why_not)
                .labelled(label);
        }
        drawn
    }

    /// The PIN of the phone's owner, asked for like any other.
    fn own_phone(&self, person: &str) -> Drawn {
        let mut seat = self.seat(self.loaded(), person);
        seat.asks = SeatAsks::Unlock;
        let unlock = UnlockScreen {
            why: Text::of("owner.why"),
            seats: vec![seat],
            min_digits: DIGITS.0,
            max_digits: DIGITS.1,
        };
        Drawn::new("title.own_phone", Screen::Unlock { unlock })
    }
}

/// Shows a dog's history, if it has a number to know it by.
pub(super) fn history_of(chip: &str) -> Option<Act> {
    let chip = chip.to_owned();
    (!chip.is_empty()).then_some(Act::OpenHistory { chip })
}

fn slip_check(checked: Option<&Checked>) -> Drawn {
    let slip = checked.and_then(|c| c.slip.as_ref());
    let check = SlipCheckScreen {
        answer: checked.map(|c| Text::of(c.key)),
        tone: match (checked, slip) {
            (None, _) => Tone::Care,
            (_, Some(_)) => Tone::Good,
            (_, None) => Tone::Bad,
        },
        says: slip.map(slip_lines).unwrap_or_default(),
    };
    Drawn::new("title.slip_check", Screen::SlipCheck { check })
}

/// What happened, to whom.
fn incident_text(what: &str, whom: &str) -> Text {
    Text::of(&format!("incident.{what}_{whom}"))
}

fn incident() -> Drawn {
    let choice = |what: &str, whom: &&str| StopChoice {
        act: Act::RecordIncident {
            what: what.into(),
            whom: (*whom).into(),
            words: String::new(),
        },
        id: format!("{what}_{whom}"),
        label: incident_text(what, whom),
    };
    let bites = BITTEN.iter().map(|whom| choice("bite", whom));
    let falls = FALLEN.iter().map(|whom| choice("fall", whom));
    let incident = IncidentScreen {
        happened: bites.chain(falls).collect(),
    };
    Drawn::new("title.incident", Screen::Incident { incident }).caution("caution.help_first")
}
