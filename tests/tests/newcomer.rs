//! A dog that is not on the list is taken by scanning it, and described from its book.

use standsquare_journal::record::ChainCheck;
use standsquare_session::Act;
use standsquare_session::view::Screen;
use standsquare_tests::{Table, demo};

/// A number of the demo's own kind that no dog on the list has.
const CHIP: &str = "999000000918273";

fn at_queue() -> Table {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    t
}

fn describe(t: &mut Table, name: &str, born: &str, category: &str, measured: &str) {
    t.act(Act::DescribeNewcomer {
        name: name.into(),
        born: born.into(),
        category: category.into(),
        measured: measured.into(),
    });
}

#[test]
fn a_dog_on_the_list_is_found_by_scanning_it() {
    let mut t = at_queue();
    t.scan(&demo::chip_of("tansy"));
    assert_eq!(t.notice(), "notice.read_is");
    assert_eq!(
        t.offer("next_dog").act,
        Act::CallDog {
            dog: "tansy".into()
        }
    );
    t.tap("next_dog");
    assert_eq!(t.screen(), "papers");
    // That read found the dog; it does not count as the read beside the book.
    t.tap("book_agrees");
    t.tap("handler_all_clear");
    assert_eq!(t.screen(), "chip");
}

#[test]
fn a_dog_that_is_not_on_the_list_is_taken_in_two_taps_and_measured() {
    let mut t = at_queue();
    // Nothing read: nobody is taken.
    t.act(Act::CallNewcomer { chip: CHIP.into() });
    assert_eq!(t.notice(), "refused.not_now");
    t.scan(CHIP);
    let Screen::Queue { queue } = &t.view().screen else {
        panic!("not the queue")
    };
    assert_eq!(queue.new_chip.as_deref(), Some("999 000 000 918 273"));
    t.tap("newcomer");
    assert_eq!(t.screen(), "newcomer");
    describe(&mut t, " Sorrel ", "20230517", "", "");
    assert_eq!(t.screen(), "papers");
    assert_eq!(
        t.view().dog.as_ref().map(|d| d.name.as_str()),
        Some("Sorrel")
    );
    t.kill_and_reopen();
    assert_eq!(t.screen(), "papers");
    t.reader_connects();
    t.tap("book_agrees");
    t.tap("handler_all_clear");
    t.scan(CHIP);
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    demo::sign_and_tell(&mut t);
    let dog = t.json()["dogs"][0].clone();
    assert_eq!(
        (dog["name"].as_str(), dog["chip"].as_str()),
        (Some("Sorrel"), Some(CHIP))
    );
    assert_eq!(dog["category"]["id"], "small");
    assert_eq!(dog["measure"], 1);
    assert!(dog["flags"].to_string().contains("not-on-list"));
    // Scanned again, it is known: not taken twice.
    t.scan(CHIP);
    assert!(!t.view().offers.iter().any(|o| o.id == "newcomer"));
    demo::close_and_send(&mut t);
    assert_eq!(t.view().outbox.waiting, 0);
    let mut check = ChainCheck::new();
    for event in t.phone().journal().events().expect("reads") {
        check.feed(&event.bytes).expect("holds");
    }
}

#[test]
fn an_earlier_measure_in_the_book_makes_it_the_second() {
    let mut t = at_queue();
    t.scan(CHIP);
    t.tap("newcomer");
    describe(&mut t, "Sorrel", "2023-05-17", "medium", "2025-08-16");
    t.tap("book_agrees");
    let measure = t.view().dog.as_ref().and_then(|d| d.measure.clone());
    assert_eq!(measure.map(|m| m.key).as_deref(), Some("measure.second"));
}

#[test]
fn what_cannot_be_is_said_and_nothing_is_lost() {
    let mut t = at_queue();
    t.scan(CHIP);
    t.tap("newcomer");
    for (name, born, category, measured, why) in [
        ("", "20230517", "", "", "refused.newcomer_name"),
        ("Sorrel", "2023051", "", "", "refused.day_typed"),
        ("Sorrel", "20230230", "", "", "refused.day_typed"),
        ("Sorrel", "20290517", "", "", "refused.day_to_come"),
        ("Sorrel", "20230517", "small", "", "refused.measure_half"),
        ("Sorrel", "20230517", "", "20250816", "refused.measure_half"),
        (
            "Sorrel",
            "20230517",
            "huge",
            "20250816",
            "refused.measure_half",
        ),
        (
            "Sorrel",
            "20230517",
            "small",
            "20200816",
            "refused.measured_unborn",
        ),
        // Six months old: the rules say from fifteen.
        ("Sorrel", "20260517", "", "", "reason.too-young"),
    ] {
        describe(&mut t, name, born, category, measured);
        assert_eq!((t.screen().as_str(), t.notice()), ("newcomer", why));
    }
    // It can be stopped without a name: its chip names it.
    t.tap("not_today");
    t.act(Act::NotToday {
        reason: "papers".into(),
    });
    demo::sign_and_tell(&mut t);
    assert_eq!(t.json()["dogs"][0]["name"], "999 000 000 918 273");
}
