//! Putting right what was entered for a dog: what, why, and the signatures.

use super::signing::{line, shown};
use super::{Drawn, Glass, grouped};
use crate::act::{Act, CorrectionWhat};
use crate::decide::{DIGITS, correction_choices, correction_reasons, may_leave_correction};
use crate::roster::Loaded;
use crate::state::{Correcting, Session, Visit};
use crate::view::*;

use standsquare_journal::record::fact::{Correction, Putting, Seen, StatedPlacing};

impl Glass<'_> {
    pub(super) fn correct(&self, s: &Session, v: &Visit) -> Drawn {
        let mut screen = CorrectScreen {
            instruction: None,
            choices: Vec::new(),
            statement: Vec::new(),
            seats: Vec::new(),
            min_digits: DIGITS.0,
            max_digits: DIGITS.1,
        };
        let mut may_leave = true;
        let title = match &v.correcting {
            Some(Correcting::Sign(correction, _, _, signed)) => {
                screen.statement = correction_lines(&s.loaded, correction);
                screen.seats = self.seats(s, signed);
                may_leave = may_leave_correction(self.state, s, v, self.now_ms);
                "title.correct_sign"
            }
            Some(Correcting::Why(what)) => {
                screen.choices = correction_reasons(what)
                    .iter()
                    .map(|id| reason(id))
                    .collect();
                "title.correct_why"
            }
            Some(Correcting::Scan) => {
                screen.instruction = Some(Text::of("correction.scan_other"));
                "title.correct_scan"
            }
            _ => {
                screen.choices = correction_choices(s, v)
                    .into_iter()
                    .map(|what| self.choice(s, v, what))
                    .collect();
                "title.correct_what"
            }
        };
        let mut drawn = Drawn::new(title, Screen::Correct { correct: screen });
        if may_leave {
            drawn = drawn.offer("leave_correction", Act::LeaveCorrection, Role::Other);
        }
        self.on_own_phones(s, drawn)
    }

    fn choice(&self, s: &Session, v: &Visit, what: CorrectionWhat) -> StopChoice {
        let (id, label) = match what {
            CorrectionWhat::VoidPlacing { number } => {
                let at = (number as usize).wrapping_sub(1);
                let label = v.placings.get(at).map(|(hoop, seen, _)| {
                    placing_text("correction.void_placing", &s.loaded, hoop, *seen)
                        .count("number", number)
                });
                (
                    format!("void_{number}"),
                    label.unwrap_or_else(|| Text::of("plain")),
                )
            }
            CorrectionWhat::PapersAgain => {
                ("papers".to_owned(), Text::of("correction.papers_again"))
            }
            CorrectionWhat::MovePlacings => {
                ("move".to_owned(), Text::of("correction.were_another_dogs"))
            }
        };
        StopChoice {
            act: Act::ChooseCorrection { what },
            id,
            label,
        }
    }
}

fn placing_text(key: &str, loaded: &Loaded, hoop: &str, seen: Seen) -> Text {
    let seen = match seen {
        Seen::Flat | Seen::FlatVoid => "seen.flat",
        Seen::NotFlat | Seen::NotFlatVoid => "seen.not_flat",
        Seen::Moved => "seen.moved",
    };
    Text::of(key)
        .plain("hoop", loaded.gauge(hoop).map_or(hoop, |g| &g.label))
        .word("seen", seen)
}

/// Every part of a correction, as the screen shows it and the measurers sign it.
pub(super) fn correction_lines(loaded: &Loaded, c: &Correction) -> Vec<StatementLine> {
    let what = match (&c.what, &c.placing) {
        (Putting::VoidPlacing { number }, Some(StatedPlacing { hoop, seen })) => {
            placing_text("correction.void_placing", loaded, hoop, *seen).count("number", *number)
        }
        (Putting::MovePlacings { dog, chip, .. }, _) => Text::of("correction.go_to")
            .plain("dog", dog.clone())
            .plain("chip", grouped(chip)),
        (Putting::VoidPlacing { .. }, None) => Text::of("plain"),
        (Putting::PapersAgain {}, _) => Text::of("correction.papers_again"),
    };
    let chip = if c.chip.is_empty() {
        Text::of("statement.no_chip")
    } else {
        shown(grouped(&c.chip))
    };
    let mut lines = vec![
        line("statement.dog", shown(&c.dog)),
        line("statement.chip", chip),
        line("correction.what", what),
    ];
    if let Putting::MovePlacings { placings, .. } = &c.what {
        lines.extend(placings.iter().enumerate().map(|(n, placing)| {
            let key = match placing.seen.counts() {
                true => "correction.placing_was",
                false => "correction.placing_was_void",
            };
            StatementLine {
                label: Text::of("correction.placing").count("number", n as i64 + 1),
                value: placing_text(key, loaded, &placing.hoop, placing.seen),
            }
        }));
    }
    lines.push(line(
        "correction.why",
        Text::of(&format!("correction.reason_{}", c.reason)),
    ));
    if c.after_sign_off {
        lines.push(line(
            "correction.effect",
            Text::of("correction.signatures_fall"),
        ));
    }
    lines.push(line("statement.measurers", shown(c.measurers.join(", "))));
    if c.demo {
        lines.push(line("statement.mark", Text::of("demo.mark")));
    }
    lines
}

fn reason(id: &str) -> StopChoice {
    StopChoice {
        act: Act::CorrectionReason { reason: id.into() },
        id: id.into(),
        label: Text::of(&format!("correction.reason_{id}")),
    }
}
