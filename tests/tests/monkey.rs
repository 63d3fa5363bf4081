//! Random acts on the real session over the real journal, with kills: no panic, no
//! lost act, no verdict without two sign-offs, and a journal that verifies.
//! `STANDSQUARE_MONKEY=20000` sets how many acts (2,000 otherwise), and
//! `STANDSQUARE_SEED` where to begin.

use std::collections::BTreeSet;

use standsquare_journal::record::ChainCheck;
use standsquare_journal::record::fact::Fact;
use standsquare_session::Act;
use standsquare_session::act::{
    BookState, CorrectionWhat, PlacingSeen, ReaderCarrier, ReaderLink, TwoKeys,
};
use standsquare_session::view::{Screen, SeatAsks, SeatWay, SignSeat};
use standsquare_tests::owner::{Finger, KeyStore};
use standsquare_tests::{Table, demo, once, tables};

/// SplitMix64: small, and the same everywhere.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % sides
    }

    fn pick<'a, T>(&mut self, of: &'a [T]) -> Option<&'a T> {
        (!of.is_empty()).then(|| &of[self.roll(of.len() as u64) as usize])
    }
}

fn setting(name: &str, otherwise: u64) -> u64 {
    std::env::var(name)
        .ok()
        .and_then(|v| v.parse().ok())
        .unwrap_or(otherwise)
}

const DOGS: [&str; 7] = ["pip", "moss", "juno", "biscuit", "tansy", "rook", "nobody"];
const PEOPLE: [&str; 4] = ["ottoline", "bram", "wren", "nobody"];

/// Acts that a screen would never offer here, and input of every kind.
fn anything(dice: &mut Dice) -> Act {
    let text = |dice: &mut Dice, of: &[&str]| (*dice.pick(of).expect("a choice")).to_owned();
    let flag = dice.roll(2) == 0;
    match dice.roll(75) {
        0 => Act::CallDog {
            dog: text(dice, &DOGS),
        },
        1 => Act::Sign {
            person: text(dice, &PEOPLE),
            pin: text(dice, &["4711", "2580", "0000", ""]),
        },
        2 => Act::Disagree {
            person: text(dice, &PEOPLE),
        },
        3 => Act::BookLine {
            item: text(dice, &["name", "chip", "measures", "nothing"]),
            state: if flag {
                BookState::Differs
            } else {
                BookState::Missing
            },
        },
        4 => Act::HandlerAnswer {
            question: text(dice, &["bites", "pain", "consents", "?"]),
            yes: flag,
        },
        5 => Act::ChipTyped {
            number: text(dice, &["999000000112233", "12", "", "999 000 000 112 234"]),
        },
        6 => Act::Place {
            hoop: text(dice, &["h35", "h43", "h99"]),
            seen: if flag {
                PlacingSeen::BaseFlat
            } else {
                PlacingSeen::BaseNotFlat
            },
        },
        7 => Act::ChooseHoop {
            hoop: text(dice, &["h35", "h43", "h99"]),
        },
        8 => Act::NotToday {
            reason: text(dice, &["nervous", "whatever"]),
        },
        9 => Act::LevelReading {
            x_mdeg: dice.roll(4000) as i32 - 2000,
            y_mdeg: i32::MIN,
        },
        10 => Act::SetVenue {
            name: text(dice, &["", "Hollin Field", "\u{0}"]),
        },
        11 => Act::SetPin {
            person: text(dice, &PEOPLE),
            pin: text(dice, &["4711", "1", "abcd"]),
        },
        12 => Act::LoadRoster {
            text: text(dice, &["", "{}", "[]"]),
        },
        13 => Act::ReaderBytes {
            bytes: (0..dice.roll(40)).map(|_| dice.roll(256) as u8).collect(),
        },
        14 => Act::ReaderLink {
            link: if flag {
                ReaderLink::Connected
            } else {
                ReaderLink::Lost
            },
            name: String::new(),
            reader: text(dice, &["", "wand", "stick"]),
        },
        15 if flag => Act::PacketCame {
            bytes: (0..dice.roll(80)).map(|_| dice.roll(256) as u8).collect(),
        },
        15 => Act::OfficeAnswer {
            request: "frames-1".into(),
            status: 200,
            body: vec![0x82, 0x00],
        },
        16 => Act::OfficeUnreachable {
            request: String::new(),
            reason: String::new(),
        },
        17 => Act::UndoPlacing,
        18 => Act::ChipMisKeyed,
        19 => Act::ChipConfirmed,
        20 => Act::KeepGoing,
        21 => Act::CloseSession,
        22 if flag => {
            if dice.roll(2) == 0 {
                Act::NetworkChanged
            } else {
                Act::CarryReturn
            }
        }
        22 => Act::SendReturn,
        23 => Act::ReaderSeen {
            reader: text(dice, &["", "wand", "stick"]),
            name: text(dice, &["", "Wand"]),
            carrier: *dice
                .pick(&[
                    ReaderCarrier::Ble,
                    ReaderCarrier::Serial,
                    ReaderCarrier::Keys,
                ])
                .expect("a choice"),
            signal_dbm: flag.then_some(i32::MIN),
        },
        24 => Act::ChooseReader {
            reader: text(dice, &["", "wand", "stick"]),
        },
        25 => Act::KnownChip {
            number: text(dice, &["999000000112233", "12"]),
        },
        26 => Act::KeepReader {
            profile: text(dice, &["line-15", "stx-etx-wl30", "?"]),
            number: text(dice, &["999000000112233", ""]),
        },
        27 => Act::BookCode {
            code: text(dice, &["999000000204518", "?"]),
        },
        28 => Act::ReaderBattery {
            reader: text(dice, &["", "wand"]),
            percent: dice.roll(256) as u8,
        },
        29 => Act::Park,
        30 => Act::Resume {
            dog: text(dice, &DOGS),
        },
        31 => Act::AskCorrection {
            dog: text(dice, &DOGS),
        },
        32 => Act::ChooseCorrection {
            what: match dice.roll(3) {
                0 => CorrectionWhat::PapersAgain,
                1 => CorrectionWhat::MovePlacings,
                _ => CorrectionWhat::VoidPlacing {
                    number: dice.roll(4) as u32,
                },
            },
        },
        33 => Act::CorrectionReason {
            reason: text(dice, &["moved", "misread", "whatever"]),
        },
        34 => Act::LeaveCorrection,
        35 => Act::SignOnPaper {
            person: text(dice, &PEOPLE),
            paper: text(dice, &["17", "", "x"]),
        },
        36 => Act::StepAway {
            person: text(dice, &PEOPLE),
        },
        37 => Act::TakeOver {
            person: text(dice, &PEOPLE),
        },
        38 => Act::CallNewcomer {
            chip: text(dice, &["999000000918273", ""]),
        },
        39 => Act::DescribeNewcomer {
            name: text(dice, &["Sorrel", ""]),
            born: text(dice, &["20230517", "x", ""]),
            category: text(dice, &["", "small", "huge"]),
            measured: text(dice, &["", "20250101"]),
        },
        62 => Act::Unlock {
            person: text(dice, &PEOPLE),
            pin: text(dice, &["4711", "2580", ""]),
        },
        63 => Act::Confirm {
            person: text(dice, &PEOPLE),
        },
        64 => Act::LockPhone,
        65 => Act::StateList,
        66 => Act::LeaveList,
        40 => Act::MayNotMeasure {
            person: text(dice, &PEOPLE),
        },
        41 => Act::PressKey {
            key: if flag {
                TwoKeys::First
            } else {
                TwoKeys::Second
            },
        },
        42 => Act::OpenSlip {
            dog: text(dice, &DOGS),
        },
        43 => Act::PrintSlip {
            dog: text(dice, &DOGS),
        },
        44 => Act::CalendarEntry {
            dog: text(dice, &DOGS),
            summary: text(dice, &["", "Pip;\n"]),
        },
        45 => {
            if flag {
                Act::OpenSlipCheck
            } else {
                Act::OpenSettings
            }
        }
        46 => Act::CheckSlip {
            text: text(
                dice,
                &[
                    "", "SSQ1:", "SSQ1:ABC", "SSQ9:", "SSD1:", "SSD9:", "SSC1:", "SSC1:A", "SSP1:",
                ],
            ),
        },
        47 => Act::OpenPast {
            session: text(dice, &["", "00", "zz"]),
        },
        48 => Act::OpenHistory {
            chip: text(dice, &["", "999000000112233"]),
        },
        49 => Act::RecordIncident {
            what: text(dice, &["bite", "fall", "?"]),
            whom: text(dice, &["dog", "handler", "measurer", "other", "?"]),
            words: text(dice, &["", "on the hand"]),
        },
        50 => Act::LeaveLook,
        51 => {
            if flag {
                Act::OpenIncident
            } else {
                Act::PrintReturn
            }
        }
        68 => {
            if flag {
                Act::OpenObjection {
                    dog: text(dice, &DOGS),
                }
            } else {
                Act::RecordObjection {
                    dog: text(dice, &DOGS),
                    words: text(dice, &["", "She was held too tight.\n\"so\""]),
                }
            }
        }
        70 => Act::SignElsewhere {
            person: text(dice, &PEOPLE),
        },
        71 => {
            if flag {
                Act::ShowCopy {
                    whole: dice.roll(2) == 0,
                }
            } else {
                Act::CarryCopies
            }
        }
        72 => Act::Battery {
            percent: dice.roll(30) as u8,
            charging: flag,
        },
        73 => {
            if flag {
                Act::AskOwner {
                    person: text(dice, &PEOPLE),
                }
            } else {
                Act::OwnPhone {
                    person: text(dice, &PEOPLE),
                }
            }
        }
        74 => match dice.roll(8) {
            0 => Act::NotOwnPhone,
            1 => Act::OwnerGone,
            2 => Act::OwnerUnlock {
                secret: vec![5; if flag { 32 } else { 7 }],
            },
            n => Act::OwnerCan { can: n > 3 },
        },
        52 => Act::OpenPractice,
        53 => Act::OpenOwn {
            person: text(dice, &PEOPLE),
        },
        54 => Act::BeginDrill {
            gauge: text(dice, &["hoop-35", "hoop-99"]),
        },
        55 => Act::DrillSaw {
            seen: PlacingSeen::DogMoved,
        },
        56 => Act::LeaveDrill,
        57 => Act::SignPractice {
            person: text(dice, &PEOPLE),
            pin: text(dice, &["4711", "0000"]),
        },
        58 => Act::TraineeWatches {
            person: text(dice, &PEOPLE),
            here: flag,
        },
        59 => Act::OpenShadow {
            person: text(dice, &PEOPLE),
        },
        60 => Act::Shadow {
            category: text(dice, &["small", "huge"]),
        },
        61 => Act::LeavePage,
        67 => {
            if flag {
                Act::OpenDogsList
            } else if dice.roll(2) == 0 {
                Act::OpenPairing
            } else {
                Act::ShareCodes
            }
        }
        69 => {
            if flag {
                Act::MeasureHereToo
            } else if dice.roll(2) == 0 {
                Act::SettleDispute {
                    dog: text(dice, &DOGS),
                    here: dice.roll(2) == 0,
                }
            } else {
                Act::MeasuredElsewhere
            }
        }
        _ => Act::Tick,
    }
}

/// What a person at the table would do next, so that the session gets somewhere.
fn sensible(t: &mut Table, dice: &mut Dice, roster: &str) {
    match t.view().screen.clone() {
        Screen::Home { home } if !home.roster => {
            t.act(Act::LoadRoster {
                text: roster.to_owned(),
            });
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
        Screen::Correct { correct } => sign_one(t, dice, correct.seats),
        Screen::Sign { sign } if dice.roll(20) == 0 => {
            let seat = sign.seats.iter().find(|s| s.way == SeatWay::Paper);
            let person = seat.map_or("bram", |s| &s.person).to_owned();
            let paper = "17".to_owned();
            t.act(Act::SignOnPaper { person, paper });
        }
        Screen::Sign { sign } => sign_one(t, dice, sign.seats),
        Screen::Unlock { unlock } => sign_one(t, dice, unlock.seats),
        Screen::SignList { sign_list } => sign_one(t, dice, sign_list.seats),
        _ => any_offer(t, dice),
    }
}

fn sign_one(t: &mut Table, dice: &mut Dice, seats: Vec<SignSeat>) {
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

fn any_offer(t: &mut Table, dice: &mut Dice) {
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

#[test]
fn random_acts_with_kills_lose_nothing_and_sign_nothing_alone() {
    let acts = setting("STANDSQUARE_MONKEY", 2_000);
    let seed = setting("STANDSQUARE_SEED", 1);
    random_acts(acts, seed);
}

#[test]
fn the_same_where_a_session_is_signed_once() {
    random_acts(setting("STANDSQUARE_MONKEY", 2_000), 2);
}

/// A kill, a tap that comes too late, anything at all, or what a person would do.
fn one_act(t: &mut Table, dice: &mut Dice, store: &mut KeyStore, roster: &str, at: &str) {
    let seen = t.view().revision;
    match dice.roll(10) {
        0 => {
            let before = t.phone().journal().head();
            t.kill_and_reopen();
            assert_eq!(t.phone().journal().head(), before, "{at}");
            t.act(Act::OwnerCan {
                can: dice.roll(4) > 0,
            });
        }
        1 => {
            // A tap on a view that is no longer there.
            let act = anything(dice);
            let of_the_world = act.is_of_the_world();
            t.act_seen(act, seen - 1);
            if !of_the_world {
                assert_eq!(t.view().revision, seen, "{at}");
            }
        }
        2..=3 => {
            let act = anything(dice);
            t.act(act);
        }
        _ => sensible(t, dice, roster),
    }
    let finger = [
        Finger::Right,
        Finger::Right,
        Finger::Right,
        Finger::Left,
        Finger::Changed,
    ];
    store.answers(t, *dice.pick(&finger).expect("one"));
}

/// Two phones found different things: whatever is done about it, before and after the closing,
/// is in one record that holds, and a real office takes in all of it.
#[test]
fn random_acts_beside_another_phone_leave_a_record_that_the_office_takes() {
    let acts = setting("STANDSQUARE_MONKEY", 2_000) / 2;
    let seed = setting("STANDSQUARE_SEED", 7);
    let mut dice = Dice(seed);
    let (mut first, mut t) = tables::two_phones();
    let mut store = KeyStore::default();
    let roster = tables::roster_of(&[&first, &t]);
    tables::pair(&mut first, &mut t);
    for dog in ["moss", "pip", "rook"] {
        tables::medium(&mut first, dog);
        tables::measured(&mut t, dog);
    }
    tables::sync(&mut first);
    t.tap("review_close");
    t.tap("close_session");
    tables::sync(&mut t);
    for n in 0..acts {
        one_act(
            &mut t,
            &mut dice,
            &mut store,
            &roster,
            &format!("seed {seed}, act {n}"),
        );
        // Now and then straight to what differs.
        let differs = t.view().offers.iter().find(|o| o.id == "differs");
        if let (Some(offer), 0) = (differs.cloned(), dice.roll(2)) {
            t.act(offer.act);
        }
        if dice.roll(60) == 0 {
            tables::sync(&mut t);
        }
    }
    tables::sync(&mut t);
    let mut check = ChainCheck::new();
    let (mut taken_up, mut settled, mut begun) = (0, 0, 0);
    for event in t.phone().journal().events().expect("reads") {
        let fed = check.feed(&event.bytes);
        fed.unwrap_or_else(|f| panic!("seed {seed}: {f}"));
        taken_up += u32::from(matches!(event.fact, Fact::SessionTakenUp { .. }));
        settled += u32::from(matches!(event.fact, Fact::SettleAsked { .. }));
        begun += u32::from(matches!(event.fact, Fact::SessionBegun { .. }));
    }
    let aside = t.office.set_aside(9).expect("a list");
    assert!(aside.is_empty(), "seed {seed}: {} set aside", aside.len());
    assert_eq!(t.office.waiting().expect("a number"), 0, "seed {seed}");
    // Unless another session was begun before.
    assert!(
        acts < 500 || settled > 0 || begun > 1,
        "seed {seed}: nothing was settled"
    );
    println!("seed {seed}: {acts} acts, {settled} settled, {taken_up} taken up");
}

fn random_acts(acts: u64, seed: u64) {
    let mut dice = Dice(seed);
    let mut t = Table::new("");
    let mut store = KeyStore::default();
    // Every third seed by rules under which each measurer makes their own placings, every
    // third by rules that have a session signed once.
    let roster = match seed % 3 {
        0 => demo::roster_with("work = \"together\"", "work = \"independently\""),
        1 => standsquare_office::demo::roster_json(),
        _ => once::roster_signed_once(),
    };
    for n in 0..acts {
        one_act(
            &mut t,
            &mut dice,
            &mut store,
            &roster,
            &format!("seed {seed}, act {n}"),
        );
        if t.effects()
            .iter()
            .any(|e| matches!(e, standsquare_session::view::Effect::AskOffice { path, .. } if path == "/v1/frames"))
            && dice.roll(2) == 0
        {
            t.office_answers();
            if dice.roll(2) == 0 {
                t.log_answers_if_asked();
            }
        }
    }
    let mut check = ChainCheck::new();
    let (mut stated, mut measured) = (0u32, 0u32);
    let mut answered = BTreeSet::new();
    let (mut before, mut by_owner) = (None, 0u32);
    for event in t.phone().journal().events().expect("reads") {
        check
            .feed(&event.bytes)
            .unwrap_or_else(|f| panic!("seed {seed}: {f}"));
        // What biometrics opened is a signature of the phone's owner.
        if let Fact::OpenedByOwner { person } = &event.fact {
            let signer = before.as_ref().and_then(Fact::key_opened_by);
            assert_eq!(
                signer,
                Some(person.as_str()),
                "seed {seed}, event {}",
                event.seq
            );
            by_owner += 1;
        }
        before = Some(event.fact.clone());
        match event.fact {
            Fact::Stated { .. } => {
                stated += 1;
                answered.clear();
            }
            Fact::Signed { person, .. }
            | Fact::Confirmed { person, .. }
            | Fact::SignedOnPaper { person, .. } => {
                answered.insert(person);
            }
            // The line is copied into the book only under two signatures, here or on paper.
            Fact::BookWritten { .. } => {
                assert_eq!(answered.len(), 2, "seed {seed}, event {}", event.seq);
                measured += 1;
            }
            _ => {}
        }
    }
    assert!(stated >= measured);
    assert!(
        acts < 1_000 || measured > 0,
        "seed {seed}: no dog came through in {acts} acts"
    );
    println!(
        "seed {seed}: {acts} acts, {} events, {measured} dogs, {by_owner} by biometrics",
        check.seq()
    );
}
