//! The end of a session: what is done, what is not, and the files of the return.

use super::{Context, Outcome, not_now};
use crate::act::Act;
use crate::files;
use crate::looking::Looking;
use crate::show::sheets;
use crate::state::{Closing, Session};
use crate::view::{Cue, Effect, Text};

use standsquare_journal::record::fact::Fact;
use standsquare_journal::store::Item;

/// Why the session cannot be closed yet, if it cannot.
pub(crate) fn may_not_close(session: &Session) -> Option<Text> {
    let aside = session.parked().count();
    (aside > 0).then(|| Text::of("refused.dogs_aside").count("count", aside as i64))
}

/// The files of the closed session, or of the earlier one that is looked at.
pub(super) fn share(c: &Context, act: &Act) -> Outcome {
    let session = match c.looking.last() {
        Some(Looking::Past(session)) => session.as_ref(),
        Some(_) => return not_now(),
        None => match c.session() {
            Some(session) if session.closing == Closing::Closed => session,
            _ => return not_now(),
        },
    };
    let mut out = Outcome::default();
    out.effects.push(match act {
        Act::PrintReturn => Effect::Print {
            name: files::named(session, "pdf"),
            sheet: sheets::of_return(session),
        },
        _ => Effect::Share {
            name: files::csv_name(session),
            media_type: "text/csv".into(),
            bytes: files::return_csv(session).into_bytes(),
        },
    });
    out
}

pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    let Some(session) = c.session() else {
        return not_now();
    };
    match (act, session.closing) {
        (Act::ReviewClose, Closing::Open) if session.queue_open => {
            if session.at_table.is_some() {
                return Outcome::refuse(Text::of("refused.dog_at_table"));
            }
            Outcome::fact(Fact::CloseReviewed { open: true })
        }
        // While the list is on the screen, it is signed or left.
        (Act::BackToQueue | Act::CloseSession, _) if session.list.is_some() => not_now(),
        (Act::BackToQueue, Closing::Reviewing) => {
            Outcome::fact(Fact::CloseReviewed { open: false })
        }
        (Act::CloseSession, Closing::Reviewing) => {
            if let Some(why) = may_not_close(session) {
                return Outcome::refuse(why);
            }
            if session.to_be_listed().next().is_some() {
                return Outcome::refuse(Text::of("refused.list_unsigned"));
            }
            let not_seen = session
                .loaded
                .roster
                .dogs
                .iter()
                .filter(|d| session.visit_of(&d.id).is_none())
                .map(|d| d.id.clone())
                .collect();
            let mut out = Outcome::fact(Fact::SessionClosed { not_seen }).play(Cue::Done);
            out.items.push(Item::Seal { why: 2 });
            out
        }
        (Act::LeaveSession, Closing::Closed) if session.at_table.is_none() => {
            Outcome::fact(Fact::SessionLeft {})
        }
        _ => not_now(),
    }
}
