//! Random acts on the real session over the real journal, with kills: no panic, no
//! lost act, no verdict without two sign-offs, and a journal that verifies.
//! `STANDSQUARE_MONKEY=20000` sets how many acts (2,000 otherwise), and
//! `STANDSQUARE_SEED` where to begin.

mod anything;
mod dice;
mod hand;

use std::collections::BTreeSet;

use anything::anything;
use dice::{Dice, setting};
use hand::{World, sensible};
use standsquare_journal::record::ChainCheck;
use standsquare_journal::record::fact::Fact;
use standsquare_session::Act;
use standsquare_tests::owner::{Finger, KeyStore};
use standsquare_tests::{Table, demo, elsewhere, once, tables};

#[test]
fn random_acts_with_kills_lose_nothing_and_sign_nothing_alone() {
    let acts = setting("STANDSQUARE_MONKEY", 2_000);
    let seed = setting("STANDSQUARE_SEED", 1);
    random_acts(acts, seed);
}

#[test]
fn the_same_where_a_session_is_signed_once() {
    random_acts(setting("STANDSQUARE_MONKEY", 2_000), 2);
}

/// A kill, a tap that comes too late, anything at all, or what a person would do.
fn one_act(t: &mut Table, dice: &mut Dice, world: &mut World, at: &str) {
    let seen = t.view().revision;
    match dice.roll(10) {
        0 => {
            let before = t.phone().journal().head();
            t.kill_and_reopen();
            assert_eq!(t.phone().journal().head(), before, "{at}");
            t.act(Act::OwnerCan {
                can: dice.roll(4) > 0,
            });
        }
        1 => {
            // A tap on a view that is no longer there.
            let act = anything(dice);
            let of_the_world = act.is_of_the_world();
            t.act_seen(act, seen - 1);
            if !of_the_world {
                assert_eq!(t.view().revision, seen, "{at}");
            }
        }
        2..=3 => {
            let act = anything(dice);
            t.act(act);
        }
        _ => sensible(t, dice, world),
    }
    let finger = [
        Finger::Right,
        Finger::Right,
        Finger::Right,
        Finger::Left,
        Finger::Changed,
    ];
    world.store.answers(t, *dice.pick(&finger).expect("one"));
}

/// Two phones found different things: whatever is done about it, before and after the closing,
/// is in one record that holds, and a real office takes in all of it.
#[test]
fn random_acts_beside_another_phone_leave_a_record_that_the_office_takes() {
    let acts = setting("STANDSQUARE_MONKEY", 2_000) / 2;
    let seed = setting("STANDSQUARE_SEED", 7);
    let mut dice = Dice(seed);
    let (mut first, mut t) = tables::two_phones();
    let mut world = World {
        roster: tables::roster_of(&[&first, &t]),
        store: KeyStore::default(),
        own: None,
    };
    tables::pair(&mut first, &mut t);
    for dog in ["moss", "pip", "rook"] {
        tables::medium(&mut first, dog);
        tables::measured(&mut t, dog);
    }
    tables::sync(&mut first);
    t.tap("review_close");
    t.tap("close_session");
    tables::sync(&mut t);
    for n in 0..acts {
        one_act(
            &mut t,
            &mut dice,
            &mut world,
            &format!("seed {seed}, act {n}"),
        );
        // Now and then straight to what differs.
        let differs = t.view().offers.iter().find(|o| o.id == "differs");
        if let (Some(offer), 0) = (differs.cloned(), dice.roll(2)) {
            t.act(offer.act);
        }
        if dice.roll(60) == 0 {
            tables::sync(&mut t);
        }
    }
    tables::sync(&mut t);
    let mut check = ChainCheck::new();
    let (mut taken_up, mut settled, mut begun) = (0, 0, 0);
    for event in t.phone().journal().events().expect("reads") {
        let fed = check.feed(&event.bytes);
        fed.unwrap_or_else(|f| panic!("seed {seed}: {f}"));
        taken_up += u32::from(matches!(event.fact, Fact::SessionTakenUp { .. }));
        settled += u32::from(matches!(event.fact, Fact::SettleAsked { .. }));
        begun += u32::from(matches!(event.fact, Fact::SessionBegun { .. }));
    }
    let aside = t.office.set_aside(9).expect("a list");
    assert!(aside.is_empty(), "seed {seed}: {} set aside", aside.len());
    assert_eq!(t.office.waiting().expect("a number"), 0, "seed {seed}");
    // Unless another session was begun before.
    assert!(
        acts < 500 || settled > 0 || begun > 1,
        "seed {seed}: nothing was settled"
    );
    println!("seed {seed}: {acts} acts, {settled} settled, {taken_up} taken up");
}

fn random_acts(acts: u64, seed: u64) {
    let mut dice = Dice(seed);
    let mut t = Table::new("");
    // Every third seed by rules under which each measurer makes their own placings, every
    // third by rules that have a session signed once.
    let roster = match seed % 3 {
        0 => demo::roster_with("work = \"together\"", "work = \"independently\""),
        1 => standsquare_office::demo::roster_json(),
        _ => once::roster_signed_once(),
    };
    let own = elsewhere::brams_phone(&t);
    let notice = elsewhere::said_of_it(&t, &own, 1, elsewhere::ENROLLED);
    let mut world = World {
        roster,
        store: KeyStore::default(),
        own: Some((own, notice)),
    };
    for n in 0..acts {
        one_act(
            &mut t,
            &mut dice,
            &mut world,
            &format!("seed {seed}, act {n}"),
        );
        if t.effects()
            .iter()
            .any(|e| matches!(e, standsquare_session::view::Effect::AskOffice { path, .. } if path == "/v1/frames"))
            && dice.roll(2) == 0
        {
            t.office_answers();
            if dice.roll(2) == 0 {
                t.log_answers_if_asked();
            }
        }
    }
    let mut check = ChainCheck::new();
    let (mut stated, mut measured) = (0u32, 0u32);
    let mut answered = BTreeSet::new();
    let (mut before, mut by_owner, mut by_codes) = (None, 0u32, 0u32);
    for event in t.phone().journal().events().expect("reads") {
        check
            .feed(&event.bytes)
            .unwrap_or_else(|f| panic!("seed {seed}: {f}"));
        // What biometrics opened is a signature of the phone's owner.
        if let Fact::OpenedByOwner { person } = &event.fact {
            let signer = before.as_ref().and_then(Fact::key_opened_by);
            assert_eq!(
                signer,
                Some(person.as_str()),
                "seed {seed}, event {}",
                event.seq
            );
            by_owner += 1;
        }
        before = Some(event.fact.clone());
        match event.fact {
            Fact::Stated { .. } => {
                stated += 1;
                answered.clear();
            }
            // One under the list or a correction answers for no dog.
            Fact::SignedElsewhere { visit, head, .. }
                if visit == 0 || check.is_correction(visit, &head) =>
            {
                by_codes += 1;
            }
            Fact::SignedElsewhere { person, .. } => {
                by_codes += 1;
                answered.insert(person);
            }
            Fact::Signed { person, .. }
            | Fact::Confirmed { person, .. }
            | Fact::SignedOnPaper { person, .. } => {
                answered.insert(person);
            }
            // The line is copied into the book only under two signatures, here or on paper.
            Fact::BookWritten { .. } => {
                assert_eq!(answered.len(), 2, "seed {seed}, event {}", event.seq);
                measured += 1;
            }
            _ => {}
        }
    }
    assert!(stated >= measured);
    // And what was signed on the other phone, it knows as well.
    let (own, _) = world.own.as_ref().expect("there");
    let for_other = own.whole();
    let for_other = for_other.iter();
    let for_other = for_other.filter(|f| matches!(f, Fact::SignedForOther { .. }));
    assert!(for_other.count() as u32 >= by_codes, "seed {seed}");
    assert!(
        acts < 1_000 || measured > 0,
        "seed {seed}: no dog came through in {acts} acts"
    );
    println!(
        "seed {seed}: {acts} acts, {} events, {measured} dogs, {by_owner} by biometrics, {by_codes} by codes",
        check.seq()
    );
}
