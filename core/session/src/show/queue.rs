//! Between two dogs: who is next, and a dog that is not on the list.

use super::{Drawn, Glass, grouped};
use crate::act::Act;
use crate::decide::nothing_to_list;
use crate::state::{Session, Visit};
use crate::view::*;
use standsquare_measuring::order;

/// Dogs that have to be done before their time says anything of the next ones'. Own
/// choice: of three, one odd one does not move the middle.
const DONE_BEFORE: usize = 3;

/// How long a dog takes today, milliseconds: the middle one of the times from one call to
/// the next, or to when the handler was told. Dogs that waited aside or were put right do
/// not count.
fn a_dog_takes(s: &Session) -> Option<i64> {
    let mut times: Vec<i64> = s
        .visits
        .iter()
        .enumerate()
        .filter(|(_, v)| !v.waited)
        .filter_map(|(n, v)| {
            let next = s.visits.get(n + 1).map(|v| v.called_ms);
            Some(next.unwrap_or(v.told_ms?).max(v.told_ms?) - v.called_ms)
        })
        .collect();
    order::sort(&mut times);
    (times.len() >= DONE_BEFORE).then(|| times[times.len() / 2])
}

/// Says of each dog that can be called when it may be its turn. A dog whose turn is less
/// than a minute off needs no telling.
fn wait(s: &Session, waiting: &mut [DogLine]) {
    let Some(each) = a_dog_takes(s) else { return };
    let callable = waiting.iter_mut().filter(|d| d.call.is_some());
    for (ahead, dog) in callable.enumerate() {
        let minutes = (ahead as i64 * each + 30_000) / 60_000;
        if minutes > 0 {
            dog.wait = Some(Text::of("queue.wait").count("count", minutes));
        }
    }
}

impl Glass<'_> {
    pub(super) fn queue(&self, s: &Session) -> Drawn {
        let aside = s.parked().map(|v| self.dog_line(s, &v.dog));
        let new = s
            .loaded
            .roster
            .dogs
            .iter()
            .filter(|d| s.visit_of(&d.id).is_none())
            .map(|d| self.dog_line(s, &d.id));
        let mut waiting: Vec<DogLine> = aside.chain(new).collect();
        wait(s, &mut waiting);
        let waiting = waiting;
        let done = s
            .visits
            .iter()
            .rev()
            .filter(|v| !v.parked)
            .map(|v| self.dog_line(s, &v.dog))
            .collect();
        // A dog that waits aside needs its time: it is taken up by hand, unless it is
        // the last.
        let callable = || waiting.iter().filter(|d| d.call.is_some());
        let called = |d: &DogLine| d.call.clone().map(|call| (d.name.clone(), call));
        let next = callable()
            .find(|d| d.state == DogState::Waiting)
            .or_else(|| callable().next())
            .and_then(called);
        // The dog whose book's code was read goes before the order of the list.
        let found = self.reader.book_found.as_deref();
        let by_book = callable()
            .find(|d| found == Some(d.id.as_str()))
            .and_then(called);
        // The dog whose chip was just read is the one that stands there.
        let read = self.reader.between();
        let there = read.and_then(|number| {
            let dog = s.dog_of(number)?;
            let line = waiting.iter().find(|line| line.id == dog.id)?;
            Some((line.name.clone(), line.call.clone()?))
        });
        let new = read.filter(|number| s.dog_of(number).is_none());
        let mut drawn = Drawn::new(
            "title.queue",
            Screen::Queue {
                queue: QueueScreen {
                    waiting,
                    done,
                    new_chip: new.map(grouped),
                },
            },
        );
        drawn = self
            .way_to_readers(drawn, false)
            .offer_if(
                "dogs_list",
                Act::OpenDogsList,
                Role::Quiet,
                nothing_to_list(s),
            )
            .offer("open_slip_check", Act::OpenSlipCheck, Role::Quiet)
            .offer("open_settings", Act::OpenSettings, Role::Quiet)
            .cautioned(self.clock())
            .caution("caution.lightning");
        drawn = self.of_other_phones(s, drawn);
        drawn = self.lock(s, drawn);
        let low = self.battery;
        if let Some(percent) = low {
            drawn = drawn.cautioned(Some(
                Text::of("caution.battery_low").count("count", i64::from(percent)),
            ));
        }
        if self.state.dogs_not_at_office(s) > 0 {
            // With little left in the battery, in reach of the thumb.
            let role = || {
                if low.is_some() {
                    Role::Other
                } else {
                    Role::Quiet
                }
            };
            drawn = drawn.offer("give_copy", Act::CarryReturn, role());
            // A copy that was put away by mistake can be made again.
            let only_here = self.state.dogs_only_here(s);
            drawn = drawn.labelled(match only_here {
                0 => Text::of("offer.give_copy_again"),
                n => Text::of("offer.give_copy").count("count", i64::from(n)),
            });
            drawn = drawn.offer("show_copy", Act::ShowCopy { whole: false }, role());
        }
        let mut role = Role::Main;
        if let Some(number) = new {
            let chip = number.to_owned();
            drawn = drawn
                .offer("newcomer", Act::CallNewcomer { chip }, Role::Main)
                .labelled(Text::of("offer.newcomer").plain("chip", grouped(number)));
            role = Role::Other;
        }
        match by_book.or(there).or(next) {
            Some((name, call)) => drawn
                .offer("next_dog", call, role)
                .labelled(Text::of("offer.next_dog").plain("dog", name))
                .offer("review_close", Act::ReviewClose, Role::Quiet),
            None if new.is_some() => drawn.offer("review_close", Act::ReviewClose, Role::Quiet),
            None => drawn.offer("review_close", Act::ReviewClose, Role::Main),
        }
    }

    /// What the record book of a dog that is not on the list says.
    pub(super) fn newcomer(&self, s: &Session, v: &Visit) -> Drawn {
        let categories = s.loaded.pack.categories().iter().map(|c| CategoryChoice {
            id: c.id.to_string(),
            label: c.label.clone(),
        });
        let newcomer = NewcomerScreen {
            chip: s.dog(&v.dog).map(|d| grouped(&d.chip)).unwrap_or_default(),
            categories: categories.collect(),
        };
        Drawn::new("title.newcomer", Screen::Newcomer { newcomer })
            .offer("not_today", Act::AskNotToday, Role::Stop)
            .offer("park", Act::Park, Role::Quiet)
    }
}
