//! What the office finds to look at, and how decisions settle it.

mod support;

use standsquare_journal::record::fact::{ChipProof, Outcome, Statement};
use standsquare_office::OfficeState;
use standsquare_office::accounts::{Role, Worker};
use standsquare_office::decide::{DecisionFault, Verdict};
use standsquare_office::demo;
use standsquare_office::points::Point;
use support::*;

const PIP: &str = "999000000112233";

/// A session of one dog, by device `n`, on this day; its statement as changed.
fn one_dog(n: u8, day: i32, change: impl Fn(&mut Statement)) -> Pen {
    let mut pen = Pen::new(n);
    pen.session = [n; 16];
    pen.set_up();
    let mut statement = pen.statement(1, "Pip", PIP);
    statement.day = day;
    change(&mut statement);
    pen.dog(&statement);
    pen.close();
    pen
}

fn category(id: &str) -> Outcome {
    Outcome::Category {
        id: id.to_lowercase(),
        label: id.into(),
    }
}

fn kinds(office: &OfficeState, pen: &Pen) -> Vec<String> {
    let (_, visits) = office.session(pen.session).expect("a session");
    let own = visits.iter().filter(|v| v.device_key == pen.device_key());
    own.flat_map(|v| &v.points)
        .map(|p| p.kind.clone())
        .collect()
}

fn secretary() -> Worker {
    Worker {
        account: "idris".into(),
        name: "Idris Fell".into(),
        role: Role::Secretary,
    }
}

#[test]
fn a_routine_dog_needs_no_decision() {
    let office = office();
    let pen = one_dog(1, DAY, |_| {});
    held(&office, &pen.frames);
    assert_eq!(kinds(&office, &pen), [] as [&str; 0]);
    assert!(office.undecided(9).expect("a list").is_empty());
}

#[test]
fn the_weightiest_comes_first() {
    let office = office();
    held(
        &office,
        &one_dog(1, DAY, |s| s.flags = vec!["near-limit".into()]).frames,
    );
    held(
        &office,
        &one_dog(2, DAY, |s| {
            s.chip = "999000000204518".into();
            s.flags = vec!["second-late".into()];
        })
        .frames,
    );
    held(
        &office,
        &one_dog(3, DAY, |s| {
            s.chip = "999000000337904".into();
            s.proof = ChipProof::Different;
        })
        .frames,
    );
    held(
        &office,
        &one_dog(4, DAY, |s| {
            s.chip = "999000000598871".into();
            s.flags = vec!["chip-typed".into()];
        })
        .frames,
    );
    let first: Vec<_> = office
        .undecided(9)
        .expect("a list")
        .iter()
        .map(|v| v.points[0].kind.clone())
        .collect();
    assert_eq!(first, ["chip-differs", "second-late", "near-limit"]);
}

#[test]
fn another_category_than_before_is_noticed_in_any_order() {
    let first = one_dog(1, DAY - 400, |_| {});
    let second = one_dog(2, DAY, |s| {
        s.measure = 2;
        s.outcome = category("Medium");
    });
    for order in [[&first, &second], [&second, &first]] {
        let office = office();
        for pen in order {
            held(&office, &pen.frames);
        }
        assert_eq!(kinds(&office, &first), [] as [&str; 0]);
        assert_eq!(kinds(&office, &second), ["measures-differ"]);
        let dog = office.dog(PIP).expect("its history");
        assert_eq!(dog.len(), 2);
        assert_eq!(dog[1].points[0].detail, "2025-10-21: Small");
    }
}

#[test]
fn a_measure_from_before_the_records_is_known_too() {
    // Rook's first measure, medium, is in the demo roster.
    let office = office();
    let pen = one_dog(1, DAY, |s| {
        s.dog = "Rook".into();
        s.chip = "999000000660342".into();
        s.measure = 2;
    });
    held(&office, &pen.frames);
    assert_eq!(kinds(&office, &pen), ["measures-differ"]);
}

#[test]
fn repeated_not_today_is_noticed() {
    let office = office();
    let stopped = |n: u8| {
        one_dog(n, DAY + i32::from(n), |s| {
            s.outcome = Outcome::NotToday {
                reason: "nervous".into(),
            };
        })
    };
    let pens: Vec<_> = (1..=4).map(stopped).collect();
    for pen in pens.iter().rev() {
        held(&office, &pen.frames);
    }
    // The pack allows three attempts to be broken off; the fourth is one too many.
    let found: Vec<_> = pens.iter().map(|pen| kinds(&office, pen).len()).collect();
    assert_eq!(found, [0, 0, 0, 1]);
}

#[test]
fn a_day_is_judged_by_the_rules_in_force_then() {
    let office = office();
    let own = demo::roster().pack;
    let with = |attempts: u32| own.replacen("attempts = 3", &format!("attempts = {attempts}"), 1);
    assert_ne!(own, with(1), "the demo's pack allows three");
    let publish = |nth: i64, from_day: i32, attempts: u32| {
        office
            .publish_pack(&with(attempts), from_day, nth, &secretary(), DAY, BEGIN_MS)
            .expect("published");
    };
    let stopped = |n: u8, day: i32| {
        let pen = one_dog(n, day, |s| {
            s.outcome = Outcome::NotToday {
                reason: "nervous".into(),
            };
        });
        held(&office, &pen.frames);
        kinds(&office, &pen).len()
    };
    // Read once before anything is published, so that the new one has to be noticed.
    assert_eq!(stopped(1, DAY), 0);
    publish(1, DAY + 3, 1);
    publish(2, DAY + 6, 9);
    let found: Vec<_> = (1..=7)
        .map(|n| stopped(n + 1, DAY + i32::from(n)))
        .collect();
    assert_eq!(found, [0, 0, 1, 1, 1, 0, 0]);
    // The other way round for what comes late: it is the day that counts.
    let late = stopped(20, DAY + 5);
    assert_eq!(late, 1);
}

#[test]
fn two_phones_that_differ_are_shown_and_those_that_agree_are_not() {
    let office = office();
    let small = one_dog(1, DAY, |_| {});
    let beside = |n: u8, outcome: Outcome| {
        let mut pen = Pen::new(n);
        pen.session = small.session;
        pen.set_up();
        let mut statement = pen.statement(1, "Pip", PIP);
        statement.outcome = outcome;
        pen.dog(&statement);
        pen.close();
        pen
    };
    let agrees = beside(2, category("Small"));
    held(&office, &small.frames);
    held(&office, &agrees.frames);
    assert!(office.undecided(9).expect("a list").is_empty());
    let differs = beside(3, category("Medium"));
    held(&office, &differs.frames);
    for pen in [&small, &agrees, &differs] {
        assert!(kinds(&office, pen).contains(&"phones-differ".to_owned()));
    }
}

#[test]
fn a_session_closed_without_a_signature_is_noticed() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let pip = pen.statement(1, "Pip", PIP);
    pen.state(&pip);
    pen.sign(&pip, "ottoline", &person_key("ottoline"));
    pen.seal();
    held(&office, &pen.frames);
    assert_eq!(kinds(&office, &pen), [] as [&str; 0], "it may still come");
    pen.close();
    held(&office, &pen.frames[1..]);
    assert_eq!(kinds(&office, &pen), ["unsigned"]);
}

#[test]
fn a_decision_with_a_reason_settles_it_and_stays_on_record() {
    let office = office();
    let first = one_dog(1, DAY - 400, |_| {});
    let second = one_dog(2, DAY, |s| s.outcome = category("Medium"));
    held(&office, &first.frames);
    held(&office, &second.frames);
    let open = office.undecided(9).expect("a list").remove(0);
    let decide = |nth, seen: &[Point], reason: &str, by: &Worker| {
        office.decide(open.head, nth, seen, Verdict::Stands, reason, by, 77)
    };
    let reader = Worker {
        role: Role::Reader,
        ..secretary()
    };
    let why = "It has grown; the second measure counts.";
    assert!(matches!(
        decide(1, &open.points, why, &reader),
        Err(DecisionFault::NotAllowed)
    ));
    assert!(matches!(
        decide(1, &open.points, "  ", &secretary()),
        Err(DecisionFault::Reason)
    ));
    assert!(matches!(
        decide(1, &[], why, &secretary()),
        Err(DecisionFault::Changed)
    ));
    assert!(matches!(
        decide(2, &open.points, why, &secretary()),
        Err(DecisionFault::Changed)
    ));
    assert!(office.decisions(open.head).expect("a list").is_empty());
    decide(1, &open.points, why, &secretary()).expect("recorded");
    assert!(office.undecided(9).expect("a list").is_empty());
    // A second one of the same page came too late.
    assert!(matches!(
        decide(1, &open.points, why, &secretary()),
        Err(DecisionFault::Changed)
    ));
    let decisions = office.decisions(open.head).expect("a list");
    assert_eq!(decisions.len(), 1);
    assert_eq!(
        (decisions[0].name.as_str(), decisions[0].reason.as_str()),
        ("Idris Fell", why)
    );
    assert_eq!(decisions[0].covers, open.points);
}

#[test]
fn a_first_measure_that_does_not_count_contradicts_nothing() {
    let office = office();
    let first = one_dog(1, DAY - 400, |s| s.flags = vec!["near-limit".into()]);
    let second = one_dog(2, DAY, |s| s.outcome = category("Medium"));
    held(&office, &first.frames);
    held(&office, &second.frames);
    assert_eq!(kinds(&office, &second), ["measures-differ"]);
    let of_first = office.dog(PIP).expect("its history").remove(0);
    office
        .decide(
            of_first.head,
            1,
            &of_first.points,
            Verdict::Void,
            "wrong dog",
            &secretary(),
            1,
        )
        .expect("recorded");
    assert_eq!(kinds(&office, &second), [] as [&str; 0]);
}

#[test]
fn what_comes_later_opens_it_again() {
    let office = office();
    let second = one_dog(2, DAY, |s| {
        s.outcome = category("Medium");
        s.flags = vec!["near-limit".into()];
    });
    held(&office, &second.frames);
    let open = office.undecided(9).expect("a list").remove(0);
    office
        .decide(
            open.head,
            1,
            &open.points,
            Verdict::Stands,
            "clear enough",
            &secretary(),
            1,
        )
        .expect("recorded");
    assert!(office.undecided(9).expect("a list").is_empty());
    // An older phone brings the first measure only now.
    held(&office, &one_dog(1, DAY - 400, |_| {}).frames);
    assert_eq!(office.undecided(9).expect("a list").len(), 1);
}

#[test]
fn a_batch_set_aside_is_decided_about_too() {
    let office = office();
    let pen = two_dogs(1);
    let mut other = Pen::new(1);
    other.set_up();
    let juno = other.statement(1, "Juno", "999000000337904");
    let fork = other.dog(&juno);
    held(&office, &pen.frames);
    assert_eq!(refused(&office, &fork), "fork");
    let aside = office.set_aside(9).expect("a list").remove(0);
    office
        .decide(
            aside.id,
            1,
            &[Point::of("fork")],
            Verdict::Noted,
            "The phone was restored from an old copy.",
            &secretary(),
            1,
        )
        .expect("recorded");
    assert!(office.set_aside(9).expect("a list").is_empty());
    assert!(
        office.set_aside_frame(aside.id).expect("asked").is_some(),
        "it is still kept"
    );
    let nothing = office.decide([9; 32], 1, &[], Verdict::Noted, "why not", &secretary(), 1);
    assert!(matches!(nothing, Err(DecisionFault::NotThere)));
}
