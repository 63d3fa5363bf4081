//! Practice on the phone: a trainee's own verdict stays hidden until all have signed and never
//! counts; drills with a model dog, a record that a trainer signs; figures of one's own.

use standsquare_journal::record::fact::{Fact, Statement};
use standsquare_journal::record::{practice_bytes, verify_signature};
use standsquare_measuring::RulePack;
use standsquare_measuring::gauge::practice::DrillRecord;
use standsquare_session::Act;
use standsquare_session::act::PlacingSeen;
use standsquare_session::view::{Chart, OwnScreen, Screen};
use standsquare_tests::{Table, demo, once, practising};

fn glass(t: &Table) -> String {
    serde_json::to_string(&(&t.view().screen, &t.view().offers)).expect("JSON")
}

/// A session in which Wren watches, with Pip standing square.
fn watched() -> Table {
    let mut t = Table::new("");
    t.act(Act::LoadRoster {
        text: standsquare_office::demo::roster_json(),
    });
    practising::set_up_watched(&mut t);
    demo::to_the_chip(&mut t, "pip");
    t.scan("999000000112233");
    demo::to_the_hoop(&mut t);
    t
}

/// Where a dog is confirmed by a tap, the tap is somebody's name as well: what a trainee says after it
/// would no longer be their own.
#[test]
fn a_trainee_says_nothing_once_somebody_has_confirmed() {
    let mut t = Table::new("");
    t.act(Act::LoadRoster {
        text: once::roster_signed_once(),
    });
    practising::set_up_watched(&mut t);
    once::unlock(&mut t);
    demo::to_the_chip(&mut t, "pip");
    t.scan("999000000112233");
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    let asked = |t: &Table| t.view().offers.iter().any(|o| o.id == "shadow_wren");
    assert_eq!(t.screen(), "sign");
    assert!(asked(&t));
    t.act(Act::Confirm {
        person: "bram".into(),
    });
    assert_eq!(t.screen(), "sign");
    assert!(!asked(&t));
    t.act(Act::OpenShadow {
        person: "wren".into(),
    });
    assert_eq!(
        (t.screen().as_str(), t.notice()),
        ("sign", "refused.not_now")
    );
}

#[test]
fn a_trainees_verdict_is_hidden_until_all_have_signed_and_never_counts() {
    let mut t = watched();
    t.tap("shadow_wren");
    assert_eq!(t.screen(), "shadow");
    // Nothing of the placings is on that screen, and nothing under it can be touched.
    t.act(Act::Place {
        hoop: "h35".into(),
        seen: PlacingSeen::BaseFlat,
    });
    assert_eq!(
        (t.screen().as_str(), t.notice()),
        ("shadow", "refused.not_now")
    );
    t.act(Act::Shadow {
        category: "huge".into(),
    });
    assert_eq!(t.screen(), "shadow");
    t.act(Act::Shadow {
        category: "medium".into(),
    });
    assert_eq!(
        (t.screen().as_str(), t.notice()),
        ("placing", "notice.shadowed")
    );
    assert!(!glass(&t).contains("shadow"), "asked once");
    t.tap("base_flat");
    for (person, pin) in demo::PINS {
        assert!(!glass(&t).contains("shadowed."), "{}", glass(&t));
        t.act(Act::Sign {
            person: person.into(),
            pin: pin.into(),
        });
    }
    match &t.view().screen {
        Screen::BookLine { book_line } => {
            assert_eq!(book_line.shadowed.len(), 1);
            assert_eq!(book_line.shadowed[0].key, "shadowed.other");
        }
        other => panic!("{other:?}"),
    }
    // What is signed and what is sent know nothing of it.
    let wren =
        |text: &str| text.contains("Wren") || text.contains("wren") || text.contains("LM-T07");
    assert!(!wren(&t.phone().session_json()) && !wren(&t.phone().return_csv()));
    for fact in t.whole() {
        if let Fact::Stated { statement } = fact {
            let s = Statement::decode_strict(&statement).expect("a statement");
            assert!(!wren(&format!("{s:?}")));
        }
    }
    t.tap("book_written");
    assert!(
        !glass(&t).contains("shadowed."),
        "the handler is told what counts"
    );
    t.tap("handler_told");
}

#[test]
fn only_a_trainee_who_watches_is_asked_and_nobody_once_a_signature_is_there() {
    let mut t = watched();
    t.act(Act::OpenShadow {
        person: "bram".into(),
    });
    assert_eq!(t.notice(), "refused.not_now");
    t.tap("base_flat");
    assert!(t.view().offers.iter().any(|o| o.id == "shadow_wren"));
    t.act(Act::Sign {
        person: "ottoline".into(),
        pin: "4711".into(),
    });
    assert!(t.view().offers.iter().all(|o| o.id != "shadow_wren"));
    t.act(Act::OpenShadow {
        person: "wren".into(),
    });
    assert_eq!(t.screen(), "sign");
    // Without anybody who watches nothing of it is on any screen.
    let mut t = Table::new("");
    demo::set_up(&mut t);
    demo::to_the_chip(&mut t, "pip");
    t.scan("999000000112233");
    demo::to_the_hoop(&mut t);
    assert!(!glass(&t).contains("shadow_"));
}

fn own(t: &Table) -> OwnScreen {
    match &t.view().screen {
        Screen::Own { own } => own.clone(),
        other => panic!("{other:?}"),
    }
}

fn chart<'a>(own: &'a OwnScreen, id: &str) -> &'a Chart {
    own.charts.iter().find(|c| c.id == id).expect("a chart")
}

#[test]
fn a_drill_is_answered_blind_judged_at_the_end_and_signed_by_a_trainer() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    demo::pip(&mut t);
    demo::close_and_send(&mut t);
    t.tap("leave_session");
    t.tap("practice");
    t.act(Act::OpenOwn {
        person: "wren".into(),
    });
    assert!(own(&t).empty.is_some(), "nothing is known of Wren yet");
    // A session cannot begin behind the page.
    t.act(Act::StartSession);
    assert_eq!(t.notice(), "refused.not_now");
    t.tap("drill_hoop-35");
    let mut heights = Vec::new();
    let mut n = 0;
    while let Screen::Drill { drill } = &t.view().screen {
        n += 1;
        assert_eq!((drill.number, drill.of), (n, 20));
        assert_ne!(
            drill.set_to_um, 350_000,
            "there is no right answer at the hoop"
        );
        heights.push(drill.set_to_um);
        // The third counts for nothing, the fifth is wrong, the others are right.
        let flat = drill.set_to_um < 350_000;
        t.tap(match n {
            3 => "drill_void",
            5 if flat => "base_not_flat",
            5 => "base_flat",
            _ if flat => "base_flat",
            _ => "base_not_flat",
        });
    }
    let Screen::Feedback { feedback } = t.view().screen.clone() else {
        panic!("{:?}", t.view().screen)
    };
    let rights: Vec<Option<bool>> = feedback.lines.iter().map(|l| l.right).collect();
    assert_eq!(rights.len(), 20);
    for (n, right) in rights.iter().enumerate() {
        let expected = match n {
            2 => None,
            4 => Some(false),
            _ => Some(true),
        };
        assert_eq!(*right, expected, "{}", n + 1);
    }
    // Wren cannot sign for themselves; a wrong PIN signs nothing.
    let ids: Vec<&str> = feedback.seats.iter().map(|s| s.person.as_str()).collect();
    assert_eq!(ids, ["ottoline", "bram"]);
    for (person, pin, notice) in [
        ("wren", "4711", "refused.not_now"),
        ("bram", "0000", "refused.pin_wrong"),
        ("bram", "2580", "notice.practice_signed"),
        ("ottoline", "4711", "refused.not_now"),
    ] {
        t.act(Act::SignPractice {
            person: person.into(),
            pin: pin.into(),
        });
        assert_eq!(t.notice(), notice, "{person}");
    }
    // The record stands alone: its signature holds, and the drill can be made again from its seed.
    let all = t.whole();
    let key = all.iter().find_map(|f| match f {
        Fact::KeyMade { person, key, .. } if person == "bram" => Some(**key),
        _ => None,
    });
    let (record, alg, signature) = all
        .iter()
        .find_map(|f| match f {
            Fact::PracticeSigned {
                record,
                alg,
                signature,
                ..
            } => Some((record.clone(), *alg, **signature)),
            _ => None,
        })
        .expect("a record");
    verify_signature(
        alg,
        &key.expect("a key"),
        &practice_bytes(&record),
        &signature,
    )
    .expect("holds");
    let read: DrillRecord = serde_json::from_slice(&record).expect("a record");
    let pack = RulePack::parse(standsquare_measuring::LARKMERE).expect("a pack");
    assert!(read.holds(&pack));
    assert_eq!(read.trainee.as_str(), "wren");
    let set: Vec<i64> = read
        .drill
        .tasks
        .iter()
        .map(|t| t.height.micrometres())
        .collect();
    assert_eq!(set, heights);
    t.tap("leave_drill");
    let own = own(&t);
    assert_eq!(own.figures[0].key, "own.signed");
    // 19 placings are too few for a spread, and one drill for a chart.
    assert!(own.figures.iter().any(|f| f.key == "own.few"));
    assert!(chart(&own, "drift").silence.is_some());
}

#[test]
fn nothing_of_it_is_lost_when_the_app_is_killed_after_every_act() {
    let (mut calm, mut killed) = (Table::new(""), Table::new(""));
    practising::practice_with(&mut calm, |t, chip| {
        t.scan_at_once(chip);
    });
    killed.kill_after_every_act();
    practising::practice_with(&mut killed, |t, chip| {
        t.scan_at_once(chip);
    });
    let practice = |t: &Table| t.phone().state().practice.clone();
    assert_eq!(practice(&killed), practice(&calm));
    assert_eq!(practice(&calm).drills[&"wren".to_owned()].len(), 6);
}

#[test]
fn signed_drills_reach_the_office_with_the_next_return() {
    let mut t = Table::new("");
    practising::practice(&mut t);
    let drills = t.office.practised("wren").expect("reads");
    assert_eq!(drills.len(), 6);
    assert!(
        drills
            .iter()
            .all(|d| d.trainer == "ottoline" && d.right().0 == 20)
    );
}

#[test]
fn figures_come_once_there_is_enough_and_show_one_person_alone() {
    let mut t = Table::new("");
    practising::practice(&mut t);
    t.tap("practice");
    t.act(Act::OpenOwn {
        person: "wren".into(),
    });
    let wren = own(&t);
    assert_eq!(chart(&wren, "drift").points.len(), 6);
    assert!(wren.figures.iter().any(|f| f.key == "own.spread"));
    assert!(
        chart(&wren, "watched").silence.is_some(),
        "one session is no chart"
    );
    // The same after everything is worked out anew, and after the app was closed.
    t.kill_and_reopen();
    assert_eq!(own(&t), wren);
    t.act(Act::LeavePage);
    t.act(Act::OpenOwn {
        person: "bram".into(),
    });
    let text = serde_json::to_string(&own(&t)).expect("JSON");
    assert!(chart(&own(&t), "alike").silence.is_some());
    assert!(
        !text.contains("Wren") && !text.contains("Ottoline"),
        "{text}"
    );
    assert!(own(&t).charts.iter().all(|c| c.id != "drift"));
    // Somebody who neither measures nor learns has no page.
    t.act(Act::LeavePage);
    t.act(Act::OpenOwn {
        person: "idris".into(),
    });
    assert_eq!(t.screen(), "practice");
}
