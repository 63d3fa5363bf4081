//! The chip readers: which are near, which was used last, a profile found by reading
//! one known chip, kept and used afterwards, and what happens when a reader dies.

use standsquare_reader::encode::{encode, forms};
use standsquare_session::Act;
use standsquare_session::act::{ReaderCarrier, ReaderLink};
use standsquare_session::view::{ReaderLine, ReaderTrial, ReadersScreen, Role, Screen};
use standsquare_tests::{Table, demo, readers as kit};

const KNOWN: &str = kit::KNOWN_CHIP;

fn readers(t: &Table) -> ReadersScreen {
    match &t.view().screen {
        Screen::Readers { readers } => readers.clone(),
        other => panic!("not the readers: {other:?}"),
    }
}

fn line(t: &Table, id: &str) -> ReaderLine {
    let found = readers(t).readers.into_iter().find(|r| r.id == id);
    found.unwrap_or_else(|| panic!("{id} is not listed"))
}

fn trial(t: &Table) -> ReaderTrial {
    readers(t).trial.expect("a reader is tried out")
}

fn offers(t: &Table) -> Vec<(String, Role)> {
    let offers = t.view().offers.iter();
    offers.map(|o| (o.id.clone(), o.role.clone())).collect()
}

fn opened() -> Table {
    let mut t = Table::new("");
    t.tap("open_readers");
    t
}

/// A reader near, chosen and linked.
fn linked(carrier: ReaderCarrier) -> Table {
    let mut t = opened();
    t.hears("r", "Wand", carrier, None);
    t.act(Act::ChooseReader { reader: "r".into() });
    t.link_to("r", ReaderLink::Connected);
    t
}

fn open_queue(t: &mut Table) {
    t.act(Act::LeaveReaders);
    demo::set_up(t);
    t.link_to("r", ReaderLink::Connected);
}

#[test]
fn the_list_says_which_are_near_how_they_stand_and_what_is_left_in_the_battery() {
    let mut t = opened();
    assert!(t.view().reader.look, "the radio is to look for readers");
    kit::readers_near(&mut t);
    t.act(Act::ReaderBattery {
        reader: "stick-2".into(),
        percent: 83,
    });
    let keys = |l: &ReaderLine| -> Vec<String> { l.notes.iter().map(|n| n.key.clone()).collect() };
    let stick = line(&t, "stick-2");
    assert_eq!(stick.state.key, "reader.near");
    assert_eq!(stick.battery, Some(83));
    assert_eq!(
        keys(&stick),
        ["reader.not_tried", "reader.further_off", "reader.battery"]
    );
    assert_eq!(line(&t, "wand-1").notes[1].key, "reader.close");
    assert_eq!(line(&t, "keys-3").state.key, "reader.attached");
    assert_eq!(line(&t, "keys-3").name.key, "reader.nameless");

    t.act(stick.choose.expect("it can be chosen"));
    let wanted = t.view().reader.wanted.clone().expect("wanted");
    assert_eq!(
        (wanted.reader.as_str(), wanted.carrier),
        ("stick-2", ReaderCarrier::Ble)
    );
    // The one in use comes first, and what the link does is said as it changes.
    assert_eq!(readers(&t).readers[0].id, "stick-2");
    assert!(readers(&t).trial.is_none(), "no link yet");
    for (link, key) in [
        (ReaderLink::Looking, "reader.looking"),
        (ReaderLink::Connected, "reader.connected"),
        (ReaderLink::Lost, "reader.lost"),
    ] {
        t.link_to("stick-2", link);
        assert_eq!(line(&t, "stick-2").state.key, key);
    }
    // One that is no longer heard is no longer near; the one in use stays listed.
    t.wait(20_000);
    t.act(Act::Tick);
    let ids: Vec<String> = readers(&t).readers.into_iter().map(|r| r.id).collect();
    assert_eq!(ids, ["stick-2", "keys-3"]);
}

#[test]
fn every_form_is_found_kept_and_used_for_the_dogs() {
    for form in forms() {
        // An older number has no place in a test with fifteen digits.
        if form.contains("legacy") {
            continue;
        }
        let keys = form == "wedge-15";
        let mut t = linked(if keys {
            ReaderCarrier::Keys
        } else {
            ReaderCarrier::Ble
        });
        assert_eq!(trial(&t).state.key, "trial.read_known", "{form}");
        t.scan_in(&form, KNOWN);
        assert_eq!(trial(&t).state.key, "trial.read_again", "{form}");
        assert!(
            !offers(&t).iter().any(|(id, _)| id == "keep_reader"),
            "{form}: one read is not enough"
        );
        t.scan_in(&form, KNOWN);
        assert_eq!(trial(&t).state.key, "trial.fits", "{form}");
        assert_eq!(trial(&t).number.as_deref(), Some("999 000 000 777 001"));
        t.tap("keep_reader");
        assert_eq!(t.notice(), "notice.reader_kept", "{form}");
        assert_eq!(trial(&t).state.key, "trial.ready", "{form}");
        // The phone is put away for the night.
        t.kill_and_reopen();
        assert_eq!(t.view().reader.wanted.as_ref().expect("kept").reader, "r");
        open_queue(&mut t);
        demo::to_the_chip(&mut t, "pip");
        for _ in 0..2 {
            if t.screen() == "chip" {
                t.scan_in(&form, &demo::chip_of("pip"));
            }
        }
        assert_eq!(t.screen(), "settle", "{form}: {}", t.notice());
    }
}

#[test]
fn a_bounce_is_no_second_read_of_the_known_chip() {
    let mut t = linked(ReaderCarrier::Ble);
    let bytes = encode("line-15", KNOWN).expect("a frame");
    t.act(Act::ReaderBytes {
        bytes: [bytes.clone(), bytes].concat(),
    });
    assert_eq!(trial(&t).state.key, "trial.read_again");
}

#[test]
fn the_number_said_beforehand_is_compared_by_the_phone_and_kept_at_once() {
    let mut t = linked(ReaderCarrier::Ble);
    t.act(Act::KnownChip {
        number: "99900000".into(),
    });
    assert_eq!(t.notice(), "refused.known_chip");
    t.act(Act::KnownChip {
        number: "999 000 000 777 001".into(),
    });
    t.scan_in("line-15", &demo::chip_of("pip"));
    assert_eq!(trial(&t).state.key, "trial.not_known");
    t.tap("try_reader_again");
    t.scan_in("line-15", KNOWN);
    t.scan_in("line-15", KNOWN);
    assert_eq!(t.notice(), "notice.reader_kept");
    assert_eq!(t.phone().state().readers.profile("r"), Some("line-15"));
}

/// Both bit orders of this chip are plain numbers: nobody but a person can tell.
#[test]
fn where_two_profiles_give_two_numbers_a_person_says_which() {
    let plain = "999000033554432";
    let mut t = linked(ReaderCarrier::Ble);
    let bytes = format!("{:016X}\r\n", 999u64 << 38 | 33_554_432).into_bytes();
    for _ in 0..2 {
        t.wait(3_000);
        t.act(Act::ReaderBytes {
            bytes: bytes.clone(),
        });
    }
    let unclear = trial(&t);
    assert_eq!(unclear.state.key, "trial.unclear");
    let right = unclear
        .choices
        .iter()
        .find(|c| c.number.replace(' ', "") == plain)
        .expect("the right number is among them");
    assert!(unclear.choices.len() >= 2);
    t.act(right.act.clone());
    assert_eq!(
        t.phone().state().readers.profile("r"),
        Some("line-hex16-left")
    );
}

#[test]
fn only_what_is_on_the_screen_can_be_kept() {
    let mut t = linked(ReaderCarrier::Ble);
    t.scan_in("line-15", KNOWN);
    t.scan_in("line-15", KNOWN);
    for (profile, number) in [("line-hex16", KNOWN), ("line-15", "999000000112233")] {
        t.act(Act::KeepReader {
            profile: profile.into(),
            number: number.into(),
        });
        assert_eq!(t.notice(), "refused.keep_reader");
    }
    assert!(t.phone().state().readers.paired.is_empty());
}

#[test]
fn an_unpaired_reader_of_another_form_gives_no_number_and_the_way_to_pairing() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    demo::to_the_chip(&mut t, "pip");
    let role = |t: &Table| t.offer("open_readers").role;
    assert_eq!(role(&t), Role::Quiet);
    let seq = t.view().revision;
    t.scan_in("line-15", &demo::chip_of("pip"));
    assert_eq!(t.view().revision, seq, "nothing is recorded");
    assert_eq!(t.notice(), "notice.reader_speaks_other");
    let Screen::Chip { chip } = &t.view().screen else {
        panic!("not at the chip")
    };
    assert_eq!(chip.state.key, "chip.reader_speaks_other");
    assert_eq!(role(&t), Role::Other);
    // Tried out on the spot: the dog waits at its step, and what is read meanwhile is
    // the known chip's, never the dog's.
    t.tap("open_readers");
    assert_eq!(t.view().dog.as_ref().expect("Pip").id, "pip");
    t.act(Act::Settled);
    assert_eq!(t.notice(), "refused.not_now");
    t.scan_in("line-15", KNOWN);
    t.scan_in("line-15", KNOWN);
    t.tap("keep_reader");
    t.tap("leave_readers");
    assert_eq!(t.screen(), "chip");
    let Screen::Chip { chip } = &t.view().screen else {
        panic!("not at the chip")
    };
    assert!(chip.reads.is_empty());
    t.scan_in("line-15", &demo::chip_of("pip"));
    assert_eq!(t.screen(), "chip", "without a check one read is not enough");
    t.scan_in("line-15", &demo::chip_of("pip"));
    assert_eq!(t.screen(), "settle");
}

#[test]
fn a_reader_set_to_another_form_is_noticed_though_it_was_paired() {
    let mut t = linked(ReaderCarrier::Ble);
    t.scan_in("line-15", KNOWN);
    t.scan_in("line-15", KNOWN);
    t.tap("keep_reader");
    open_queue(&mut t);
    demo::to_the_chip(&mut t, "pip");
    // A line cut between its two last bytes is no other form.
    let frame = encode("line-15", &demo::chip_of("pip")).expect("a frame");
    t.wait(3_000);
    let (most, last) = frame.split_at(frame.len() - 1);
    for bytes in [most, last] {
        t.act(Act::ReaderBytes {
            bytes: bytes.to_vec(),
        });
    }
    t.act(Act::Tick);
    assert_eq!(t.notice(), "chip.second_read");
    t.scan_in("line-hex-dotted", &demo::chip_of("pip"));
    assert_eq!(t.notice(), "notice.reader_speaks_other");
    assert_eq!(t.screen(), "chip");
}

#[test]
fn each_reader_keeps_its_own_profile() {
    let mut t = opened();
    kit::readers_near(&mut t);
    kit::pair(&mut t, "wand-1", "line-hex16-right");
    kit::readers_near(&mut t);
    kit::pair(&mut t, "stick-2", "line-15");
    t.tap("leave_readers");
    demo::set_up(&mut t);
    demo::to_the_chip(&mut t, "pip");
    // Its link breaks: the number typed off the display is there, and the first reader
    // is one choice away and needs no trial.
    t.link_to("stick-2", ReaderLink::Lost);
    t.tap("open_readers");
    t.act(Act::ChooseReader {
        reader: "wand-1".into(),
    });
    // What the old reader still says does not count for the new one.
    t.link_to("stick-2", ReaderLink::Connected);
    assert_eq!(t.view().reader.link, ReaderLink::Looking);
    t.link_to("wand-1", ReaderLink::Connected);
    assert_eq!(trial(&t).state.key, "trial.ready");
    t.scan_in("line-hex16-right", KNOWN);
    t.scan_in("line-hex16-right", KNOWN);
    assert_eq!(trial(&t).state.key, "trial.works");
    t.tap("leave_readers");
    for _ in 0..2 {
        t.scan_in("line-hex16-right", &demo::chip_of("pip"));
    }
    assert_eq!(t.screen(), "settle");
}

#[test]
fn a_reader_that_comes_back_reads_on_by_itself() {
    let mut t = linked(ReaderCarrier::Ble);
    t.scan_in("line-15", KNOWN);
    t.scan_in("line-15", KNOWN);
    t.tap("keep_reader");
    open_queue(&mut t);
    demo::to_the_chip(&mut t, "pip");
    t.link_to("r", ReaderLink::Lost);
    assert_eq!(t.notice(), "notice.reader_gone");
    let wanted = |t: &Table| t.view().reader.wanted.as_ref().map(|w| w.reader.clone());
    assert_eq!(
        wanted(&t).as_deref(),
        Some("r"),
        "the radio goes on looking"
    );
    let Screen::Chip { chip } = &t.view().screen else {
        panic!("not at the chip")
    };
    assert!(chip.may_type, "the display is one tap away");
    t.link_to("r", ReaderLink::Looking);
    t.link_to("r", ReaderLink::Connected);
    assert_eq!(t.notice(), "");
    for _ in 0..2 {
        t.scan_in("line-15", &demo::chip_of("pip"));
    }
    assert_eq!(t.screen(), "settle");
}

#[test]
fn a_wedges_leading_zeros_and_shifted_digits() {
    let mut t = linked(ReaderCarrier::Keys);
    // A country of three digits that begins with 0 (036, from ISO 3166-1).
    let zero = "036000000777001";
    for _ in 0..2 {
        t.scan_in("wedge-15", zero);
    }
    assert_eq!(trial(&t).number.as_deref(), Some("036 000 000 777 001"));
    t.tap("keep_reader");
    // Fourteen digits are damage, never padded; signs are another keyboard's digits.
    for wrong in ["36000000777001\r", "ààà000000777001\r"] {
        t.act(Act::TryReaderAgain);
        t.wait(3_000);
        t.act(Act::ReaderBytes {
            bytes: wrong.as_bytes().to_vec(),
        });
        assert_eq!(trial(&t).number, None);
        assert_eq!(trial(&t).state.key, "trial.no_form");
    }
}

#[test]
fn a_code_in_the_book_finds_the_dog_and_is_never_a_read() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    t.act(Act::BookCode {
        code: demo::chip_of("juno"),
    });
    assert_eq!(t.notice(), "notice.book_code_is");
    let found = t.offer("next_dog");
    assert_eq!(found.act, Act::CallDog { dog: "juno".into() });
    t.act(found.act);
    for step in ["papers", "handler", "chip"] {
        assert_eq!(t.screen(), step);
        let seq = t.view().revision;
        t.act(Act::BookCode {
            code: demo::chip_of("juno"),
        });
        assert_eq!(t.notice(), "notice.book_code_is_no_read");
        assert_eq!((t.view().revision, t.screen()), (seq, step.into()));
        match step {
            "papers" => t.tap("book_agrees"),
            "handler" => t.tap("handler_all_clear"),
            _ => break,
        };
    }
    for code in ["999000000888888", "not a number", ""] {
        let mut t = Table::new("");
        demo::set_up(&mut t);
        t.act(Act::BookCode { code: code.into() });
        assert!(
            ["notice.read_unknown", "refused.book_code"].contains(&t.notice()),
            "{code}: {}",
            t.notice()
        );
        assert_ne!(t.offer("next_dog").act, Act::CallDog { dog: "juno".into() });
    }
}

#[test]
fn pairing_is_killed_after_every_act_and_loses_nothing_that_was_kept() {
    let mut t = Table::new("");
    t.tap("open_readers");
    kit::readers_near(&mut t);
    kit::pair(&mut t, "stick-2", "line-15");
    t.kill_after_every_act();
    t.tap("leave_readers");
    demo::set_up(&mut t);
    demo::to_the_chip(&mut t, "pip");
    t.tap("open_readers");
    assert_eq!(t.screen(), "readers");
    t.tap("leave_readers");
    assert_eq!(t.screen(), "chip");
    assert_eq!(
        t.phone().state().readers.profile("stick-2"),
        Some("line-15")
    );
}

/// Opening the app reads one kept row and the newest session: readers paired before it
/// are in that row.
#[test]
fn what_was_paired_outlives_the_session_it_was_paired_in() {
    let mut t = linked(ReaderCarrier::Ble);
    t.scan_in("line-15", KNOWN);
    t.scan_in("line-15", KNOWN);
    t.tap("keep_reader");
    t.tap("leave_readers");
    for _ in 0..2 {
        demo::set_up(&mut t);
        t.tap("review_close");
        t.tap("close_session");
        t.tap("leave_session");
        t.kill_and_reopen();
        let readers = &t.phone().state().readers;
        assert_eq!(readers.profile("r"), Some("line-15"));
        assert_eq!(
            readers.chosen.as_ref().expect("the one used last").reader,
            "r"
        );
    }
}
