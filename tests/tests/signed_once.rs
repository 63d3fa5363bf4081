//! A session that is signed once: keys opened by PIN at the start, after idling and after
//! handing over; each dog confirmed by a tap; one list signed at the close.

use standsquare_journal::record::fact::{Fact, List, Statement};
use standsquare_journal::record::statement_hash;
use standsquare_office::dossier::verify_dossier;
use standsquare_session::Act;
use standsquare_session::view::{DogState, Screen, SeatAsks, SeatWay, SignSeat};
use standsquare_tests::{Table, demo, once};

fn unlock(t: &mut Table, person: &str, pin: &str) {
    t.act(Act::Unlock {
        person: person.into(),
        pin: pin.into(),
    });
}

fn confirm(t: &mut Table, person: &str) {
    t.act(Act::Confirm {
        person: person.into(),
    });
}

fn sign(t: &mut Table, person: &str, pin: &str) {
    t.act(Act::Sign {
        person: person.into(),
        pin: pin.into(),
    });
}

fn seats(t: &Table) -> Vec<SignSeat> {
    match &t.view().screen {
        Screen::Sign { sign } => sign.seats.clone(),
        Screen::Unlock { unlock } => unlock.seats.clone(),
        Screen::SignList { sign_list } => sign_list.seats.clone(),
        _ => panic!("nobody is asked on {}", t.title()),
    }
}

fn asks(t: &Table) -> Vec<SeatAsks> {
    seats(t).into_iter().map(|s| s.asks).collect()
}

fn pip_to_the_statement(t: &mut Table) {
    demo::to_the_chip(t, "pip");
    t.scan("999000000112233");
    demo::to_the_hoop(t);
    t.tap("base_flat");
    assert_eq!(t.screen(), "sign");
}

fn done_state(t: &Table) -> DogState {
    let Screen::Queue { queue } = &t.view().screen else {
        panic!("not the queue")
    };
    queue.done[0].state.clone()
}

#[test]
fn no_dog_is_called_before_every_key_is_open() {
    let mut t = Table::new("");
    demo::set_up_with(&mut t, once::roster_signed_once());
    assert_eq!(t.screen(), "unlock");
    t.act(Act::CallDog { dog: "pip".into() });
    assert_eq!(t.notice(), "refused.unlock_first");
    unlock(&mut t, "ottoline", "2580");
    assert_eq!(t.notice(), "refused.pin_wrong");
    unlock(&mut t, "ottoline", "4711");
    assert_eq!(t.screen(), "unlock");
    t.kill_and_reopen();
    assert!(seats(&t)[0].signed && !seats(&t)[1].signed);
    unlock(&mut t, "bram", "2580");
    assert_eq!(t.screen(), "queue");
    // Nobody else has a place here.
    unlock(&mut t, "wren", "4711");
    assert_eq!(t.notice(), "refused.not_now");
    t.whole();
}

#[test]
fn a_tap_confirms_what_was_shown_and_the_list_signs_it() {
    let mut t = Table::new("");
    once::set_up_once(&mut t);
    pip_to_the_statement(&mut t);
    assert_eq!(asks(&t), [SeatAsks::Confirm, SeatAsks::Confirm]);
    // A PIN signs nothing here: that is for the list.
    sign(&mut t, "ottoline", "4711");
    assert_eq!(t.notice(), "refused.not_now");
    confirm(&mut t, "ottoline");
    confirm(&mut t, "ottoline");
    assert_eq!(
        (t.screen().as_str(), t.notice()),
        ("sign", "refused.signed_already")
    );
    // Once somebody has confirmed, a tap on another button does not undo it.
    t.act(Act::AskNotToday);
    t.act(Act::Disagree {
        person: "bram".into(),
    });
    assert_eq!(t.notice(), "refused.not_now");
    confirm(&mut t, "bram");
    assert_eq!(t.screen(), "book_line");
    demo::written_and_told(&mut t);
    assert_eq!(done_state(&t), DogState::Confirmed);
    assert_eq!(t.view().outbox.waiting, 0, "nothing is signed yet");
    let dog = t.json()["dogs"][0].clone();
    assert_eq!(dog["flags"], serde_json::json!(["list-not-signed"]));
    assert_eq!(dog["signed_by"], serde_json::json!([]));
    assert_eq!(
        dog["confirmed_by"],
        serde_json::json!(["Ottoline Marsh", "Bram Tolley"])
    );
    t.tap("review_close");
    // Not closed without the list.
    t.act(Act::CloseSession);
    assert_eq!(t.notice(), "refused.list_unsigned");
    t.tap("sign_list");
    assert_eq!(t.screen(), "sign_list");
    sign(&mut t, "ottoline", "4711");
    // Left half signed: her signature stands, and the list that follows is his.
    t.tap("leave_list");
    t.act(Act::CloseSession);
    assert_eq!(t.notice(), "refused.list_unsigned");
    t.tap("sign_list");
    assert_eq!(seats(&t).len(), 1);
    sign(&mut t, "bram", "2580");
    assert_eq!(t.screen(), "close");
    assert_eq!(t.view().outbox.waiting, 1);
    let dog = &t.json()["dogs"][0];
    assert_eq!(dog["flags"], serde_json::json!([]));
    assert_eq!(dog["signed_by"].as_array().map(Vec::len), Some(2));
    assert!(dog.get("confirmed_by").is_none());
    t.tap("close_session");
    t.tap("send_return");
    t.office_answers();
    assert_eq!(t.view().outbox.waiting, 0);
    // What each signed names the very statement that was put up.
    let facts = t.whole();
    let stated = facts.iter().find_map(|f| match f {
        Fact::Stated { statement } => Some(statement.clone()),
        _ => None,
    });
    let stated = stated.expect("a statement");
    let lists = facts.iter().filter_map(|f| match f {
        Fact::ListStated { list } => Some(List::decode_strict(list).expect("a list")),
        _ => None,
    });
    for list in lists {
        assert_eq!(*list.dogs[0].statement, statement_hash(&stated));
        let read = Statement::decode_strict(&stated).expect("a statement");
        assert_eq!(list.dogs[0].outcome, read.outcome);
    }
}

#[test]
fn the_office_counts_the_list_as_everybodys_signature_and_proves_it_without_its_tables() {
    let mut t = Table::new("");
    once::signed_once(&mut t);
    t.office.extend_log().expect("logged");
    for chip in [demo::chip_of("pip"), demo::chip_of("juno")] {
        let text = t.office.dossier(&chip, 9).expect("asked").expect("there");
        let proven = verify_dossier(&text, &t.office.public_key()).expect("it verifies");
        let [(statement, signed)] = proven.measures.as_slice() else {
            panic!("one measure: {:?}", proven.measures)
        };
        assert_eq!((statement.chip.as_str(), signed.len()), (chip.as_str(), 2));
        // A list under which a signature was altered proves nothing.
        let mut altered = 0;
        for at in (text.len() / 4..text.len() / 2).step_by(997) {
            let mut bytes = text.clone().into_bytes();
            bytes[at] = if bytes[at] == b'A' { b'B' } else { b'A' };
            let text = String::from_utf8(bytes).expect("ASCII");
            altered += usize::from(verify_dossier(&text, &t.office.public_key()).is_err());
        }
        assert!(altered > 0);
    }
}

#[test]
fn keys_close_after_idling_after_handing_over_and_for_who_steps_away() {
    let mut t = Table::new("");
    once::set_up_once(&mut t);
    pip_to_the_statement(&mut t);
    t.wait(4 * 60 * 1000);
    t.act(Act::Tick);
    assert_eq!(asks(&t), [SeatAsks::Confirm, SeatAsks::Confirm]);
    t.wait(60 * 1000);
    t.act(Act::Tick);
    assert_eq!(asks(&t), [SeatAsks::Unlock, SeatAsks::Unlock]);
    confirm(&mut t, "bram");
    assert_eq!(t.notice(), "refused.unlock_first");
    // A wrong PIN is something done, and opens nothing.
    unlock(&mut t, "bram", "1111");
    assert_eq!(asks(&t), [SeatAsks::Unlock, SeatAsks::Unlock]);
    unlock(&mut t, "bram", "2580");
    confirm(&mut t, "bram");
    confirm(&mut t, "ottoline");
    assert_eq!(t.notice(), "refused.unlock_first");
    unlock(&mut t, "ottoline", "4711");
    t.tap("lock_phone");
    assert_eq!(t.notice(), "notice.locked");
    t.kill_and_reopen();
    assert_eq!(asks(&t), [SeatAsks::Unlock, SeatAsks::Confirm]);
    assert!(seats(&t)[1].signed, "what was confirmed stays");
    unlock(&mut t, "ottoline", "4711");
    t.act(Act::StepAway {
        person: "ottoline".into(),
    });
    confirm(&mut t, "ottoline");
    assert_eq!(t.notice(), "refused.unlock_first");
    // Her PIN says that she is back.
    unlock(&mut t, "ottoline", "4711");
    confirm(&mut t, "ottoline");
    assert_eq!(t.screen(), "book_line");
    demo::written_and_told(&mut t);
    assert_eq!(
        t.screen(),
        "unlock",
        "his key closed when the phone was handed on"
    );
    t.whole();
}

#[test]
fn a_clock_that_jumps_back_closes_the_keys_too() {
    let mut t = Table::new("");
    once::set_up_once(&mut t);
    t.wait(-3_600_000);
    t.act(Act::Tick);
    assert_eq!(t.screen(), "unlock");
}

#[test]
fn put_right_before_the_list_is_confirmed_anew() {
    let mut t = Table::new("");
    once::set_up_once(&mut t);
    once::dog_once(&mut t, "pip");
    t.act(Act::AskCorrection { dog: "pip".into() });
    demo::choose(&mut t, "void_1");
    demo::choose(&mut t, "gauge");
    // A correction takes each measurer's PIN in every mode.
    assert_eq!(asks_of_correction(&t), [SeatAsks::Sign, SeatAsks::Sign]);
    t.both_sign();
    t.tap("stands_square");
    for _ in 0..2 {
        t.tap("base_not_flat");
        t.tap("stands_square");
    }
    t.tap("base_flat");
    assert_eq!(asks(&t), [SeatAsks::Confirm, SeatAsks::Confirm]);
    assert!(seats(&t).iter().all(|s| !s.signed));
    once::both_confirm(&mut t);
    demo::written_and_told(&mut t);
    t.tap("review_close");
    t.tap("sign_list");
    t.both_sign();
    t.tap("close_session");
    let facts = t.whole();
    let stated = facts.iter().filter(|f| matches!(f, Fact::Stated { .. }));
    assert_eq!(stated.count(), 2);
    assert_eq!(t.json()["dogs"][0]["flags"][0], "corrected");
}

fn asks_of_correction(t: &Table) -> Vec<SeatAsks> {
    let Screen::Correct { correct } = &t.view().screen else {
        panic!("nothing is put right")
    };
    correct.seats.iter().map(|s| s.asks.clone()).collect()
}

#[test]
fn put_right_after_the_list_the_dog_goes_on_a_list_of_its_own() {
    let mut t = Table::new("");
    once::set_up_once(&mut t);
    once::dog_once(&mut t, "pip");
    t.tap("review_close");
    t.tap("sign_list");
    t.both_sign();
    t.tap("back_to_queue");
    once::dog_once(&mut t, "rook");
    t.act(Act::AskCorrection { dog: "pip".into() });
    demo::choose(&mut t, "papers");
    demo::choose(&mut t, "misread");
    t.both_sign();
    t.tap("book_agrees");
    once::both_confirm(&mut t);
    demo::written_and_told(&mut t);
    assert_eq!(t.view().outbox.waiting, 0);
    once::list_signed_and_sent(&mut t);
    assert_eq!(t.view().outbox.waiting, 0);
    t.whole();
}

#[test]
fn a_pin_out_of_tries_signs_a_dog_or_the_list_on_paper() {
    let mut t = Table::new("");
    once::set_up_once(&mut t);
    pip_to_the_statement(&mut t);
    t.tap("lock_phone");
    let paper = |number: &str| Act::SignOnPaper {
        person: "bram".into(),
        paper: number.into(),
    };
    t.act(paper("17"));
    assert_eq!(t.notice(), "refused.not_now", "there are tries left");
    for _ in 0..5 {
        unlock(&mut t, "bram", "1111");
    }
    assert_eq!(seats(&t)[1].way, SeatWay::Paper);
    t.act(paper("x"));
    assert_eq!(t.notice(), "refused.paper_number");
    t.act(paper("17"));
    unlock(&mut t, "ottoline", "4711");
    confirm(&mut t, "ottoline");
    demo::written_and_told(&mut t);
    // He cannot open his key now, and nobody waits for that.
    assert_eq!(t.screen(), "queue");
    assert_eq!(done_state(&t), DogState::Awaiting);
    // The pause is over: taken up again, he opens his key and confirms.
    t.wait(6 * 60 * 1000);
    t.act(Act::Tick);
    assert_eq!(t.screen(), "unlock");
    once::unlock(&mut t);
    t.act(Act::Resume { dog: "pip".into() });
    confirm(&mut t, "bram");
    assert_eq!(done_state(&t), DogState::Confirmed);
    // And the list itself on paper.
    t.tap("review_close");
    t.tap("sign_list");
    sign(&mut t, "ottoline", "4711");
    for _ in 0..5 {
        sign(&mut t, "bram", "1111");
    }
    assert_eq!(seats(&t)[1].way, SeatWay::Paper);
    t.act(paper("18"));
    assert_eq!(
        (t.screen().as_str(), t.notice()),
        ("close", "notice.list_on_paper")
    );
    t.tap("close_session");
    let dog = &t.json()["dogs"][0];
    assert_eq!(dog["flags"], serde_json::json!(["awaiting-signature"]));
    assert_eq!(dog["on_paper"][0]["paper"], "18");
    assert_eq!(dog["signed_by"], serde_json::json!(["Ottoline Marsh"]));
    t.tap("send_return");
    t.office_answers();
    t.whole();
}

#[test]
fn where_each_makes_their_own_handing_over_closes_the_keys() {
    let mut roster = standsquare_office::demo::roster();
    roster.pack = roster
        .pack
        .replace("work = \"together\"", "work = \"independently\"")
        .replace("sign = \"each-dog\"", "sign = \"session\"");
    let mut t = Table::new("");
    demo::set_up_with(&mut t, serde_json::to_string(&roster).expect("JSON"));
    once::unlock(&mut t);
    demo::to_the_chip(&mut t, "pip");
    t.scan("999000000112233");
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    t.tap("take_over");
    t.tap("stands_square");
    t.tap("base_flat");
    assert_eq!(asks(&t), [SeatAsks::Unlock, SeatAsks::Unlock]);
    once::unlock(&mut t);
    once::both_confirm(&mut t);
    assert_eq!(t.screen(), "book_line");
    t.whole();
}

#[test]
fn a_pack_may_say_when_keys_close() {
    let roster = demo::roster_with("sign = \"each-dog\"", "sign = \"session\"\nlock_after = 20");
    let mut t = Table::new("");
    demo::set_up_with(&mut t, roster);
    once::unlock(&mut t);
    t.wait(19 * 60 * 1000);
    t.act(Act::Tick);
    assert_eq!(t.screen(), "queue");
    t.wait(60 * 1000);
    t.act(Act::Tick);
    assert_eq!(t.screen(), "unlock");
}

#[test]
fn killed_after_every_act_it_goes_on_at_the_same_step() {
    let mut whole_one = Table::new("");
    once::signed_once(&mut whole_one);
    let dogs = whole_one.json()["dogs"].clone();
    assert_eq!(dogs.as_array().map(Vec::len), Some(2));
    whole_one.whole();
}
