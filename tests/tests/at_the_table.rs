//! The main job and what goes wrong at it, over the real session, journal and
//! office, with the emulated reader's bytes.

use standsquare_session::Act;
use standsquare_session::view::{Screen, Whereabouts};
use standsquare_tests::{Table, demo};

fn at_queue() -> Table {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    assert_eq!(t.screen(), "queue");
    t
}

fn at_sign() -> Table {
    let mut t = at_queue();
    demo::to_the_chip(&mut t, "pip");
    t.scan("999000000112233");
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    assert_eq!(t.screen(), "sign");
    t
}

#[test]
fn three_dogs_are_measured_signed_sent_and_acknowledged() {
    let mut t = Table::new("");
    demo::whole(&mut t);
    let json: serde_json::Value = serde_json::from_str(&t.phone().session_json()).expect("JSON");
    assert_eq!(json["mark"], "demo, not official");
    let dogs = json["dogs"].as_array().expect("dogs");
    assert_eq!(dogs.len(), 3);
    assert_eq!(dogs[0]["category"]["id"], "small");
    assert_eq!(dogs[0]["within_mm"], "350");
    assert_eq!(dogs[1]["category"]["id"], "medium");
    assert_eq!(
        (&dogs[1]["over_mm"], &dogs[1]["within_mm"]),
        (&"350".into(), &"430".into())
    );
    assert_eq!(dogs[1]["placings"].as_array().expect("placings").len(), 5);
    assert_eq!(dogs[2]["not_today"]["reason"], "nervous");
    for dog in dogs {
        assert_eq!(dog["signed_by"].as_array().expect("signatures").len(), 2);
    }
    // The second measure of a dog found small: 12 to 24 calendar months later (common
    // practice, no source).
    assert_eq!(dogs[0]["second_measure"]["from"], "2027-11-25");
    assert_eq!(dogs[0]["second_measure"]["to"], "2028-11-25");
    let Screen::Return { sent } = &t.view().screen else {
        panic!("not the return")
    };
    assert!(
        sent.rows
            .iter()
            .all(|r| r.whereabouts == Whereabouts::InLog)
    );
    assert_eq!(t.view().outbox.waiting, 0);
}

#[test]
fn the_return_and_the_session_file_tell_the_same() {
    let mut t = Table::new("");
    demo::whole(&mut t);
    let json: serde_json::Value = serde_json::from_str(&t.phone().session_json()).expect("JSON");
    let csv = t.phone().return_csv();
    let mut rows = csv::Reader::from_reader(csv.as_bytes());
    let head = rows.headers().expect("a heading").clone();
    let column = |name: &str| head.iter().position(|h| h == name).expect("a column");
    let mut count = 0;
    for (row, dog) in rows.records().zip(json["dogs"].as_array().expect("dogs")) {
        let row = row.expect("a row");
        assert_eq!(&row[column("mark")], "demo, not official");
        assert_eq!(row[column("dog")], dog["name"]);
        assert_eq!(row[column("chip")], dog["chip"]);
        assert_eq!(
            &row[column("category")],
            dog["category"]["label"].as_str().unwrap_or("")
        );
        let flags: Vec<&str> = dog["flags"]
            .as_array()
            .expect("flags")
            .iter()
            .filter_map(|f| f.as_str())
            .collect();
        assert_eq!(row[column("flags")], flags.join(" "));
        count += 1;
    }
    assert_eq!(count, 3);
}

#[test]
fn killed_after_every_act_the_session_goes_on_at_the_same_step() {
    let mut whole = Table::new("");
    demo::whole(&mut whole);
    let mut killed = Table::new("");
    killed.kill_after_every_act();
    // Bytes of a number that had not come whole go with the kill, so numbers are
    // presented again, as a person would.
    demo::whole_with(&mut killed, |t, chip| {
        t.scan_at_once(chip);
    });
    let dogs = |t: &Table| {
        let json: serde_json::Value =
            serde_json::from_str(&t.phone().session_json()).expect("JSON");
        json["dogs"].clone()
    };
    assert_eq!(dogs(&killed), dogs(&whole));
}

#[test]
fn a_second_tap_on_a_button_that_did_its_work_does_nothing() {
    let mut t = at_queue();
    demo::to_the_chip(&mut t, "moss");
    t.scan(&demo::chip_of("moss"));
    demo::to_the_hoop(&mut t);
    let seen = t.view().revision;
    let act = t.offer("base_not_flat").act;
    t.act_seen(act.clone(), seen);
    t.act_seen(act, seen);
    t.tap("stands_square");
    let Screen::Placing { placing } = &t.view().screen else {
        panic!("not at the hoop")
    };
    assert_eq!(placing.placings.len(), 1);
    assert_eq!((placing.valid, placing.needed), (1, 3));
}

#[test]
fn a_wrong_pin_is_refused_counted_and_after_five_there_is_a_pause() {
    let mut t = at_sign();
    for left in (0..5).rev() {
        t.act(Act::Sign {
            person: "ottoline".into(),
            pin: "1111".into(),
        });
        assert_eq!(t.notice(), "refused.pin_wrong");
        let Screen::Sign { sign } = &t.view().screen else {
            panic!("not at the sign-off")
        };
        assert_eq!(sign.seats[0].tries_left, Some(left));
    }
    // Not even the right one now, and a kill does not help.
    t.kill_and_reopen();
    t.act(Act::Sign {
        person: "ottoline".into(),
        pin: "4711".into(),
    });
    assert_eq!(t.notice(), "refused.pin_pause");
    // The other measurer signs meanwhile.
    t.act(Act::Sign {
        person: "bram".into(),
        pin: "2580".into(),
    });
    t.wait(5 * 60 * 1000);
    t.act(Act::Sign {
        person: "ottoline".into(),
        pin: "4711".into(),
    });
    assert_eq!(t.screen(), "book_line");
}

#[test]
fn the_first_measurers_pin_does_not_sign_for_the_second() {
    let mut t = at_sign();
    t.act(Act::Sign {
        person: "ottoline".into(),
        pin: "4711".into(),
    });
    t.act(Act::Sign {
        person: "bram".into(),
        pin: "4711".into(),
    });
    assert_eq!(
        (t.screen().as_str(), t.notice()),
        ("sign", "refused.pin_wrong")
    );
    t.act(Act::Sign {
        person: "ottoline".into(),
        pin: "4711".into(),
    });
    assert_eq!(t.notice(), "refused.signed_already");
    // A trainee who is not seated cannot sign at all.
    t.act(Act::Sign {
        person: "wren".into(),
        pin: "4711".into(),
    });
    assert_eq!(t.notice(), "refused.not_now");
}

#[test]
fn disagreement_is_recorded_and_referred() {
    let mut t = at_sign();
    t.tap("disagree_bram");
    let Screen::Sign { sign } = &t.view().screen else {
        panic!("not at the sign-off")
    };
    assert_eq!(sign.outcome.key, "outcome.referred");
    demo::sign_and_tell(&mut t);
    let json: serde_json::Value = serde_json::from_str(&t.phone().session_json()).expect("JSON");
    assert_eq!(json["dogs"][0]["referred"]["reason"], "measurers_disagree");
}

#[test]
fn once_somebody_has_signed_the_verdict_stands() {
    let mut t = at_sign();
    t.act(Act::Sign {
        person: "ottoline".into(),
        pin: "4711".into(),
    });
    for act in [
        Act::UndoPlacing,
        Act::AskNotToday,
        Act::Disagree {
            person: "bram".into(),
        },
    ] {
        t.act(act);
        assert_eq!(
            (t.screen().as_str(), t.notice()),
            ("sign", "refused.not_now")
        );
    }
}

#[test]
fn a_mis_tapped_placing_is_taken_back_and_the_return_says_so() {
    let mut t = at_sign();
    demo::sign_and_tell(&mut t);
    demo::to_the_chip(&mut t, "moss");
    t.scan(&demo::chip_of("moss"));
    demo::to_the_hoop(&mut t);
    t.tap("base_not_flat");
    t.tap("undo_placing");
    assert_eq!(t.screen(), "placing");
    t.tap("base_flat");
    t.both_sign();
    let json: serde_json::Value = serde_json::from_str(&t.phone().session_json()).expect("JSON");
    assert_eq!(json["dogs"][1]["flags"][0], "placing-taken-back");
}

#[test]
fn pain_sedation_or_no_consent_leave_only_not_today() {
    for (question, yes) in [("pain", true), ("sedated", true), ("consents", false)] {
        let mut t = at_queue();
        t.act(Act::CallDog { dog: "pip".into() });
        t.tap("book_agrees");
        t.act(Act::HandlerAnswer {
            question: question.into(),
            yes,
        });
        t.act(Act::HandlerAllClear);
        assert_eq!(t.screen(), "handler", "{question}");
        assert!(!t.offer("handler_done").allowed);
        t.tap("not_today");
        assert_eq!(t.screen(), "stop");
    }
}

#[test]
fn a_dog_that_may_bite_goes_on_with_the_caution_in_sight() {
    let mut t = at_queue();
    t.act(Act::CallDog { dog: "pip".into() });
    t.tap("book_agrees");
    t.act(Act::HandlerAnswer {
        question: "bites".into(),
        yes: true,
    });
    t.tap("handler_rest_clear");
    t.scan("999000000112233");
    assert!(
        t.view()
            .cautions
            .iter()
            .any(|c| c.key == "caution.may_bite")
    );
}

#[test]
fn a_missing_must_have_line_of_the_book_stops_the_dog() {
    let mut t = at_queue();
    t.act(Act::CallDog { dog: "pip".into() });
    t.act(Act::BookLine {
        item: "chip".into(),
        state: standsquare_session::act::BookState::Missing,
    });
    t.act(Act::BookAgrees);
    assert_eq!(t.screen(), "papers");
    assert!(t.notice().starts_with("reason.do-"), "{}", t.notice());
}

#[test]
fn a_measurers_own_dog_is_not_called_at_their_table() {
    let mut t = at_queue();
    let Screen::Queue { queue } = &t.view().screen else {
        panic!("not the queue")
    };
    let biscuit = queue
        .waiting
        .iter()
        .find(|d| d.id == "biscuit")
        .expect("in the list");
    assert!(biscuit.call.is_none() && biscuit.note.is_some());
    t.act(Act::CallDog {
        dog: "biscuit".into(),
    });
    assert_eq!(t.screen(), "queue");
    assert!(t.notice().starts_with("reason."), "{}", t.notice());
}

#[test]
fn a_second_measure_is_known_from_the_office_and_settles_the_category() {
    let mut t = at_queue();
    demo::to_the_chip(&mut t, "rook");
    assert_eq!(
        t.view()
            .dog
            .as_ref()
            .and_then(|d| d.measure.as_ref())
            .map(|m| m.key.as_str()),
        Some("measure.second")
    );
    t.scan(&demo::chip_of("rook"));
    demo::to_the_hoop(&mut t);
    for _ in 0..3 {
        t.tap("base_not_flat");
        t.tap("stands_square");
    }
    t.tap("base_flat");
    t.both_sign();
    let json: serde_json::Value = serde_json::from_str(&t.phone().session_json()).expect("JSON");
    assert_eq!(json["dogs"][0]["measure"], 2);
    assert_eq!(json["dogs"][0]["status"], "definitive");
}
