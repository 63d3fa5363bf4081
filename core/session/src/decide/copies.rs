//! A copy of this phone's record goes to the other measurer's phone as codes on the glass, and
//! that phone says how far it has it. What it keeps it can hand to the office if this one is
//! lost.

use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::kept::Receipt;
use standsquare_journal::record::run::RunFault;
use standsquare_journal::store::CopyFault;

use super::{Context, Outcome, look, not_now};
use crate::act::Act;
use crate::looking::{Looking, ShownCodes};
use crate::qr;
use crate::sending::pack;
use crate::view::{Cue, Effect, Text, Tone};

pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    match act {
        Act::ShowCopy { whole } => show(c, *whole),
        Act::CarryCopies => carry(c),
        _ => not_now(),
    }
}

/// The battery's state is told. Where it has just become low and dogs are on this phone only,
/// that is said once; the queue then offers the copies in reach of the thumb.
pub(super) fn battery(c: &mut Context, percent: u8, charging: bool) -> Outcome {
    let newly = c.battery.told(percent.min(100), charging);
    let only_here = c.session().map_or(0, |s| c.state.dogs_only_here(s));
    if newly && only_here > 0 {
        let text = Text::of("notice.battery_low").count("count", i64::from(percent));
        return Outcome::default().say(Tone::Care, text);
    }
    Outcome::default()
}

/// What the other phone does not have yet, as codes; or everything.
fn show(c: &mut Context, whole: bool) -> Outcome {
    let after = if whole { 0 } else { c.state.copied_in_codes };
    let bytes = match c.journal.copy_after(after) {
        Ok(Some(bytes)) => bytes,
        Ok(None) => {
            return Outcome::default().say(Tone::Good, Text::of("notice.copy_there"));
        }
        Err(fault) => {
            return Outcome::refuse(Text::of("refused.record").plain("reason", fault.to_string()));
        }
    };
    let Some(frames) = qr::bytes_in_turn(&bytes) else {
        return Outcome::refuse(Text::of("refused.copy_long"));
    };
    let shown = ShownCodes {
        how: Text::of("codes.how_copy"),
        frames,
        since_ms: c.stamp.at_ms,
        at: 0,
        says: Vec::new(),
        answered: true,
        from_start: whole || after == 0,
        file: (format!("copy-{after}.run"), bytes),
    };
    look::open(c, Looking::Codes(Box::new(shown)));
    Outcome::default()
}

/// Another phone's copy was read whole: it is kept, and this phone says how far.
pub(super) fn take(c: &mut Context, bytes: &[u8]) -> Outcome {
    let own = c.journal.journal_id();
    let kept = match c.copies.take(bytes, &own) {
        Ok(Some(kept)) => kept,
        Ok(None) => return Outcome::refuse(Text::of("refused.code_unknown")),
        Err(CopyFault::OwnJournal) => return Outcome::refuse(Text::of("refused.sign_own_phone")),
        Err(CopyFault::Run(RunFault::Unreadable(_))) => {
            return Outcome::refuse(Text::of("refused.code_unknown"));
        }
        Err(CopyFault::Run(RunFault::Gap { .. })) => {
            return Outcome::refuse(Text::of("refused.copy_gap"));
        }
        Err(CopyFault::Run(RunFault::Fork { .. })) => {
            return Outcome::refuse(Text::of("refused.copy_fork"));
        }
        Err(fault) => {
            let reason = fault.to_string();
            return Outcome::refuse(Text::of("refused.copy").plain("reason", reason));
        }
    };
    let text = Receipt {
        journal: kept.journal.into(),
        held: kept.held,
        head: kept.head.into(),
    }
    .code();
    let Some(frames) = qr::in_turn(&text) else {
        return not_now();
    };
    c.looking.clear();
    c.looking.push(Looking::Codes(Box::new(ShownCodes {
        how: Text::of("codes.how_copied"),
        frames,
        since_ms: c.stamp.at_ms,
        at: 0,
        says: Vec::new(),
        answered: false,
        from_start: true,
        file: (format!("copied-{}.txt", kept.held), text.into_bytes()),
    })));
    let dogs = i64::from(kept.dogs);
    Outcome::default()
        .say(
            Tone::Good,
            Text::of("notice.copy_kept").count("count", dogs),
        )
        .play(Cue::Done)
}

/// The other phone says how far it has this one's record. It can only know the head of what
/// it has read.
pub(super) fn received(c: &mut Context, text: &str) -> Outcome {
    let Ok(receipt) = Receipt::read(text) else {
        return Outcome::refuse(Text::of("refused.code_damaged"));
    };
    if *receipt.journal != c.journal.journal_id() {
        return Outcome::refuse(Text::of("refused.copy_other"));
    }
    let there = c.journal.events_between(receipt.held, receipt.held);
    let there = there.ok().and_then(|events| events.into_iter().next());
    if there.map(|event| event.hash) != Some(*receipt.head) {
        return Outcome::refuse(Text::of("refused.copy_fork"));
    }
    c.looking.clear();
    let said = Text::of("notice.copy_there");
    if receipt.held <= c.state.copied_in_codes {
        return Outcome::default().say(Tone::Good, said);
    }
    Outcome::fact(Fact::CopyGiven {
        to_seq: receipt.held,
        in_codes: true,
    })
    .say(Tone::Good, said)
    .play(Cue::Done)
}

/// What is kept for other phones as one file that the office takes in.
fn carry(c: &Context) -> Outcome {
    let frames = match c.copies.frames() {
        Ok(frames) if !frames.is_empty() => frames,
        Ok(_) => return not_now(),
        Err(fault) => {
            let reason = fault.to_string();
            return Outcome::refuse(Text::of("refused.copy").plain("reason", reason));
        }
    };
    let mut out = Outcome::default().say(Tone::Good, Text::of("notice.copies_given"));
    out.effects.push(Effect::Share {
        name: format!("copies-{}.ssq", c.copies.all.len()),
        media_type: "application/vnd.standsquare.frames".into(),
        bytes: pack(&frames),
    });
    out
}
