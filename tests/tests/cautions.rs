//! Every caution stands on the screen where it matters, and no screen has a wall of them.

use standsquare_session::Act;
use standsquare_tests::{Table, demo};

/// Lines of cautions that a person still reads beside a dog. Own choice, no source.
const MOST: usize = 4;

fn said(t: &Table, title: &str, wanted: &[&str]) {
    assert_eq!(t.title(), title);
    let there: Vec<_> = t.view().cautions.iter().map(|c| c.key.as_str()).collect();
    for key in wanted {
        let key = format!("caution.{key}");
        assert!(
            there.contains(&key.as_str()),
            "{title}: no {key} in {there:?}"
        );
    }
    assert!(there.len() <= MOST, "{title}: {there:?}");
}

/// Common practice, no source: what can hurt, and where.
#[test]
fn what_could_hurt_is_said_where_it_could() {
    let mut t = Table::new("");
    t.act(Act::LoadRoster {
        text: standsquare_office::demo::roster_json(),
    });
    t.tap("start_session");
    t.tap("set_venue");
    said(&t, "title.surface", &["floor_for_big_dogs", "lightning"]);
    let mut t = Table::new("");
    demo::set_up(&mut t);
    said(&t, "title.queue", &["lightning"]);
    t.act(Act::CallDog { dog: "pip".into() });
    t.tap("book_agrees");
    said(&t, "title.handler", &["child_handler"]);
    t.act(Act::HandlerAnswer {
        question: "bites".into(),
        yes: true,
    });
    said(&t, "title.handler", &["may_bite"]);
    t.tap("handler_rest_clear");
    said(&t, "title.chip", &["scan_on_ground", "may_bite"]);
    t.scan("999000000112233");
    let lifted = ["never_alone", "two_to_lift", "floor_big_dog", "may_bite"];
    said(&t, "title.settle", &lifted);
    t.tap("settled");
    said(&t, "title.stance", &["ask_before_touching", "may_bite"]);
    t.tap("stands_square");
    said(
        &t,
        "title.placing",
        &["free_the_hoop", "hoop_unpressed", "may_bite"],
    );
    t.tap("not_today");
    said(&t, "title.stop", &["free_the_hoop"]);
    t.tap("keep_going");
    t.tap("incident");
    said(&t, "title.incident", &["help_first"]);
    t.tap("leave_look");
    t.tap("base_flat");
    said(&t, "title.sign", &["dog_off_table"]);
    t.both_sign();
    t.tap("book_written");
    said(&t, "title.tell", &["dry_the_table"]);
}
