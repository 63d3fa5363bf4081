//! Two phones of one session that found different things, settled after the session was closed
//! and after it was left, and by rules that have a session signed once. The office is a real one.

use standsquare_journal::record::fact::{Fact, Statement};
use standsquare_session::Act;
use standsquare_session::view::{Screen, SeatWay};
use standsquare_tests::demo::{chip_of, to_the_chip, to_the_hoop, written_and_told};
use standsquare_tests::once::{both_confirm, dog_once, unlock};
use standsquare_tests::owner::{Finger, KeyStore, bram_signs, by_finger, leave, set_up_hers};
use standsquare_tests::tables::{
    measured, medium, open_dog, other_phone, pair, roster_with, set_up_rest, sync, two_phones,
};
use standsquare_tests::{Table, lasting};

fn closed(t: &mut Table) {
    t.tap("review_close");
    t.tap("close_session");
}

/// Moss is small on the first phone and medium on the second; both sessions are closed, and
/// both phones know of it.
fn differing() -> (Table, Table) {
    let (mut first, mut second) = two_phones();
    pair(&mut first, &mut second);
    measured(&mut first, "moss");
    measured(&mut first, "pip");
    medium(&mut second, "moss");
    closed(&mut first);
    closed(&mut second);
    sync(&mut first);
    sync(&mut second);
    sync(&mut first);
    (first, second)
}

fn cautions(t: &Table) -> Vec<String> {
    t.view().cautions.iter().map(|c| c.key.clone()).collect()
}

fn offers(t: &Table) -> Vec<&str> {
    t.view().offers.iter().map(|o| o.id.as_str()).collect()
}

/// What is said of a dog in the return.
fn flags(t: &Table, dog: &str) -> Vec<String> {
    let Screen::Return { sent } = &t.view().screen else {
        panic!("no return: {}", t.title())
    };
    let row = sent.rows.iter().find(|r| r.name == dog).expect("the dog");
    row.flags.iter().map(|f| f.key.clone()).collect()
}

/// How many measures of the dog the office has to look at because two phones differ.
fn to_decide(t: &Table, dog: &str) -> usize {
    let history = t.office.dog(&chip_of(dog)).expect("reads");
    let points = history.iter().flat_map(|m| &m.points);
    points.filter(|p| p.kind == "phones-differ").count()
}

/// How many signatures the office has under each measure of the dog.
fn signed_at_office(t: &Table, dog: &str) -> Vec<usize> {
    let (_, visits) = t.office.session(session_of(t)).expect("the session");
    let of = visits.iter().filter(|v| v.statement.chip == chip_of(dog));
    of.map(|v| v.signed.len()).collect()
}

fn session_of(t: &Table) -> [u8; 16] {
    t.phone().state().latest().expect("a session").id
}

fn one_signs(t: &mut Table) {
    t.act(Act::Sign {
        person: "ottoline".into(),
        pin: "4711".into(),
    });
}

fn statements(t: &Table, dog: &str) -> Vec<Statement> {
    let facts = t.whole().into_iter();
    let stated = facts.filter_map(|f| match f {
        Fact::Stated { statement } => Some(Statement::decode_strict(&statement).expect("reads")),
        _ => None,
    });
    stated.filter(|s| s.dog == dog).collect()
}

#[test]
fn after_the_closing_what_differs_is_settled_by_a_new_signed_statement() {
    let (mut first, mut second) = differing();
    for t in [&first, &second] {
        assert_eq!(t.title(), "title.return");
        assert!(cautions(t).contains(&"caution.phones_differ".into()));
        assert_eq!(flags(t, "Moss").last().expect("said"), "beside.differs");
    }
    assert_eq!(to_decide(&first, "moss"), 2);
    first.tap("differs");
    assert_eq!(first.title(), "title.history");
    first.tap("settle_there");
    assert_eq!(first.title(), "title.sign");
    assert_eq!(cautions(&first), ["caution.settled_late"]);
    // Nothing but signing it, or leaving it for later.
    assert_eq!(offers(&first), ["sign_later"]);
    let before = lasting(first.view());
    first.kill_and_reopen();
    assert_eq!(lasting(first.view()), before);
    first.both_sign();
    // No book to write and no handler to tell: it is over.
    assert_eq!(first.title(), "title.return");
    let [was, is] = &statements(&first, "Moss")[..] else {
        panic!("two statements")
    };
    assert_eq!(was.outcome, is.outcome, "what was seen here stays");
    assert!(is.flags.contains(&"settled-there".into()));
    sync(&mut first);
    sync(&mut second);
    sync(&mut first);
    assert_eq!(to_decide(&first, "moss"), 0);
    assert_eq!(signed_at_office(&first, "moss"), [2, 2]);
    assert_eq!(
        flags(&first, "Moss").last().expect("said"),
        "beside.theirs_stands"
    );
    assert_eq!(
        flags(&second, "Moss").last().expect("said"),
        "beside.ours_stands"
    );
    for t in [&first, &second] {
        assert!(!cautions(t).contains(&"caution.phones_differ".into()));
        assert!(!offers(t).contains(&"differs"));
    }
}

#[test]
fn a_session_that_was_left_is_taken_up_again_for_it() {
    let (mut first, mut second) = differing();
    first.tap("leave_session");
    assert_eq!(first.title(), "title.home");
    assert!(cautions(&first).contains(&"caution.phones_differ".into()));
    first.kill_and_reopen();
    // By the earlier session's page, too.
    let Screen::Home { home } = &first.view().screen else {
        panic!("not at home")
    };
    let past = home.sessions[0].open.clone();
    first.act(past);
    let Screen::Past { past } = &first.view().screen else {
        panic!("no earlier session")
    };
    let lines = past.sections.iter().flat_map(|s| &s.lines);
    let line = lines.into_iter().find(|l| l.id == "moss").expect("Moss");
    assert!(line.notes.iter().any(|n| n.key == "beside.differs"));
    let open = line.open.clone().expect("a way");
    first.act(open);
    first.tap("settle_here");
    assert_eq!(first.title(), "title.sign");
    let taken_up = |t: &Table| {
        let whole = t.whole().into_iter();
        whole
            .filter(|f| matches!(f, Fact::SessionTakenUp { .. }))
            .count()
    };
    assert_eq!(taken_up(&first), 1);

    // One signs; the other is not here, and it is left for later.
    one_signs(&mut first);
    first.tap("sign_later");
    assert_eq!(first.title(), "title.return");
    let said = flags(&first, "Moss");
    assert_eq!(
        said[said.len() - 2..],
        ["flag.settling-unsigned", "beside.differs"]
    );
    first.tap("leave_session");
    sync(&mut first);
    // Until it is sealed by the last signature, the office has what was signed before.
    assert_eq!(signed_at_office(&first, "moss"), [2, 2]);
    first.kill_and_reopen();
    assert!(cautions(&first).contains(&"caution.phones_differ".into()));
    first.tap("differs");
    first.tap("settle_here");
    assert_eq!(taken_up(&first), 2);
    first.both_sign();
    first.tap("leave_session");
    sync(&mut first);
    sync(&mut second);
    assert_eq!(to_decide(&first, "moss"), 0);
    assert_eq!(signed_at_office(&first, "moss"), [2, 2]);
    assert_eq!(
        flags(&second, "Moss").last().expect("said"),
        "beside.theirs_stands"
    );
    assert_eq!(statements(&first, "Moss").len(), 3, "nothing was edited");

    // Another session later, the earlier one reads as it was left.
    let shown = |t: &mut Table| {
        let session = hex(&session_of(t));
        t.act(Act::OpenPast { session });
        let page = serde_json::to_value(&t.view().screen).expect("JSON");
        t.tap("leave_look");
        page
    };
    let id = hex(&session_of(&first));
    let mut before = shown(&mut first);
    first.tap("start_session");
    first.tap("set_venue");
    set_up_rest(&mut first);
    first.act(Act::OpenPast { session: id });
    let mut after = serde_json::to_value(&first.view().screen).expect("JSON");
    // What the office told of the other phone is of the newest session only.
    for page in [&mut before, &mut after] {
        let text = page.to_string();
        assert!(text.contains("flag.settled-here"), "{text}");
    }
    let without = |page: &serde_json::Value| {
        let mut page = page.clone();
        drop_notes(&mut page);
        page
    };
    assert_eq!(without(&before), without(&after));
}

/// Takes out of a page what only the office's answer says.
fn drop_notes(page: &mut serde_json::Value) {
    match page {
        serde_json::Value::Array(items) => {
            items.retain(|i| {
                let key = i.get("key").and_then(|k| k.as_str()).unwrap_or_default();
                !key.starts_with("beside.")
            });
            items.iter_mut().for_each(drop_notes);
        }
        serde_json::Value::Object(fields) => fields.values_mut().for_each(drop_notes),
        _ => {}
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// With another session under way it has to wait, and nothing is offered.
#[test]
fn under_way_in_another_session_nothing_is_taken_up() {
    let (mut first, _) = differing();
    first.tap("leave_session");
    first.tap("start_session");
    let whole = first.whole().len();
    let settle = Act::SettleDispute {
        dog: "moss".into(),
        here: true,
    };
    first.act(settle);
    assert_eq!(first.notice(), "refused.not_now");
    first.act(Act::OpenHistory {
        chip: chip_of("moss"),
    });
    assert!(!offers(&first).contains(&"settle_here"));
    assert_eq!(first.whole().len(), whole);
}

/// By rules that have a session signed once, what settles it takes each measurer's PIN: on the
/// open phone, and after the closing.
#[test]
fn where_a_session_is_signed_once_it_is_signed_there_and_then() {
    let (first, second) = (Table::new(""), other_phone());
    let roster = roster_with(
        &[&first, &second],
        "sign = \"each-dog\"",
        "sign = \"session\"",
    );
    let (mut first, mut second) = (first, second);
    standsquare_tests::tables::begun(&mut first, &roster);
    second.act(Act::LoadRoster { text: roster });
    second.office = first.office.clone();
    pair(&mut first, &mut second);
    for t in [&mut first, &mut second] {
        unlock(t);
        dog_once(t, "pip");
    }
    for dog in ["moss", "rook"] {
        dog_once(&mut first, dog);
        to_the_chip(&mut second, dog);
        second.scan(&chip_of(dog));
        to_the_hoop(&mut second);
        for _ in 0..3 {
            second.tap("base_not_flat");
            second.tap("stands_square");
        }
        second.tap("base_flat");
        both_confirm(&mut second);
        written_and_told(&mut second);
    }
    for t in [&mut first, &mut second] {
        t.tap("review_close");
        t.tap("sign_list");
        t.both_sign();
    }
    sync(&mut second);
    sync(&mut first);
    // While the session is open still.
    first.tap("back_to_queue");
    unlock(&mut first);
    open_dog(&mut first, "moss");
    first.tap("settle_there");
    let Screen::Sign { sign } = &first.view().screen else {
        panic!("not the sign-off: {}", first.title())
    };
    assert!(sign.seats.iter().all(|s| s.way == SeatWay::Pin));
    first.act(Act::Confirm {
        person: "ottoline".into(),
    });
    assert_eq!(first.notice(), "refused.not_now", "a tap is no signature");
    first.both_sign();
    written_and_told(&mut first);
    closed(&mut first);
    second.tap("close_session");
    sync(&mut first);
    sync(&mut second);
    sync(&mut first);
    assert_eq!(
        (to_decide(&first, "moss"), to_decide(&first, "rook")),
        (0, 2)
    );
    // And when it is over, on the other phone: by its owner's finger as well as by their PIN.
    second.tap("leave_session");
    let mut store = KeyStore::default();
    second.act(Act::OwnerCan { can: true });
    set_up_hers(&mut second, &mut store, "4711", Finger::Right);
    leave(&mut second);
    second.tap("differs");
    second.tap("settle_here");
    by_finger(&mut second, &mut store, Finger::Right);
    bram_signs(&mut second);
    second.tap("leave_session");
    sync(&mut second);
    sync(&mut first);
    for dog in ["pip", "moss", "rook"] {
        assert_eq!(to_decide(&first, dog), 0, "{dog}");
        assert_eq!(signed_at_office(&first, dog), [2, 2], "{dog}");
    }
    assert_eq!(
        flags(&first, "Moss").last().expect("said"),
        "beside.theirs_stands"
    );
    assert_eq!(
        flags(&first, "Rook").last().expect("said"),
        "beside.theirs_stands"
    );
}
