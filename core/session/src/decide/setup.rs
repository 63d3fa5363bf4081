//! Before the first dog: the roster, the venue, the surface, the hoops, the people.

use super::{Context, Outcome, not_now};
use crate::act::Act;
use crate::days;
use crate::roster::{Loaded, RosterFault};
use crate::state::{Closing, Session};
use crate::view::{Cue, Text, Tone};

use standsquare_journal::record::fact::{ALG_ED25519, Fact};
use standsquare_journal::store::{Item, make_person_key};

/// Fewest and most digits of a PIN. Own choice, no source: four can be typed with
/// a cold thumb; guessing is limited by tries, and a stolen phone by its own key.
pub const DIGITS: (u32, u32) = (4, 8);

/// The surface limit where the pack states none. Common practice says only 'level':
/// one degree is our own choice, no source.
const LEVEL_LIMIT_MDEG: i32 = 1000;

/// The most a surface may be out of level, thousandths of a degree.
pub fn surface_limit_mdeg(loaded: &Loaded) -> i32 {
    loaded
        .pack
        .max_tilt_centidegrees()
        .and_then(|c| i32::try_from(c).ok())
        .map_or(LEVEL_LIMIT_MDEG, |c| c.saturating_mul(10))
}

/// The surface's tilt from two readings, the phone turned half round between
/// them: what is the phone's own error stays with the phone and drops out of the
/// difference. Thousandths of a degree; `None` before the second reading.
pub fn level_tilt_mdeg(readings: &[(i32, i32)]) -> Option<i32> {
    let [(x1, y1), (x2, y2)] = *readings else {
        return None;
    };
    let x = (f64::from(x1) - f64::from(x2)) / 2.0;
    let y = (f64::from(y1) - f64::from(y2)) / 2.0;
    Some(x.hypot(y).round() as i32)
}

/// Whether both readings came out the same to the last digit: then the phone was
/// hardly turned at all, since no sensor and no table is that good.
fn not_turned(readings: &[(i32, i32)], next: (i32, i32)) -> bool {
    matches!(readings, [first] if *first == next && next != (0, 0))
}

pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    match act {
        Act::LoadRoster { text } => return load(c, text),
        Act::StartSession => return start(c),
        _ => {}
    }
    let Some(session) = c.session() else {
        return not_now();
    };
    if session.queue_open || session.closing != Closing::Open {
        return not_now();
    }
    match act {
        Act::SetVenue { name } => match name.trim() {
            "" => Outcome::refuse(Text::of("refused.venue_empty")),
            name if name.chars().count() > 80 => Outcome::refuse(Text::of("refused.venue_long")),
            name => Outcome::fact(Fact::VenueSet { name: name.into() }),
        },
        Act::LevelReading { x_mdeg, y_mdeg } if session.venue.is_some() => {
            if session.level.len() >= 2 {
                return not_now();
            }
            if not_turned(&session.level, (*x_mdeg, *y_mdeg)) {
                return Outcome::refuse(Text::of("refused.level_not_turned"));
            }
            Outcome::fact(Fact::LevelRead {
                x_mdeg: *x_mdeg,
                y_mdeg: *y_mdeg,
            })
        }
        Act::LevelAgain => Outcome::fact(Fact::LevelDropped {}),
        Act::SurfaceDone => match level_tilt_mdeg(&session.level) {
            Some(tilt) if tilt <= surface_limit_mdeg(&session.loaded) => {
                Outcome::fact(Fact::SurfaceAccepted {})
            }
            Some(_) => Outcome::refuse(Text::of("refused.surface_tilted")),
            None => Outcome::refuse(Text::of("refused.surface_unread")),
        },
        Act::HoopLooked { hoop, good } => match session.loaded.hoop(hoop) {
            Some(_) => Outcome::fact(Fact::HoopLooked {
                hoop: hoop.clone(),
                good: *good,
            }),
            None => not_now(),
        },
        Act::HoopsDone => match hoops_missing(session) {
            None => Outcome::fact(Fact::HoopsAccepted {}),
            Some(why) => Outcome::refuse(why),
        },
        Act::SeatMeasurer { person } => seat(c, session, person),
        Act::UnseatMeasurer { person } => Outcome::fact(Fact::Unseated {
            person: person.clone(),
        }),
        Act::SetPin { person, pin } => {
            let person = person.clone();
            set_pin(c, &person, pin)
        }
        Act::OpenQueue => open_queue(c, session),
        _ => not_now(),
    }
}

pub(super) fn load(c: &mut Context, text: &str) -> Outcome {
    if c.state.session.is_some() {
        return Outcome::refuse(Text::of("refused.roster_in_session"));
    }
    match Loaded::take(text, &mut c.random) {
        Ok((loaded, _)) if c.state.is_record_of_another(&loaded.roster.league.id) => {
            Outcome::refuse(Text::of("refused.other_office"))
        }
        Ok((loaded, mut items)) => {
            // The same roster again changes nothing that a person could see, but its
            // handlers' names are sealed anew: one more fact is harmless.
            items.push(Item::Blob {
                hash: loaded.pack_hash,
                bytes: loaded.roster.pack.clone().into_bytes(),
            });
            items.push(Item::Fact(Fact::RosterTaken {
                roster: loaded.hash.into(),
                pack: loaded.pack_hash.into(),
                league: loaded.roster.league.id.clone(),
            }));
            Outcome {
                items,
                ..Outcome::default()
            }
            .say(
                Tone::Good,
                Text::of("notice.roster_loaded")
                    .plain("league", loaded.roster.league.name.clone())
                    .count("count", loaded.roster.dogs.len() as i64),
            )
        }
        Err(RosterFault::TooNew(format)) => {
            Outcome::refuse(Text::of("refused.roster_too_new").count("format", i64::from(format)))
        }
        Err(RosterFault::Unsupported(what)) => {
            Outcome::refuse(Text::of("refused.pack_unsupported").word("what", what))
        }
        Err(fault) => {
            Outcome::refuse(Text::of("refused.roster").plain("reason", fault.to_string()))
        }
    }
}

fn start(c: &mut Context) -> Outcome {
    if c.state.roster.is_none() {
        return Outcome::refuse(Text::of("refused.no_roster"));
    }
    if c.state.session.is_some() {
        return not_now();
    }
    let day = days::of_moment(c.stamp.at_ms, c.stamp.offset_min);
    let session: [u8; 16] = c.random.bytes();
    begin(c, session, c.stamp.offset_min, day)
}

/// Begins the session of this id by the roster in use.
pub(super) fn begin(
    c: &Context,
    session: [u8; 16],
    offset_min: i32,
    day: chrono::NaiveDate,
) -> Outcome {
    let Some(loaded) = c.state.roster.clone() else {
        return Outcome::refuse(Text::of("refused.no_roster"));
    };
    if !loaded.pack.is_valid_on(day) {
        return Outcome::refuse(
            Text::of("refused.pack_not_valid")
                .plain("pack", loaded.pack.name().to_owned())
                .day("day", day),
        );
    }
    let begun = Outcome::fact(Fact::SessionBegun {
        session: session.into(),
        roster: loaded.hash.into(),
        pack: loaded.pack_hash.into(),
        offset_min,
        day: days::number(day),
    });
    match super::keeping::past_it(c, &loaded, day) {
        Ok(ids) if ids.is_empty() => begun,
        Ok(ids) => super::keeping::erase(begun, &ids, &loaded, day),
        // Nothing is erased where the record does not read; the next session tries again.
        Err(_) => begun,
    }
}

/// What is still to be said of the hoops, if anything: every one looked at, and
/// for each gauge of the pack one good hoop.
pub(crate) fn hoops_missing(session: &Session) -> Option<Text> {
    if session
        .loaded
        .roster
        .hoops
        .iter()
        .any(|h| !session.hoops.contains_key(&h.id))
    {
        return Some(Text::of("refused.hoops_unseen"));
    }
    let good = |gauge: &str| {
        session
            .loaded
            .roster
            .hoops
            .iter()
            .any(|h| h.gauge == gauge && session.hoops.get(&h.id) == Some(&true))
    };
    session
        .loaded
        .pack
        .gauges()
        .iter()
        .find(|g| !good(g.id.as_str()))
        .map(|g| Text::of("refused.hoop_lacking").plain("hoop", g.label.clone()))
}

fn seat(c: &Context, session: &Session, person: &str) -> Outcome {
    let Some(p) = session.loaded.person(person) else {
        return not_now();
    };
    if p.role != "measurer" {
        return Outcome::refuse(Text::of("refused.not_a_measurer").plain("name", p.name.clone()));
    }
    if let Some(why) = super::may_not_sit(
        c.state,
        &session.loaded,
        person,
        (c.stamp.at_ms, c.stamp.offset_min),
    ) {
        return Outcome::refuse(why);
    }
    if session.seated.len() >= session.loaded.pack.measurers_needed() as usize {
        return Outcome::refuse(Text::of("refused.seats_full"));
    }
    Outcome::fact(Fact::Seated {
        person: p.id.clone(),
        number: p.number.clone(),
    })
}

fn set_pin(c: &mut Context, person: &str, pin: &str) -> Outcome {
    let Some(session) = c.session() else {
        return not_now();
    };
    if !session.seated.iter().any(|p| p == person) || c.state.keys.contains_key(person) {
        return not_now();
    }
    let digits = pin.chars().count() as u32;
    if digits < DIGITS.0 || digits > DIGITS.1 || !pin.bytes().all(|b| b.is_ascii_digit()) {
        return Outcome::refuse(
            Text::of("refused.pin_form")
                .count("least", i64::from(DIGITS.0))
                .count("most", i64::from(DIGITS.1)),
        );
    }
    if is_easy(pin) {
        return Outcome::refuse(Text::of("refused.pin_easy"));
    }
    let entropy = c.random.bytes();
    match make_person_key(person, pin, c.device_secret, entropy) {
        Ok(key) => {
            let public = key.public();
            Outcome {
                items: vec![
                    Item::PersonKey(key),
                    Item::Fact(Fact::KeyMade {
                        person: person.into(),
                        key: public.into(),
                        alg: ALG_ED25519,
                    }),
                ],
                ..Outcome::default()
            }
            .say(Tone::Good, Text::of("notice.pin_set"))
            .play(Cue::Done)
        }
        Err(fault) => Outcome::refuse(Text::of("refused.key").plain("reason", fault.to_string())),
    }
}

/// One digit over and over, or a plain run up or down: the first that anyone tries.
fn is_easy(pin: &str) -> bool {
    let steps: Vec<i16> = pin
        .as_bytes()
        .windows(2)
        .map(|w| i16::from(w[1]) - i16::from(w[0]))
        .collect();
    [0, 1, -1]
        .iter()
        .any(|step| steps.iter().all(|s| s == step))
}

fn open_queue(c: &Context, session: &Session) -> Outcome {
    if !session.surface_accepted || !session.hoops_accepted {
        return not_now();
    }
    let needed = session.loaded.pack.measurers_needed() as usize;
    if session.seated.len() < needed {
        return Outcome::refuse(
            Text::of("refused.measurers_lacking").count("count", needed as i64),
        );
    }
    if session.seated.iter().any(|p| !c.state.keys.contains_key(p)) {
        return Outcome::refuse(Text::of("refused.pin_lacking"));
    }
    Outcome::fact(Fact::QueueOpened {})
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turning_the_phone_half_round_takes_its_own_error_out() {
        // A phone that reads 0.8° too much about one side, on a surface 0.3° out.
        assert_eq!(
            level_tilt_mdeg(&[(300 + 800, 0), (-300 + 800, 0)]),
            Some(300)
        );
        assert_eq!(level_tilt_mdeg(&[(300, 0)]), None);
    }

    #[test]
    fn runs_and_repeats_are_too_easy_for_a_pin() {
        for pin in ["1234", "0000", "9876"] {
            assert!(is_easy(pin), "{pin}");
        }
        for pin in ["4711", "1235", "2580"] {
            assert!(!is_easy(pin), "{pin}");
        }
    }
}
