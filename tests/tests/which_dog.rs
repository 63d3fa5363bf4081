//! Which dog is it: the chip at the table, right, wrong, half read, typed or not there.

use standsquare_session::Act;
use standsquare_session::view::Screen;
use standsquare_tests::{Table, demo};

fn at_queue() -> Table {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    assert_eq!(t.screen(), "queue");
    t
}

#[test]
fn a_chip_that_is_not_the_books_stops_the_dog_with_a_choice() {
    let mut t = at_queue();
    demo::to_the_chip(&mut t, "pip");
    t.scan(&demo::chip_of("tansy"));
    assert_eq!(
        (t.screen().as_str(), t.notice()),
        ("chip", "notice.chip_differs")
    );
    let Screen::Chip { chip } = &t.view().screen else {
        panic!("not at the chip")
    };
    assert_eq!(chip.state.key, "chip.different");
    assert!(chip.compare.is_some());
    // No way on but scanning again or stopping: settling is refused.
    let offers: Vec<_> = t.view().offers.iter().map(|o| o.id.clone()).collect();
    assert_eq!(offers, ["scan_again", "not_today", "park", "incident"]);
    t.act(Act::Settled);
    assert_eq!(
        (t.screen().as_str(), t.notice()),
        ("chip", "refused.not_now")
    );
    // Stopped for it, both sign, and the office is told.
    t.tap("not_today");
    t.act(Act::NotToday {
        reason: "chip".into(),
    });
    demo::sign_and_tell(&mut t);
    let json: serde_json::Value = serde_json::from_str(&t.phone().session_json()).expect("JSON");
    assert_eq!(json["dogs"][0]["chip_proof"], "different");
    assert_eq!(json["dogs"][0]["flags"][0], "chip-differs");
}

#[test]
fn one_digit_off_is_shown_side_by_side_and_goes_on_flagged() {
    let mut t = at_queue();
    demo::to_the_chip(&mut t, "pip");
    t.scan("999000000112238");
    let Screen::Chip { chip } = &t.view().screen else {
        panic!("not at the chip")
    };
    assert_eq!(
        chip.compare.as_ref().expect("both numbers").differs_at,
        [14]
    );
    t.tap("chip_mis_keyed");
    assert_eq!(t.screen(), "settle");
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    t.both_sign();
    let json: serde_json::Value = serde_json::from_str(&t.phone().session_json()).expect("JSON");
    assert_eq!(json["dogs"][0]["flags"][0], "chip-mis-keyed");
    assert_eq!(json["dogs"][0]["chip_read"], "999000000112238");
}

#[test]
fn two_chips_in_one_dog_are_both_kept_and_go_on_only_if_one_is_the_books() {
    let mut t = at_queue();
    demo::to_the_chip(&mut t, "pip");
    t.scan("999000000888888");
    t.scan("999000000777777");
    let offered = |t: &Table| t.view().offers.iter().any(|o| o.id == "chip_two");
    assert!(!offered(&t), "neither is the book's");
    t.act(Act::ChipConfirmed);
    assert_eq!(t.notice(), "refused.not_now");
    t.tap("scan_again");
    t.scan("999000000888888");
    t.scan("999000000112233");
    assert!(offered(&t));
    t.tap("chip_two");
    assert_eq!(t.screen(), "settle");
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    t.both_sign();
    let json: serde_json::Value = serde_json::from_str(&t.phone().session_json()).expect("JSON");
    assert_eq!(json["dogs"][0]["flags"][0], "chip-two");
    assert_eq!(json["dogs"][0]["chip_read"], "999000000888888");
}

#[test]
fn a_reader_that_vanishes_half_way_through_a_number_gives_no_number() {
    let mut t = at_queue();
    demo::to_the_chip(&mut t, "pip");
    t.scan_half("999000000112233");
    assert_eq!(
        (t.screen().as_str(), t.notice()),
        ("chip", "read.truncated")
    );
    t.reader_connects();
    t.scan("999000000112233");
    assert_eq!(t.screen(), "settle");
}

#[test]
fn a_number_off_the_readers_display_counts_and_is_flagged() {
    let mut t = at_queue();
    demo::to_the_chip(&mut t, "pip");
    t.act(Act::ChipTyped {
        number: "99900000011223".into(),
    });
    assert_eq!(t.notice(), "refused.chip_typed");
    t.act(Act::ChipTyped {
        number: "999 000 000 112 233".into(),
    });
    assert_eq!(t.screen(), "settle");
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    t.both_sign();
    let json: serde_json::Value = serde_json::from_str(&t.phone().session_json()).expect("JSON");
    assert_eq!(json["dogs"][0]["flags"][0], "chip-typed");
}

#[test]
fn no_chip_takes_more_than_one_pass_and_then_this_pack_stops_the_dog() {
    let mut t = at_queue();
    demo::to_the_chip(&mut t, "pip");
    t.tap("pass_done");
    assert_eq!(t.screen(), "chip");
    t.tap("pass_done");
    let offer = t.offer("no_chip");
    assert!(!offer.allowed);
    assert_eq!(offer.why_not.expect("a reason").key, "refused.no_chip");
    // The chip is found after all.
    t.scan("999000000112233");
    assert_eq!(t.screen(), "settle");
}
