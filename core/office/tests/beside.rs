//! What a phone is told of its session's other phones, on both engines.

mod support;

use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::record::fact::{Outcome, Statement};
use standsquare_journal::record::statement_hash;
use standsquare_office::OfficeState;
use standsquare_office::beside::BesideFault;
use standsquare_sync::beside::{BesideAsk, Told, settling};
use support::*;

const PIP: &str = "999000000112233";
const NOW_MS: i64 = 1_795_700_000_000;

fn medium() -> Outcome {
    Outcome::Category {
        id: "medium".into(),
        label: "Medium".into(),
    }
}

/// A phone's record of session 9: Pip, as changed.
fn phone(n: u8, change: impl Fn(&mut Statement)) -> (Pen, Statement) {
    let mut pen = Pen::new(n);
    pen.session = [9; 16];
    pen.set_up();
    let mut statement = pen.statement(1, "Pip", PIP);
    change(&mut statement);
    pen.dog(&statement);
    (pen, statement)
}

fn ask(office: &OfficeState, key: &SigningKey, session: [u8; 16]) -> Vec<u8> {
    BesideAsk {
        office_key: office.public_key(),
        device_key: key.verifying_key().to_bytes(),
        session,
        at_ms: NOW_MS,
    }
    .sign(|bytes| key.sign(bytes).to_bytes())
}

fn told(office: &OfficeState, pen: &Pen) -> Told {
    let answer = office.answer_beside(&ask(office, &pen.device, pen.session), NOW_MS);
    let key = office.public_key();
    Told::verify(&answer.expect("told"), &key, &pen.session).expect("it holds")
}

fn differing(office: &OfficeState) -> usize {
    let measures = office.dog(PIP).expect("reads");
    let differs = |m: &&_| points_of(m).iter().any(|k| k == "phones-differ");
    measures.iter().filter(differs).count()
}

fn points_of(measure: &standsquare_office::read::VisitLine) -> Vec<String> {
    measure.points.iter().map(|p| p.kind.clone()).collect()
}

#[test]
fn each_phone_is_told_of_the_others_and_in_one_order_whatever_came_first() {
    let pens = [
        phone(1, |_| {}),
        phone(2, |_| {}),
        phone(3, |s| s.outcome = medium()),
    ];
    let mut answers = Vec::new();
    for order in [[0, 1, 2], [2, 1, 0], [1, 2, 0]] {
        let office = office();
        for n in order {
            held(&office, &pens[n].0.frames);
        }
        answers.push(told(&office, &pens[0].0));
        let mine = pens[0].0.device_key();
        let said = &answers[answers.len() - 1];
        assert_eq!((said.phones.len(), said.dogs.len()), (2, 2));
        assert!(said.dogs.iter().all(|d| *d.device_key != mine));
        assert_eq!(differing(&office), 3);
    }
    assert!(answers.windows(2).all(|w| w[0].says_what(&w[1])));
    let came: Vec<_> = answers[0].dogs.iter().map(|d| d.came.as_str()).collect();
    assert!(came.contains(&"category:medium") && came.contains(&"category:small"));
}

#[test]
fn what_is_settled_needs_no_decision_and_counts_on_one_side() {
    let office = office();
    let (first, statement) = phone(1, |_| {});
    held(&office, &first.frames);
    let theirs = statement_hash(&statement.encode());
    let (second, _) = phone(2, |s| {
        s.outcome = medium();
        s.flags.extend(settling(false, &theirs, "category:small"));
    });
    held(&office, &second.frames);
    assert_eq!(
        differing(&office),
        0,
        "it names the other and says which stands"
    );
    let settled = told(&office, &first).dogs[0].settles.clone();
    assert_eq!(settled, settling(false, &theirs, "category:small"));
    // A later session that finds small again differs from nothing that counts.
    let mut later = Pen::new(4);
    later.session = [10; 16];
    later.set_up();
    let mut again = later.statement(1, "Pip", PIP);
    again.day += 400;
    later.dog(&again);
    held(&office, &later.frames);
    let measures = office.dog(PIP).expect("reads");
    let odd = measures
        .iter()
        .filter(|m| points_of(m).contains(&"measures-differ".into()));
    assert_eq!(odd.count(), 0);
}

#[test]
fn only_who_sent_of_the_session_is_told_and_only_just_now() {
    let office = office();
    let (first, _) = phone(1, |_| {});
    held(&office, &first.frames);
    let stranger = SigningKey::from_bytes(&[0x77; 32]);
    let refused = office.answer_beside(&ask(&office, &stranger, first.session), NOW_MS);
    assert!(matches!(refused, Err(BesideFault::NotOfIt)), "{refused:?}");
    let other = office.answer_beside(&ask(&office, &first.device, [1; 16]), NOW_MS);
    assert!(matches!(other, Err(BesideFault::NotOfIt)), "{other:?}");
    let asked = ask(&office, &first.device, first.session);
    let late = office.answer_beside(&asked, NOW_MS + 3_600_000);
    assert!(matches!(late, Err(BesideFault::Stale(_))), "{late:?}");
    for at in 0..asked.len() {
        let mut altered = asked.clone();
        altered[at] ^= 1;
        let refused = office.answer_beside(&altered, NOW_MS);
        assert!(matches!(refused, Err(BesideFault::Ask(_))), "byte {at}");
    }
}

#[test]
fn a_device_with_two_histories_is_named() {
    let office = office();
    let (first, _) = phone(1, |_| {});
    let (second, _) = phone(2, |_| {});
    let (other_history, _) = phone(2, |s| s.outcome = medium());
    held(&office, &first.frames);
    held(&office, &second.frames);
    assert!(told(&office, &first).forked.is_empty());
    post(&office, &other_history.frames);
    for pen in [&first, &second] {
        let forked = told(&office, pen).forked;
        assert_eq!(forked.len(), 1);
        assert_eq!(*forked[0], second.device_key());
    }
}
