//! Two phones of one session and a real office: each keeps its own record; equal results
//! corroborate each other, different ones are disputed and both kept until a new signed
//! statement names both; one device with two histories is set aside and reported. The same
//! picture on both phones and at the office, whatever order things arrive in.

use standsquare_journal::record::fact::{Fact, Statement};
use standsquare_journal::record::pair::Pairing;
use standsquare_journal::record::statement_hash;
use standsquare_session::Act;
use standsquare_session::view::{Screen, View};
use standsquare_sync::beside::Told;
use standsquare_tests::demo::sign_and_tell;
use standsquare_tests::tables::{
    begun, codes_shown, measured, medium, open_dog, other_phone, pair, read, roster_of, sync,
    two_phones,
};
use standsquare_tests::{Table, lasting};

fn paired() -> (Table, Table) {
    let (mut first, mut second) = two_phones();
    pair(&mut first, &mut second);
    (first, second)
}

fn said_beside(view: &View, dog: &str) -> String {
    let Screen::Queue { queue } = &view.screen else {
        panic!("no queue")
    };
    let mut lines = queue.waiting.iter().chain(&queue.done);
    let line = lines.find(|l| l.id == dog).expect("the dog");
    line.beside
        .as_ref()
        .map(|t| t.key.clone())
        .unwrap_or_default()
}

fn cautions(t: &Table) -> Vec<String> {
    t.view().cautions.iter().map(|c| c.key.clone()).collect()
}

fn code_of(t: &mut Table) -> String {
    t.tap("pair");
    let text = codes_shown(t).concat();
    t.tap("leave_look");
    text
}

fn session_of(t: &Table) -> [u8; 16] {
    t.phone().state().session.as_ref().expect("a session").id
}

/// What the office has to look at in the measures of this dog.
fn points(t: &Table, dog: &str) -> Vec<Vec<String>> {
    let chip = standsquare_tests::demo::chip_of(dog);
    let history = t.office.dog(&chip).expect("reads");
    let kinds = |points: &[standsquare_office::points::Point]| {
        points.iter().map(|p| p.kind.clone()).collect::<Vec<_>>()
    };
    history.iter().map(|m| kinds(&m.points)).collect()
}

#[test]
fn a_second_phone_joins_by_a_code_and_each_keeps_its_own_record() {
    let (first, second) = paired();
    assert_eq!(session_of(&first), session_of(&second));
    assert_eq!(
        (first.title(), second.title()),
        ("title.queue", "title.queue")
    );
    let paired_in = |t: &Table| -> Vec<Fact> {
        let facts = t.whole().into_iter();
        facts.filter(|f| matches!(f, Fact::Paired { .. })).collect()
    };
    for (here, there) in [(&first, &second), (&second, &first)] {
        let other = there.phone().journal();
        assert_eq!(
            paired_in(here),
            [Fact::Paired {
                device_key: other.device_key().into(),
                journal: other.journal_id().into(),
                session: session_of(here).into()
            }]
        );
    }
    let venue = |t: &Table| {
        t.phone()
            .state()
            .session
            .as_ref()
            .and_then(|s| s.venue.clone())
    };
    assert_eq!(venue(&first), venue(&second), "it is at the same place");
}

#[test]
fn equal_results_corroborate_and_different_ones_are_kept_until_both_are_named() {
    let (mut first, mut second) = paired();
    measured(&mut first, "pip");
    measured(&mut second, "pip");
    measured(&mut first, "moss");
    medium(&mut second, "moss");
    measured(&mut second, "juno");
    // The first one syncs before the second has: it knows no more than before.
    sync(&mut first);
    assert_eq!(said_beside(first.view(), "pip"), "");
    sync(&mut second);
    sync(&mut first);
    for t in [&mut first, &mut second] {
        assert_eq!(said_beside(t.view(), "pip"), "beside.same");
        assert_eq!(said_beside(t.view(), "moss"), "beside.differs");
        assert!(cautions(t).contains(&"caution.phones_differ".into()));
        // It outlives a kill.
        let before = lasting(t.view());
        t.kill_and_reopen();
        assert_eq!(lasting(t.view()), before);
    }
    assert_eq!(said_beside(first.view(), "juno"), "beside.only_there");
    assert!(
        points(&first, "pip")
            .iter()
            .flatten()
            .all(|k| k != "phones-differ")
    );
    let differing = |t: &Table| {
        points(t, "moss")
            .iter()
            .filter(|p| p.contains(&"phones-differ".into()))
            .count()
    };
    assert_eq!(differing(&first), 2, "both are pointed out, both are kept");

    // The measurers at the first phone sign that the other one's stands.
    open_dog(&mut first, "moss");
    first.tap("settle_there");
    assert_eq!(first.title(), "title.sign");
    sign_and_tell(&mut first);
    let stated: Vec<(Statement, [u8; 32])> = first
        .whole()
        .iter()
        .filter_map(|f| match f {
            Fact::Stated { statement } => Some((
                Statement::decode_strict(statement).expect("a statement"),
                statement_hash(statement),
            )),
            _ => None,
        })
        .filter(|(s, _)| s.dog == "Moss")
        .collect();
    assert_eq!(stated.len(), 2, "nothing was edited");
    let asked = first.whole().into_iter().find_map(|f| match f {
        Fact::SettleAsked { theirs, ours, .. } => Some((*theirs, *ours)),
        _ => None,
    });
    let (theirs, ours) = asked.expect("it names both");
    assert_eq!(ours, stated[0].1);
    let flags = &stated[1].0.flags;
    assert!(flags.contains(&"settled-there".into()), "{flags:?}");
    let named = format!("settles:{}:category:medium", hex(&theirs[..8]));
    assert!(flags.contains(&named), "{flags:?}");
    assert_eq!(
        stated[1].0.outcome, stated[0].0.outcome,
        "what was seen here stays"
    );

    sync(&mut first);
    sync(&mut second);
    sync(&mut first);
    assert_eq!(said_beside(first.view(), "moss"), "beside.theirs_stands");
    assert_eq!(said_beside(second.view(), "moss"), "beside.ours_stands");
    assert_eq!(differing(&first), 0, "the office has nothing to decide");
    for t in [&first, &second] {
        assert!(!cautions(t).contains(&"caution.phones_differ".into()));
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// Both settle it at once and agree: settled. They disagree: disputed as before.
#[test]
fn settled_on_both_phones_it_holds_only_if_they_say_the_same() {
    for (second_says, wanted) in [
        ("settle_there", "beside.ours_stands"),
        ("settle_here", "beside.differs"),
    ] {
        let (mut first, mut second) = paired();
        measured(&mut first, "moss");
        medium(&mut second, "moss");
        sync(&mut first);
        sync(&mut second);
        sync(&mut first);
        for (t, tap) in [(&mut first, "settle_here"), (&mut second, second_says)] {
            open_dog(t, "moss");
            t.tap(tap);
            sign_and_tell(t);
        }
        sync(&mut second);
        sync(&mut first);
        sync(&mut second);
        assert_eq!(said_beside(first.view(), "moss"), wanted);
        let mirrored = wanted.replace("ours", "theirs");
        assert_eq!(said_beside(second.view(), "moss"), mirrored);
    }
}

/// Whatever order the two sync in, and however often: one picture in the end.
#[test]
fn any_order_of_arrival_gives_one_picture() {
    let mut dice = fastrand::Rng::with_seed(66);
    let mut pictures = Vec::new();
    for _ in 0..8 {
        let (mut first, mut second) = paired();
        let mut deeds: Vec<(bool, &str, bool)> = vec![
            (true, "pip", false),
            (false, "pip", false),
            (true, "moss", false),
            (false, "moss", true),
            (true, "rook", true),
        ];
        dice.shuffle(&mut deeds);
        for (of_first, dog, is_medium) in deeds {
            let t = if of_first { &mut first } else { &mut second };
            match is_medium {
                true => medium(t, dog),
                false => measured(t, dog),
            }
            if dice.bool() {
                sync(&mut first);
            }
            if dice.bool() {
                sync(&mut second);
            }
        }
        for _ in 0..2 {
            sync(&mut first);
            sync(&mut second);
        }
        let dogs = ["pip", "moss", "rook", "juno"];
        let seen = [&first, &second].map(|t| dogs.map(|d| said_beside(t.view(), d)));
        let mut office: Vec<_> = ["pip", "moss", "rook"].map(|d| points(&first, d)).to_vec();
        office.iter_mut().for_each(|p| p.sort());
        pictures.push((seen, office));
    }
    assert!(pictures.windows(2).all(|w| w[0] == w[1]), "{pictures:#?}");
    let (seen, _) = &pictures[0];
    assert_eq!(seen[0], ["beside.same", "beside.differs", "", ""]);
    assert_eq!(
        seen[1],
        ["beside.same", "beside.differs", "beside.only_there", ""]
    );
}

/// The first phone never read the answer: it learns of the second one from the office.
#[test]
fn who_did_not_read_the_answer_learns_of_the_other_phone_at_the_sync() {
    let (mut first, mut second) = two_phones();
    let code = code_of(&mut first);
    read(&mut second, &code);
    for t in [&mut first, &mut second] {
        standsquare_tests::tables::set_up_rest(t);
    }
    measured(&mut first, "pip");
    measured(&mut second, "pip");
    sync(&mut second);
    sync(&mut first);
    assert_eq!(said_beside(first.view(), "pip"), "beside.same");
    let known = first
        .phone()
        .state()
        .session
        .as_ref()
        .expect("a session")
        .paired
        .clone();
    let other = second.phone().journal();
    assert_eq!(known, [(other.device_key(), other.journal_id())]);
}

#[test]
fn codes_that_pair_nothing_are_refused_with_what_to_do() {
    let (mut first, mut second) = two_phones();
    let code = code_of(&mut first);
    let refused = |t: &mut Table, text: &str, wanted: &str| {
        let before = t.whole().len();
        t.act(Act::BookCode { code: text.into() });
        assert_eq!(t.notice(), wanted, "{text}");
        assert_eq!(t.whole().len(), before, "{wanted}");
    };
    refused(&mut first, &code, "refused.own_pairing");
    for cut in [5, 30, code.len() - 1] {
        refused(&mut second, &code[..cut], "refused.code_damaged");
    }
    refused(
        &mut second,
        &code.replacen("SSP1", "SSP2", 1),
        "refused.code_too_new",
    );
    for at in (5..code.len()).step_by(7) {
        let with = if &code[at..=at] == "7" { "8" } else { "7" };
        let mut altered = code.clone();
        altered.replace_range(at..=at, with);
        let keys = [first.phone().journal().device_key()];
        assert!(Pairing::check(&altered, &keys).is_err());
    }
    // Of a phone that the roster does not name, of other rules, of another league or day.
    let mut stranger = Table::with_secret("", [9; 32]);
    let roster = roster_of(&[&stranger]);
    begun(&mut stranger, &roster);
    let foreign = code_of(&mut stranger);
    refused(&mut second, &foreign, "refused.phone_unknown");
    let with = |change: &dyn Fn(&mut standsquare_sync::roster::Roster), wait: i64| {
        let mut phone = Table::new("");
        let mut roster = standsquare_office::demo::roster();
        change(&mut roster);
        phone.wait(wait);
        begun(&mut phone, &serde_json::to_string(&roster).expect("JSON"));
        code_of(&mut phone)
    };
    let other_rules = with(&|r| r.pack = r.pack.replace("2026\"", "2026a\""), 0);
    refused(&mut second, &other_rules, "refused.pair_other_rules");
    let other_league = with(&|r| r.league.id = "overmere".into(), 0);
    refused(&mut second, &other_league, "refused.list_of_another_league");
    let other_day = with(&|_| {}, 2 * 24 * 3_600_000);
    refused(&mut second, &other_day, "refused.pair_other_day");
    // In a session of its own already.
    second.tap("start_session");
    refused(&mut second, &code, "refused.pair_in_session");
    let mut idle = other_phone();
    refused(&mut idle, &code, "refused.no_roster");
}

#[test]
fn a_device_with_two_histories_is_told_in_words_on_both_phones() {
    let (mut first, mut second) = paired();
    measured(&mut first, "pip");
    measured(&mut second, "moss");
    sync(&mut first);
    sync(&mut second);
    // The same device writes on in a copy of its file: two histories.
    let copy = tempfile::TempDir::new().expect("a folder");
    let at = copy.path().join(standsquare_session::JOURNAL_FILE);
    second.phone().export_journal(&at).expect("a copy");
    let mut twin = Table::in_folder("", copy, [8; 32]);
    twin.office = second.office.clone();
    twin.wait(second.now_ms() - twin.now_ms());
    measured(&mut twin, "juno");
    sync(&mut twin);
    measured(&mut second, "rook");
    sync(&mut second);
    assert_eq!(second.notice(), "notice.office_set_aside");
    sync(&mut second);
    sync(&mut first);
    assert!(
        cautions(&second).contains(&"caution.fork_here".into()),
        "{:?}",
        cautions(&second)
    );
    assert!(
        cautions(&first).contains(&"caution.fork_there".into()),
        "{:?}",
        cautions(&first)
    );
}

/// An answer that is not the office's, is another session's, or is an old one changes nothing.
#[test]
fn an_answer_that_the_office_did_not_give_changes_nothing() {
    let (mut first, mut second) = paired();
    measured(&mut first, "pip");
    measured(&mut second, "pip");
    sync(&mut second);
    first.wait(11 * 60_000);
    first.act(Act::Tick);
    first.office_answers();
    let (request, body) = first.asked("/v1/beside").expect("it asks");
    let told = first
        .office
        .answer_beside(&body, first.now_ms())
        .expect("told");
    let before = first.whole().len();
    let mut forged = told.clone();
    let at = forged.len() - 1;
    forged[at] ^= 1;
    first.act(Act::OfficeAnswer {
        request: request.clone(),
        status: 200,
        body: forged,
    });
    assert_eq!(first.whole().len(), before);
    assert_eq!(said_beside(first.view(), "pip"), "");
    // It was waited for once.
    first.act(Act::OfficeAnswer {
        request,
        status: 200,
        body: told.clone(),
    });
    assert_eq!(first.whole().len(), before);
    let key = first.office.public_key();
    assert!(Told::verify(&told, &key, &session_of(&first)).is_ok());
    assert!(Told::verify(&told, &key, &[0; 16]).is_err());
    assert!(Told::verify(&told, &[3; 32], &session_of(&first)).is_err());
    for cut in 0..told.len() {
        assert!(Told::verify(&told[..cut], &key, &session_of(&first)).is_err());
    }
    // Who sent nothing of the session is told nothing.
    let stranger = Table::with_secret("", [9; 32]);
    let ask = standsquare_sync::beside::BesideAsk {
        office_key: key,
        device_key: stranger.phone().journal().device_key(),
        session: session_of(&first),
        at_ms: first.now_ms(),
    };
    let body = ask.sign(|bytes| stranger.phone().journal().sign_by_device(bytes));
    assert!(first.office.answer_beside(&body, first.now_ms()).is_err());
    let late = first.now_ms() + 3_600_000;
    let ours = standsquare_sync::beside::BesideAsk {
        device_key: first.phone().journal().device_key(),
        ..ask
    };
    let body = ours.sign(|bytes| first.phone().journal().sign_by_device(bytes));
    assert!(first.office.answer_beside(&body, first.now_ms()).is_ok());
    assert!(first.office.answer_beside(&body, late).is_err());
}
