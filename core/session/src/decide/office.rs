//! Sending to the office, and what its answers mean.

use std::collections::BTreeSet;

use super::{Context, Outcome, not_now};
use crate::act::Act;
use crate::view::{Effect, Text, Tone};

use standsquare_journal::record::fact::Fact;
use standsquare_journal::store::{Item, StoreFault};
use standsquare_sync::{Frame, Limits, Receipt, next_post};

/// Where frames go at the office.
pub const POST_PATH: &str = "/v1/frames";

pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    match act {
        Act::SendReturn => send(c),
        Act::OfficeAnswer {
            request,
            status,
            body,
        } => answer(c, request, *status, body),
        Act::OfficeUnreachable { .. } => Outcome::default().say(
            Tone::Care,
            Text::of("notice.office_out_of_reach").count("count", c.state.outbox()),
        ),
        _ => not_now(),
    }
}

fn send(c: &Context) -> Outcome {
    if c.loaded().is_none() {
        return Outcome::refuse(Text::of("refused.no_roster"));
    }
    let frames = match c.unsent_frames() {
        Ok(frames) => frames,
        Err(fault) => {
            return Outcome::refuse(Text::of("refused.record").plain("reason", fault.to_string()));
        }
    };
    let Some(body) = next_post(&frames, &BTreeSet::new()) else {
        return Outcome::default().say(Tone::Good, Text::of("notice.nothing_to_send"));
    };
    // The newest sealed event names the request: sending twice asks the same thing.
    let request = format!("frames-{}", c.state.runs.count());
    let mut out = Outcome::default().say(Tone::Care, Text::of("notice.sending"));
    out.effects.push(Effect::AskOffice {
        request,
        path: POST_PATH.into(),
        body,
    });
    out
}

/// A frame's id and its bytes.
type IdAndBytes = ([u8; 32], Vec<u8>);

impl Context<'_> {
    /// The oldest frames that the office has not acknowledged, as many as one post takes,
    /// out of the journal.
    fn unsent_frames(&self) -> Result<Vec<IdAndBytes>, StoreFault> {
        let most = Limits::default();
        let mut frames = Vec::new();
        let mut room = most.body_bytes;
        for run in self.state.unsent() {
            let events = self.journal.events_between(run.from_seq, run.to_seq)?;
            let frame = Frame {
                device_key: self.journal.device_key(),
                journal: self.journal.journal_id(),
                from_seq: run.from_seq,
                events: events.into_iter().map(|e| e.bytes).collect(),
            };
            let bytes = frame.encode();
            // One that is longer than the office takes is passed over later.
            if bytes.len() <= most.frame_bytes {
                room = room.saturating_sub(bytes.len());
            }
            frames.push((run.id, bytes));
            if room == 0 || frames.len() > most.frames {
                break;
            }
        }
        Ok(frames)
    }
}

fn answer(c: &Context, request: &str, status: u16, body: &[u8]) -> Outcome {
    if !request.starts_with("frames-") {
        return Outcome::default();
    }
    if status != 200 {
        return Outcome::default().say(
            Tone::Bad,
            Text::of("notice.office_refused").count("status", i64::from(status)),
        );
    }
    let Some(key) = c.loaded().and_then(|l| l.office_key()) else {
        return Outcome::refuse(Text::of("refused.office_key"));
    };
    let receipt = match Receipt::verify(body, &key) {
        Ok(receipt) => receipt,
        // Somebody answers who is not the office that the roster names: nothing counts as sent.
        Err(_) => return Outcome::refuse(Text::of("refused.receipt")),
    };
    let fresh: Vec<_> = receipt
        .held
        .iter()
        .filter(|id| c.state.unsent().any(|run| run.id == **id))
        .copied()
        .collect();
    let mut out = Outcome::default();
    if !fresh.is_empty() {
        out.items.push(Item::Fact(Fact::Acknowledged {
            frames: fresh.iter().map(|id| (*id).into()).collect(),
            receipt: body.to_vec(),
        }));
    }
    match receipt.refused.first() {
        Some((_, reason)) => out.say(
            Tone::Bad,
            Text::of("notice.office_set_aside")
                .count("count", receipt.refused.len() as i64)
                .plain("reason", reason.clone()),
        ),
        None => match c
            .state
            .unsent()
            .filter(|run| !receipt.held.contains(&run.id))
            .count()
        {
            0 => out.say(Tone::Good, Text::of("notice.office_has_it")),
            // It answered for part of what was sent only: the rest is sent again.
            _ => out.say(Tone::Care, Text::of("notice.office_has_part")),
        },
    }
}
