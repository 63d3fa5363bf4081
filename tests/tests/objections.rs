//! A handler objects at the table: in their words, to the office, apart from the chain.

use standsquare_journal::cli::verify_file;
use standsquare_journal::record::fact::Fact;
use standsquare_session::view::{Effect, Screen};
use standsquare_session::{Act, JOURNAL_FILE};
use standsquare_sync::{Limits, Spoken, frames_of, post_body};
use standsquare_tests::{Table, demo, looking};

const WORDS: &str = "He crouched: a lorry went by, \"bang\", and she measured on.";

fn to_the_telling(t: &mut Table, dog: &str) {
    demo::to_the_chip(t, dog);
    t.scan(&demo::chip_of(dog));
    demo::to_the_hoop(t);
    t.tap("base_flat");
    t.both_sign();
    t.tap("book_written");
}

/// Pip's handler objects when they are told.
fn objected(about: &str) -> Table {
    let mut t = Table::new(about);
    demo::set_up(&mut t);
    to_the_telling(&mut t, "pip");
    looking::object(&mut t, "pip", WORDS);
    assert_eq!(t.notice(), "notice.objected");
    t
}

fn read(packed: &[u8]) -> Vec<Vec<u8>> {
    let chain = standsquare_journal::record::chain;
    frames_of(packed, Limits::default(), Some(chain)).expect("a post")
}

/// What the office's page says of its first measure, and the points of it.
fn at_the_office(t: &Table) -> (Vec<Option<String>>, Vec<(String, String)>) {
    let session = t.office.sessions(9).expect("a list")[0].session;
    let (_, visits) = t.office.session(session).expect("there");
    let visit = visits
        .iter()
        .find(|v| v.statement.dog == "Pip")
        .expect("Pip");
    let objected = t.office.objections(visit).expect("asked");
    let points = visit
        .points
        .iter()
        .map(|p| (p.kind.clone(), p.detail.clone()));
    (
        objected.into_iter().map(|o| o.words).collect(),
        points.collect(),
    )
}

#[test]
fn the_words_come_to_the_office_and_wait_there_for_a_decision() {
    let mut t = objected("");
    // It holds nobody up: the dog is told and the next is called.
    assert_eq!(t.title(), "title.tell");
    t.tap("handler_told");
    assert_eq!(t.title(), "title.queue");
    t.act(Act::Tick);
    t.office_answers();
    assert_eq!(t.phone().state().words_waiting(), 0);
    let (words, points) = at_the_office(&t);
    assert_eq!(words, [Some(WORDS.to_owned())]);
    assert!(
        points.contains(&("objection".into(), String::new())),
        "{points:?}"
    );
    let inbox = t.office.undecided(9).expect("a list");
    assert_eq!(inbox[0].statement.dog, "Pip");
    assert!(inbox[0].weight >= 88);
    // Later, from the dog's page; with nothing more to say. It needs a decision of its own.
    t.act(Act::OpenHistory {
        chip: demo::chip_of("pip"),
    });
    looking::object(&mut t, "pip", "");
    assert_eq!(t.title(), "title.queue");
    t.act(Act::OpenHistory {
        chip: demo::chip_of("pip"),
    });
    let Screen::History { history } = &t.view().screen else {
        panic!("{:?}", t.view().screen);
    };
    let said = history
        .sections
        .iter()
        .find(|s| s.heading.key == "history.objections");
    assert_eq!(said.expect("a section").lines.len(), 2);
    t.tap("leave_look");
    for id in ["review_close", "close_session", "send_return"] {
        t.tap(id);
    }
    t.office_answers();
    assert_eq!(t.phone().state().words_waiting(), 0);
    let (words, points) = at_the_office(&t);
    assert_eq!(words, [Some(WORDS.to_owned()), Some(String::new())]);
    assert!(
        points.contains(&("objection".into(), "2".into())),
        "{points:?}"
    );
    // The return says that there was one, on both sides alike, and not in which words.
    let csv = t.phone().return_csv();
    let session = t.office.sessions(9).expect("a list")[0].session;
    assert_eq!(
        t.office.return_csv(session).expect("asked"),
        Some(csv.clone())
    );
    assert!(csv.contains("objection") && !csv.contains("lorry"), "{csv}");
}

#[test]
fn the_words_are_in_no_event_and_not_in_the_file_in_the_clear_and_come_back_after_a_kill() {
    let mut t = objected("");
    t.kill_and_reopen();
    t.tap("objection");
    let Screen::Objection { objection } = &t.view().screen else {
        panic!("{:?}", t.view().screen);
    };
    assert_eq!(objection.before.len(), 1);
    assert!(format!("{:?}", objection.before).contains("lorry"));
    t.tap("leave_look");
    for event in t.phone().journal().events().expect("reads") {
        let holds = event.bytes.windows(5).any(|w| w == b"lorry");
        assert!(!holds, "{:?}", event.fact);
    }
    for file in std::fs::read_dir(t.dir()).expect("reads").flatten() {
        let bytes = std::fs::read(file.path()).expect("reads");
        assert!(
            !bytes.windows(5).any(|w| w == b"lorry"),
            "{:?}",
            file.path()
        );
    }
    let (report, whole) = verify_file(&t.dir().join(JOURNAL_FILE));
    assert!(whole, "{report}");
}

#[test]
fn words_that_do_not_fit_the_record_are_refused_and_those_before_their_frame_wait() {
    let mut t = objected("");
    t.tap("handler_told");
    t.act(Act::Tick);
    let (request, body) = t.asked("/v1/frames").expect("asked");
    let posted = read(&body);
    let (words, frames): (Vec<_>, Vec<_>) = posted.into_iter().partition(|b| Spoken::is_one(b));
    assert_eq!(words.len(), 1);
    // Words alone: nothing is known of them yet, and they are in neither list.
    let early = t.office.take_frames(&words, t.now_ms()).expect("taken");
    assert_eq!(early, (Vec::new(), Vec::new()));
    t.office
        .ingest(&post_body(&frames), t.now_ms())
        .expect("taken");
    let mut other = Spoken::decode_strict(&words[0]).expect("words");
    other.words.push('!');
    let (held, refused) = t
        .office
        .take_frames(&[other.encode()], t.now_ms())
        .expect("taken");
    assert_eq!((held.len(), refused[0].1.as_str()), (0, "other_words"));
    let (held, refused) = t
        .office
        .take_frames(&[b"SSQW\x01short".to_vec()], t.now_ms())
        .expect("taken");
    assert_eq!((held.len(), refused[0].1.as_str()), (0, "unreadable_words"));
    assert_eq!(at_the_office(&t).0, [None]);
    // The true ones, twice.
    for _ in 0..2 {
        let (held, refused) = t.office.take_frames(&words, t.now_ms()).expect("taken");
        assert_eq!((held.len(), refused.len()), (1, 0));
    }
    assert_eq!(at_the_office(&t).0, [Some(WORDS.to_owned())]);
    // The phone goes on until it is told.
    let receipt = t.office.ingest(&body, t.now_ms()).expect("taken");
    t.act(Act::OfficeAnswer {
        request,
        status: 200,
        body: receipt,
    });
    assert_eq!(t.phone().state().words_waiting(), 0);
}

#[test]
fn a_copy_by_file_takes_the_words_along() {
    let mut t = objected("");
    t.tap("handler_told");
    t.tap("give_copy");
    let file = t.effects().iter().find_map(|e| match e {
        Effect::Share { bytes, .. } => Some(bytes.clone()),
        _ => None,
    });
    t.office
        .import(&file.expect("a file"), t.now_ms(), &mut |_, _| {})
        .expect("taken");
    assert_eq!(at_the_office(&t).0, [Some(WORDS.to_owned())]);
}

#[test]
fn an_objection_is_taken_only_once_there_is_something_to_object_to_and_breaks_nothing_off() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    for dog in ["pip", "nobody"] {
        t.act(Act::OpenObjection { dog: dog.into() });
        assert_eq!(t.notice(), "refused.not_now");
        t.act(Act::RecordObjection {
            dog: dog.into(),
            words: String::new(),
        });
        assert_eq!(t.notice(), "refused.not_now");
    }
    to_the_telling(&mut t, "pip");
    t.tap("handler_told");
    // Another dog is half signed when Pip's handler comes back.
    to_the_telling(&mut t, "moss");
    t.tap("handler_told");
    demo::to_the_chip(&mut t, "rook");
    t.scan(&demo::chip_of("rook"));
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    let (person, pin) = ("ottoline".into(), "4711".into());
    t.act(Act::Sign { person, pin });
    let sealed = |t: &Table| {
        t.whole()
            .iter()
            .filter(|f| matches!(f, Fact::Sealed { .. }))
            .count()
    };
    let before = sealed(&t);
    t.act(Act::OpenObjection { dog: "pip".into() });
    looking::object(&mut t, "pip", WORDS);
    assert_eq!((sealed(&t), t.title()), (before, "title.sign"));
    let (person, pin) = ("bram".into(), "2580".into());
    t.act(Act::Sign { person, pin });
    demo::written_and_told(&mut t);
    t.act(Act::Tick);
    t.office_answers();
    assert_eq!(at_the_office(&t).0, [Some(WORDS.to_owned())]);
}

#[test]
fn the_words_go_with_the_handlers_name_once_the_office_has_them_in_its_log() {
    let mut t = objected("");
    t.tap("handler_told");
    demo::close_and_send(&mut t);
    t.tap("leave_session");
    t.act(Act::LoadRoster {
        text: demo::roster_with("attempts = 3", "attempts = 4"),
    });
    let words = t.phone().state().said[0].words;
    // Longer than the demo pack's two years.
    t.wait(732 * 86_400_000);
    t.tap("start_session");
    assert_eq!(t.notice(), "notice.personal_erased");
    assert!(
        t.phone()
            .journal()
            .subject(&words)
            .expect("reads")
            .is_none()
    );
    assert!(t.phone().state().said.is_empty());
    t.kill_and_reopen();
    let (report, whole) = verify_file(&t.dir().join(JOURNAL_FILE));
    assert!(whole, "{report}");
}
