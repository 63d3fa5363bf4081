//! What is signed, the line for the book, what the handler is told.

use super::correct::correction_lines;
use super::once::list_lines;
use super::{Drawn, Glass, flag_text, grouped, measure_text, outcome_text};
use crate::act::Act;
use crate::days;
use crate::decide::{
    DIGITS, may_not_sign, may_sign_elsewhere, may_sign_later, owner_opens, tries_left,
};
use crate::judging;
use crate::roster::Loaded;
use crate::state::{Closing, Session, Visit};
use crate::view::*;

use standsquare_journal::record::elsewhere::{Ask, Shown};
use standsquare_journal::record::fact::{ChipProof, Outcome as Ends, Seen, Statement};
use standsquare_measuring::ShownTo;
use standsquare_sync::beside::SETTLES;

pub(super) fn line(key: &str, value: Text) -> StatementLine {
    StatementLine {
        label: Text::of(key),
        value,
    }
}

pub(super) fn shown(text: impl Into<String>) -> Text {
    Text::of("plain").plain("text", text)
}

fn proof_text(proof: ChipProof) -> Text {
    Text::of(match proof {
        ChipProof::Equal => "proof.equal",
        ChipProof::MisKeyed => "proof.mis_keyed",
        ChipProof::Typed => "proof.typed",
        ChipProof::NotFound => "proof.not_found",
        ChipProof::Different => "proof.different",
        ChipProof::NotScanned => "proof.not_scanned",
        ChipProof::OtherForm => "proof.other_form",
        ChipProof::TwoChips => "proof.two_chips",
    })
}

/// `35 < h ≤ 43` as a message, from what is known.
pub(super) fn height_text(over_um: Option<i64>, within_um: Option<i64>) -> Option<Text> {
    match (over_um, within_um) {
        (Some(over), Some(within)) => Some(
            Text::of("height.between")
                .length("over", over)
                .length("within", within),
        ),
        (None, Some(within)) => Some(Text::of("height.within").length("within", within)),
        (Some(over), None) => Some(Text::of("height.over").length("over", over)),
        (None, None) => None,
    }
}

/// Every part of a statement, as the screen shows it and the measurers sign it.
fn statement_lines(s: &Statement) -> Vec<StatementLine> {
    let mut lines = vec![
        line("statement.dog", shown(&s.dog)),
        line(
            "statement.chip",
            if s.chip.is_empty() {
                Text::of("statement.no_chip")
            } else {
                shown(grouped(&s.chip))
            },
        ),
        line("statement.proof", proof_text(s.proof)),
    ];
    if let Some(read) = &s.chip_read {
        lines.push(line("statement.chip_read", shown(grouped(read))));
    }
    lines.push(line("statement.outcome", outcome_text(&s.outcome)));
    if let Some(height) = height_text(s.over_um, s.within_um) {
        lines.push(line("statement.height", height));
    }
    lines.push(line("statement.measure", measure_text(s.measure)));
    if !s.status.is_empty() {
        lines.push(line(
            "statement.status",
            Text::of(&format!("status.{}", s.status)),
        ));
    }
    let count = |seen| s.placings.iter().filter(|p| p.seen == seen).count() as i64;
    lines.push(line(
        "statement.placings",
        Text::of("statement.placings_counted")
            .count("flat", count(Seen::Flat))
            .count("not_flat", count(Seen::NotFlat))
            .count("moved", count(Seen::Moved)),
    ));
    let void = count(Seen::FlatVoid) + count(Seen::NotFlatVoid);
    if void > 0 {
        lines.push(line(
            "statement.voided",
            Text::of("statement.voided_counted").count("count", void),
        ));
    }
    if let (Some(from), Some(to)) = (s.window_from, s.window_to) {
        lines.push(line("statement.window", window_text(from, to)));
    }
    for flag in &s.flags {
        lines.push(line("statement.flag", flag_text(flag)));
    }
    lines.push(line("statement.measurers", shown(s.measurers.join(", "))));
    lines.push(line(
        "statement.pack",
        Text::of("venue.pack")
            .plain("pack", &s.pack)
            .plain("edition", &s.edition),
    ));
    lines.push(line(
        "statement.day",
        Text::of("plain_day").day("day", days::date(s.day)),
    ));
    if s.demo {
        lines.push(line("statement.mark", Text::of("demo.mark")));
    }
    lines
}

/// Every line of what is signed, whatever it is, and on whichever phone.
pub(crate) fn signed_lines(loaded: &Loaded, shown: &Shown) -> Vec<StatementLine> {
    match shown {
        Shown::Statement(statement) => statement_lines(statement),
        Shown::Correction(correction) => correction_lines(loaded, correction),
        Shown::List(list) => list_lines(loaded, list),
    }
}

pub(super) fn window_text(from: i32, to: i32) -> Text {
    Text::of("window.between")
        .day("from", days::date(from))
        .day("to", days::date(to))
}

/// For the return: a proof that is not the usual one, in words.
pub(super) fn proof_note(proof: ChipProof) -> Option<Text> {
    (proof != ChipProof::Equal).then(|| proof_text(proof))
}

/// Whether a signed paper stands for a signature that cannot be put here.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Paper {
    /// It does.
    Counts,
    /// It does not.
    No,
}

/// How somebody answers at their place, once the rest of it is known. Who has signed on paper
/// may still sign here.
pub(super) fn ways(seat: &mut SignSeat, paper: Paper) {
    let taps = seat.asks == SeatAsks::Confirm;
    let cannot = seat.why_not.is_some() || (seat.tries_left == Some(0) && !taps);
    seat.way = if seat.signed {
        SeatWay::Nothing
    } else if cannot && paper == Paper::Counts && seat.paper.is_none() {
        SeatWay::Paper
    } else if seat.why_not.is_some() {
        SeatWay::Nothing
    } else if taps {
        SeatWay::Tap
    } else {
        SeatWay::Pin
    };
    if seat.signed || seat.why_not.is_some() {
        seat.tries_left = None;
    }
    if seat.signed || seat.why_not.is_some() || taps {
        seat.by_owner = None;
    }
}

impl Glass<'_> {
    pub(super) fn sign(&self, s: &Session, v: &Visit) -> Drawn {
        let Some((statement, ..)) = &v.stated else {
            return self.queue(s);
        };
        let mut seats = self.seats(s, &v.signed);
        if s.is_tapped(v) {
            self.ask_once(s, v, &mut seats);
        }
        for seat in &mut seats {
            seat.paper = v.paper.get(&seat.person).cloned();
            ways(seat, Paper::Counts);
        }
        let disagree: Vec<Act> = if v.is_untouched() && v.stopped.is_none() && v.disagreed.is_none()
        {
            s.seated
                .iter()
                .map(|p| Act::Disagree { person: p.clone() })
                .collect()
        } else {
            Vec::new()
        };
        let mut drawn = Drawn::new(
            if v.stopped.is_some() {
                "title.sign_stop"
            } else {
                "title.sign"
            },
            Screen::Sign {
                sign: SignScreen {
                    outcome: outcome_text(&statement.outcome),
                    height: height_text(statement.over_um, statement.within_um),
                    statement: statement_lines(statement),
                    reasons: judging::reasons_to_show(s, v),
                    seats: seats.clone(),
                    min_digits: DIGITS.0,
                    max_digits: DIGITS.1,
                },
            },
        )
        .caution(match s.closing {
            Closing::Closed => "caution.settled_late",
            _ => "caution.dog_off_table",
        });
        for (seat, act) in seats.iter().zip(disagree) {
            drawn = drawn
                .offer(&format!("disagree_{}", seat.person), act, Role::Quiet)
                .labelled(Text::of("offer.disagree").plain("name", seat.name.clone()));
        }
        if v.is_untouched() && v.stopped.is_none() && v.disagreed.is_none() {
            drawn = self.undo(s, v, drawn);
            drawn = drawn.offer("not_today", Act::AskNotToday, Role::Stop);
        }
        drawn = self.shadows(s, v, drawn);
        drawn = self.on_own_phones(s, drawn);
        if may_sign_later(s, v) {
            drawn = drawn.offer("sign_later", Act::Park, Role::Other);
        }
        drawn = self.lock(s, drawn);
        self.put_right(s, v, drawn)
    }

    /// Who may sign what is drawn on their own phone.
    pub(super) fn on_own_phones(&self, s: &Session, mut drawn: Drawn) -> Drawn {
        for person in &s.seated {
            if may_sign_elsewhere(self.state, s, person, self.now_ms) {
                let (person, name) = (person.clone(), s.loaded.name_of(person));
                drawn = drawn
                    .offer(
                        &format!("sign_elsewhere_{person}"),
                        Act::SignElsewhere { person },
                        Role::Other,
                    )
                    .labelled(Text::of("offer.sign_elsewhere").plain("name", name));
            }
        }
        drawn
    }

    /// What another phone asks somebody to sign here: the same lines as on its glass.
    pub(super) fn sign_for(&self, ask: &Ask, shown: &Shown) -> Drawn {
        let loaded = self.loaded();
        let seats = vec![self.seat(loaded, &ask.person)];
        let statement = loaded.map_or_else(Vec::new, |loaded| signed_lines(loaded, shown));
        let (min_digits, max_digits) = DIGITS;
        let screen = match shown {
            Shown::Statement(st) => Screen::Sign {
                sign: SignScreen {
                    outcome: outcome_text(&st.outcome),
                    height: height_text(st.over_um, st.within_um),
                    statement,
                    reasons: Vec::new(),
                    seats,
                    min_digits,
                    max_digits,
                },
            },
            Shown::Correction(_) => Screen::Correct {
                correct: CorrectScreen {
                    instruction: None,
                    choices: Vec::new(),
                    statement,
                    seats,
                    min_digits,
                    max_digits,
                },
            },
            Shown::List(_) => Screen::SignList {
                sign_list: SignListScreen {
                    statement,
                    seats,
                    min_digits,
                    max_digits,
                },
            },
        };
        Drawn::new("title.sign_for", screen).caution("caution.sign_for")
    }

    /// The place of somebody who is to sign by their PIN.
    pub(super) fn seat(&self, loaded: Option<&Loaded>, id: &str) -> SignSeat {
        let person = loaded.and_then(|l| l.person(id));
        SignSeat {
            person: id.to_owned(),
            name: person.map(|p| p.name.clone()).unwrap_or_default(),
            number: person.map(|p| p.number.clone()).unwrap_or_default(),
            asks: SeatAsks::Sign,
            signed: false,
            paper: None,
            way: SeatWay::Pin,
            why_not: None,
            tries_left: Some(tries_left(self.state, id, self.now_ms)),
            by_owner: owner_opens(self.state, self.owner, loaded, id).then(|| Act::AskOwner {
                person: id.to_owned(),
            }),
        }
    }

    /// The measurers' places at a signature.
    pub(super) fn seats(&self, s: &Session, signed: &[String]) -> Vec<SignSeat> {
        let of = |id: &String| {
            let mut seat = self.seat(Some(&s.loaded), id);
            seat.signed = signed.contains(id);
            seat.why_not = may_not_sign(self.state, s, id, self.now_ms).filter(|_| !seat.signed);
            ways(&mut seat, Paper::No);
            seat
        };
        s.seated.iter().map(of).collect()
    }

    pub(super) fn book_line(&self, s: &Session, v: &Visit) -> Drawn {
        let Some((statement, ..)) = &v.stated else {
            return self.queue(s);
        };
        let mut cells = vec![
            line(
                "statement.day",
                Text::of("plain_day").day("day", days::date(statement.day)),
            ),
            line(
                "statement.venue",
                shown(s.venue.clone().unwrap_or_default()),
            ),
            line("statement.measure", measure_text(statement.measure)),
            line("statement.outcome", outcome_text(&statement.outcome)),
        ];
        for person in s.seated.iter().filter_map(|p| s.loaded.person(p)) {
            cells.push(line(
                "statement.ink",
                Text::of("statement.ink_line")
                    .plain("name", person.name.clone())
                    .plain("number", person.number.clone()),
            ));
        }
        let drawn = Drawn::new(
            "title.book_line",
            Screen::BookLine {
                book_line: BookLineScreen {
                    line: cells,
                    how_sure: judging::how_sure(s, v, ShownTo::Measurers),
                    shadowed: self.shadowed(s, v),
                },
            },
        )
        .offer("book_written", Act::BookWritten, Role::Main);
        self.put_right(s, v, drawn)
    }

    pub(super) fn tell(&self, s: &Session, v: &Visit) -> Drawn {
        let Some((st, ..)) = &v.stated else {
            return self.queue(s);
        };
        let mut lines = Vec::new();
        match &st.outcome {
            Ends::Category { label, .. } => {
                lines.push(
                    Text::of("tell.category")
                        .plain("dog", &st.dog)
                        .plain("category", label.clone()),
                );
                if let Some(height) = height_text(st.over_um, st.within_um) {
                    lines.push(height);
                }
                match (st.window_from, st.window_to) {
                    (Some(from), Some(to)) => lines.push(
                        Text::of("tell.second_due")
                            .day("from", days::date(from))
                            .day("to", days::date(to)),
                    ),
                    _ => lines.push(Text::of("tell.no_second")),
                }
            }
            Ends::NotToday { reason } => {
                lines.push(
                    Text::of("tell.not_today")
                        .plain("dog", &st.dog)
                        .word("reason", &format!("stop.{reason}")),
                );
                lines.push(Text::of("tell.come_again"));
                if matches!(reason.as_str(), "pain" | "will_not_stand" | "nervous") {
                    lines.push(Text::of("tell.see_a_vet"));
                }
            }
            Ends::Referred { .. } => lines.push(Text::of("tell.referred").plain("dog", &st.dog)),
        }
        for flag in st.flags.iter().filter(|f| !f.starts_with(SETTLES)) {
            lines.push(Text::of("tell.flag").word("flag", &format!("flag.{flag}")));
        }
        lines.push(Text::of("tell.body_decides"));
        let drawn = Drawn::new(
            "title.tell",
            Screen::Tell {
                tell: TellScreen {
                    lines,
                    how_sure: judging::how_sure(s, v, ShownTo::Handler),
                },
            },
        )
        .offer("handler_told", Act::HandlerTold, Role::Main)
        .caution("caution.dry_the_table");
        let dog = || v.dog.clone();
        let drawn = if v.is_signed() {
            drawn.offer("slip", Act::OpenSlip { dog: dog() }, Role::Other)
        } else {
            drawn
        };
        let drawn = drawn.offer("objection", Act::OpenObjection { dog: dog() }, Role::Other);
        self.put_right(s, v, drawn)
    }
}
