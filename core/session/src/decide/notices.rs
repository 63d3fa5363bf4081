//! What the office says of measurers' keys: taken in, and what follows from it.

use standsquare_journal::record::CodeFault;
use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::notice::{Notice, Says, Standing, Why};

use super::{Context, Outcome};
use crate::days;
use crate::roster::Loaded;
use crate::state::{Session, State};
use crate::view::{Text, Tone};

/// Whether a text is a notice of a key, of whatever version.
pub(super) fn is_notice(text: &str) -> bool {
    Notice::is_one(text)
}

/// Takes in a notice, believed for the signature of the office that the roster names.
pub(super) fn take(c: &Context, text: &str) -> Outcome {
    let Some(loaded) = c.loaded() else {
        return Outcome::refuse(Text::of("refused.no_roster"));
    };
    let Some(key) = loaded.office_key() else {
        return Outcome::refuse(Text::of("refused.office_key"));
    };
    let (notice, news) = match heard(c.state, text, key) {
        Ok(heard) => heard,
        Err(fault) => {
            return Outcome::refuse(
                Text::of("refused.key_notice").plain("reason", fault.to_string()),
            );
        }
    };
    let name = loaded.name_of(&notice.person).to_owned();
    let Some(fact) = news else {
        return Outcome::default()
            .say(Tone::Good, Text::of("notice.key_known").plain("name", name));
    };
    let day = |at_ms: i64| days::of_moment(at_ms, c.stamp.offset_min);
    let (tone, said) = match notice.says {
        Says::Enrolled { from_ms, .. } => (
            Tone::Good,
            Text::of("notice.key_enrolled").day("day", day(from_ms)),
        ),
        Says::Revoked { from_ms, why } => (
            Tone::Care,
            Text::of("notice.key_revoked")
                .day("day", day(from_ms))
                .word("why", word(why)),
        ),
    };
    Outcome::fact(fact).say(tone, said.plain("name", name))
}

/// What a notice that this office signed says, and what is to be recorded of it: nothing
/// where it is known already.
///
/// # Errors
/// It is no notice, or not that office's.
pub(super) fn heard(
    state: &State,
    text: &str,
    office_key: [u8; 32],
) -> Result<(Notice, Option<Fact>), CodeFault> {
    let notice = Notice::check(text, &[office_key])?;
    let text = text.trim();
    let known = state.notices.iter().any(|n| n == text);
    let fact = (!known).then(|| Fact::KeyNoticed {
        notice: text.to_owned(),
    });
    Ok((notice, fact))
}

fn word(why: Why) -> &'static str {
    match why {
        Why::Lost => "key.lost",
        Why::Exposed => "key.exposed",
        Why::Replaced => "key.replaced",
        Why::Ended => "key.ended",
    }
}

/// Why this measurer is not seated at this moment (Unix milliseconds, and minutes east of
/// UTC): their key on this phone signs nothing that counts. With what to do; `None` if they
/// may be, or if the office said nothing of the key yet.
pub(crate) fn may_not_sit(
    state: &State,
    loaded: &Loaded,
    person: &str,
    (at_ms, offset_min): (i64, i32),
) -> Option<Text> {
    let day = |ms: i64| days::of_moment(ms, offset_min);
    let told = match standing(state, person, at_ms)? {
        Standing::Revoked { from_ms, why } => Text::of("refused.key_revoked")
            .day("day", day(from_ms))
            .word("why", word(why)),
        Standing::Over { until_ms } => Text::of("refused.key_over").day("day", day(until_ms)),
        Standing::NotYet { from_ms } => Text::of("refused.key_not_yet").day("day", day(from_ms)),
        Standing::NotTheirs => Text::of("refused.key_not_theirs"),
        Standing::Unknown | Standing::Good | Standing::RevokedLater { .. } => return None,
    };
    Some(told.plain("name", loaded.name_of(person)))
}

/// Why somebody who sits already signs nothing more here at this moment (Unix
/// milliseconds): the office's word of their key came in meanwhile, or its time ran out.
/// What they do is another thing than before they sat.
pub(crate) fn may_not_sign(
    state: &State,
    session: &Session,
    person: &str,
    at_ms: i64,
) -> Option<Text> {
    let day = |ms: i64| days::of_moment(ms, session.offset_min);
    let told = match standing(state, person, at_ms)? {
        Standing::Revoked { from_ms, why } => Text::of("refused.sign_key_revoked")
            .day("day", day(from_ms))
            .word("why", word(why)),
        Standing::Over { until_ms } => Text::of("refused.sign_key_over").day("day", day(until_ms)),
        Standing::NotYet { from_ms } => {
            Text::of("refused.sign_key_not_yet").day("day", day(from_ms))
        }
        Standing::NotTheirs => Text::of("refused.sign_key_not_theirs"),
        Standing::Unknown | Standing::Good | Standing::RevokedLater { .. } => return None,
    };
    Some(told.plain("name", session.loaded.name_of(person)))
}

fn standing(state: &State, person: &str, at_ms: i64) -> Option<Standing> {
    let key = state.keys.get(person)?;
    Some(state.ring.standing(person, key, at_ms))
}
