//! What is refused, and what is told: each once, so that it can be looked at.

use standsquare_session::Act;
use standsquare_session::act::{PlacingSeen, ReaderCarrier, ReaderLink, TwoKeys};

use crate::Table;
use crate::demo::{PINS, chip_of, roster_with, to_the_hoop};
use crate::enrolled;

fn say(t: &mut Table, acts: impl IntoIterator<Item = Act>) {
    for act in acts {
        t.act(act);
    }
}

fn roster() -> String {
    standsquare_office::demo::roster_json()
}

fn level(x_mdeg: i32, y_mdeg: i32) -> Act {
    Act::LevelReading { x_mdeg, y_mdeg }
}

fn hoop(id: &str, good: bool) -> Act {
    Act::HoopLooked {
        hoop: id.into(),
        good,
    }
}

fn pin(person: &str, digits: &str) -> Act {
    Act::SetPin {
        person: person.into(),
        pin: digits.into(),
    }
}

fn sign(person: &str, digits: &str) -> Act {
    Act::Sign {
        person: person.into(),
        pin: digits.into(),
    }
}

fn seat(person: &str) -> Act {
    Act::SeatMeasurer {
        person: person.into(),
    }
}

fn newcomer(name: &str, born: &str, category: &str, measured: &str) -> Act {
    Act::DescribeNewcomer {
        name: name.into(),
        born: born.into(),
        category: category.into(),
        measured: measured.into(),
    }
}

fn code(code: &str) -> Act {
    Act::BookCode { code: code.into() }
}

fn answer(question: &str, yes: bool) -> Act {
    Act::HandlerAnswer {
        question: question.into(),
        yes,
    }
}

/// Both sign, the line is written, the handler told.
fn finish(t: &mut Table) {
    t.both_sign();
    say(t, [Act::BookWritten, Act::HandlerTold]);
}

/// A day on which everything goes wrong that can be put right.
pub fn every_refusal(t: &mut Table) {
    before_the_queue(t);
    in_the_queue(t);
    at_the_table(t);
    at_the_signature(t);
    another_dog(t);
    at_the_end(t);
}

fn before_the_queue(t: &mut Table) {
    let mut too_new: serde_json::Value = serde_json::from_str(&roster()).expect("JSON");
    too_new["format"] = 99.into();
    say(t, [Act::StartSession, Act::SendReturn, code("12")]);
    t.scan(&chip_of("pip"));
    enrolled::with_trouble(t);
    for text in [
        "{}".to_owned(),
        too_new.to_string(),
        roster_with("valid_from = 2026-01-01", "valid_from = 2027-01-01"),
    ] {
        t.act(Act::LoadRoster { text });
    }
    t.act(Act::StartSession);
    t.act(Act::LoadRoster { text: roster() });
    say(
        t,
        [
            Act::OpenReaders,
            Act::ChooseReader {
                reader: "none".into(),
            },
            Act::KnownChip {
                number: "12".into(),
            },
            Act::KeepReader {
                profile: "line-15".into(),
                number: chip_of("pip"),
            },
            Act::LeaveReaders,
            Act::StartSession,
            Act::SetVenue {
                name: String::new(),
            },
            Act::SetVenue {
                name: "a place ".repeat(12),
            },
        ],
    );
    t.act(Act::SetVenue {
        name: "Hollin Field".into(),
    });
    t.act(code(&enrolled::of_another_office().text()));
    say(
        t,
        [
            Act::LoadRoster { text: roster() },
            Act::SurfaceDone,
            level(2_600, 900),
            level(2_600, 900),
            level(-2_000, -1_340),
            Act::SurfaceDone,
            Act::LevelAgain,
            level(420, -130),
            level(180, -310),
        ],
    );
    t.act(Act::SurfaceDone);
    say(
        t,
        [
            Act::HoopsDone,
            hoop("h35", false),
            hoop("h43", true),
            Act::HoopsDone,
            hoop("h35", true),
        ],
    );
    t.act(Act::HoopsDone);
    say(t, [Act::OpenQueue, seat("wren"), seat("ottoline")]);
    say(t, [pin("ottoline", "12"), pin("ottoline", "1234")]);
    say(t, [seat("bram"), Act::OpenQueue]);
    for (person, digits) in PINS {
        t.act(pin(person, digits));
    }
    t.act(seat("bram"));
    t.act(Act::OpenQueue);
    t.reader_connects();
}

fn in_the_queue(t: &mut Table) {
    say(t, [code("?"), code(&chip_of("pip"))]);
    t.act(Act::PressKey {
        key: TwoKeys::First,
    });
    t.scan(&chip_of("pip"));
    t.act(Act::CallDog {
        dog: "biscuit".into(),
    });
    t.act(code("999000000918273"));
    t.scan("999000000918273");
    t.tap("newcomer");
    say(
        t,
        [
            newcomer("", "20230517", "", ""),
            newcomer("Sorrel", "2023", "", ""),
            newcomer("Sorrel", "20990517", "", ""),
            newcomer("Sorrel", "20230517", "small", ""),
            newcomer("Sorrel", "20230517", "small", "20200101"),
            newcomer("Sorrel", "20230517", "", ""),
        ],
    );
    say(
        t,
        [
            Act::AskNotToday,
            Act::NotToday {
                reason: "nervous".into(),
            },
        ],
    );
    finish(t);
}

fn at_the_table(t: &mut Table) {
    t.act(Act::CallDog { dog: "pip".into() });
    say(t, [Act::BookDone, Act::ReviewClose, code(&chip_of("pip"))]);
    say(t, [Act::BookAgrees, Act::HandlerDone]);
    t.scan(&chip_of("pip"));
    for (question, wrong) in [("consents", false), ("pain", true), ("sedated", true)] {
        say(
            t,
            [
                answer(question, wrong),
                Act::HandlerDone,
                Act::HandlerAllClear,
            ],
        );
        if t.title() != "title.handler" {
            break;
        }
        t.act(answer(question, !wrong));
    }
    if t.title() == "title.handler" {
        t.act(Act::HandlerAllClear);
    }
    if t.title() == "title.chip" {
        t.scan(&chip_of("pip"));
    }
    t.scan(&chip_of("moss"));
    to_the_hoop(t);
    say(
        t,
        [
            Act::ChooseHoop { hoop: "h99".into() },
            Act::Place {
                hoop: "h99".into(),
                seen: PlacingSeen::BaseFlat,
            },
            Act::StepAway {
                person: "bram".into(),
            },
            Act::Place {
                hoop: "h35".into(),
                seen: PlacingSeen::BaseFlat,
            },
            Act::ComeBack {
                person: "bram".into(),
            },
            Act::PressKey {
                key: TwoKeys::First,
            },
            Act::ReaderLink {
                link: ReaderLink::Lost,
                name: String::new(),
                reader: String::new(),
            },
        ],
    );
    t.tap("dog_moved");
    t.act(Act::UndoPlacing);
    t.tap("base_flat");
}

fn at_the_signature(t: &mut Table) {
    t.act(Act::UndoPlacing);
    for _ in 0..6 {
        t.act(sign("bram", "1111"));
    }
    say(
        t,
        [
            Act::SignOnPaper {
                person: "bram".into(),
                paper: "x".into(),
            },
            sign("ottoline", PINS[0].1),
            sign("ottoline", PINS[0].1),
            Act::SignOnPaper {
                person: "bram".into(),
                paper: "17".into(),
            },
        ],
    );
    say(
        t,
        [
            Act::BookWritten,
            Act::HandlerTold,
            Act::CallDog { dog: "pip".into() },
        ],
    );
    // His tries come back with time.
    t.wait(30 * 60_000);
}

fn another_dog(t: &mut Table) {
    say(
        t,
        [
            Act::CallDog { dog: "moss".into() },
            Act::BookAgrees,
            Act::HandlerAllClear,
        ],
    );
    t.reader_connects();
    t.act(Act::ChipTyped {
        number: "12".into(),
    });
    t.act(Act::ReaderBytes {
        bytes: b"\x0299900000020451\x03".to_vec(),
    });
    t.act(Act::ReaderSeen {
        reader: "wand-1".into(),
        name: "Long wand".into(),
        carrier: ReaderCarrier::Ble,
        signal_dbm: Some(-60),
    });
    say(
        t,
        [
            Act::Park,
            Act::ReviewClose,
            Act::CloseSession,
            Act::BackToQueue,
            Act::Resume { dog: "moss".into() },
        ],
    );
    t.act(Act::ChipTyped {
        number: chip_of("moss"),
    });
    if t.title() == "title.chip" {
        t.act(Act::ChipConfirmed);
    }
    to_the_hoop(t);
    t.tap("base_flat");
    t.act(Act::Disagree {
        person: "bram".into(),
    });
    finish(t);
    // A copy for the other phone, and where it can be made again.
    say(t, [Act::CarryReturn]);
    say(t, [Act::OpenSettings, Act::LeaveLook]);
}

fn at_the_end(t: &mut Table) {
    say(t, [Act::ReviewClose, Act::CloseSession, Act::SendReturn]);
    let answer = |status, body: &[u8]| Act::OfficeAnswer {
        request: "frames-1".into(),
        status,
        body: body.to_vec(),
    };
    say(
        t,
        [
            Act::OfficeUnreachable {
                request: "frames-1".into(),
                reason: "no network".into(),
            },
            answer(503, b""),
            answer(200, &[0x82, 0x00]),
        ],
    );
    t.act(Act::SendReturn);
    t.office_answers();
    t.act(Act::SendReturn);
}
