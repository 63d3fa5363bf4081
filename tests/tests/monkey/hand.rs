//! What a person at the table does.

use standsquare_session::Act;
use standsquare_session::view::{Screen, SeatAsks, SeatWay, SignSeat};
use standsquare_tests::owner::KeyStore;
use standsquare_tests::{Table, demo, elsewhere};

use crate::anything::DOGS;
use crate::dice::Dice;

/// What there is around the table.
pub struct World {
    /// The roster in use.
    pub roster: String,
    /// The phone's key store.
    pub store: KeyStore,
    /// Bram's own phone, and what the office says of his key on it.
    pub own: Option<(Table, String)>,
}

/// What a person at the table would do next, so that the session gets somewhere.
pub fn sensible(t: &mut Table, dice: &mut Dice, world: &mut World) {
    let own = &mut world.own;
    match t.view().screen.clone() {
        Screen::Home { home } if !home.roster => {
            t.act(Act::LoadRoster {
                text: world.roster.clone(),
            });
            if let Some((_, notice)) = own {
                t.act(Act::LoadRoster {
                    text: notice.clone(),
                });
            }
        }
        Screen::Surface { surface } if surface.taken < 2 => {
            let x_mdeg = if surface.taken == 0 { 250 } else { 50 };
            t.act(Act::LevelReading {
                x_mdeg,
                y_mdeg: dice.roll(100) as i32,
            });
        }
        Screen::Hoops { hoops } => {
            for hoop in hoops.hoops {
                t.act(hoop.say_good);
            }
            t.tap("hoops_done");
        }
        Screen::Measurers { measurers } => {
            match measurers
                .people
                .iter()
                .find(|p| !p.seated && p.why_not.is_none())
            {
                Some(person) => t.act(person.toggle.clone()),
                None => t.tap("open_queue"),
            };
        }
        Screen::Pin { pin } => {
            let digits = demo::PINS
                .iter()
                .find(|(p, _)| *p == pin.person)
                .expect("a PIN")
                .1;
            t.act(Act::SetPin {
                person: pin.person,
                pin: digits.into(),
            });
        }
        Screen::Chip { .. } => {
            let chip = t
                .view()
                .dog
                .as_ref()
                .map(|d| d.chip.clone())
                .expect("a dog");
            t.reader_connects();
            t.scan(&chip.replace(' ', ""));
        }
        Screen::Readers { .. } if dice.roll(3) > 0 => {
            // The known chip, now and then in a form that has to be paired first.
            t.reader_connects();
            if dice.roll(2) == 0 {
                t.scan_in("line-15", "999000000112233");
            } else {
                t.scan("999000000112233");
            }
        }
        Screen::Queue { .. } if dice.roll(8) == 0 => {
            t.act(Act::OpenSettings);
        }
        // Now and then somebody says that it is their phone.
        Screen::Settings { .. } if dice.roll(4) > 0 => {
            let own = t.view().offers.iter().filter(|o| o.allowed);
            let own: Vec<_> = own
                .filter(|o| o.id.starts_with("own_phone") || o.id == "leave_look")
                .map(|o| o.act.clone())
                .collect();
            let act = dice.pick(&own).expect("a way back").clone();
            t.act(act);
        }
        Screen::Incident { incident } if dice.roll(2) == 0 => {
            let all = incident.happened;
            let act = dice.pick(&all).expect("a choice").act.clone();
            t.act(act);
        }
        Screen::Objection { objection } if dice.roll(2) == 0 => {
            t.act(objection.record);
        }
        Screen::Stop { stop } => {
            let act = dice.pick(&stop.reasons).expect("a reason").act.clone();
            t.act(act);
        }
        Screen::Queue { .. } if dice.roll(6) == 0 => {
            t.reader_connects();
            let chip = format!("99900000091827{}", dice.roll(4));
            t.scan(&chip);
            if let Some(new) = t.view().offers.iter().find(|o| o.id == "newcomer") {
                let act = new.act.clone();
                t.act(act);
            }
        }
        Screen::Newcomer { .. } => {
            t.act(Act::DescribeNewcomer {
                name: "Sorrel".into(),
                born: "20230517".into(),
                category: String::new(),
                measured: String::new(),
            });
        }
        Screen::Correct { correct } if correct.instruction.is_some() => {
            t.reader_connects();
            if dice.roll(4) == 0 {
                t.tap("leave_correction");
            } else {
                let dog = *dice.pick(&DOGS[..6]).expect("a dog");
                t.scan(&demo::chip_of(dog));
            }
        }
        Screen::Correct { correct } if correct.seats.is_empty() => {
            let act = dice.pick(&correct.choices).expect("a choice").act.clone();
            t.act(act);
        }
        Screen::Correct { correct } => sign_one(t, dice, correct.seats, own),
        Screen::Sign { sign } if dice.roll(20) == 0 => {
            let seat = sign.seats.iter().find(|s| s.way == SeatWay::Paper);
            let person = seat.map_or("bram", |s| &s.person).to_owned();
            let paper = "17".to_owned();
            t.act(Act::SignOnPaper { person, paper });
        }
        Screen::Sign { sign } => sign_one(t, dice, sign.seats, own),
        Screen::Unlock { unlock } => sign_one(t, dice, unlock.seats, own),
        Screen::SignList { sign_list } => sign_one(t, dice, sign_list.seats, own),
        _ => any_offer(t, dice),
    }
}

fn sign_one(
    t: &mut Table,
    dice: &mut Dice,
    seats: Vec<SignSeat>,
    own: &mut Option<(Table, String)>,
) {
    let mut offers = t.view().offers.iter();
    let on_his = offers.any(|o| o.id == "sign_elsewhere_bram" && o.allowed);
    if let Some((own, _)) = own
        && on_his
        && dice.roll(3) == 0
    {
        let answer = elsewhere::signs(own, &elsewhere::asked(t));
        elsewhere::read(t, &answer);
        return;
    }
    let seat = seats.into_iter().find(|s| !s.signed).expect("a free seat");
    if let Some(act) = seat.by_owner.filter(|_| dice.roll(2) == 0) {
        t.act(act);
        return;
    }
    if seat.tries_left == Some(0) {
        t.wait(5 * 60 * 1000);
    }
    let digits = demo::PINS
        .iter()
        .find(|(p, _)| *p == seat.person)
        .expect("a PIN")
        .1;
    let (person, pin) = (seat.person, digits.into());
    t.act(match seat.asks {
        SeatAsks::Sign => Act::Sign { person, pin },
        SeatAsks::Unlock => Act::Unlock { person, pin },
        SeatAsks::Confirm => Act::Confirm { person },
    });
}

pub fn any_offer(t: &mut Table, dice: &mut Dice) {
    let offers: Vec<_> = t
        .view()
        .offers
        .iter()
        .filter(|o| o.allowed)
        .map(|o| o.act.clone())
        .collect();
    if let Some(act) = dice.pick(&offers).cloned() {
        t.act(act);
    }
}
