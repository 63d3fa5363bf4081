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

/// From a roster to an open queue; `more` is done once the measurers sit.
fn set_up_seating(t: &mut Table, reader: fn(&mut Table), more: fn(&mut Table)) {
    t.tap("start_session");
    t.tap("set_venue");
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

/// From the sign-off to the next dog.
pub fn sign_and_tell(t: &mut Table) {
    t.both_sign();
    t.tap("book_written");
    t.tap("handler_told");
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
    t.tap("book_written");
    t.tap("handler_told");
}

/// How a number is presented to the reader.
pub type Scan = fn(&mut Table, &str);

fn in_pieces(t: &mut Table, chip: &str) {
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
    t.tap("not_today");
    t.act(Act::NotToday {
        reason: "nervous".into(),
    });
    sign_and_tell(t);
}

/// The end: closed, sent, acknowledged.
pub fn close_and_send(t: &mut Table) {
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

/// The whole session, numbers presented in this way.
pub fn whole_with(t: &mut Table, scan: Scan) {
    set_up(t);
    pip_with(t, scan);
    moss(t, scan);
    juno(t, scan);
    close_and_send(t);
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
    t.tap("book_written");
    t.tap("handler_told");
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
    t.act(Act::Sign {
        person: "ottoline".into(),
        pin: "4711".into(),
    });
    for _ in 0..5 {
        t.act(Act::Sign {
            person: "bram".into(),
            pin: "1111".into(),
        });
    }
    t.act(Act::SignOnPaper {
        person: "bram".into(),
        paper: "17".into(),
    });
    t.tap("book_written");
    t.tap("handler_told");
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

/// The demo's rules with a spread of 5 mm, heights as of a real list, and shown to these people how
/// sure a category is.
pub fn stating(shown_to: &str) -> String {
    stating_spread("5 mm", shown_to)
}

/// The same with this spread.
pub fn stating_spread(spread: &str, shown_to: &str) -> String {
    let table = format!(
        "[sureness]\nspread = \"{spread}\"\nshown_to = \"{shown_to}\"\nheights = [{{ from = \"25 cm\", \
         to = \"35 cm\", dogs = 100 }}, {{ from = \"35 cm\", to = \"43 cm\", dogs = 100 }}, \
         {{ from = \"43 cm\", to = \"60 cm\", dogs = 100 }}]\n\n[records]"
    );
    roster_with("[records]", &table)
}

/// From a roster to an open queue, with a trainee who watches.
pub fn set_up_watched(t: &mut Table) {
    set_up_seating(t, Table::reader_connects, |t| {
        t.act(Act::TraineeWatches {
            person: "wren".into(),
            here: true,
        });
    });
}

/// A drill of whoever's page is open, on the small hoop: right but for dogs a millimetre off, of which
/// `slips` are taken the wrong way.
pub fn drill(t: &mut Table, mut slips: u32) {
    t.tap("drill_hoop-35");
    while let Screen::Drill { drill } = &t.view().screen {
        let off = drill.set_to_um - 350_000;
        let slip = off.abs() <= 3_000 && slips > 0;
        slips -= u32::from(slip);
        t.tap(if (off <= 0) != slip {
            "base_flat"
        } else {
            "base_not_flat"
        });
    }
}

/// A trainee watches a session and says what they would have found; afterwards they practise with a
/// model dog until there is a chart, and a trainer signs.
pub fn practice(t: &mut Table) {
    practice_with(t, in_pieces);
}

/// The same with another way to present a chip.
pub fn practice_with(t: &mut Table, scan: Scan) {
    t.act(Act::LoadRoster {
        text: stating("handler"),
    });
    t.tap("practice");
    t.act(Act::OpenOwn {
        person: "wren".into(),
    });
    t.tap("leave_page");
    t.tap("leave_page");
    set_up_watched(t);
    to_the_chip(t, "pip");
    scan(t, "999000000112233");
    to_the_hoop(t);
    t.tap("shadow_wren");
    t.act(Act::Shadow {
        category: "medium".into(),
    });
    t.tap("base_flat");
    sign_and_tell(t);
    t.tap("review_close");
    t.tap("close_session");
    t.tap("leave_session");
    t.tap("practice");
    t.act(Act::OpenOwn {
        person: "wren".into(),
    });
    for slips in [3, 2, 3, 1, 2, 1] {
        drill(t, slips);
        for pin in ["0000", PINS[0].1] {
            t.act(Act::SignPractice {
                person: PINS[0].0.into(),
                pin: pin.into(),
            });
        }
        t.tap("leave_drill");
    }
    t.tap("leave_page");
    t.tap("leave_page");
    t.tap("send_return");
    t.office_answers();
}

/// The demo's roster with a pack that has a session signed once.
pub fn roster_signed_once() -> String {
    roster_with("sign = \"each-dog\"", "sign = \"session\"")
}

/// From nothing to an open queue, every key open.
pub fn set_up_once(t: &mut Table) {
    set_up_with(t, roster_signed_once());
    unlock(t);
}

/// Both measurers open their keys.
pub fn unlock(t: &mut Table) {
    for (person, pin) in PINS {
        t.act(Act::Unlock {
            person: person.into(),
            pin: pin.into(),
        });
    }
}

/// Both measurers confirm what is on the glass.
pub fn both_confirm(t: &mut Table) {
    for (person, _) in PINS {
        t.act(Act::Confirm {
            person: person.into(),
        });
    }
}

/// A routine dog where a session is signed once, to told.
pub fn dog_once(t: &mut Table, dog: &str) {
    to_the_chip(t, dog);
    t.scan(&chip_of(dog));
    to_the_hoop(t);
    t.tap("base_flat");
    both_confirm(t);
    t.tap("book_written");
    t.tap("handler_told");
}

/// By rules that have a session signed once: keys opened, dogs confirmed, one of them put
/// right before the list; the phone handed on; one list at the close.
pub fn signed_once(t: &mut Table) {
    set_up_once(t);
    dog_once(t, "pip");
    t.tap("lock_phone");
    unlock(t);
    to_the_chip(t, "juno");
    t.scan(&chip_of("juno"));
    t.tap("not_today");
    t.act(Act::NotToday {
        reason: "nervous".into(),
    });
    // Long enough at the side of the table for the keys to close.
    t.wait(5 * 60 * 1000);
    unlock(t);
    both_confirm(t);
    t.tap("book_written");
    t.tap("handler_told");
    // Pip's placing is made void; what it comes to then is confirmed anew.
    t.act(Act::AskCorrection { dog: "pip".into() });
    choose(t, "void_1");
    choose(t, "stance");
    t.both_sign();
    t.tap("stands_square");
    t.tap("base_flat");
    both_confirm(t);
    t.tap("book_written");
    t.tap("handler_told");
    t.tap("review_close");
    t.tap("sign_list");
    t.both_sign();
    t.tap("close_session");
    t.tap("send_return");
    t.office_answers();
}

/// By the same rules: a dog called with the keys closed; placings entered under the wrong
/// dog, which go to the one that is scanned; a list that is not signed, and signed on paper.
pub fn another_dogs(t: &mut Table) {
    set_up_with(t, roster_signed_once());
    t.act(Act::CallDog { dog: "pip".into() });
    unlock(t);
    dog_once(t, "pip");
    to_the_chip(t, "rook");
    t.scan(&chip_of("rook"));
    to_the_hoop(t);
    t.tap("base_flat");
    t.tap("put_right");
    choose(t, "move");
    // Its own chip, a dog that is answered for, one on no list; then the one that it was.
    for chip in [
        chip_of("rook"),
        chip_of("pip"),
        "999000000918273".to_owned(),
        chip_of("moss"),
    ] {
        t.scan(&chip);
    }
    choose(t, "changed_places");
    t.both_sign();
    t.tap("book_agrees");
    t.tap("handler_all_clear");
    both_confirm(t);
    t.tap("book_written");
    t.tap("handler_told");
    t.act(Act::Resume { dog: "rook".into() });
    t.tap("not_today");
    t.act(Act::NotToday {
        reason: "nervous".into(),
    });
    both_confirm(t);
    t.tap("book_written");
    t.tap("handler_told");
    t.tap("review_close");
    t.act(Act::CloseSession);
    t.tap("sign_list");
    t.act(Act::Sign {
        person: "ottoline".into(),
        pin: "4711".into(),
    });
    for _ in 0..5 {
        t.act(Act::Sign {
            person: "bram".into(),
            pin: "1111".into(),
        });
    }
    t.act(Act::SignOnPaper {
        person: "bram".into(),
        paper: "18".into(),
    });
    t.tap("close_session");
    t.tap("send_return");
    t.office_answers();
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
