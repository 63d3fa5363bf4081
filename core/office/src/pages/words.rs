//! English for the fixed words that records hold.

use standsquare_journal::record::fact::{ChipProof, Outcome, Statement};

use crate::decide::Verdict;
use crate::points::Point;

/// What a flag says. An unknown one is shown as it is: newer phones have newer flags.
pub fn flag(id: &str) -> String {
    let known = match id {
        "second-late" => "late for the second measure",
        "already-definitive" => "the category was definitive already",
        "measurers-differ" => "the measurers differ",
        "measurers-refer" => "the measurers differ: the league decides",
        "near-limit" => "near the limit: flat and not flat on one hoop",
        "contradiction" => "what was seen contradicts itself",
        "gauge-check-overdue" => "a hoop's check was overdue",
        "gauge-not-checked" => "no check of a hoop is on record",
        "gauge-out-of-tolerance" => "a hoop was out of tolerance at its last check",
        "birth-unknown" => "the day of birth is not known",
        "too-many-attempts" => "broken off more often than the rules allow",
        "chip-mis-keyed" => "chip number mis-keyed in the record book",
        "chip-typed" => "chip number typed from the reader",
        "chip-other-form" => "chip number in another form",
        "chip-not-found" => "no chip was found",
        "bite" => "somebody was bitten",
        "fall" => "somebody fell, or the dog did",
        "chip-differs" => "another chip than the record book's",
        "objection" => "the handler objected at the table",
        other => return other.replace(['-', '_'], " "),
    };
    known.to_owned()
}

/// What a point says.
pub fn point(point: &Point) -> String {
    let words = match point.kind.as_str() {
        "measures-differ" => "another category than an earlier measure".into(),
        "settled-here" => "settled by its measurers: this phone's result stands".into(),
        "settled-there" => "settled by its measurers: the other phone's result stands".into(),
        "measured-elsewhere" => "measured at another table before".into(),
        "phones-differ" => "the two phones of the session found different things".into(),
        "unsigned" => "closed without every measurer's signature".into(),
        "referred" => "referred to the league".into(),
        "key-revoked" => "signed with a key that counted no more".into(),
        "key-unknown" => {
            "signed on another phone with a key that this office has said nothing of".into()
        }
        "key-not-theirs" => "signed with a key that is somebody else's".into(),
        "key-over" => "signed after the key's time was over".into(),
        "key-not-yet" => "signed before the key's time began".into(),
        "key-lost-before-it-came" => {
            "came in after the key was lost; signed before, by the phone's clock".into()
        }
        "phone-revoked" => "written by a phone that was reported".into(),
        "fork"
        | "too_new"
        | "unreadable_event"
        | "unknown_algorithm"
        | "sign_off_forged"
        | "other_journal"
        | "statement_out_of_place"
        | "seal_forged" => set_aside(&point.kind).into(),
        other => flag(other),
    };
    if point.detail.is_empty() {
        words
    } else {
        format!("{words} ({})", point.detail)
    }
}

/// What a verdict says.
pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Stands => "The measure stands",
        Verdict::Again => "It does not count; the dog is to be measured again",
        Verdict::Void => "It does not count",
        Verdict::Noted => "Noted; nothing to decide",
    }
}

/// How a chip number was proved; the words of the return's file.
pub fn proof(proof: ChipProof) -> &'static str {
    match proof {
        ChipProof::Equal => "equal",
        ChipProof::MisKeyed => "mis-keyed in the book",
        ChipProof::Typed => "typed from the reader",
        ChipProof::NotFound => "none found",
        ChipProof::Different => "different",
        ChipProof::NotScanned => "not scanned",
        ChipProof::OtherForm => "same chip, other form",
        ChipProof::TwoChips => "two chips, one of them the book's",
    }
}

/// What happened.
pub fn harm(word: &str) -> String {
    match word {
        "bite" => "bite".into(),
        "fall" => "fall".into(),
        other => plain(other),
    }
}

/// To whom it happened.
pub fn whom(word: &str) -> String {
    match word {
        "measurer" => "a measurer".into(),
        "handler" => "the handler".into(),
        "dog" => "the dog".into(),
        "other" => "somebody else".into(),
        other => plain(other),
    }
}

/// How a visit ended.
pub fn outcome(outcome: &Outcome) -> String {
    match outcome {
        Outcome::Category { label, .. } => label.clone(),
        Outcome::NotToday { reason } => format!("Not today: {}", plain(reason)),
        Outcome::Referred { reason } => format!("Referred: {}", plain(reason)),
    }
}

/// What a status says.
pub fn status(id: &str) -> String {
    match id {
        "provisional" => "provisional".into(),
        "definitive" => "definitive".into(),
        "referred" => "the league decides".into(),
        "this-event-only" => "for this event only".into(),
        other => plain(other),
    }
}

/// Why a frame was set aside.
pub fn set_aside(slug: &str) -> &'static str {
    match slug {
        "fork" => "the device tells another history than the one on record",
        "too_new" => "written by newer software than this office's",
        "unreadable_event" => "an event is not readable",
        "unknown_algorithm" => "signed in a way that this office does not know",
        "sign_off_forged" => "a sign-off does not verify",
        "other_journal" => "it names another device or journal than its own",
        "statement_out_of_place" => "a statement does not belong to its session",
        "seal_forged" => "a seal inside does not verify",
        _ => "does not verify",
    }
}

/// Which measure it is.
pub fn measure(number: u8) -> String {
    match number {
        1 => "first".into(),
        2 => "second".into(),
        n => format!("number {n}"),
    }
}

/// What is known of the height, centimetres.
pub fn height(statement: &Statement) -> String {
    match (statement.over_um, statement.within_um) {
        (Some(over), Some(within)) => format!("over {} to {} cm", cm(over), cm(within)),
        (Some(over), None) => format!("over {} cm", cm(over)),
        (None, Some(within)) => format!("up to {} cm", cm(within)),
        (None, None) => String::new(),
    }
}

/// Micrometres as centimetres, without a fraction where there is none.
fn cm(um: i64) -> String {
    let (whole, rest) = (um / 10_000, (um % 10_000).abs());
    if rest == 0 {
        return whole.to_string();
    }
    format!("{whole}.{rest:04}")
        .trim_end_matches('0')
        .to_owned()
}

fn plain(id: &str) -> String {
    id.replace(['-', '_'], " ")
}
