//! Acts that no screen offers, and input of every kind.

use standsquare_session::Act;
use standsquare_session::act::{
    BookState, CorrectionWhat, PlacingSeen, ReaderCarrier, ReaderLink, TwoKeys,
};

use crate::dice::Dice;

/// Dogs of the demo, and one that is none.
pub const DOGS: [&str; 7] = ["pip", "moss", "juno", "biscuit", "tansy", "rook", "nobody"];
const PEOPLE: [&str; 4] = ["ottoline", "bram", "wren", "nobody"];

/// Acts that a screen would never offer here, and input of every kind.
pub fn anything(dice: &mut Dice) -> Act {
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
        45 if flag => Act::OpenSlipCheck,
        45 => Act::OpenSettings,
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
        51 if flag => Act::OpenIncident,
        51 => Act::PrintReturn,
        68 if flag => Act::OpenObjection {
            dog: text(dice, &DOGS),
        },
        68 => Act::RecordObjection {
            dog: text(dice, &DOGS),
            words: text(dice, &["", "She was held too tight.\n\"so\""]),
        },
        70 => Act::SignElsewhere {
            person: text(dice, &PEOPLE),
        },
        71 if flag => Act::ShowCopy {
            whole: dice.roll(2) == 0,
        },
        71 => Act::CarryCopies,
        72 => Act::Battery {
            percent: dice.roll(30) as u8,
            charging: flag,
        },
        73 if flag => Act::AskOwner {
            person: text(dice, &PEOPLE),
        },
        73 => Act::OwnPhone {
            person: text(dice, &PEOPLE),
        },
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
