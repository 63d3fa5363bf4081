//! How sure a category is, and what stays hidden until all have signed: as the body's rules say.

use standsquare_journal::record::fact::Outcome as Ends;
use standsquare_measuring::gauge::risk::how_sure as sureness;
use standsquare_measuring::{EarlierShown, RulePack, ShownTo, Working};

use super::{case, reasons_of};
use crate::state::{Session, Visit};
use crate::view::{Reason, Text};

/// From this on it says 'more than 99 %' instead of a number: own choice, since the model's
/// assumptions are not that good.
const NEARLY: f64 = 0.99;

/// How sure the category on record is, for whom the rules show it to; only once all have signed,
/// only where the rules state a spread and heights, and only of placings.
pub fn how_sure(session: &Session, visit: &Visit, to: ShownTo) -> Option<Text> {
    let pack = &session.loaded.pack;
    let stated = pack.doc().sureness.as_ref()?;
    if stated.shown_to < to || !visit.is_signed() {
        return None;
    }
    let (statement, ..) = visit.stated.as_ref()?;
    let Ends::Category { id, label } = &statement.outcome else {
        return None;
    };
    let index = pack.categories().iter().position(|c| c.id.as_str() == id)?;
    let placer = stated.placer()?;
    let heights = stated.known_heights()?;
    let odds = sureness(pack, &case(session, visit), &heights, |_| placer)?;
    let sure = odds.get(index).copied()?;
    let text = if sure > NEARLY {
        Text::of("how_sure.nearly")
    } else {
        // Never rounded up.
        Text::of("how_sure.line").count("percent", (sure * 100.0).floor() as i64)
    };
    Some(text.plain("category", label.clone()))
}

/// Whether the rules hide what an earlier measure found until all have signed, and they have
/// not yet.
pub fn hides_earlier(session: &Session, visit: Option<&Visit>) -> bool {
    session.loaded.pack.doc().measurers.earlier == EarlierShown::AfterSigning
        && !visit.is_some_and(Visit::is_signed)
}

/// Whether what another table found of a dog is not shown to who measures it here: where the
/// rules hide an earlier measure, and where measurers work independently.
pub fn hides_others(pack: &RulePack) -> bool {
    pack.doc().measurers.earlier == EarlierShown::AfterSigning
        || pack.working() == Working::Independently
}

/// The reasons of the verdict that may be shown now: while an earlier measure is hidden, only those
/// that stand without it. What is signed is shown whole all the same.
pub fn reasons_to_show(session: &Session, visit: &Visit) -> Vec<Reason> {
    let case = case(session, visit);
    let mut reasons = reasons_of(session, &case);
    if hides_earlier(session, Some(visit)) {
        let mut without = case;
        without.earlier.clear();
        let plain = reasons_of(session, &without);
        reasons.retain(|r| plain.contains(r));
    }
    reasons
}
