//! What the journal's records have.

use standsquare_journal::record::dogs::{Came, DogDone, Dogs};
use standsquare_journal::record::fact::{
    ChipProof, Correction, Found, Harm, List, Listed, Outcome, Putting, Seen, StatedPlacing,
    Statement, Whom,
};
use standsquare_journal::record::notice::KeyRing;

use super::{In, Out, Put, items, put, put_bytes, put_one_of};

items!(StatedPlacing, Listed, DogDone);

/// It is made again of the notices, which are put away.
impl Put for KeyRing {
    fn put(&self, _: &mut Out) {}

    fn take(_: &mut In<'_>) -> Self {
        KeyRing::default()
    }
}

impl Put for Outcome {
    fn put(&self, to: &mut Out) {
        let (kind, words) = match self {
            Outcome::Category { id, label } => (0, (id, label.as_str())),
            Outcome::NotToday { reason } => (1, (reason, "")),
            Outcome::Referred { reason } => (2, (reason, "")),
        };
        to.bytes.push(kind);
        words.0.put(to);
        put_bytes(words.1.as_bytes(), to);
    }

    fn take(from: &mut In<'_>) -> Self {
        let (kind, id, label) = <(u8, String, String)>::take(from);
        match kind {
            0 => Outcome::Category { id, label },
            1 => Outcome::NotToday { reason: id },
            other => {
                from.wrong |= other != 2;
                Outcome::Referred { reason: id }
            }
        }
    }
}

impl Put for Putting {
    fn put(&self, to: &mut Out) {
        match self {
            Putting::VoidPlacing { number } => (1_u8, *number).put(to),
            Putting::PapersAgain {} => 0_u8.put(to),
            Putting::MovePlacings {
                visit,
                dog,
                chip,
                placings,
            } => {
                (2_u8, *visit).put(to);
                dog.put(to);
                chip.put(to);
                placings.put(to);
            }
        }
    }

    fn take(from: &mut In<'_>) -> Self {
        match u8::take(from) {
            1 => Putting::VoidPlacing {
                number: Put::take(from),
            },
            2 => Putting::MovePlacings {
                visit: Put::take(from),
                dog: Put::take(from),
                chip: Put::take(from),
                placings: Put::take(from),
            },
            other => {
                from.wrong |= other != 0;
                Putting::PapersAgain {}
            }
        }
    }
}

put!(Correction {
    session,
    visit,
    dog,
    chip,
    what,
    placing,
    reason,
    after_sign_off,
    measurers,
    demo,
});
put!(Listed {
    visit,
    dog,
    chip,
    outcome,
    statement,
    by,
});
put!(List {
    session,
    dogs,
    demo
});
put!(DogDone {
    mark,
    came,
    ago_min
});
put!(Dogs {
    league,
    session,
    journal,
    seq,
    at_ms,
    salt,
    categories,
    dogs,
    demo,
});
put_one_of!(Seen { 0 Flat, 1 NotFlat, 2 Moved, 3 FlatVoid, 4 NotFlatVoid });
put_one_of!(ChipProof {
    0 Equal,
    1 MisKeyed,
    2 Typed,
    3 NotFound,
    4 Different,
    5 NotScanned,
    6 OtherForm,
    7 TwoChips,
});
put_one_of!(Found { 0 Agrees, 1 Differs, 2 Missing });
put_one_of!(Came { 0 Untold, 1 NotToday, 2 Referred, 3 Category(id) });
put_one_of!(Harm { 0 Bite, 1 Fall });
put_one_of!(Whom { 0 Measurer, 1 Handler, 2 Dog, 3 Other });
put!(StatedPlacing { hoop, seen });
put!(Statement {
    session,
    visit,
    dog,
    chip,
    proof,
    chip_read,
    pack,
    edition,
    day,
    outcome,
    over_um,
    within_um,
    measure,
    status,
    flags,
    placings,
    window_from,
    window_to,
    measurers,
    status_until,
    demo,
});
