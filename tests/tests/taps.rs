//! How often a finger goes down: the figures of `core/docs/taps.md`.

use standsquare_session::Act;
use standsquare_tests::{Table, demo, once};

/// Acts that a finger did: what the world does by itself is none. A sign-off is one tap
/// on the measurer's name; its digits are counted beside it.
fn taps(t: &Table) -> usize {
    let acts = t.recording().steps.iter().map(|step| &step.act);
    acts.filter(|act| !act.is_of_the_world()).count()
}

fn from_queue(path: impl FnOnce(&mut Table)) -> usize {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    let before = taps(&t);
    path(&mut t);
    taps(&t) - before
}

/// The same where a session is signed once, every key open.
fn once(path: impl FnOnce(&mut Table)) -> usize {
    let mut t = Table::new("");
    once::set_up_once(&mut t);
    let before = taps(&t);
    path(&mut t);
    taps(&t) - before
}

fn routine(t: &mut Table, dog: &str) {
    demo::to_the_chip(t, dog);
    t.scan(&demo::chip_of(dog));
    demo::to_the_hoop(t);
}

#[test]
fn as_published() {
    let published = std::fs::read_to_string(
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../core/docs/taps.md"),
    )
    .expect("reads");
    let mut said = published
        .lines()
        .filter(|l| l.starts_with("| ") && !l.starts_with("| path"))
        .map(|l| l.split('|').nth(2).expect("a figure"))
        .map(|c| c.trim().split(',').next().expect("a figure").to_owned());
    let counted = [
        from_queue(|t| {
            routine(t, "pip");
            t.tap("base_flat");
            t.both_sign();
        }),
        from_queue(demo::pip),
        from_queue(|t| {
            routine(t, "moss");
            for _ in 0..3 {
                t.tap("base_not_flat");
                t.tap("stands_square");
            }
            t.tap("base_flat");
            t.both_sign();
        }),
        from_queue(|t| {
            demo::to_the_chip(t, "juno");
            t.scan(&demo::chip_of("juno"));
            t.tap("not_today");
            t.act(Act::NotToday {
                reason: "nervous".into(),
            });
            t.both_sign();
        }),
        from_queue(|t| {
            t.scan("999000000918273");
            t.tap("newcomer");
            t.act(Act::DescribeNewcomer {
                name: "Sorrel".into(),
                born: "20230517".into(),
                category: String::new(),
                measured: String::new(),
            });
            t.tap("book_agrees");
            t.tap("handler_all_clear");
            t.scan("999000000918273");
            demo::to_the_hoop(t);
            t.tap("base_flat");
            t.both_sign();
        }),
        from_queue(|t| {
            routine(t, "pip");
            t.tap("base_flat");
            t.tap("put_right");
            demo::choose(t, "void_1");
            demo::choose(t, "moved");
            t.both_sign();
            t.tap("stands_square");
            t.tap("base_flat");
            t.both_sign();
        }),
        once(|t| {
            routine(t, "pip");
            t.tap("base_flat");
            once::both_confirm(t);
        }),
        once(|t| once::dog_once(t, "pip")),
        once(|t| {
            // The whole close of a day with one dog: looked at, listed, signed, closed.
            once::dog_once(t, "pip");
            t.tap("review_close");
            t.tap("sign_list");
            t.both_sign();
            t.tap("close_session");
        }) - once(|t| once::dog_once(t, "pip")),
    ];
    for count in counted {
        assert_eq!(said.next(), Some(count.to_string()));
    }
    assert_eq!(said.next(), None);
    assert!(counted[0] <= 9, "{} taps for a routine dog", counted[0]);
}
