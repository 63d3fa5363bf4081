//! The pieces of a verdict one by one: who may measure, when, with what, and what follows.

mod ends;
mod hoops;
mod readings;
mod when;
mod with_what;

use crate::support::*;
use standsquare_measuring::*;

/// Larkmere's pack with one text replaced.
fn larkmere(from: &str, to: &str) -> RulePack {
    assert!(LARKMERE.contains(from), "{from}");
    RulePack::parse(&LARKMERE.replacen(from, to, 1)).unwrap_or_else(|f| panic!("{f:#?}"))
}

/// A small dog of Larkmere's, measured flat on the 35 hoop.
fn small(pack: &RulePack) -> Case {
    let mut case = case_for(pack);
    case.seen
        .push(placing("hoop-35", PlacingResult::Flat, "anna"));
    case
}

fn flat() -> PlacingResult {
    PlacingResult::Flat
}

fn not() -> PlacingResult {
    PlacingResult::NotFlat
}

fn void(seen: Base) -> PlacingResult {
    PlacingResult::Void {
        seen,
        reason: VoidReason::Moved,
    }
}
