//! What was entered wrongly is put right by all measurers together, with a reason, and
//! nothing of it is forgotten. Dogs wait aside; a measurer steps away; a PIN is out of
//! tries and paper is signed instead.

use standsquare_journal::record::fact::Fact;
use standsquare_session::Act;
use standsquare_session::view::{DogState, Screen, SeatWay};
use standsquare_tests::{Table, demo};

fn at_queue() -> Table {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    t
}

fn pip_at_sign() -> Table {
    let mut t = at_queue();
    demo::to_the_chip(&mut t, "pip");
    t.scan("999000000112233");
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    t
}

fn sign(t: &mut Table, person: &str, pin: &str) {
    t.act(Act::Sign {
        person: person.into(),
        pin: pin.into(),
    });
}

#[test]
fn nobody_discards_a_base_flat_alone() {
    let mut t = pip_at_sign();
    t.act(Act::UndoPlacing);
    assert_eq!(
        (t.screen().as_str(), t.notice()),
        ("sign", "refused.flat_needs_both")
    );
    assert!(!t.view().offers.iter().any(|o| o.id == "undo_placing"));
    t.tap("put_right");
    demo::choose(&mut t, "void_1");
    demo::choose(&mut t, "stance");
    sign(&mut t, "ottoline", "4711");
    // One of the two is not enough, not even signing twice, and neither can take it back.
    sign(&mut t, "ottoline", "4711");
    assert_eq!(
        (t.screen().as_str(), t.notice()),
        ("correct", "refused.signed_already")
    );
    t.act(Act::LeaveCorrection);
    assert_eq!(t.screen(), "correct");
    sign(&mut t, "bram", "2580");
    assert_eq!(t.screen(), "stance");
    t.tap("stands_square");
    let Screen::Placing { placing } = &t.view().screen else {
        panic!("not the placing")
    };
    assert_eq!((placing.placings.len(), placing.valid), (1, 0));
    assert!(!placing.placings[0].counts);
    t.tap("base_flat");
    t.both_sign();
    let dog = &t.json()["dogs"][0];
    assert_eq!(dog["placings"][0]["seen"], "base flat, made void");
    assert_eq!(dog["placings"][1]["seen"], "base flat");
    assert_eq!(dog["flags"][0], "corrected");
    t.whole();
}

#[test]
fn a_pin_out_of_tries_holds_nobody_at_a_half_signed_correction() {
    let mut t = pip_at_sign();
    t.tap("put_right");
    demo::choose(&mut t, "void_1");
    demo::choose(&mut t, "moved");
    sign(&mut t, "ottoline", "4711");
    assert!(!t.view().offers.iter().any(|o| o.id == "leave_correction"));
    for _ in 0..5 {
        sign(&mut t, "bram", "1111");
    }
    t.tap("leave_correction");
    assert_eq!(t.screen(), "sign");
    // The base flat stands as it was: one signature makes nothing void.
    demo::sign_and_tell_with_paper(&mut t, "bram", "17");
    let dog = &t.json()["dogs"][0];
    assert_eq!(dog["placings"][0]["seen"], "base flat");
    assert!(!dog["flags"].to_string().contains("corrected"));
    demo::close_and_send(&mut t);
    t.whole();
}

#[test]
fn after_the_sign_off_a_correction_takes_both_and_the_old_signatures_fall() {
    let mut t = pip_at_sign();
    demo::sign_and_tell(&mut t);
    let Screen::Queue { queue } = &t.view().screen else {
        panic!("not the queue")
    };
    let act = queue.done[0].put_right.clone().expect("can be put right");
    t.act(act);
    // Looked at and left: the dog is done as it was.
    t.tap("leave_correction");
    assert_eq!(t.screen(), "queue");
    t.act(Act::AskCorrection { dog: "pip".into() });
    demo::choose(&mut t, "void_1");
    demo::choose(&mut t, "gauge");
    t.both_sign();
    assert_eq!(t.screen(), "stance");
    assert_eq!(t.json()["dogs"].as_array().map(Vec::len), Some(0));
    t.tap("stands_square");
    t.tap("base_not_flat");
    for _ in 0..2 {
        t.tap("stands_square");
        t.tap("base_not_flat");
    }
    t.tap("stands_square");
    t.tap("base_flat");
    demo::sign_and_tell(&mut t);
    let dog = &t.json()["dogs"][0];
    assert_eq!(dog["category"]["id"], "medium");
    let facts = t.whole();
    let stated = facts.iter().filter(|f| matches!(f, Fact::Stated { .. }));
    assert_eq!(stated.count(), 2, "the first statement stays in the record");
    demo::close_and_send(&mut t);
    assert_eq!(t.view().outbox.waiting, 0);
}

#[test]
fn the_book_is_looked_at_again_and_what_it_comes_to_is_stated_anew() {
    let mut t = pip_at_sign();
    t.both_sign();
    t.tap("put_right");
    demo::choose(&mut t, "papers");
    demo::choose(&mut t, "misread");
    t.both_sign();
    assert_eq!(t.screen(), "papers");
    t.tap("book_agrees");
    assert_eq!(t.screen(), "sign", "the placings stand");
    t.both_sign();
    assert_eq!(t.screen(), "book_line");
    t.whole();
}

#[test]
fn a_dog_waits_aside_and_is_scanned_again_when_it_comes_back() {
    let mut t = at_queue();
    demo::to_the_chip(&mut t, "pip");
    t.scan("999000000112233");
    assert_eq!(t.screen(), "settle");
    t.tap("park");
    let Screen::Queue { queue } = &t.view().screen else {
        panic!("not the queue")
    };
    assert_eq!(
        (queue.waiting[0].id.as_str(), &queue.waiting[0].state),
        ("pip", &DogState::Parked)
    );
    assert_eq!(queue.waiting[0].note, None);
    // The next dog is one that has not been called yet.
    assert_ne!(t.offer("next_dog").act, Act::Resume { dog: "pip".into() });
    t.tap("review_close");
    assert!(!t.offer("close_session").allowed);
    t.act(Act::CloseSession);
    assert_eq!(t.notice(), "refused.dogs_aside");
    t.tap("back_to_queue");
    t.kill_and_reopen();
    t.act(Act::Resume { dog: "pip".into() });
    assert_eq!(t.screen(), "chip", "it could be another dog by now");
    t.reader_connects();
    t.scan(&demo::chip_of("tansy"));
    assert_eq!(t.notice(), "notice.chip_differs");
    t.tap("scan_again");
    t.scan("999000000112233");
    assert_eq!(t.screen(), "settle");
}

#[test]
fn nothing_is_placed_while_a_measurer_is_away() {
    let mut t = at_queue();
    demo::to_the_chip(&mut t, "pip");
    t.scan("999000000112233");
    demo::to_the_hoop(&mut t);
    t.tap("away_bram");
    assert!(!t.offer("base_flat").allowed);
    t.act(Act::Place {
        hoop: "h35".into(),
        seen: standsquare_session::act::PlacingSeen::BaseFlat,
    });
    assert_eq!(t.notice(), "refused.measurer_away");
    t.tap("back_bram");
    t.tap("base_flat");
    assert_eq!(t.screen(), "sign");
    // Leaving and coming back are in the record, with their times.
    let away: Vec<bool> = t
        .whole()
        .iter()
        .filter_map(|f| match f {
            Fact::SteppedAway { away, .. } => Some(*away),
            _ => None,
        })
        .collect();
    assert_eq!(away, [true, false]);
}

#[test]
fn a_pin_out_of_tries_is_signed_on_paper_and_awaited() {
    let mut t = pip_at_sign();
    sign(&mut t, "ottoline", "4711");
    let paper = |number: &str| Act::SignOnPaper {
        person: "bram".into(),
        paper: number.into(),
    };
    // Not while there are tries left.
    t.act(paper("17"));
    assert_eq!(t.notice(), "refused.not_now");
    for _ in 0..5 {
        sign(&mut t, "bram", "1111");
    }
    let Screen::Sign { sign: screen } = &t.view().screen else {
        panic!("not the sign-off")
    };
    let ways: Vec<_> = screen.seats.iter().map(|s| s.way.clone()).collect();
    assert_eq!(ways, [SeatWay::Nothing, SeatWay::Paper]);
    t.act(paper("seventeen"));
    assert_eq!(t.notice(), "refused.paper_number");
    t.act(paper("17"));
    assert_eq!(t.screen(), "book_line");
    t.tap("book_written");
    t.tap("handler_told");
    let Screen::Queue { queue } = &t.view().screen else {
        panic!("not the queue")
    };
    assert_eq!(queue.done[0].state, DogState::Awaiting);
    let dog = t.json()["dogs"][0].clone();
    assert_eq!(dog["signed_by"], serde_json::json!(["Ottoline Marsh"]));
    assert_eq!(dog["on_paper"][0]["paper"], "17");
    assert_eq!(dog["flags"][0], "awaiting-signature");
    assert!(t.phone().return_csv().contains("Bram Tolley (on paper 17)"));
    // Taken up, and put off again: nothing is lost.
    t.act(Act::Resume { dog: "pip".into() });
    assert_eq!(t.screen(), "sign");
    t.tap("sign_later");
    assert_eq!(t.screen(), "queue");
    t.wait(6 * 60 * 1000);
    t.act(Act::Resume { dog: "pip".into() });
    sign(&mut t, "bram", "2580");
    assert_eq!(t.screen(), "queue");
    let dog = &t.json()["dogs"][0];
    assert_eq!(dog["signed_by"].as_array().map(Vec::len), Some(2));
    assert!(dog.get("on_paper").is_none());
    assert_eq!(dog["flags"], serde_json::json!([]));
    t.whole();
}

#[test]
fn a_dog_awaiting_a_signature_is_in_the_return_and_says_so() {
    let mut t = pip_at_sign();
    for _ in 0..5 {
        sign(&mut t, "bram", "1111");
    }
    t.act(Act::SignOnPaper {
        person: "bram".into(),
        paper: "17".into(),
    });
    sign(&mut t, "ottoline", "4711");
    t.tap("book_written");
    t.tap("handler_told");
    demo::close_and_send(&mut t);
    let Screen::Return { sent } = &t.view().screen else {
        panic!("not the return")
    };
    let flags: Vec<&str> = sent.rows[0].flags.iter().map(|f| f.key.as_str()).collect();
    assert_eq!(flags, ["flag.awaiting-signature"]);
}

#[test]
fn killed_after_every_act_a_correction_goes_on_at_the_same_step() {
    let mut whole_one = Table::new("");
    demo::put_right(&mut whole_one);
    let mut killed = Table::new("");
    killed.kill_after_every_act();
    demo::put_right_with(&mut killed, |t, chip| {
        t.scan_at_once(chip);
    });
    assert_eq!(killed.json()["dogs"], whole_one.json()["dogs"]);
}

/// What somebody has put their name to on paper is no longer taken back by one tap, any more than what
/// was signed here.
#[test]
fn what_was_signed_on_paper_is_put_right_and_not_undone() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    demo::to_the_chip(&mut t, "moss");
    t.scan(&demo::chip_of("moss"));
    demo::to_the_hoop(&mut t);
    // Over every hoop there is: the last placing can be taken back by whoever made it.
    for _ in 0..20 {
        match t.screen().as_str() {
            "stance" => t.tap("stands_square"),
            "placing" => t.tap("base_not_flat"),
            _ => break,
        };
    }
    assert_eq!(t.screen(), "sign");
    assert!(t.view().offers.iter().any(|o| o.id == "undo_placing"));
    for _ in 0..5 {
        sign(&mut t, "ottoline", "1111");
    }
    t.act(Act::SignOnPaper {
        person: "ottoline".into(),
        paper: "18".into(),
    });
    assert!(!t.view().offers.iter().any(|o| o.id == "undo_placing"));
    t.act(Act::UndoPlacing);
    assert_eq!(
        (t.screen().as_str(), t.notice()),
        ("sign", "refused.not_now")
    );
    t.act(Act::Disagree {
        person: "bram".into(),
    });
    assert_eq!(t.notice(), "refused.not_now");
    assert!(t.view().offers.iter().any(|o| o.id == "put_right"));
    t.whole();
}
