//! Sending to the office, and what its answers mean.

use super::{Context, Outcome, enrol, not_now};
use crate::act::Act;
use crate::beside::shared;
use crate::files;
use crate::judging;
use crate::sending::{asked_of_the_log, frames_to_carry, pack, words_to_carry};
use crate::view::{Effect, Text, Tone};

use standsquare_journal::record::fact::Fact;
use standsquare_journal::store::Item;
use standsquare_sync::Receipt;
use standsquare_sync::beside::Told;
use standsquare_sync::log::{Bundle, LogFault, origin};

/// How far the phone's clock may be from the office's before it is said, milliseconds. Own
/// choice, no source: a phone that sets its clock by the network is within a second, and a
/// sign-off's moment matters to the minute.
const CLOCK_MS: i64 = 120_000;

pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    match act {
        Act::SendReturn => send(c),
        Act::CarryReturn => carry(c),
        Act::OfficeAnswer {
            request,
            status,
            body,
        } if request.starts_with("log-") => log_answer(c, request, *status, body),
        Act::OfficeAnswer {
            request,
            status,
            body,
        } if request.starts_with("enrol-") => enrol::answered(c, request, *status, body),
        Act::OfficeAnswer {
            request,
            status,
            body,
        } if request.starts_with("beside-") => beside(c, request, *status, body),
        Act::OfficeAnswer {
            request,
            status,
            body,
        } if request.starts_with("roster-") => enrol::roster(c, request, *status, body),
        Act::OfficeAnswer {
            request,
            status,
            body,
        } => answer(c, request, *status, body),
        Act::OfficeUnreachable { request, .. } if request.starts_with("enrol-") => {
            enrol::out_of_reach(c, request)
        }
        Act::OfficeUnreachable { request, .. } => {
            let waiting = c.state.outbox();
            let out = Outcome::default();
            let text = Text::of("notice.office_out_of_reach").count("count", waiting);
            let told = c.sending.is_awaited() && request.starts_with("frames-");
            failed(c, request, false);
            if told { out.say(Tone::Care, text) } else { out }
        }
        Act::PacketCame { bytes } => match c.sending.packet(bytes, c.stamp.at_ms) {
            Some((request, status, body)) => answer(c, &request, status, &body),
            None => Outcome::default(),
        },
        Act::NetworkChanged => {
            c.sending.network_changed();
            Outcome::default()
        }
        _ => not_now(),
    }
}

fn send(c: &mut Context) -> Outcome {
    if c.loaded().is_none() {
        return Outcome::refuse(Text::of("refused.no_roster"));
    }
    if c.state.office_key().is_none() {
        return Outcome::refuse(Text::of("refused.office_key"));
    }
    if c.state.unsent().next().is_none() && c.state.unsaid().next().is_none() {
        return Outcome::default().say(Tone::Good, Text::of("notice.nothing_to_send"));
    }
    c.sending.now();
    Outcome::default().say(Tone::Care, Text::of("notice.sending"))
}

/// The frames that the office does not have as one file, to carry to it or for the other
/// measurer's phone to keep: one lost phone then loses no dog. It says nothing of where they
/// are: only the office's own answer does.
fn carry(c: &Context) -> Outcome {
    let Some(session) = c.session() else {
        return not_now();
    };
    let frames = frames_to_carry(c.state, c.journal);
    let words = words_to_carry(c.state, c.journal);
    let (mut frames, words) = match frames.and_then(|frames| Ok((frames, words?))) {
        Ok(both) => both,
        Err(fault) => {
            return Outcome::refuse(Text::of("refused.record").plain("reason", fault.to_string()));
        }
    };
    if frames.is_empty() && words.is_empty() {
        return Outcome::default().say(Tone::Good, Text::of("notice.nothing_to_send"));
    }
    let to_seq = c.state.unsent().take(frames.len()).last().map(|r| r.to_seq);
    let mut out = Outcome::default().say(Tone::Good, Text::of("notice.copy_given"));
    out.items.extend(to_seq.map(|to_seq| {
        Item::Fact(Fact::CopyGiven {
            to_seq,
            in_codes: false,
        })
    }));
    frames.extend(words);
    out.effects.push(Effect::Share {
        name: files::csv_name(session).replace(".csv", ".ssq"),
        media_type: "application/vnd.standsquare.frames".into(),
        bytes: pack(&frames),
    });
    out
}

/// A request that brought nothing. `plainly`: because of how it was packed.
fn failed(c: &mut Context, request: &str, plainly: bool) {
    let now_ms = c.stamp.at_ms;
    c.sending.failed(request, plainly, now_ms, &mut c.random);
}

fn answer(c: &mut Context, request: &str, status: u16, body: &[u8]) -> Outcome {
    if !request.starts_with("frames-") {
        return Outcome::default();
    }
    // What comes while somebody measures and only means 'try again' is not said.
    let said = |c: &Context, outcome: Outcome| match c.sending.is_awaited() {
        true => outcome,
        false => Outcome::default(),
    };
    if status != 200 {
        let text = Text::of("notice.office_refused").count("status", i64::from(status));
        let out = said(c, Outcome::default().say(Tone::Bad, text));
        // 415: an office that does not know this way of packing.
        failed(c, request, status == 415);
        return out;
    }
    let Some(key) = c.state.office_key() else {
        return said(c, Outcome::refuse(Text::of("refused.office_key")));
    };
    let receipt = match Receipt::verify(body, &key) {
        Ok(receipt) => receipt,
        // Somebody answers who is not the office that the roster names: nothing counts as sent.
        Err(_) => {
            let out = said(c, Outcome::refuse(Text::of("refused.receipt")));
            failed(c, request, false);
            return out;
        }
    };
    let fresh: Vec<_> = receipt
        .held
        .iter()
        .filter(|id| {
            c.state.unsent().any(|run| run.id == **id)
                || c.state.unsaid().any(|said| said.commitment == **id)
        })
        .copied()
        .collect();
    let mut out = Outcome::default();
    if !fresh.is_empty() {
        out.items.push(Item::Fact(Fact::Acknowledged {
            frames: fresh.iter().map(|id| (*id).into()).collect(),
            receipt: body.to_vec(),
        }));
    }
    out.items.extend(clock(c, request, receipt.at_ms));
    let now_ms = c.stamp.at_ms;
    let effects = c.sending.answered(request, &receipt, now_ms);
    out.effects.extend(effects);
    let awaited = c.sending.is_awaited();
    let left = c
        .state
        .unsent()
        .map(|run| &run.id)
        .chain(c.state.unsaid().map(|said| &said.commitment))
        .filter(|id| !receipt.held.contains(id))
        .count();
    match (receipt.refused.first(), left) {
        // Such a frame is not sent again by itself: a person has to know.
        (Some((_, reason)), _) => out.say(
            Tone::Bad,
            Text::of("notice.office_set_aside")
                .count("count", receipt.refused.len() as i64)
                .plain("reason", reason.clone()),
        ),
        (None, _) if !awaited => out,
        (None, 0) => {
            c.sending.not_awaited();
            out.say(Tone::Good, Text::of("notice.office_has_it"))
        }
        // It answered for part of what was sent only: the rest goes on its way by itself.
        (None, _) => out.say(Tone::Care, Text::of("notice.office_has_part")),
    }
}

/// What the office's time says of the phone's clock, where it says something new. The
/// office's clock was read between the sending and the arrival: however slow the answer
/// was, a clock that is right lies in between. Nothing recorded is changed for it.
pub(super) fn clock(c: &Context, request: &str, office_ms: i64) -> Option<Item> {
    let sent = c.sending.sent_at(request)?;
    let ahead_ms = if office_ms < sent.saturating_sub(CLOCK_MS) {
        sent.saturating_sub(office_ms)
    } else if office_ms > c.stamp.at_ms.saturating_add(CLOCK_MS) {
        c.stamp.at_ms.saturating_sub(office_ms)
    } else {
        0
    };
    let noted = c.state.clock_ahead_ms;
    let news = match (noted, ahead_ms) {
        (0, 0) => false,
        (0, _) | (_, 0) => true,
        _ => noted.saturating_sub(ahead_ms).unsigned_abs() > CLOCK_MS.unsigned_abs(),
    };
    news.then_some(Item::Fact(Fact::ClockDiffers {
        office_ms,
        ahead_ms,
    }))
}

/// What the office says of the results of the session's other phones.
fn beside(c: &mut Context, request: &str, status: u16, body: &[u8]) -> Outcome {
    let now_ms = c.stamp.at_ms;
    if !c.sending.beside.answered(request) {
        return Outcome::default();
    }
    let (Some(session), Some(key)) = (shared(c.state), c.state.office_key()) else {
        return Outcome::default();
    };
    let told = match (status, Told::verify(body, &key, &session.id)) {
        (200, Ok(told)) => told,
        (404 | 405, _) => {
            c.sending.beside.never();
            return Outcome::default();
        }
        // Not the office that the roster names, or one that has trouble.
        _ => {
            c.sending.beside.heard(false, now_ms);
            return Outcome::default();
        }
    };
    let clock = clock(c, request, told.at_ms);
    // An old answer played again says nothing.
    let had = session.told.as_ref();
    let news = had.is_none_or(|had| told.at_ms >= had.at_ms && !told.says_what(had));
    c.sending.beside.heard(news, now_ms);
    let mut out = Outcome::default();
    out.items.extend(clock);
    if !news {
        return out;
    }
    let id = session.id;
    for phone in &told.phones {
        if !session
            .paired
            .contains(&(*phone.device_key, *phone.journal))
        {
            out = out.and(Fact::Paired {
                device_key: phone.device_key,
                journal: phone.journal,
                session: id.into(),
            });
        }
    }
    let mut after = session.clone();
    let disputed = judging::disputed(&after).len();
    after.told = Some(told);
    let more = judging::disputed(&after).len() > disputed;
    let free = session.in_hand().is_none();
    out = out.and(Fact::BesideTold {
        session: id.into(),
        answer: body.to_vec(),
    });
    match more && free {
        true => out.say(Tone::Care, Text::of("notice.phones_differ")),
        false => out,
    }
}

/// What the office's log says of the frames that were asked about.
fn log_answer(c: &mut Context, request: &str, status: u16, body: &[u8]) -> Outcome {
    let now_ms = c.stamp.at_ms;
    let (Some(loaded), Some(key)) = (c.state.loaded(), c.state.office_key()) else {
        return Outcome::default();
    };
    if status != 200 {
        failed(c, request, false);
        return Outcome::default();
    }
    let name = origin(&loaded.roster.league.id);
    match Bundle::verify(body, &name, &key, c.state.checkpoint().as_ref()) {
        Ok((_, proved)) => {
            // A record that cannot be read is told by the next act that needs it.
            let asked = asked_of_the_log(c.state, c.journal).unwrap_or_default();
            let fresh: Vec<_> = asked.into_iter().filter(|id| proved.contains(id)).collect();
            c.sending.log_heard(request, !fresh.is_empty(), now_ms);
            match Bundle::note(body) {
                Ok(checkpoint) if !fresh.is_empty() => Outcome::fact(Fact::Logged {
                    frames: fresh.into_iter().map(Into::into).collect(),
                    checkpoint,
                }),
                _ => Outcome::default(),
            }
        }
        // The office has changed what it had signed for. Both checkpoints prove it.
        Err(LogFault::HistoryChanged) => {
            failed(c, request, false);
            Outcome::refuse(Text::of("refused.log_changed"))
        }
        Err(_) => {
            failed(c, request, false);
            Outcome::default()
        }
    }
}
