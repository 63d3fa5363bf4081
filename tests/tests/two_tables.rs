//! Two tables without a signal swap lists of their dogs as codes: the same dog twice is seen
//! at once. Two phones, driven as screens drive them.

use standsquare_journal::record::dogs::{Came, Dogs};
use standsquare_journal::record::fact::Fact;
use standsquare_session::Act;
use standsquare_session::view::{DogState, Role, Screen, Text, View};
use standsquare_tests::demo::{
    self, chip_of, close_and_send, set_up_with, sign_and_tell, stopped_as_nervous, to_the_hoop,
};
use standsquare_tests::tables::{
    list_of, list_text, measured, other_phone, other_table, read, roster_of, roster_with,
};
use standsquare_tests::{Table, lasting};

/// Those of the demo that may be measured on its day.
const DOGS: [&str; 5] = ["pip", "moss", "juno", "rook", "tansy"];

/// This table and the other one, known to each other.
fn both() -> (Table, Table) {
    let here = Table::new("");
    let roster = roster_of(&[&other_phone(), &here]);
    with(here, &roster)
}

fn with(mut here: Table, roster: &str) -> (Table, Table) {
    set_up_with(&mut here, roster.to_owned());
    (here, other_table(roster))
}

fn call(t: &mut Table, dog: &str) {
    t.act(Act::CallDog { dog: dog.into() });
}

/// What the screen says of the dog that was measured elsewhere: what came of it, what the
/// rules say, and whether measuring it is the main act.
fn heard(t: &Table) -> (Text, Text, bool) {
    let Screen::Heard { heard } = &t.view().screen else {
        panic!("nothing was heard: {}", t.title())
    };
    let main = t.offer("measure_here_too").role == Role::Main;
    (heard.came.clone(), heard.rules.clone(), main)
}

fn line<'a>(view: &'a View, dog: &str) -> &'a standsquare_session::view::DogLine {
    let Screen::Queue { queue } = &view.screen else {
        panic!("no queue")
    };
    let mut lines = queue.waiting.iter().chain(&queue.done);
    lines.find(|l| l.id == dog).expect("the dog")
}

fn flags(t: &Table, name: &str) -> Vec<String> {
    let json = t.json();
    let dogs = json["dogs"].as_array().expect("dogs").clone();
    let of = dogs.iter().find(|d| d["name"] == name).expect("the dog");
    serde_json::from_value(of["flags"].clone()).expect("flags")
}

#[test]
fn a_dog_measured_at_the_other_table_is_seen_when_it_is_called() {
    let (mut here, mut there) = both();
    measured(&mut there, "pip");
    let list = list_of(&mut there);
    assert_eq!(list.len(), 1, "one dog goes in one code");
    read(&mut here, &list[0]);
    assert_eq!(here.notice(), "notice.list_taken");
    assert_eq!(here.title(), "title.queue", "and the queue is there again");
    let note = line(here.view(), "pip").note.clone().expect("a note");
    assert_eq!(note.key, "heard.other_table");
    assert!(
        line(here.view(), "moss")
            .note
            .as_ref()
            .is_none_or(|n| n.key != note.key)
    );

    call(&mut here, "pip");
    let (came, rules, main) = heard(&here);
    assert_eq!(came, Text::of("heard.category").plain("category", "Small"));
    // The demo's rules: a measure a day (`same_day = "refused"`).
    assert_eq!(rules.key, "reason.same-day-again");
    assert!(!main, "to leave it is what is usually done then");
    // Nothing else can be done with it meanwhile but let it wait.
    here.act(Act::BookAgrees);
    assert_eq!(here.notice(), "refused.not_now");
    here.tap("park");
    here.act(Act::Resume { dog: "pip".into() });
    assert_eq!(here.title(), "title.heard");

    here.tap("measured_elsewhere");
    sign_and_tell(&mut here);
    assert_eq!(line(here.view(), "pip").state, DogState::NotToday);
    let answers: Vec<_> = here
        .whole()
        .into_iter()
        .filter(|f| matches!(f, Fact::HeardAnswered { .. } | Fact::Stopped { .. }))
        .collect();
    let journal = there.phone().journal().journal_id();
    assert_eq!(
        answers,
        [
            Fact::HeardAnswered {
                visit: 1,
                journal: journal.into(),
                goes_on: false
            },
            Fact::Stopped {
                visit: 1,
                reason: "other_table".into()
            }
        ]
    );
    // It is not among this table's own dogs.
    measured(&mut here, "moss");
    let own = list_text(&mut here);
    let key = here.phone().journal().device_key();
    let (_, own) = Dogs::check(&own, &[key]).expect("it holds");
    assert_eq!(own.find(&chip_of("pip")), None);
    let small = Came::Category("small".into());
    assert_eq!(
        own.find(&chip_of("moss")).map(|(came, _)| came),
        Some(small)
    );
    close_and_send(&mut here);
    assert_eq!(here.view().outbox.waiting, 0, "the office takes it in");
}

#[test]
fn measured_all_the_same_it_is_pointed_out_and_counts_as_the_rules_say() {
    let (mut here, mut there) = both();
    measured(&mut there, "pip");
    let list = list_text(&mut there);
    // As a file this time.
    here.act(Act::LoadRoster { text: list });
    assert_eq!(here.notice(), "notice.list_taken");
    call(&mut here, "pip");
    here.tap("measure_here_too");
    here.tap("book_agrees");
    here.tap("handler_all_clear");
    here.scan(&chip_of("pip"));
    to_the_hoop(&mut here);
    here.tap("base_flat");
    sign_and_tell(&mut here);
    assert_eq!(line(here.view(), "pip").state, DogState::Measured);
    assert!(flags(&here, "Pip").contains(&"measured-elsewhere".to_owned()));

    // Where the rules allow several a day, the other table's is an earlier measure here.
    let fresh = Table::new("");
    let roster = roster_with(
        &[&other_phone(), &fresh],
        "same_day = \"refused\"",
        "same_day = \"allowed\"",
    );
    let roster = roster.replace("early = \\\"refused\\\"", "early = \\\"flagged\\\"");
    let (mut here, mut there) = with(fresh, &roster);
    measured(&mut there, "pip");
    let list = list_text(&mut there);
    read(&mut here, &list);
    call(&mut here, "pip");
    let (_, rules, main) = heard(&here);
    assert_eq!((rules.key.as_str(), main), ("heard.further", true));
    here.tap("measure_here_too");
    here.tap("book_agrees");
    let dog = here.view().dog.clone().expect("a dog");
    assert_eq!(dog.measure.map(|m| m.key), Some("measure.second".into()));
}

#[test]
fn a_list_that_comes_while_the_dog_is_at_the_table_is_told_at_once() {
    let (mut here, mut there) = both();
    measured(&mut there, "pip");
    let list = list_text(&mut there);
    demo::to_the_chip(&mut here, "pip");
    here.act(Act::BookCode { code: list.clone() });
    assert_eq!(here.title(), "title.heard");
    here.tap("measure_here_too");
    assert_eq!(here.title(), "title.chip", "it goes on where it was");
    // Told once.
    here.act(Act::BookCode { code: list });
    assert_eq!(here.title(), "title.chip");
    assert_eq!(here.notice(), "notice.list_known");
    // Stopped there for today: it may be tried here.
    to_chip_and_stop(&mut there, "juno");
    let list = list_text(&mut there);
    here.tap("park");
    here.act(Act::BookCode { code: list });
    call(&mut here, "juno");
    let (came, rules, main) = heard(&here);
    assert_eq!(
        (came.key.as_str(), rules.key.as_str(), main),
        ("heard.not_today", "heard.may_try", true)
    );
}

fn to_chip_and_stop(t: &mut Table, dog: &str) {
    demo::to_the_chip(t, dog);
    t.scan(&chip_of(dog));
    stopped_as_nervous(t);
    sign_and_tell(t);
}

/// The book of the dog in hand says another number than its chip: the chip is what the other
/// table read too.
#[test]
fn a_dog_is_known_by_what_is_read_of_it() {
    let (mut here, mut there) = both();
    measured(&mut there, "pip");
    let list = list_text(&mut there);
    read(&mut here, &list);
    demo::to_the_chip(&mut here, "moss");
    here.scan(&chip_of("pip"));
    assert_eq!(here.title(), "title.heard");
}

#[test]
fn where_the_rules_hide_it_what_was_found_is_neither_told_nor_shown() {
    for (before, after) in [
        ("work = \"together\"", "work = \"independently\""),
        (
            "work = \"together\"",
            "work = \"together\"\nearlier = \"after-signing\"",
        ),
    ] {
        let here = Table::new("");
        let roster = roster_with(&[&other_phone(), &here], before, after);
        let (mut here, mut there) = with(here, &roster);
        to_chip_and_stop(&mut there, "juno");
        demo::to_the_chip(&mut there, "pip");
        there.scan(&chip_of("pip"));
        to_the_hoop(&mut there);
        there.tap("base_flat");
        if there.title() == "title.hand_over" {
            there.tap("take_over");
            there.tap("stands_square");
            there.tap("base_flat");
        }
        sign_and_tell(&mut there);
        let list = list_text(&mut there);
        let key = there.phone().journal().device_key();
        let (_, said) = Dogs::check(&list, &[key]).expect("it holds");
        assert_eq!(said.categories, [""; 0], "nothing to peek at");
        read(&mut here, &list);
        call(&mut here, "pip");
        let (came, rules, _) = heard(&here);
        assert_eq!(
            (came.key.as_str(), rules.key.as_str()),
            ("heard.untold", "heard.hidden")
        );
    }
    // A list that tells it all the same is not shown either.
    let here = Table::new("");
    let open = roster_of(&[&other_phone(), &here]);
    let hiding = roster_with(
        &[&other_phone(), &here],
        "work = \"together\"",
        "work = \"independently\"",
    );
    let mut there = other_table(&open);
    measured(&mut there, "pip");
    let list = list_text(&mut there);
    let mut here = here;
    set_up_with(&mut here, hiding);
    read(&mut here, &list);
    call(&mut here, "pip");
    assert_eq!(heard(&here).0, Text::of("heard.untold"));
}

#[test]
fn what_is_not_to_be_believed_is_refused_and_changes_nothing() {
    let (mut here, mut there) = both();
    measured(&mut there, "pip");
    let first = list_text(&mut there);
    measured(&mut there, "moss");
    let second = list_text(&mut there);
    let before = here.whole().len();
    let refused = |here: &mut Table, text: &str, wanted: &str| {
        here.act(Act::BookCode { code: text.into() });
        assert_eq!(here.notice(), wanted, "{text}");
        assert_eq!(
            here.whole().len(),
            before,
            "{wanted}: something was written"
        );
    };
    for cut in [5, 9, 40, first.len() - 2] {
        refused(&mut here, &first[..cut], "refused.code_damaged");
    }
    refused(
        &mut here,
        &first.replacen("SSD1", "SSD7", 1),
        "refused.code_too_new",
    );
    refused(
        &mut here,
        &format!("SSD1:{}", "A0".repeat(200_000)),
        "refused.code_damaged",
    );
    refused(&mut here, "SSC1:", "refused.code_damaged");
    // Signed by a phone that no roster here names.
    let stranger = Table::with_secret("", [9; 32]);
    let roster = roster_of(&[&stranger]);
    let mut stranger = stranger;
    set_up_with(&mut stranger, roster);
    measured(&mut stranger, "pip");
    let text = list_text(&mut stranger);
    refused(&mut here, &text, "refused.phone_unknown");
    // Another league's, though its phone is known here.
    let mut other = standsquare_office::demo::roster();
    other.league.id = "overmere".into();
    let mut foreign = other_phone();
    set_up_with(&mut foreign, serde_json::to_string(&other).expect("JSON"));
    measured(&mut foreign, "pip");
    let text = list_text(&mut foreign);
    refused(&mut here, &text, "refused.list_of_another_league");
    // One character changed, anywhere.
    for at in (5..first.len()).step_by(9) {
        let with = if &first[at..=at] == "7" { "8" } else { "7" };
        let mut altered = first.clone();
        altered.replace_range(at..=at, with);
        here.act(Act::BookCode { code: altered });
        let key = here.notice().to_owned();
        assert!(
            [
                "refused.code_damaged",
                "refused.code_forged",
                "refused.phone_unknown"
            ]
            .contains(&key.as_str()),
            "{key}"
        );
        assert_eq!(here.whole().len(), before);
    }
    // The newer one first: the older one, played again, tells nothing new.
    here.act(Act::BookCode {
        code: second.clone(),
    });
    assert_eq!(here.notice(), "notice.list_taken");
    let after = here.whole().len();
    for again in [&first, &second] {
        here.act(Act::BookCode {
            code: again.clone(),
        });
        assert_eq!(here.notice(), "notice.list_known");
        assert_eq!(here.whole().len(), after);
    }
    call(&mut here, "moss");
    assert_eq!(here.title(), "title.heard");
    // Its own, read back.
    here.tap("measured_elsewhere");
    sign_and_tell(&mut here);
    measured(&mut here, "juno");
    let own = list_text(&mut here);
    here.act(Act::BookCode { code: own });
    assert_eq!(here.notice(), "refused.own_list");
    // Last month's.
    there.wait(30 * 24 * 60 * 60 * 1_000);
    there.act(Act::Tick);
    let late = list_text(&mut there);
    here.act(Act::BookCode { code: late });
    assert_eq!(here.notice(), "refused.list_of_another_day");
    // Without a session there is nothing that a list could be for.
    let mut idle = Table::with_secret("", [11; 32]);
    idle.act(Act::LoadRoster {
        text: roster_of(&[&there]),
    });
    idle.act(Act::CheckSlip { text: first });
    assert_eq!(idle.notice(), "refused.list_no_session");
}

/// Whatever order codes come in, cut, doubled and mixed with another list's: what is known of
/// the dogs afterwards is the same, and after a kill too.
#[test]
fn lists_in_any_order_of_arrival_give_one_picture() {
    let here = Table::new("");
    let third = Table::with_secret("the third table", [12; 32]);
    let roster = roster_of(&[&other_phone(), &here, &third]);
    let mut there = other_table(&roster);
    let mut third = third;
    set_up_with(&mut third, roster.clone());
    let mut lists = Vec::new();
    for dog in ["pip", "juno", "moss"] {
        measured(&mut there, dog);
        lists.push(list_of(&mut there));
    }
    third.wait(3_600_000);
    for dog in ["rook", "moss"] {
        measured(&mut third, dog);
        lists.push(list_of(&mut third));
    }
    let mut dice = fastrand::Rng::with_seed(8);
    let mut pictures = Vec::new();
    for _ in 0..12 {
        let mut here = Table::new("");
        set_up_with(&mut here, roster.clone());
        let mut order: Vec<&Vec<String>> = lists.iter().chain(&lists).collect();
        dice.shuffle(&mut order);
        for list in order {
            let mut pieces = list.clone();
            dice.shuffle(&mut pieces);
            for text in pieces {
                here.act(Act::BookCode { code: text });
            }
        }
        let notes = |here: &Table| -> Vec<_> {
            let dogs = ["pip", "moss", "juno", "biscuit", "tansy", "rook"];
            dogs.map(|d| line(here.view(), d).note.clone()).to_vec()
        };
        let before = notes(&here);
        let whole = lasting(here.view());
        here.kill_and_reopen();
        assert_eq!(
            (notes(&here), lasting(here.view())),
            (before.clone(), whole)
        );
        call(&mut here, "moss");
        pictures.push((before, heard(&here)));
    }
    assert!(pictures.windows(2).all(|w| w[0] == w[1]), "{pictures:#?}");
    // Moss was measured last at the third table.
    let notes = &pictures[0].0;
    assert_ne!(notes[0], notes[1]);
    assert!(
        notes[4]
            .as_ref()
            .is_none_or(|n| n.key != "heard.other_table")
    );
}

/// Sixty dogs: how many codes, and that each is one that a camera takes off glass in the sun.
#[test]
fn a_long_list_goes_in_codes_of_version_ten_at_most() {
    let (mut here, mut there) = both();
    for dog in DOGS {
        measured(&mut there, dog);
    }
    there.tap("dogs_list");
    let mut numbers = Vec::new();
    for _ in 0..12 {
        let Screen::Codes { codes } = &there.view().screen else {
            panic!("no codes")
        };
        assert!(codes.code.side <= 57, "version 10 at most");
        numbers.push(codes.number);
        there.act(Act::Tick);
    }
    assert!(numbers.contains(&1) && numbers.contains(&2), "{numbers:?}");
    there.tap("leave_look");
    // What is read of one list is put away when the codes of a newer one come.
    let older = list_of(&mut there);
    let newer = list_of(&mut there);
    here.act(Act::BookCode {
        code: older[0].clone(),
    });
    assert_eq!(here.notice(), "notice.code_piece");
    for text in &newer {
        here.act(Act::BookCode { code: text.clone() });
    }
    assert_eq!(here.notice(), "notice.list_taken");
}
