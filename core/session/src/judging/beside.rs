//! What the session's other phones found, beside what was found here. Nothing of it is asked
//! for before all have signed here.

use standsquare_sync::beside::{Beside, Side, Told, ToldDog, compare};

use crate::state::{Closing, Session, Step, Visit, plain_number};

/// The dogs told of that have this number.
fn of_number<'a>(told: &'a Told, chip: &str) -> impl Iterator<Item = &'a ToldDog> {
    let number = plain_number(chip);
    let same = move |d: &&ToldDog| number.is_some() && plain_number(&d.chip) == number;
    told.dogs.iter().filter(same)
}

/// What the other phones' results of this dog and the one here come to, and with which of
/// them it was compared: the gravest, where there are several. `None` where nobody else has
/// one, or not all have signed here.
pub fn beside<'a>(session: &'a Session, visit: &Visit) -> Option<(Beside, &'a ToldDog)> {
    let told = session.told.as_ref()?;
    let (statement, ..) = visit.stated.as_ref()?;
    let came = statement.outcome.word();
    let flags = match (visit.is_signed(), visit.is_settling()) {
        (true, _) => statement.flags.as_slice(),
        // All have signed before; what is to settle it holds once they have again.
        (_, true) => &[],
        _ => return None,
    };
    let ours = Side { came: &came, flags };
    let all = of_number(told, &statement.chip).map(|dog| (compare(&ours, &dog.side()), dog));
    all.filter(|(found, _)| *found != Beside::Left)
        .min_by_key(|(found, _)| gravity(*found))
}

fn gravity(found: Beside) -> u8 {
    match found {
        Beside::Disputed => 0,
        Beside::SecondStands => 1,
        Beside::FirstStands => 2,
        Beside::Corroborated | Beside::Left => 3,
    }
}

/// Dogs of the session of which the results differ and are not settled.
pub fn disputed(session: &Session) -> Vec<&Visit> {
    let differs = |v: &&Visit| matches!(beside(session, v), Some((Beside::Disputed, _)));
    session.visits.iter().filter(differs).collect()
}

/// Whether another phone of the session has a result of a dog that was not called here.
pub fn only_there(session: &Session, dog: &str) -> bool {
    let chip = session.dog(dog).map(|d| d.chip.as_str());
    let told = session.told.as_ref().zip(chip);
    told.is_some_and(|(told, chip)| of_number(told, chip).next().is_some())
}

/// Whether the measurers may settle now which result of this dog stands, and against which
/// other one: while dogs are measured and none is at the table, and after the closing until
/// another session begins. There it may have been put up before and left.
pub fn may_settle<'a>(session: &'a Session, visit: &Visit) -> Option<&'a ToldDog> {
    let left = session.closing == Closing::Closed && visit.is_settling();
    let free = session.closing != Closing::Reviewing && session.at_table.is_none();
    if !free || !(left || visit.step() == Step::Done) {
        return None;
    }
    let (found, dog) = beside(session, visit)?;
    (found != Beside::Corroborated).then_some(dog)
}
