//! Closing, the return, and where it is.

use super::{Drawn, Glass, grouped, outcome_text, row_notes};
use crate::act::Act;
use crate::decide::may_not_close;
use crate::files;
use crate::state::{Session, Visit};
use crate::view::*;

impl Glass<'_> {
    pub(super) fn closing(&self, s: &Session) -> Drawn {
        let of = |stopped: bool| {
            s.visits
                .iter()
                .filter(|v| v.is_answered() && v.stopped.is_some() == stopped)
                .map(|v| self.dog_line(s, &v.dog))
                .collect()
        };
        let not_seen = s
            .loaded
            .roster
            .dogs
            .iter()
            .filter(|d| s.visit_of(&d.id).is_none())
            .map(|d| self.dog_line(s, &d.id))
            .collect();
        let close = CloseScreen {
            measured: of(false),
            stopped: of(true),
            not_seen,
        };
        let (tag, act) = match s.to_be_listed().next() {
            Some(_) => ("sign_list", Act::StateList),
            None => ("close_session", Act::CloseSession),
        };
        Drawn::new("title.close", Screen::Close { close })
            .offer_if(tag, act, Role::Main, may_not_close(s))
            .offer("back_to_queue", Act::BackToQueue, Role::Other)
            .caution("caution.count_hoops")
    }

    pub(super) fn sent(&self, s: &Session) -> Drawn {
        let rows: Vec<ReturnRow> = s
            .visits
            .iter()
            .filter(|v| v.is_returned())
            .filter_map(|v| v.stated.as_ref().map(|(st, ..)| (v, st)))
            .map(|(v, st)| ReturnRow {
                name: st.dog.clone(),
                chip: grouped(&st.chip),
                outcome: outcome_text(&st.outcome),
                flags: row_notes(v, st)
                    .into_iter()
                    .chain(self.beside_note(s, &v.dog))
                    .collect(),
                whereabouts: self.whereabouts(s, v),
            })
            .collect();
        let closed_at_office = self.state.office_holds(s.closing_run);
        let waiting = self.state.dogs_not_at_office(s);
        let settling = s.visits.iter().any(Visit::is_settling);
        let (state, tone) = match (waiting, closed_at_office) {
            (0, _) if settling => (Text::of("flag.settling-unsigned"), Tone::Care),
            (0, true) => (
                Text::of(if self.state.dogs_at_office_only(s) == 0 {
                    "return.in_log"
                } else {
                    "return.at_office"
                })
                .count("count", rows.len() as i64),
                Tone::Good,
            ),
            (0, false) => (Text::of("return.not_closed_at_office"), Tone::Care),
            (n, _) => (Text::of("return.waiting").count("count", n), Tone::Care),
        };
        let complete = waiting == 0 && closed_at_office && self.state.words_waiting() == 0;
        let drawn = Drawn::new(
            "title.return",
            Screen::Return {
                sent: ReturnScreen {
                    rows,
                    state,
                    tone,
                    csv_name: files::csv_name(s),
                },
            },
        );
        let drawn = if complete {
            drawn.offer("leave_session", Act::LeaveSession, Role::Main)
        } else {
            drawn
                .offer("send_return", Act::SendReturn, Role::Main)
                .offer("carry_return", Act::CarryReturn, Role::Quiet)
                .offer("leave_session", Act::LeaveSession, Role::Quiet)
        };
        let drawn = drawn
            .offer("share_return", Act::ShareReturn, Role::Other)
            .offer("print_return", Act::PrintReturn, Role::Quiet)
            .cautioned(self.clock());
        self.of_other_phones(s, drawn)
    }
}
