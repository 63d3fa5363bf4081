//! The demo session of the Larkmere Agility League (all invented), as a person
//! would tap it. The same session is recorded in `tests/recorded` and replayed on
//! every platform.

use crate::Table;
use standsquare_session::Act;
use standsquare_session::view::Screen;

/// The two measurers' PINs.
pub const PINS: [(&str, &str); 2] = [("ottoline", "4711"), ("bram", "2580")];

/// From nothing to an open queue.
pub fn set_up(t: &mut Table) {
    set_up_with(t, standsquare_office::demo::roster_json());
}

/// The demo's roster with something else in its rule pack, for what the demo's own rules
/// do not have.
///
/// # Panics
/// If the pack does not say `before`.
pub fn roster_with(before: &str, after: &str) -> String {
    let mut roster = standsquare_office::demo::roster();
    assert!(roster.pack.contains(before), "the pack has no {before}");
    roster.pack = roster.pack.replace(before, after);
    serde_json::to_string(&roster).expect("JSON")
}

/// From nothing to an open queue, by this roster.
pub fn set_up_with(t: &mut Table, text: String) {
    set_up_by(t, text, Table::reader_connects);
}

/// From nothing to an open queue, by this roster, the reader coming in this way.
pub(crate) fn set_up_by(t: &mut Table, text: String, reader: fn(&mut Table)) {
    t.act(Act::LoadRoster { text });
    set_up_seating(t, reader, |_| {});
}

/// From a roster that is there to an open queue.
pub fn set_up_here(t: &mut Table) {
    set_up_seating(t, Table::reader_connects, |_| {});
}

/// From a roster to an open queue; `more` is done once the measurers sit.
pub(crate) fn set_up_seating(t: &mut Table, reader: fn(&mut Table), more: fn(&mut Table)) {
    t.tap("start_session");
    t.tap("set_venue");
    from_the_surface(t, reader, more);
}

/// The same from where the venue is said.
pub(crate) fn from_the_surface(t: &mut Table, reader: fn(&mut Table), more: fn(&mut Table)) {
    t.act(Act::LevelReading {
        x_mdeg: 420,
        y_mdeg: -130,
    });
    t.act(Act::LevelReading {
        x_mdeg: 180,
        y_mdeg: -310,
    });
    t.tap("surface_done");
    for hoop in ["h35", "h43"] {
        t.act(Act::HoopLooked {
            hoop: hoop.into(),
            good: true,
        });
    }
    t.tap("hoops_done");
    for (person, pin) in PINS {
        t.act(Act::SeatMeasurer {
            person: person.into(),
        });
        t.act(Act::SetPin {
            person: person.into(),
            pin: pin.into(),
        });
    }
    more(t);
    t.tap("open_queue");
    reader(t);
}

/// A routine dog up to the chip.
pub fn to_the_chip(t: &mut Table, dog: &str) {
    t.act(Act::CallDog { dog: dog.into() });
    t.tap("book_agrees");
    t.tap("handler_all_clear");
}

/// From a matching chip to the first placing.
pub fn to_the_hoop(t: &mut Table) {
    t.tap("settled");
    t.tap("stands_square");
}

/// The line is in the book, and the handler knows.
pub fn written_and_told(t: &mut Table) {
    t.tap("book_written");
    t.tap("handler_told");
}

/// Not today: the dog is too nervous.
pub fn stopped_as_nervous(t: &mut Table) {
    t.tap("not_today");
    t.act(Act::NotToday {
        reason: "nervous".into(),
    });
}

/// From the sign-off to the next dog.
pub fn sign_and_tell(t: &mut Table) {
    t.both_sign();
    written_and_told(t);
}

/// The same where one signs on paper, their PIN being out of tries.
pub fn sign_and_tell_with_paper(t: &mut Table, person: &str, paper: &str) {
    for (who, pin) in PINS.iter().filter(|(who, _)| *who != person) {
        t.act(Act::Sign {
            person: (*who).into(),
            pin: (*pin).into(),
        });
    }
    t.act(Act::SignOnPaper {
        person: person.into(),
        paper: paper.into(),
    });
    written_and_told(t);
}

/// How a number is presented to the reader.
pub type Scan = fn(&mut Table, &str);

pub(crate) fn in_pieces(t: &mut Table, chip: &str) {
    t.scan(chip);
}

/// Pip: flat on the 35 hoop at the first placing.
pub fn pip(t: &mut Table) {
    pip_with(t, in_pieces);
}

fn pip_with(t: &mut Table, scan: Scan) {
    to_the_chip(t, "pip");
    scan(t, "999000000112233");
    to_the_hoop(t);
    t.tap("base_flat");
    sign_and_tell(t);
}

/// Moss: over 35 in three valid placings, repositioned between, then flat on 43.
/// One placing counts for nothing, because the dog moved.
pub fn moss(t: &mut Table, scan: Scan) {
    to_the_chip(t, "moss");
    scan(t, &chip_of("moss"));
    to_the_hoop(t);
    t.tap("base_not_flat");
    t.tap("stands_square");
    t.tap("dog_moved");
    for _ in 0..2 {
        t.tap("stands_square");
        t.tap("base_not_flat");
    }
    t.tap("stands_square");
    t.tap("base_flat");
    sign_and_tell(t);
}

/// Juno: nervous, stopped for today before the hoop.
pub fn juno(t: &mut Table, scan: Scan) {
    to_the_chip(t, "juno");
    scan(t, &chip_of("juno"));
    stopped_as_nervous(t);
    sign_and_tell(t);
}

/// The first measurer signs; the second one's PIN is out of tries, and they sign the sheet
/// with this number.
pub(crate) fn the_second_on_paper(t: &mut Table, paper: &str) {
    let sign = |person: &str, pin: &str| Act::Sign {
        person: person.into(),
        pin: pin.into(),
    };
    t.act(sign("ottoline", "4711"));
    for _ in 0..5 {
        t.act(sign("bram", "1111"));
    }
    t.act(Act::SignOnPaper {
        person: "bram".into(),
        paper: paper.into(),
    });
}

/// The end: closed, sent, acknowledged, and in the office's log.
pub fn close_and_send(t: &mut Table) {
    close_and_post(t);
    t.log_answers();
}

/// Closed, sent and acknowledged; the office's log was not asked yet.
fn close_and_post(t: &mut Table) {
    t.tap("review_close");
    t.tap("close_session");
    t.tap("send_return");
    t.office_answers();
}

/// The chip of a dog in the demo roster.
pub fn chip_of(dog: &str) -> String {
    let roster = standsquare_office::demo::roster();
    roster
        .dogs
        .into_iter()
        .find(|d| d.id == dog)
        .map(|d| d.chip)
        .unwrap_or_else(|| panic!("no dog '{dog}' in the demo roster"))
}

/// The whole session.
pub fn whole(t: &mut Table) {
    whole_with(t, in_pieces);
}

/// The whole session, until the office has acknowledged it and its log was not asked yet.
pub fn whole_but_the_log(t: &mut Table) {
    measured_with(t, in_pieces);
    close_and_post(t);
}

/// The whole session, numbers presented in this way.
pub fn whole_with(t: &mut Table, scan: Scan) {
    measured_with(t, scan);
    close_and_send(t);
}

/// Three dogs, nothing closed yet.
fn measured_with(t: &mut Table, scan: Scan) {
    set_up(t);
    pip_with(t, scan);
    moss(t, scan);
    juno(t, scan);
}

/// A bad day: everything that is refused, and the session goes on.
pub fn refusals(t: &mut Table) {
    set_up(t);
    // Another dog's chip: the dog stops until somebody chooses.
    to_the_chip(t, "pip");
    t.scan(&chip_of("tansy"));
    t.tap("scan_again");
    // The reader vanishes half way through a number, and comes back.
    t.scan_half("999000000112233");
    t.reader_connects();
    t.scan("999000000112233");
    to_the_hoop(t);
    t.tap("base_not_flat");
    t.tap("undo_placing");
    t.tap("base_flat");
    // A wrong PIN, then the first measurer's PIN in the second one's place.
    t.act(Act::Sign {
        person: "ottoline".into(),
        pin: "1111".into(),
    });
    t.act(Act::Sign {
        person: "ottoline".into(),
        pin: "4711".into(),
    });
    t.act(Act::Sign {
        person: "bram".into(),
        pin: "4711".into(),
    });
    t.act(Act::Sign {
        person: "bram".into(),
        pin: "2580".into(),
    });
    written_and_told(t);
    // A measurer's own dog cannot be called at this table.
    t.act(Act::CallDog {
        dog: "biscuit".into(),
    });
    close_and_send(t);
}

/// A dog waits aside while another is measured; a base flat is made void by both before
/// the sign-off, a placing after it; a measurer steps away; another signs on paper, and
/// here later.
pub fn put_right(t: &mut Table) {
    put_right_with(t, in_pieces);
}

/// The same, numbers presented in this way.
pub fn put_right_with(t: &mut Table, scan: Scan) {
    set_up(t);
    // Pip waits aside after its chip; Moss is taken meanwhile.
    to_the_chip(t, "pip");
    scan(t, "999000000112233");
    t.tap("park");
    to_the_chip(t, "moss");
    scan(t, &chip_of("moss"));
    to_the_hoop(t);
    for _ in 0..3 {
        t.tap("base_not_flat");
        t.tap("stands_square");
    }
    t.tap("base_flat");
    // Moss had moved: the base flat does not count, say both.
    t.tap("put_right");
    choose(t, "void_4");
    choose(t, "moved");
    t.both_sign();
    t.tap("stands_square");
    t.tap("away_bram");
    t.tap("back_bram");
    t.tap("base_flat");
    sign_and_tell(t);
    // Pip comes back, and is scanned again.
    t.act(Act::Resume { dog: "pip".into() });
    scan(t, "999000000112233");
    to_the_hoop(t);
    t.tap("base_flat");
    t.both_sign();
    // After the sign-off: that was the wrong book. All is looked at and signed again.
    t.tap("put_right");
    choose(t, "papers");
    choose(t, "other_book");
    t.both_sign();
    t.tap("book_agrees");
    the_second_on_paper(t, "17");
    written_and_told(t);
    // The pause is over: he signs here too.
    t.wait(6 * 60 * 1000);
    t.act(Act::Resume { dog: "pip".into() });
    t.act(Act::Sign {
        person: "bram".into(),
        pin: "2580".into(),
    });
    close_and_send(t);
}

/// Taps a choice of the screen on which something is put right.
///
/// # Panics
/// If it is not there.
pub fn choose(t: &mut Table, id: &str) {
    let Screen::Correct { correct } = &t.view().screen else {
        panic!("nothing is being put right: {}", t.title())
    };
    let act = correct
        .choices
        .iter()
        .find(|c| c.id == id)
        .unwrap_or_else(|| panic!("no choice '{id}'"))
        .act
        .clone();
    t.act(act);
}

/// By rules under which each measurer makes their own placings: one dog on which both
/// agree, and one on which they do not. And a dog that a measurer may not measure.
pub fn each_their_own(t: &mut Table) {
    set_up_with(
        t,
        roster_with("work = \"together\"", "work = \"independently\""),
    );
    to_the_chip(t, "pip");
    t.scan("999000000112233");
    to_the_hoop(t);
    t.tap("base_flat");
    t.tap("take_over");
    t.tap("stands_square");
    t.tap("base_flat");
    sign_and_tell(t);
    to_the_chip(t, "moss");
    t.scan(&chip_of("moss"));
    to_the_hoop(t);
    t.tap("base_flat");
    t.tap("take_over");
    for _ in 0..3 {
        t.tap("stands_square");
        t.tap("base_not_flat");
    }
    t.tap("stands_square");
    t.tap("base_flat");
    sign_and_tell(t);
    t.act(Act::CallDog { dog: "juno".into() });
    t.tap("may_not_bram");
    sign_and_tell(t);
    close_and_send(t);
}

/// A dog that is not on the list: found by its chip, described from its book with a slip
/// on the way, and measured.
pub fn not_on_the_list(t: &mut Table) {
    const CHIP: &str = "999000000918273";
    set_up(t);
    t.scan(CHIP);
    t.tap("newcomer");
    for born in ["2023051", "20230517"] {
        t.act(Act::DescribeNewcomer {
            name: "Sorrel".into(),
            born: born.into(),
            category: "medium".into(),
            measured: "20250816".into(),
        });
    }
    t.tap("book_agrees");
    t.tap("handler_all_clear");
    t.scan(CHIP);
    to_the_hoop(t);
    t.tap("base_flat");
    sign_and_tell(t);
    close_and_send(t);
}
