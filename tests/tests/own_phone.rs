//! A measurer's own phone: its biometrics open their key in place of the PIN, nobody else's, for
//! what is on the glass only; lost, the PIN does as before.

use standsquare_journal::cli::verify_file;
use standsquare_journal::record::fact::Fact;
use standsquare_session::view::{Effect, SeatAsks};
use standsquare_session::{Act, JOURNAL_FILE};
use standsquare_tests::elsewhere::at_the_signature;
use standsquare_tests::owner::*;
use standsquare_tests::{Table, demo, elsewhere, once};

/// Ottoline's own phone with an open queue.
fn hers() -> (Table, KeyStore) {
    hers_by(standsquare_office::demo::roster_json())
}

fn hers_by(roster: String) -> (Table, KeyStore) {
    let (mut t, mut store) = (Table::new(""), KeyStore::default());
    can(&mut t);
    demo::set_up_with(&mut t, roster);
    set_up_hers(&mut t, &mut store, "4711", Finger::Right);
    assert_eq!(
        (t.notice(), t.title()),
        ("notice.own_phone", "title.settings")
    );
    leave(&mut t);
    (t, store)
}

fn can(t: &mut Table) {
    t.act(Act::OwnerCan { can: true });
}

fn asks(t: &Table) -> bool {
    let ask = |e: &Effect| matches!(e, Effect::AskOwner { .. });
    t.effects().iter().any(ask)
}

fn offered(t: &Table) -> Vec<bool> {
    seats(t).iter().map(|s| s.by_owner.is_some()).collect()
}

fn signed(t: &Table) -> Vec<bool> {
    seats(t).iter().map(|s| s.signed).collect()
}

fn ask_for(t: &mut Table, person: &str) {
    t.act(Act::AskOwner {
        person: person.into(),
    });
}

/// What was signed by biometrics: each such event stands right after a signature of hers.
fn by_owner(t: &Table) -> usize {
    let facts = t.whole();
    let (report, whole) = verify_file(&t.dir().join(JOURNAL_FILE));
    assert!(whole, "{report}");
    let opened: Vec<usize> = (0..facts.len())
        .filter(|n| matches!(&facts[*n], Fact::OpenedByOwner { .. }))
        .collect();
    for n in &opened {
        let before = format!("{:?}", facts[n - 1]);
        assert!(before.contains("signature") && before.contains("ottoline"));
    }
    let said = "ottoline's key was opened for this by the phone's biometrics";
    assert_eq!(report.matches(said).count(), opened.len(), "{report}");
    opened.len()
}

#[test]
fn a_phone_without_biometrics_never_offers_them() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    t.act(Act::OpenSettings);
    assert!(
        !t.view()
            .offers
            .iter()
            .any(|o| o.id.starts_with("own_phone"))
    );
    t.act(Act::OwnPhone {
        person: "ottoline".into(),
    });
    assert_eq!(t.notice(), "refused.not_now");
    leave(&mut t);
    at_the_signature(&mut t, "pip");
    assert_eq!(offered(&t), [false, false]);
    ask_for(&mut t, "ottoline");
    assert_eq!((t.notice(), asks(&t)), ("refused.not_now", false));
    // What nobody asked for opens nothing.
    let before = t.whole().len();
    t.act(Act::OwnerUnlock {
        secret: vec![5; 32],
    });
    t.act(Act::OwnerGone);
    assert_eq!(t.whole().len(), before);
}

#[test]
fn it_is_set_up_with_the_pin_and_nothing_is_written_before_the_key_store_has_it() {
    let (mut t, mut store) = (Table::new(""), KeyStore::default());
    can(&mut t);
    demo::set_up(&mut t);
    set_up_hers(&mut t, &mut store, "2580", Finger::Right);
    assert_eq!((t.notice(), asks(&t)), ("refused.pin_wrong", false));
    assert_eq!(seats(&t)[0].tries_left, Some(4), "the PIN's tries");
    leave(&mut t);
    let before = t.whole().len();
    for finger in [Finger::Left, Finger::Changed] {
        set_up_hers(&mut t, &mut store, "4711", finger);
        assert_eq!(t.whole().len(), before);
        leave(&mut t);
    }
    // Something that it was not given.
    set_up_hers(&mut t, &mut store, "4711", Finger::Left);
    t.act(Act::OwnerUnlock {
        secret: vec![5; 32],
    });
    assert_eq!(t.notice(), "refused.owner_not_kept");
    // Killed while the dialogue is open.
    leave(&mut t);
    set_up_hers(&mut t, &mut store, "4711", Finger::Left);
    let kept = t.effects().iter().find_map(|e| match e {
        Effect::AskOwner { keep, .. } => Some(keep.clone()),
        _ => None,
    });
    t.kill_and_reopen();
    can(&mut t);
    let secret = kept.expect("asked");
    t.act(Act::OwnerUnlock { secret });
    assert_eq!(t.whole().len(), before);
    at_the_signature(&mut t, "pip");
    assert_eq!(offered(&t), [false, false]);
    assert_eq!(t.phone().journal().owner_key().expect("reads"), None);
}

#[test]
fn the_owner_signs_with_it_and_the_record_says_so() {
    let (mut t, mut store) = hers();
    at_the_signature(&mut t, "pip");
    assert_eq!(offered(&t), [true, false]);
    by_finger(&mut t, &mut store, Finger::Left);
    assert_eq!(signed(&t), [false, false]);
    by_finger(&mut t, &mut store, Finger::Right);
    assert_eq!(
        (signed(&t), offered(&t)),
        (vec![true, false], vec![false; 2])
    );
    bram_signs(&mut t);
    assert_eq!((t.screen().as_str(), by_owner(&t)), ("book_line", 1));
    // The very key that her PIN opens; the office takes it as any other sign-off.
    let made = |f: &Fact| matches!(f, Fact::KeyMade { .. });
    assert_eq!(t.whole().iter().filter(|f| made(f)).count(), 2);
    demo::written_and_told(&mut t);
    demo::close_and_send(&mut t);
    let session = t.phone().state().session.as_ref().expect("there").id;
    let (_, visits) = t.office.session(session).expect("there");
    let hows: Vec<_> = visits[0].signed.iter().filter_map(|s| s.how).collect();
    let words: Vec<_> = hows.iter().map(|how| how.short()).collect();
    assert_eq!(words, ["by finger or face", "by PIN"]);
}

#[test]
fn it_opens_nobody_elses_key() {
    let (mut t, mut store) = hers();
    at_the_signature(&mut t, "pip");
    for person in ["bram", "wren", "nobody"] {
        ask_for(&mut t, person);
        assert_eq!((t.notice(), asks(&t)), ("refused.not_now", false));
    }
    t.act(Act::OwnerUnlock {
        secret: store.kept.clone().expect("kept"),
    });
    assert_eq!(signed(&t), [false, false]);
    // One phone has one owner: it is given up before it is another's.
    leave(&mut t);
    by_finger(&mut t, &mut store, Finger::Right);
    bram_signs(&mut t);
    demo::written_and_told(&mut t);
    t.act(Act::OpenSettings);
    t.act(Act::OwnPhone {
        person: "bram".into(),
    });
    assert_eq!(t.notice(), "refused.not_now");
    t.tap("not_own_phone");
    t.tap("own_phone_bram");
    let (person, pin) = ("bram".to_owned(), "2580".to_owned());
    t.act(Act::Unlock { person, pin });
    store.answers(&mut t, Finger::Right);
    leave(&mut t);
    at_the_signature(&mut t, "rook");
    assert_eq!(offered(&t), [false, true]);
}

#[test]
fn it_counts_for_what_was_on_the_glass_when_it_was_asked_for() {
    let (mut t, mut store) = hers();
    at_the_signature(&mut t, "pip");
    ask_for(&mut t, "ottoline");
    let secret = store.kept.clone().expect("kept");
    // While the dialogue was open, the statement became another.
    t.act(Act::Disagree {
        person: "bram".into(),
    });
    t.act(Act::OwnerUnlock {
        secret: secret.clone(),
    });
    assert_eq!(signed(&t), [false, false]);
    // Or something else lay over it, or was scanned.
    for other in [
        Act::OpenIncident,
        Act::BookCode {
            code: "SSP1:".into(),
        },
    ] {
        ask_for(&mut t, "ottoline");
        t.act(other);
        leave(&mut t);
        let secret = secret.clone();
        t.act(Act::OwnerUnlock { secret });
        assert_eq!(signed(&t), [false, false]);
    }
    // Time and the reader change nothing of it.
    ask_for(&mut t, "ottoline");
    t.act(Act::Tick);
    t.act(Act::OwnerUnlock { secret });
    assert_eq!(signed(&t), [true, false]);
    // One asking opens one time.
    let before = t.whole().len();
    t.act(Act::OwnerUnlock {
        secret: store.kept.take().expect("kept"),
    });
    assert_eq!(t.whole().len(), before);
}

#[test]
fn lost_biometrics_lose_nothing() {
    for wrong in [false, true] {
        let (mut t, mut store) = hers();
        at_the_signature(&mut t, "pip");
        if wrong {
            // Not what the key was wrapped with.
            store.kept = Some(vec![1; 32]);
            by_finger(&mut t, &mut store, Finger::Right);
        } else {
            by_finger(&mut t, &mut store, Finger::Changed);
        }
        assert_eq!(t.notice(), "notice.owner_gone");
        assert_eq!((signed(&t), offered(&t)), (vec![false; 2], vec![false; 2]));
        assert_eq!(seats(&t)[0].tries_left, Some(5), "it is no wrong PIN");
        assert_eq!(t.phone().journal().owner_key().expect("reads"), None);
        t.kill_and_reopen();
        can(&mut t);
        assert_eq!(offered(&t), [false, false]);
        t.both_sign();
        assert_eq!((t.screen().as_str(), by_owner(&t)), ("book_line", 0));
    }
}

#[test]
fn a_second_wrapping_that_is_not_there_falls_back_to_the_pin() {
    let (mut t, mut store) = hers();
    // Written by something else: the record still says that it is her phone.
    t.with_journal(|journal, at_ms| {
        use standsquare_journal::store::{Item, WrappedKey};
        let none = Item::PersonKey(WrappedKey::no_owner());
        journal.commit(at_ms, vec![none]).expect("commits");
    });
    can(&mut t);
    at_the_signature(&mut t, "pip");
    by_finger(&mut t, &mut store, Finger::Right);
    assert_eq!(t.notice(), "notice.owner_gone");
    t.both_sign();
    assert_eq!((t.screen().as_str(), by_owner(&t)), ("book_line", 0));
}

#[test]
fn it_is_neither_a_try_at_the_pin_nor_forgives_one() {
    let (mut t, mut store) = hers();
    let wrong = |t: &mut Table, times: u32| {
        for _ in 0..times {
            let (person, pin) = ("ottoline".into(), "1111".into());
            t.act(Act::Sign { person, pin });
        }
    };
    at_the_signature(&mut t, "pip");
    wrong(&mut t, 3);
    by_finger(&mut t, &mut store, Finger::Right);
    bram_signs(&mut t);
    demo::written_and_told(&mut t);
    at_the_signature(&mut t, "rook");
    assert_eq!(seats(&t)[0].tries_left, Some(2));
    // Somebody tries her PIN through: she still signs.
    wrong(&mut t, 3);
    assert_eq!(seats(&t)[0].tries_left, Some(0));
    by_finger(&mut t, &mut store, Finger::Right);
    assert_eq!(signed(&t), [true, false]);
    // Worked out anew, it is the same.
    t.kill_and_reopen();
    bram_signs(&mut t);
    demo::written_and_told(&mut t);
    at_the_signature(&mut t, "moss");
    assert_eq!(seats(&t)[0].tries_left, Some(0));
    t.wait(5 * 60_000);
    let (person, pin) = ("ottoline".into(), "4711".into());
    t.act(Act::Sign { person, pin });
    assert_eq!((signed(&t), by_owner(&t)), (vec![true, false], 2));
}

#[test]
fn tries_that_the_right_pin_forgave_do_not_come_back_with_a_finger() {
    let (mut t, mut store) = hers();
    at_the_signature(&mut t, "pip");
    let sign = |t: &mut Table, pin: &str| {
        let (person, pin) = ("ottoline".into(), pin.into());
        t.act(Act::Sign { person, pin });
    };
    bram_signs(&mut t);
    for pin in ["1111", "1111", "4711"] {
        sign(&mut t, pin);
    }
    demo::written_and_told(&mut t);
    t.act(Act::AskCorrection { dog: "pip".into() });
    demo::choose(&mut t, "papers");
    demo::choose(&mut t, "misread");
    assert_eq!(seats(&t)[0].tries_left, Some(5));
    by_finger(&mut t, &mut store, Finger::Right);
    bram_signs(&mut t);
    t.tap("book_agrees");
    assert_eq!(seats(&t)[0].tries_left, Some(5));
    // A correction's right PIN forgives as any other.
    for pin in ["1111", "4711"] {
        sign(&mut t, pin);
    }
    bram_signs(&mut t);
    demo::written_and_told(&mut t);
    t.act(Act::AskCorrection { dog: "pip".into() });
    demo::choose(&mut t, "papers");
    demo::choose(&mut t, "misread");
    for pin in ["1111", "4711"] {
        sign(&mut t, pin);
    }
    bram_signs(&mut t);
    t.tap("book_agrees");
    assert_eq!(seats(&t)[0].tries_left, Some(5));
}

#[test]
fn killed_after_every_act_it_is_still_her_phone() {
    let (mut t, mut store) = hers();
    at_the_signature(&mut t, "pip");
    t.kill_and_reopen();
    assert_eq!(offered(&t), [false, false], "until the phone says it can");
    can(&mut t);
    ask_for(&mut t, "ottoline");
    t.kill_and_reopen();
    let secret = store.kept.clone().expect("kept");
    t.act(Act::OwnerUnlock { secret });
    assert_eq!(signed(&t), [false, false], "asked for before it was killed");
    can(&mut t);
    by_finger(&mut t, &mut store, Finger::Right);
    t.kill_and_reopen();
    assert_eq!(signed(&t), [true, false]);
    bram_signs(&mut t);
    demo::written_and_told(&mut t);
    // And in what is put right.
    can(&mut t);
    t.act(Act::AskCorrection { dog: "pip".into() });
    demo::choose(&mut t, "papers");
    demo::choose(&mut t, "misread");
    assert_eq!(offered(&t), [true, false]);
    by_finger(&mut t, &mut store, Finger::Right);
    bram_signs(&mut t);
    assert_eq!((t.title(), by_owner(&t)), ("title.papers", 2));
}

#[test]
fn where_a_session_is_signed_once_it_opens_the_key_and_signs_the_list() {
    let (mut t, mut store) = hers_by(once::roster_signed_once());
    let bram_unlocks = |t: &mut Table| {
        let (person, pin) = ("bram".into(), "2580".into());
        t.act(Act::Unlock { person, pin });
    };
    assert_eq!(
        (t.screen().as_str(), offered(&t)),
        ("unlock", vec![true, false])
    );
    by_finger(&mut t, &mut store, Finger::Right);
    bram_unlocks(&mut t);
    to_be_confirmed(&mut t, "pip");
    assert_eq!(offered(&t), [false, false], "a tap does");
    once::both_confirm(&mut t);
    demo::written_and_told(&mut t);
    t.tap("lock_phone");
    by_finger(&mut t, &mut store, Finger::Right);
    bram_unlocks(&mut t);
    // Idled at the signature: it opens the key there, and signs nothing by itself.
    to_be_confirmed(&mut t, "rook");
    t.wait(5 * 60_000);
    t.act(Act::Tick);
    assert_eq!(seats(&t)[0].asks, SeatAsks::Unlock);
    by_finger(&mut t, &mut store, Finger::Right);
    assert_eq!(seats(&t)[0].asks, SeatAsks::Confirm);
    bram_unlocks(&mut t);
    once::both_confirm(&mut t);
    demo::written_and_told(&mut t);
    // A correction is signed here too.
    t.act(Act::AskCorrection { dog: "pip".into() });
    demo::choose(&mut t, "papers");
    demo::choose(&mut t, "misread");
    by_finger(&mut t, &mut store, Finger::Right);
    bram_signs(&mut t);
    t.tap("book_agrees");
    once::both_confirm(&mut t);
    demo::written_and_told(&mut t);
    t.tap("review_close");
    t.tap("sign_list");
    by_finger(&mut t, &mut store, Finger::Right);
    bram_signs(&mut t);
    assert_eq!((t.screen().as_str(), by_owner(&t)), ("close", 5));
}

fn to_be_confirmed(t: &mut Table, dog: &str) {
    at_the_signature(t, dog);
    assert_eq!(t.screen(), "sign");
}

#[test]
fn what_another_phone_asks_is_signed_by_it_on_the_owners_phone() {
    let mut t = Table::new("");
    let mut own = elsewhere::brams_phone(&t);
    let mut store = KeyStore::default();
    can(&mut own);
    own.act(Act::OpenSettings);
    own.tap("own_phone_bram");
    let (person, pin) = ("bram".to_owned(), "2580".to_owned());
    own.act(Act::Unlock { person, pin });
    store.answers(&mut own, Finger::Right);
    assert_eq!(own.notice(), "notice.own_phone");
    leave(&mut own);
    let notice = elsewhere::said_of_it(&t, &own, 1, elsewhere::ENROLLED);
    demo::set_up(&mut t);
    t.act(Act::LoadRoster { text: notice });
    at_the_signature(&mut t, "pip");
    let ask = elsewhere::asked(&mut t);
    elsewhere::read(&mut own, &ask);
    assert_eq!((own.title(), offered(&own)), ("title.sign_for", vec![true]));
    by_finger(&mut own, &mut store, Finger::Right);
    let facts = own.whole();
    assert!(matches!(
        &facts[facts.len() - 3..],
        [Fact::SignedForOther { .. }, Fact::OpenedByOwner { person }, Fact::Sealed { .. }]
            if person == "bram"
    ));
}

#[test]
fn a_pack_may_forbid_it() {
    let mut t = Table::new("");
    can(&mut t);
    demo::set_up_with(&mut t, roster_forbids());
    t.act(Act::OpenSettings);
    let offer = t.offer("own_phone_ottoline");
    let why = offer.why_not.map(|w| w.key);
    assert_eq!(
        (offer.allowed, why.as_deref()),
        (false, Some("refused.owner_pack"))
    );
    t.act(offer.act);
    assert_eq!(t.notice(), "refused.owner_pack");
    leave(&mut t);
    // Set up under other rules, it opens nothing under these.
    let (mut t, _) = hers();
    demo::close_and_send(&mut t);
    t.tap("leave_session");
    t.act(Act::LoadRoster {
        text: roster_forbids(),
    });
    demo::set_up_here(&mut t);
    at_the_signature(&mut t, "pip");
    assert_eq!(offered(&t), [false, false]);
    ask_for(&mut t, "ottoline");
    assert_eq!((t.notice(), asks(&t)), ("refused.not_now", false));
    t.both_sign();
    assert_eq!((t.screen().as_str(), by_owner(&t)), ("book_line", 0));
}

#[test]
fn the_whole_script_is_whole() {
    let mut t = Table::new("");
    own_phone(&mut t);
    assert_eq!(by_owner(&t), 3);
    let on: Vec<bool> = t
        .whole()
        .into_iter()
        .filter_map(|f| match f {
            Fact::PhoneOwner { on, .. } => Some(on),
            _ => None,
        })
        .collect();
    assert_eq!(on, [true, false, true, false]);
}
