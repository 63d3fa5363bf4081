//! Where the rules have each measurer make their own placings: the second one sees
//! nothing of what the first one found, until both have found it.

use standsquare_journal::record::ChainCheck;
use standsquare_session::Act;
use standsquare_session::view::{PlacingScreen, Screen};
use standsquare_tests::{Table, demo};

/// A dog that has settled and is to be stood square.
fn independent() -> Table {
    let mut t = Table::new("");
    let roster = demo::roster_with("work = \"together\"", "work = \"independently\"");
    demo::set_up_with(&mut t, roster);
    demo::to_the_chip(&mut t, "pip");
    t.scan("999000000112233");
    t.tap("settled");
    t
}

fn at_the_hoop() -> Table {
    let mut t = independent();
    t.tap("stands_square");
    t
}

/// All that is on the glass, but for its revision, how the radio stands and whose turn
/// it is.
fn glass(t: &Table) -> String {
    let mut json = serde_json::to_value(t.view()).expect("JSON");
    json["revision"] = serde_json::Value::Null;
    json["reader"] = serde_json::Value::Null;
    json["notice"] = serde_json::Value::Null;
    if let Some(by) = json.pointer_mut("/screen/placing/by") {
        *by = serde_json::Value::Null;
    }
    json.to_string()
}

fn placing(t: &Table) -> PlacingScreen {
    match &t.view().screen {
        Screen::Placing { placing } => placing.clone(),
        _ => panic!("not the placing: {}", t.title()),
    }
}

fn chain_holds(t: &Table) {
    let mut check = ChainCheck::new();
    for event in t.phone().journal().events().expect("reads") {
        check.feed(&event.bytes).expect("holds");
    }
}

#[test]
fn the_second_measurer_sees_nothing_of_the_first_ones_result() {
    let mut t = independent();
    let first = (glass(&t), {
        t.tap("stands_square");
        glass(&t)
    });
    assert_eq!(placing(&t).by.as_deref(), Some("Ottoline Marsh"));
    t.tap("base_flat");
    assert_eq!(t.screen(), "hand_over");
    t.kill_and_reopen();
    assert_eq!(t.screen(), "hand_over");
    // The first one cannot go on under her own name, nor take it back once it is passed on.
    t.act(Act::TakeOver {
        person: "ottoline".into(),
    });
    assert_eq!(t.notice(), "refused.not_now");
    t.act(Act::UndoPlacing);
    assert_eq!(t.screen(), "hand_over");
    t.tap("take_over");
    // The glass is, sign for sign, what the first one had before her first placing.
    assert_eq!(glass(&t), first.0);
    t.tap("stands_square");
    assert_eq!(glass(&t), first.1);
    assert_eq!(placing(&t).by.as_deref(), Some("Bram Tolley"));
    t.tap("base_flat");
    assert_eq!(t.screen(), "sign");
    t.both_sign();
    let dog = &t.json()["dogs"][0];
    assert_eq!(dog["category"]["id"], "small");
    assert_eq!(dog["placings"].as_array().map(Vec::len), Some(2));
    chain_holds(&t);
}

#[test]
fn no_number_tells_how_many_placings_the_first_one_made() {
    let mut t = at_the_hoop();
    t.tap("base_not_flat");
    t.tap("stands_square");
    t.tap("base_flat");
    t.tap("take_over");
    t.tap("stands_square");
    t.tap("base_not_flat");
    t.tap("stands_square");
    let numbers: Vec<u32> = placing(&t).placings.iter().map(|p| p.number).collect();
    assert_eq!(numbers, [1]);
    // Nor do what could be put right, and what all would sign for it.
    t.tap("put_right");
    let Screen::Correct { correct } = &t.view().screen else {
        panic!("not the correction")
    };
    let ids: Vec<&str> = correct.choices.iter().map(|c| c.id.as_str()).collect();
    assert_eq!(ids, ["papers"]);
}

#[test]
fn measurers_who_find_different_categories_are_named_so_and_the_rules_say_what_holds_today() {
    let mut t = at_the_hoop();
    t.tap("base_flat");
    t.tap("take_over");
    for _ in 0..3 {
        t.tap("stands_square");
        t.tap("base_not_flat");
    }
    t.tap("stands_square");
    assert_eq!(placing(&t).hoop.label, "Hoop 43");
    t.tap("base_flat");
    assert_eq!(t.screen(), "sign");
    t.both_sign();
    let dog = &t.json()["dogs"][0];
    // The pack: the higher category today, and the body decides.
    assert_eq!(dog["category"]["id"], "medium");
    assert_eq!(dog["status"], "referred");
    let flags = dog["flags"].to_string();
    assert!(flags.contains("measurers-differ"), "{flags}");
    chain_holds(&t);
}

#[test]
fn a_placing_of_the_first_one_made_void_gives_her_the_phone_again() {
    let mut t = at_the_hoop();
    t.tap("base_flat");
    t.tap("take_over");
    t.tap("stands_square");
    t.tap("base_flat");
    t.tap("put_right");
    demo::choose(&mut t, "void_1");
    demo::choose(&mut t, "gauge");
    t.both_sign();
    assert_eq!(t.screen(), "hand_over");
    t.tap("take_over");
    t.tap("stands_square");
    let screen = placing(&t);
    assert_eq!(screen.by.as_deref(), Some("Ottoline Marsh"));
    assert_eq!(screen.placings.len(), 1, "her own, void");
    t.tap("base_flat");
    assert_eq!(t.screen(), "sign");
    t.both_sign();
    assert_eq!(t.json()["dogs"][0]["category"]["id"], "small");
    chain_holds(&t);
}

#[test]
fn a_third_measurer_where_two_differ_is_refused_at_load() {
    let mut t = Table::new("");
    let mut roster = standsquare_office::demo::roster();
    roster.pack = roster
        .pack
        .replace("work = \"together\"", "work = \"independently\"")
        .replace("then = \"refer\"", "then = \"one-more-measurer\"");
    let text = serde_json::to_string(&roster).expect("JSON");
    t.act(Act::LoadRoster { text });
    assert!(
        ["refused.pack_unsupported", "refused.roster"].contains(&t.notice()),
        "{}",
        t.notice()
    );
}

#[test]
fn a_measurer_who_may_not_measure_a_dog_says_so_in_one_tap() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    t.act(Act::CallDog { dog: "pip".into() });
    t.tap("may_not_bram");
    assert_eq!(t.title(), "title.sign_stop");
    demo::sign_and_tell(&mut t);
    assert_eq!(t.json()["dogs"][0]["not_today"]["reason"], "conflict");
    chain_holds(&t);
}
