//! Handlers' data goes when the rule pack's time is over, and never before the office's
//! signed log has every dog that was measured under it.

use standsquare_journal::cli::verify_file;
use standsquare_journal::record::fact::Fact;
use standsquare_journal::store::Item;
use standsquare_session::view::Screen;
use standsquare_session::{Act, JOURNAL_FILE};
use standsquare_tests::{Table, demo};

const DAY_MS: i64 = 86_400_000;
/// The demo pack keeps personal data for 2 years; the session is on 2026-11-25.
const LAST_DAY: i64 = 731;

/// A session, sent, acknowledged and left; then another roster.
fn after_a_session() -> (Table, Vec<[u8; 16]>) {
    let mut t = Table::new("kept long enough");
    demo::whole_but_the_log(&mut t);
    let subjects = t.phone().journal().subjects().expect("reads");
    assert!(!subjects.is_empty());
    t.tap("leave_session");
    t.act(Act::LoadRoster {
        text: demo::roster_with("attempts = 3", "attempts = 4"),
    });
    (t, subjects)
}

/// As if the office's log had these of the frames that it acknowledged, and no others.
fn logged(t: &mut Table, have: impl Fn(usize) -> bool) {
    t.with_journal(|journal, at_ms| {
        let mut frames = Vec::new();
        for event in journal.events().expect("reads") {
            if let Fact::Acknowledged { frames: held, .. } = event.fact {
                frames.extend(held);
            }
        }
        assert!(frames.len() > 1);
        let in_log = frames.into_iter().enumerate();
        let fact = Fact::Logged {
            frames: in_log.filter(|(n, _)| have(*n)).map(|(_, f)| f).collect(),
            checkpoint: "as received".into(),
        };
        journal
            .commit(at_ms, vec![Item::Fact(fact)])
            .expect("commits");
    });
}

/// Begins a session after so many days; how many of `subjects` are there still.
fn begin_after(t: &mut Table, days: i64, subjects: &[[u8; 16]]) -> usize {
    t.wait(days * DAY_MS);
    t.tap("start_session");
    let there = t.phone().journal().subjects().expect("reads");
    // What the roster in use brought is never touched.
    assert!(there.len() >= subjects.len());
    subjects.iter().filter(|id| there.contains(id)).count()
}

#[test]
fn what_was_kept_long_enough_and_is_in_the_log_goes_and_the_chain_verifies() {
    let (mut t, subjects) = after_a_session();
    t.log_answers();
    let all = t.phone().journal().subjects().expect("reads").len();
    assert_eq!(begin_after(&mut t, LAST_DAY + 1, &subjects), 0);
    assert_eq!(t.notice(), "notice.personal_erased");
    let journal = t.phone().journal();
    assert_eq!(
        journal.subjects().expect("reads").len(),
        all - subjects.len()
    );
    let told = journal
        .events()
        .expect("reads")
        .into_iter()
        .rev()
        .find_map(|e| match e.fact {
            Fact::PersonalErased {
                subjects,
                kept_days,
            } => Some((subjects.len(), kept_days)),
            _ => None,
        });
    assert_eq!(told, Some((subjects.len(), 730)));
    t.kill_and_reopen();
    let file = t.dir().join(JOURNAL_FILE);
    let (report, whole) = verify_file(&file);
    assert!(whole, "{report}");
    // Not a byte of the names is left in the file or its log: each was sealed anyway, but
    // its row is gone too.
    let bytes = std::fs::read(&file).expect("reads");
    let kept = t.phone().state().put_away();
    let times = |bytes: &[u8], id: &[u8; 16]| bytes.windows(16).filter(|w| w == id).count();
    for id in &subjects {
        // Called, and erased, in the chain; and the random id alone in what is kept for speed.
        let told = 2 + times(&kept, id);
        let rows = times(&bytes, id);
        assert!(rows <= told + 1, "{rows}");
    }
}

#[test]
fn on_the_last_day_everything_is_still_there() {
    let (mut t, subjects) = after_a_session();
    t.log_answers();
    assert_eq!(begin_after(&mut t, LAST_DAY - 1, &subjects), subjects.len());
    assert_ne!(t.notice(), "notice.personal_erased");
}

#[test]
fn what_the_office_only_acknowledged_stays() {
    let (mut t, subjects) = after_a_session();
    let called = called(&t);
    assert!(!called.is_empty());
    begin_after(&mut t, 3 * 365, &subjects);
    let there = t.phone().journal().subjects().expect("reads");
    assert!(called.iter().all(|id| there.contains(id)));
}

#[test]
fn a_dog_of_which_one_frame_is_not_in_the_log_stays() {
    let (mut t, subjects) = after_a_session();
    let called = called(&t);
    // The last frame has the closing, to which every dog of the session belongs.
    logged(&mut t, |n| n == 0);
    begin_after(&mut t, 3 * 365, &subjects);
    let there = t.phone().journal().subjects().expect("reads");
    assert!(called.iter().all(|id| there.contains(id)));
}

/// Whose dogs were called.
fn called(t: &Table) -> Vec<[u8; 16]> {
    let events = t.phone().journal().events().expect("reads");
    let called = events.into_iter().filter_map(|e| match e.fact {
        Fact::DogCalled { subject, .. } => Some(*subject),
        _ => None,
    });
    called.collect()
}

#[test]
fn a_roster_that_is_still_worked_by_keeps_its_handlers() {
    let mut t = Table::new("the same roster");
    demo::whole(&mut t);
    t.tap("leave_session");
    let subjects = t.phone().journal().subjects().expect("reads");
    assert_eq!(begin_after(&mut t, 3 * 365, &subjects), subjects.len());
    assert!(!matches!(t.view().screen, Screen::Home { .. }));
}
