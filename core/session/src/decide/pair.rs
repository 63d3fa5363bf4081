//! A session on two phones: the code by which the second one joins it, its answer, and what
//! is signed where the two found different things of a dog.

use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::pair::Pairing;
use standsquare_journal::record::statement_hash;

use super::{Context, Outcome, codes, not_now, setup, sign};
use crate::days;
use crate::judging;
use crate::looking::{Looking, ShownCodes};
use crate::qr;
use crate::show::code_line;
use crate::state::{Closing, Session, Settles, State};
use crate::view::{Cue, Text, Tone};

/// Whether the session's code can be shown: until it is closed.
pub(crate) fn may_pair(session: &Session) -> bool {
    session.closing != Closing::Closed
}

/// Shows the session's code.
pub(super) fn open(c: &mut Context) -> Outcome {
    let Some(session) = c.session().filter(|s| may_pair(s)) else {
        return not_now();
    };
    let venue = session.venue.clone().unwrap_or_default();
    let pairing = Pairing {
        league: session.loaded.roster.league.id.clone(),
        session: session.id.into(),
        journal: c.journal.journal_id().into(),
        pack: session.loaded.pack_hash.into(),
        venue: venue.clone(),
        day: days::number(session.day),
        offset_min: session.offset_min,
        demo: session.loaded.roster.demo,
    };
    let key = c.journal.device_key();
    let text = pairing.code(&key, |bytes| c.journal.sign_by_device(bytes));
    let Some(frames) = qr::in_turn(&text) else {
        return not_now();
    };
    // The second phone that joined shows its code for the first one to read.
    let how = match session.paired.is_empty() {
        true => "codes.how_pair",
        false => "codes.how_pair_answer",
    };
    let mut says = vec![code_line(
        "codes.session",
        Text::of("plain_day").day("day", session.day),
    )];
    if !venue.is_empty() {
        says.push(code_line(
            "codes.venue",
            Text::of("plain").plain("text", venue),
        ));
    }
    let shown = ShownCodes {
        how: Text::of(how),
        frames,
        since_ms: c.stamp.at_ms,
        at: 0,
        says,
        answered: false,
        from_start: true,
        file: (format!("session-{}.txt", session.day), text.into_bytes()),
    };
    let first = !session.pairing_shown;
    let id = session.id;
    c.looking.push(Looking::Codes(Box::new(shown)));
    match first {
        true => Outcome::fact(Fact::PairingShown { session: id.into() }),
        false => Outcome::default(),
    }
}

/// Another phone's code of a session was read.
pub(super) fn take(c: &mut Context, text: &str) -> Outcome {
    let Some(loaded) = c.state.session.as_ref().map(|s| s.loaded.clone()) else {
        return join(c, text);
    };
    let (key, pairing) = match checked(c, text, &loaded.phone_keys()) {
        Ok(checked) => checked,
        Err(out) => return out,
    };
    let Some(session) = c.session() else {
        return not_now();
    };
    if *pairing.session != session.id {
        return Outcome::refuse(Text::of("refused.pair_in_session"));
    }
    if session.paired.contains(&(key, *pairing.journal)) {
        return Outcome::default().say(Tone::Care, Text::of("notice.paired_known"));
    }
    close_reading(c);
    paired(Outcome::default(), key, &pairing)
        .say(Tone::Good, Text::of("notice.paired"))
        .play(Cue::ChipMatches)
}

/// Nothing is under way here: the session of the other phone is begun here too.
fn join(c: &mut Context, text: &str) -> Outcome {
    let Some(loaded) = c.state.roster.clone() else {
        return Outcome::refuse(Text::of("refused.no_roster"));
    };
    let (key, pairing) = match checked(c, text, &loaded.phone_keys()) {
        Ok(checked) => checked,
        Err(out) => return out,
    };
    if pairing.league != loaded.roster.league.id || pairing.demo != loaded.roster.demo {
        return Outcome::refuse(Text::of("refused.list_of_another_league"));
    }
    if *pairing.pack != loaded.pack_hash {
        return Outcome::refuse(Text::of("refused.pair_other_rules"));
    }
    let day = days::date(pairing.day);
    if days::of_moment(c.stamp.at_ms, pairing.offset_min) != day {
        return Outcome::refuse(Text::of("refused.pair_other_day").day("day", day));
    }
    if has_had(c.state, &pairing.session) {
        return Outcome::refuse(Text::of("refused.pair_over"));
    }
    let mut out = setup::begin(c, *pairing.session, pairing.offset_min, day);
    if out.items.is_empty() {
        return out;
    }
    close_reading(c);
    if !pairing.venue.trim().is_empty() {
        let name = pairing.venue.trim().to_owned();
        out = out.and(Fact::VenueSet { name });
    }
    paired(out, key, &pairing)
        .say(Tone::Good, Text::of("notice.joined"))
        .play(Cue::ChipMatches)
}

fn paired(out: Outcome, key: [u8; 32], pairing: &Pairing) -> Outcome {
    out.and(Fact::Paired {
        device_key: key.into(),
        journal: pairing.journal,
        session: pairing.session,
    })
}

/// Whoever read the code on the screen for it has done with that.
fn close_reading(c: &mut Context) {
    if matches!(c.looking.last(), Some(Looking::SlipCheck(_))) {
        c.looking.pop();
    }
}

fn has_had(state: &State, session: &[u8; 16]) -> bool {
    state.sessions_left().any(|left| left.id == *session)
}

fn checked(c: &Context, text: &str, phones: &[[u8; 32]]) -> Result<([u8; 32], Pairing), Outcome> {
    let own = c.journal.device_key();
    let keys: Vec<_> = phones.iter().copied().chain([own]).collect();
    let (key, pairing) = Pairing::check(text, &keys).map_err(|f| codes::refused(&f))?;
    if key == own || *pairing.journal == c.journal.journal_id() {
        return Err(Outcome::refuse(Text::of("refused.own_pairing")));
    }
    Ok((key, pairing))
}

/// Two phones found different things of this dog: the measurers here sign which stands. Both
/// are named, both are kept.
pub(super) fn settle(c: &mut Context, dog: &str, here: bool) -> Outcome {
    let Some(session) = c.state.latest() else {
        return not_now();
    };
    let Some(visit) = session.visit_of(dog) else {
        return not_now();
    };
    let theirs = judging::may_settle(session, visit);
    let (Some(theirs), Some((_, ours, _))) = (theirs, &visit.stated) else {
        return not_now();
    };
    let mut after = visit.clone();
    after.settles = Some(Settles {
        stands_here: here,
        theirs: *theirs.statement,
        came: theirs.came.clone(),
    });
    let mut out = Outcome::default();
    if c.session().is_none() {
        out = out.and(Fact::SessionTakenUp {
            session: session.id.into(),
            day: days::number(session.day),
        });
    }
    let out = out.and(Fact::SettleAsked {
        visit: visit.number,
        device_key: theirs.device_key,
        journal: theirs.journal,
        theirs: theirs.statement,
        ours: statement_hash(ours).into(),
        stands_here: here,
        came: theirs.came.clone(),
    });
    let out = sign::state_for(session, &after, out);
    c.looking.clear();
    out
}
