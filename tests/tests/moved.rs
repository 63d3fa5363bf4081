//! Placings that were entered under the wrong dog: the other dog is scanned, all sign, and
//! they count for it. Nothing is forgotten, and what would conflict is refused.

use standsquare_journal::record::fact::{Correction, Fact, Putting, Seen};
use standsquare_session::Act;
use standsquare_session::view::{DogState, Screen};
use standsquare_tests::{Table, demo, once};

/// A dog up to the first placing.
fn to_the_hoop(t: &mut Table, dog: &str) {
    demo::to_the_chip(t, dog);
    t.scan(&demo::chip_of(dog));
    demo::to_the_hoop(t);
}

/// From a screen that offers it to the scan of the other dog.
fn whose(t: &mut Table) {
    t.tap("put_right");
    demo::choose(t, "move");
    assert_eq!(
        (t.screen().as_str(), t.title()),
        ("correct", "title.correct_scan")
    );
}

#[test]
fn placings_of_a_dog_not_yet_called_bring_it_to_the_table_and_the_other_waits_aside() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    to_the_hoop(&mut t, "pip");
    for _ in 0..2 {
        t.tap("base_not_flat");
        t.tap("stands_square");
    }
    whose(&mut t);
    t.scan(&demo::chip_of("moss"));
    demo::choose(&mut t, "wrong_called");
    t.both_sign();
    // Moss is at the table, its placings with it; its papers are still to be seen.
    assert_eq!(t.notice(), "notice.placings_moved");
    assert_eq!(t.screen(), "papers");
    assert_eq!(t.view().dog.as_ref().map(|d| d.id.as_str()), Some("moss"));
    t.kill_and_reopen();
    t.reader_connects();
    t.tap("book_agrees");
    t.tap("handler_all_clear");
    // Its chip was read a moment ago.
    assert_eq!(t.screen(), "settle");
    demo::to_the_hoop(&mut t);
    let Screen::Placing { placing } = &t.view().screen else {
        panic!("not the placing")
    };
    assert_eq!((placing.placings.len(), placing.valid), (2, 2));
    t.tap("base_not_flat");
    t.tap("stands_square");
    t.tap("base_flat");
    demo::sign_and_tell(&mut t);
    // Pip waits aside without a placing; it is scanned again.
    let Screen::Queue { queue } = &t.view().screen else {
        panic!("not the queue")
    };
    assert_eq!(queue.waiting[0].state, DogState::Parked);
    t.act(Act::Resume { dog: "pip".into() });
    assert_eq!(t.screen(), "chip");
    t.scan(&demo::chip_of("pip"));
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    demo::sign_and_tell(&mut t);
    let dogs = t.json()["dogs"].clone();
    let (pip, moss) = (&dogs[0], &dogs[1]);
    assert_eq!(
        (&pip["name"], &moss["name"]),
        (&"Pip".into(), &"Moss".into())
    );
    assert_eq!(moss["category"]["id"], "medium");
    assert_eq!(moss["placings"].as_array().map(Vec::len), Some(4));
    assert_eq!(pip["placings"].as_array().map(Vec::len), Some(1));
    // Both histories say it.
    assert_eq!(moss["flags"], serde_json::json!(["placings-moved-here"]));
    assert_eq!(moss["placings_from"], serde_json::json!([1]));
    assert_eq!(
        pip["flags"],
        serde_json::json!(["corrected", "placings-moved-away"])
    );
    assert_eq!(pip["placings_moved"][0]["to"], 2);
    assert_eq!(
        pip["placings_moved"][0]["placings"][1]["seen"],
        "base not flat"
    );
    demo::close_and_send(&mut t);
    assert_eq!(t.view().outbox.waiting, 0);
    t.whole();
}

#[test]
fn a_dog_that_waited_aside_is_stated_at_once_with_what_was_seen_of_it() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    // Moss waits aside after its chip; then Moss stands on the table under Pip's name.
    demo::to_the_chip(&mut t, "moss");
    t.scan(&demo::chip_of("moss"));
    t.tap("park");
    to_the_hoop(&mut t, "pip");
    t.tap("dog_moved");
    t.tap("stands_square");
    t.tap("base_flat");
    let placed: Vec<i64> = times(&t);
    whose(&mut t);
    t.scan(&demo::chip_of("moss"));
    demo::choose(&mut t, "changed_places");
    t.act(Act::Sign {
        person: "ottoline".into(),
        pin: "4711".into(),
    });
    assert_eq!(t.screen(), "correct", "one alone moves nothing");
    t.act(Act::Sign {
        person: "bram".into(),
        pin: "2580".into(),
    });
    assert_eq!(t.screen(), "sign");
    assert_eq!(t.view().dog.as_ref().map(|d| d.id.as_str()), Some("moss"));
    demo::sign_and_tell(&mut t);
    let moss = t.json()["dogs"][0].clone();
    assert_eq!(moss["name"], "Moss");
    assert_eq!(moss["category"]["id"], "small");
    // With the hoop and the time they had.
    let state = t.phone().state();
    let session = state.session.as_ref().expect("a session");
    let visit = session.visit_of("moss").expect("measured");
    let moved: Vec<i64> = visit.placings.iter().map(|(.., at)| *at).collect();
    assert_eq!(moved, placed);
    // What they signed names the placings and the dog that was scanned.
    let correction = t.whole().into_iter().find_map(|f| match f {
        Fact::CorrectionStated { correction } => Correction::decode_strict(&correction).ok(),
        _ => None,
    });
    let Some(Putting::MovePlacings {
        visit,
        dog,
        chip,
        placings,
    }) = correction.map(|c| c.what)
    else {
        panic!("no correction that moves placings")
    };
    assert_eq!((visit, dog.as_str()), (1, "Moss"));
    assert_eq!(chip, demo::chip_of("moss"));
    let seen: Vec<Seen> = placings.iter().map(|p| p.seen).collect();
    assert_eq!(seen, [Seen::Moved, Seen::Flat]);
}

fn times(t: &Table) -> Vec<i64> {
    let session = t.phone().state().session.as_ref().expect("a session");
    let visit = session.in_hand().expect("a dog");
    visit.placings.iter().map(|(.., at)| *at).collect()
}

#[test]
fn after_the_sign_off_the_signatures_fall_and_the_dog_reopens() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    to_the_hoop(&mut t, "pip");
    t.tap("base_flat");
    demo::sign_and_tell(&mut t);
    t.act(Act::AskCorrection { dog: "pip".into() });
    demo::choose(&mut t, "move");
    t.scan(&demo::chip_of("moss"));
    demo::choose(&mut t, "changed_places");
    t.both_sign();
    assert_eq!(t.json()["dogs"], serde_json::json!([]));
    t.tap("book_agrees");
    t.tap("handler_all_clear");
    assert_eq!(t.screen(), "sign", "what was seen of it decides");
    demo::sign_and_tell(&mut t);
    // Pip cannot be forgotten: the session does not close while it waits.
    t.tap("review_close");
    assert!(!t.offer("close_session").allowed);
    t.tap("back_to_queue");
    t.act(Act::Resume { dog: "pip".into() });
    t.scan(&demo::chip_of("pip"));
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    demo::sign_and_tell(&mut t);
    demo::close_and_send(&mut t);
    let facts = t.whole();
    let stated = facts.iter().filter(|f| matches!(f, Fact::Stated { .. }));
    assert_eq!(stated.count(), 3, "the first statement stays in the record");
}

#[test]
fn parked_before_its_papers_a_dog_with_placings_of_its_own_is_stated_once_it_has_settled() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    to_the_hoop(&mut t, "pip");
    t.tap("base_flat");
    whose(&mut t);
    t.scan(&demo::chip_of("moss"));
    demo::choose(&mut t, "wrong_called");
    t.both_sign();
    t.tap("park");
    t.act(Act::Resume { dog: "moss".into() });
    t.tap("book_agrees");
    t.tap("handler_all_clear");
    // It waited aside: its chip is read again.
    assert_eq!(t.screen(), "chip");
    t.scan(&demo::chip_of("moss"));
    t.tap("settled");
    assert_eq!(t.screen(), "sign");
    t.whole();
}

#[test]
fn void_placings_keep_their_reason_and_their_own_place_in_time() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    // Moss has a placing of its own, then one of its placings is entered under Pip.
    to_the_hoop(&mut t, "moss");
    t.tap("base_not_flat");
    t.tap("park");
    to_the_hoop(&mut t, "pip");
    t.tap("base_flat");
    t.tap("put_right");
    demo::choose(&mut t, "void_1");
    demo::choose(&mut t, "stance");
    t.both_sign();
    t.tap("stands_square");
    t.tap("base_not_flat");
    whose(&mut t);
    t.scan(&demo::chip_of("moss"));
    demo::choose(&mut t, "changed_places");
    t.both_sign();
    let session = t.phone().state().session.as_ref().expect("a session");
    let moss = session.in_hand().expect("Moss");
    let seen: Vec<Seen> = moss.placings.iter().map(|(_, seen, _)| *seen).collect();
    assert_eq!(seen, [Seen::NotFlat, Seen::FlatVoid, Seen::NotFlat]);
    assert_eq!(moss.voided.get(&2).map(String::as_str), Some("stance"));
    assert!(times(&t).is_sorted());
    t.whole();
}

#[test]
fn what_cannot_be_moved_is_refused_with_what_to_do() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    demo::pip(&mut t);
    // Nothing to move before a placing.
    demo::to_the_chip(&mut t, "rook");
    t.scan(&demo::chip_of("rook"));
    t.act(Act::AskCorrection { dog: "rook".into() });
    t.act(Act::ChooseCorrection {
        what: standsquare_session::act::CorrectionWhat::MovePlacings,
    });
    assert_eq!(t.notice(), "refused.not_now");
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    whose(&mut t);
    for (chip, why) in [
        // Its own chip; a dog that is signed for; a dog on no list; a measurer's own dog.
        (demo::chip_of("rook"), "refused.move_same"),
        (demo::chip_of("pip"), "refused.move_answered"),
        ("999000000918273".into(), "refused.move_unknown"),
    ] {
        t.scan(&chip);
        assert_eq!(t.notice(), why);
        assert_eq!(t.title(), "title.correct_scan", "it can be scanned again");
    }
    t.scan(&demo::chip_of("biscuit"));
    assert!(t.notice().starts_with("reason."), "{}", t.notice());
    t.tap("leave_correction");
    assert_eq!(t.screen(), "sign");
    // Nor may a person say by hand whose they are.
    whose(&mut t);
    t.act(Act::ChipTyped {
        number: demo::chip_of("moss"),
    });
    assert_eq!(t.notice(), "refused.not_now");
    t.act(Act::CorrectionReason {
        reason: "wrong_called".into(),
    });
    assert_eq!(t.notice(), "refused.not_now");
    t.whole();
}

#[test]
fn a_number_without_a_checksum_is_read_twice() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    to_the_hoop(&mut t, "pip");
    t.tap("base_flat");
    whose(&mut t);
    t.scan(&demo::chip_of("moss"));
    assert_eq!(t.title(), "title.correct_why");
    t.kill_and_reopen();
    assert_eq!(t.title(), "title.correct_why", "the read is kept");
}

#[test]
fn where_a_session_is_signed_once_what_was_moved_is_confirmed_and_listed() {
    let mut t = Table::new("");
    once::set_up_once(&mut t);
    once::dog_once(&mut t, "pip");
    t.act(Act::AskCorrection { dog: "pip".into() });
    demo::choose(&mut t, "move");
    t.scan(&demo::chip_of("rook"));
    demo::choose(&mut t, "wrong_called");
    t.both_sign();
    t.tap("book_agrees");
    t.tap("handler_all_clear");
    once::both_confirm(&mut t);
    demo::written_and_told(&mut t);
    t.act(Act::Resume { dog: "pip".into() });
    demo::stopped_as_nervous(&mut t);
    once::both_confirm(&mut t);
    demo::written_and_told(&mut t);
    once::list_signed_and_sent(&mut t);
    assert_eq!(t.view().outbox.waiting, 0);
    t.whole();
}
