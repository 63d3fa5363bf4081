//! A dog that is not on the list: taken by the chip that was read between two dogs, and
//! described from its record book.

use super::dog::locked;
use super::{Context, Outcome, not_now};
use crate::act::Act;
use crate::days;
use crate::judging;
use crate::state::{Closing, Step, describe};
use crate::view::Text;

use chrono::NaiveDate;
use standsquare_journal::record::fact::Fact;
use standsquare_journal::store::{Item, subject_commitment};

/// The longest name that is taken, in letters. Own choice.
const LONGEST_NAME: usize = 60;

pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    match act {
        Act::CallNewcomer { chip } => call(c, chip),
        Act::DescribeNewcomer {
            name,
            born,
            category,
            measured,
        } => describe_it(c, name, [born, measured], category),
        _ => not_now(),
    }
}

fn call(c: &mut Context, chip: &str) -> Outcome {
    let read = c.reader.between().map(str::to_owned);
    let Some(session) = c.session() else {
        return not_now();
    };
    let free = session.queue_open && session.closing == Closing::Open && session.at_table.is_none();
    if !free || read.as_deref() != Some(chip) || session.dog_of(chip).is_some() {
        return not_now();
    }
    if let Some(out) = locked(c, session) {
        return out;
    }
    let visit = session.visits.len() as u32 + 1;
    let dog = format!("new-{visit}");
    // Nothing personal is asked of a handler who is not on the list; what stands for it in
    // the chain is made all the same, so that every visit looks alike there.
    let id: [u8; 16] = c.random.bytes();
    let salt: [u8; 32] = c.random.bytes();
    let subject = Item::Subject {
        id,
        clear: Vec::new(),
        salt,
        key: c.random.bytes(),
        nonce: c.random.bytes(),
    };
    Outcome {
        items: vec![subject],
        ..Outcome::default()
    }
    .and(Fact::DogCalled {
        visit,
        dog: dog.clone(),
        subject: id.into(),
        commitment: subject_commitment(&[], &salt).into(),
    })
    .and(Fact::Newcomer {
        visit,
        dog,
        chip: chip.to_owned(),
    })
}

fn describe_it(c: &Context, name: &str, days: [&String; 2], category: &str) -> Outcome {
    let Some((session, visit)) = c.at(Step::Newcomer) else {
        return not_now();
    };
    let name = name.trim();
    if name.is_empty() || name.chars().count() > LONGEST_NAME {
        return Outcome::refuse(Text::of("refused.newcomer_name"));
    }
    let day = |text: &str| -> Result<Option<NaiveDate>, Outcome> {
        match (text.trim(), days::typed(text)) {
            ("", _) => Ok(None),
            (_, Some(day)) if day <= session.day => Ok(Some(day)),
            (_, Some(_)) => Err(Outcome::refuse(Text::of("refused.day_to_come"))),
            (_, None) => Err(Outcome::refuse(Text::of("refused.day_typed"))),
        }
    };
    let (born, measured) = match (day(days[0]), day(days[1])) {
        (Ok(born), Ok(measured)) => (born, measured),
        (Err(out), _) | (_, Err(out)) => return out,
    };
    let known = session.loaded.pack.category(&category.into()).is_some();
    if known != measured.is_some() || !(known || category.is_empty()) {
        return Outcome::refuse(Text::of("refused.measure_half"));
    }
    if born.zip(measured).is_some_and(|(born, on)| on < born) {
        return Outcome::refuse(Text::of("refused.measured_unborn"));
    }
    let earlier = measured.map(|on| (category.to_owned(), days::number(on)));
    let mut dog = session.dog(&visit.dog).cloned();
    if let Some(dog) = &mut dog {
        describe(dog, name, born.map(days::number), earlier.clone());
    }
    // What the rules do not allow is said before anybody touches the dog.
    if let Some(why) = judging::refused(session, dog.as_ref()) {
        return Outcome::refuse(why);
    }
    Outcome::fact(Fact::NewcomerDescribed {
        visit: visit.number,
        born: born.map(days::number),
        category: earlier.as_ref().map(|(category, _)| category.clone()),
        measured: earlier.map(|(_, on)| on),
        name: name.to_owned(),
    })
}
