//! A question to the office that is asked again and again: whether one is on its way, and when
//! the next is due. Of the moment, like all sending.

use crate::view::Effect;

/// How long an answer is waited for, milliseconds. Own choice, no source.
const PATIENCE_MS: i64 = 30_000;

/// Pauses after answers that brought nothing, milliseconds: the first, doubled up to the longest.
#[derive(Clone, Copy)]
pub struct Pauses {
    /// The first.
    pub from_ms: i64,
    /// The longest.
    pub to_ms: i64,
}

/// One kind of question.
pub struct Question {
    /// What its requests are called, before a number.
    name: &'static str,
    pauses: Pauses,
    asked: Option<(String, i64)>,
    count: u64,
    due_ms: i64,
    unheard: u32,
}

impl Question {
    /// Of this name; due at once.
    pub fn new(name: &'static str, pauses: Pauses) -> Self {
        Question {
            name,
            pauses,
            asked: None,
            count: 0,
            due_ms: i64::MIN,
            unheard: 0,
        }
    }

    /// Due as soon as can be: the network came back, or something is newly at the office.
    pub fn now(&mut self) {
        self.in_a_while(i64::MIN, 0);
    }

    /// Due after this pause; what brought nothing before does not count any more.
    pub fn in_a_while(&mut self, now_ms: i64, pause_ms: i64) {
        self.due_ms = now_ms.saturating_add(pause_ms);
        self.unheard = 0;
    }

    /// Nothing came of it: due after a pause that grows.
    pub fn in_vain(&mut self, now_ms: i64) {
        let Pauses { from_ms, to_ms } = self.pauses;
        let pause = (from_ms << self.unheard.min(10)).min(to_ms);
        self.due_ms = now_ms.saturating_add(pause);
        self.unheard += 1;
    }

    /// Whether this answer was waited for.
    pub fn answered(&mut self, request: &str) -> bool {
        self.asked.take_if(|(name, _)| name == request).is_some()
    }

    /// When to look again, where nothing is to be asked now; a question that nobody answers is
    /// dropped.
    pub fn not_now(&mut self, now_ms: i64, out: &mut Vec<Effect>) -> Option<i64> {
        if let Some((request, sent)) = &self.asked {
            let until = sent.saturating_add(PATIENCE_MS);
            if now_ms < until {
                return Some(until);
            }
            let request = request.clone();
            out.push(Effect::DropRequest { request });
            self.asked = None;
            // Where it has become due since, that is no reason to wait.
            if self.due_ms == i64::MAX {
                self.in_vain(now_ms);
            }
        }
        (now_ms < self.due_ms).then_some(self.due_ms)
    }

    /// It is asked now: the request's name, and when to look again.
    pub fn ask(&mut self, now_ms: i64) -> (String, i64) {
        self.count += 1;
        let request = format!("{}-{}", self.name, self.count);
        self.due_ms = i64::MAX;
        self.asked = Some((request.clone(), now_ms));
        (request, now_ms.saturating_add(PATIENCE_MS))
    }
}

#[cfg(test)]
mod tests {
    use super::{PATIENCE_MS, Pauses, Question};

    fn question() -> Question {
        let pauses = Pauses {
            from_ms: 1_000,
            to_ms: 5_000,
        };
        Question::new("roster", pauses)
    }

    #[test]
    fn pauses_grow_up_to_the_longest_and_end_with_an_answer() {
        let (mut question, mut out) = (question(), Vec::new());
        let mut now = 0;
        for pause in [1_000, 2_000, 4_000, 5_000, 5_000] {
            assert_eq!(question.not_now(now, &mut out), None);
            let (request, until) = question.ask(now);
            assert_eq!(question.not_now(now, &mut out), Some(until));
            assert!(question.answered(&request) && !question.answered(&request));
            question.in_vain(now);
            now += pause;
            assert_eq!(question.not_now(now - 1, &mut out), Some(now));
        }
        question.in_a_while(now, 9_000);
        assert_eq!(question.not_now(now, &mut out), Some(now + 9_000));
        question.in_vain(now);
        assert_eq!(question.not_now(now, &mut out), Some(now + 1_000));
        assert!(out.is_empty());
    }

    #[test]
    fn what_nobody_answers_is_dropped_and_asked_again_at_once_if_the_network_changed() {
        let (mut question, mut out) = (question(), Vec::new());
        question.ask(0);
        assert_eq!(
            question.not_now(PATIENCE_MS, &mut out),
            Some(PATIENCE_MS + 1_000)
        );
        assert_eq!(out.len(), 1);
        question.ask(PATIENCE_MS);
        question.now();
        // The one that is on its way is waited for all the same.
        let until = 2 * PATIENCE_MS;
        assert_eq!(question.not_now(until - 1, &mut out), Some(until));
        assert_eq!(question.not_now(until, &mut out), None);
        assert_eq!(out.len(), 2);
    }
}
