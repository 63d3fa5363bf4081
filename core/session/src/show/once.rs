//! A session that is signed once: the keys that have to be opened, what a tap confirms, and
//! the list at the close.

use super::signing::{Paper, line, shown, ways};
use super::{Drawn, Glass, grouped};
use crate::act::Act;
use crate::decide::{DIGITS, must_unlock, signers};
use crate::roster::Loaded;
use crate::state::{Session, Visit};
use crate::view::*;

use standsquare_journal::record::fact::{List, Listed, Outcome as Ends};

impl Glass<'_> {
    /// Whether somebody has to open their key before the next dog is called.
    pub(super) fn is_locked(&self, s: &Session) -> bool {
        !must_unlock(self.state, s, self.now_ms).is_empty()
    }

    /// Everybody who has to open their key.
    pub(super) fn unlock(&self, s: &Session) -> Drawn {
        let mut seats = self.seats(s, &[]);
        for seat in &mut seats {
            seat.asks = SeatAsks::Unlock;
            seat.signed = s.is_unlocked(&seat.person, self.now_ms);
            ways(seat, Paper::Counts);
        }
        // Whoever cannot signs each dog on paper.
        seats.retain(|seat| seat.signed || seat.way == SeatWay::Pin);
        let minutes = s.loaded.pack.lock_after_minutes();
        let unlock = UnlockScreen {
            why: Text::of("unlock.why").count("minutes", minutes),
            seats,
            min_digits: DIGITS.0,
            max_digits: DIGITS.1,
        };
        Drawn::new("title.unlock", Screen::Unlock { unlock }).offer(
            "review_close",
            Act::ReviewClose,
            Role::Quiet,
        )
    }

    /// What is asked at a dog's statement: a tap of those whose key is open.
    pub(super) fn ask_once(&self, s: &Session, v: &Visit, seats: &mut [SignSeat]) {
        for seat in seats {
            let confirmed = v.confirmed.contains(&seat.person);
            let open = s.is_unlocked(&seat.person, self.now_ms);
            seat.asks = match (seat.signed, confirmed || open) {
                (true, _) => SeatAsks::Sign,
                (false, true) => SeatAsks::Confirm,
                (false, false) => SeatAsks::Unlock,
            };
            seat.signed |= confirmed;
            seat.why_not = seat.why_not.take().filter(|_| !confirmed);
        }
    }

    /// The way to close every key, where one is open.
    pub(super) fn lock(&self, s: &Session, drawn: Drawn) -> Drawn {
        if s.is_signed_once() && s.seated.iter().any(|p| s.is_unlocked(p, self.now_ms)) {
            drawn.offer("lock_phone", Act::LockPhone, Role::Quiet)
        } else {
            drawn
        }
    }

    /// The list at the close.
    pub(super) fn sign_list(&self, s: &Session) -> Drawn {
        let Some(open) = &s.list else {
            return self.closing(s);
        };
        let signed: Vec<String> = open.answered.keys().cloned().collect();
        let signers = signers(s, &open.list);
        let mut seats = self.seats(s, &signed);
        seats.retain(|seat| signers.contains(&&seat.person));
        for seat in &mut seats {
            seat.paper = open.answered.get(&seat.person).cloned().flatten();
            seat.signed &= seat.paper.is_none();
            ways(seat, Paper::Counts);
        }
        let sign_list = SignListScreen {
            statement: list_lines(&s.loaded, &open.list),
            seats,
            min_digits: DIGITS.0,
            max_digits: DIGITS.1,
        };
        let drawn = Drawn::new("title.sign_list", Screen::SignList { sign_list });
        let drawn = drawn.offer("leave_list", Act::LeaveList, Role::Other);
        self.on_own_phones(s, drawn)
    }
}

/// Every part of a list, as the screen shows it and the measurers sign it.
pub(super) fn list_lines(loaded: &Loaded, list: &List) -> Vec<StatementLine> {
    let mut lines = Vec::new();
    for dog in &list.dogs {
        let label = Text::of("list.dog").count("number", dog.visit);
        let value = entry(dog);
        lines.push(StatementLine { label, value });
        // Somebody signs other dogs with the list, and not this one.
        let others = list.dogs.iter().flat_map(|other| &other.by);
        if !others.into_iter().all(|person| dog.by.contains(person)) {
            let names: Vec<&str> = dog.by.iter().map(|p| loaded.name_of(p)).collect();
            lines.push(line("list.only", shown(names.join(", "))));
        }
    }
    if list.demo {
        lines.push(line("statement.mark", Text::of("demo.mark")));
    }
    lines
}

/// A dog's line, as it stands in the signed bytes.
fn entry(dog: &Listed) -> Text {
    let text = match &dog.outcome {
        Ends::Category { label, .. } => Text::of("list.category").plain("category", label.clone()),
        Ends::NotToday { reason } => {
            Text::of("list.not_today").word("reason", &format!("stop.{reason}"))
        }
        Ends::Referred { reason } => {
            Text::of("list.referred").word("reason", &format!("referred.{reason}"))
        }
    };
    text.plain("dog", dog.dog.clone()).plain(
        "chip",
        match dog.chip.as_str() {
            "" => "–".to_owned(),
            chip => grouped(chip),
        },
    )
}
