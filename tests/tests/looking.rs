//! What is looked at beside a session: slips that check, earlier sessions that are read back
//! whole, what is known of a dog, how long it takes; and bites and falls, which are recorded.

use std::io::Write;
use std::process::{Command, Stdio};

use standsquare_journal::record::fact::Fact;
use standsquare_session::Act;
use standsquare_session::view::{Effect, QrMatrix, Screen, Tone, Whereabouts};
use standsquare_tests::{Table, demo, looking};

fn signed_pip(t: &mut Table) {
    demo::to_the_chip(t, "pip");
    t.scan("999000000112233");
    demo::to_the_hoop(t);
    t.tap("base_flat");
    t.both_sign();
    t.tap("book_written");
}

fn code(t: &Table) -> QrMatrix {
    let Screen::Slip { slip } = &t.view().screen else {
        panic!("no slip: {}", t.screen())
    };
    slip.code.clone()
}

fn text_of(code: &QrMatrix) -> String {
    looking::read_code(code.side as usize, &code.modules)
}

fn answer(t: &Table) -> (String, Tone, usize) {
    let Screen::SlipCheck { check } = &t.view().screen else {
        panic!("no check: {}", t.screen())
    };
    let answer = check.answer.as_ref().expect("an answer");
    (answer.key.clone(), check.tone.clone(), check.says.len())
}

fn check(t: &mut Table, text: &str) -> String {
    t.act(Act::CheckSlip { text: text.into() });
    answer(t).0
}

/// A file that was shared, by the ending of its name.
fn shared(t: &Table, ending: &str) -> (String, String) {
    let file = t.effects().iter().find_map(|e| match e {
        Effect::Share { name, bytes, .. } if name.ends_with(ending) => Some((
            name.clone(),
            String::from_utf8(bytes.clone()).expect("text"),
        )),
        _ => None,
    });
    file.unwrap_or_else(|| panic!("no {ending}: {:?}", t.effects()))
}

#[test]
fn a_slip_is_read_off_the_glass_and_checked_on_phones_without_a_signal() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    signed_pip(&mut t);
    t.tap("slip");
    let code = code(&t);
    assert!(code.side <= 77, "version 15 at most");
    assert_eq!(code.modules.len(), (code.side * code.side) as usize);
    let slip = text_of(&code);
    assert!(slip.starts_with("SSQ1:"), "{slip}");
    t.tap("leave_look");
    assert_eq!(t.title(), "title.tell", "and the dog goes on from there");

    // On the phone that made it.
    t.tap("handler_told");
    t.act(Act::OpenSlipCheck);
    assert_eq!(check(&mut t, &slip), "slip.by_this_phone");
    assert_eq!((answer(&t).1, answer(&t).2 > 5), (Tone::Good, true));
    // One character changed, anywhere, is noticed.
    for at in (5..slip.len()).step_by(11) {
        let was = slip.as_bytes()[at];
        let other = if was == b'7' { '8' } else { '7' };
        let mut altered = slip.clone();
        altered.replace_range(at..=at, &other.to_string());
        let key = check(&mut t, &altered);
        assert!(
            ["slip.forged", "slip.unreadable", "slip.unknown_key"].contains(&key.as_str()),
            "{key}: {altered}"
        );
        assert_eq!((answer(&t).1, answer(&t).2), (Tone::Bad, 0));
    }
    assert_eq!(check(&mut t, "https://hollin.example"), "slip.no_slip");
    assert_eq!(check(&mut t, "SSQ2:ABC"), "slip.too_new");
    let device = hex::encode(t.phone().journal().device_key());

    // On another phone of the league: its roster vouches for the first one, or does not.
    for (phones, wanted) in [
        (vec![device], "slip.by_known_phone"),
        (vec!["zz".to_owned()], "slip.unknown_key"),
    ] {
        let mut roster = standsquare_office::demo::roster();
        roster.office.phones = phones;
        let mut other = Table::with_secret("", [8; 32]);
        other.tap("open_slip_check");
        assert_eq!(check(&mut other, &slip), "slip.no_roster");
        other.tap("leave_look");
        let text = serde_json::to_string(&roster).expect("JSON");
        other.act(Act::LoadRoster { text });
        other.tap("open_slip_check");
        assert_eq!(check(&mut other, &slip), wanted);
    }
}

#[test]
fn the_offices_own_slip_is_genuine_everywhere() {
    use ed25519_dalek::Signer;
    let key = standsquare_office::demo::demo_only_key();
    let slip = standsquare_journal::record::slip::Slip {
        dog: "Pip".into(),
        chip: "999000000112233".into(),
        result: "not-today:nervous".into(),
        status: String::new(),
        day: 20_782,
        window_from: None,
        window_to: None,
        measurers: vec!["LM-014".into()],
        pack: "larkmere-heights 2026".into(),
        demo: true,
    };
    let text = slip.code(&key.verifying_key().to_bytes(), |b| key.sign(b).to_bytes());
    let mut t = Table::new("");
    t.act(Act::LoadRoster {
        text: standsquare_office::demo::roster_json(),
    });
    t.tap("open_slip_check");
    assert_eq!(check(&mut t, &text), "slip.by_office");
    let Screen::SlipCheck { check } = &t.view().screen else {
        panic!()
    };
    let outcome = check
        .says
        .iter()
        .find(|l| l.label.key == "statement.outcome");
    assert_eq!(outcome.expect("an outcome").value.key, "outcome.not_today");
}

#[test]
fn no_slip_before_all_have_signed_and_none_for_a_paper_signature() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    for dog in ["pip", "nobody"] {
        t.act(Act::OpenSlip { dog: dog.into() });
        assert_eq!(t.notice(), "refused.slip_not_signed");
    }
    demo::to_the_chip(&mut t, "pip");
    t.act(Act::OpenSlip { dog: "pip".into() });
    assert_eq!(t.notice(), "refused.slip_not_signed");
    assert_eq!(t.title(), "title.chip");
}

#[test]
fn looking_records_nothing_and_what_lies_under_it_is_not_touched() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    demo::pip(&mut t);
    let (revision, queue) = (t.view().revision, t.view().screen.clone());
    let chip = demo::chip_of("pip");
    t.act(Act::OpenHistory { chip: chip.clone() });
    t.act(Act::CallDog { dog: "moss".into() });
    assert_eq!(t.notice(), "refused.not_now");
    t.tap("slip");
    // A second tap lays nothing on top.
    t.act(Act::OpenSlip { dog: "pip".into() });
    t.tap("leave_look");
    assert_eq!(t.title(), "title.history");
    // A reader is heard all the same, and a killed app comes back to the session.
    t.reader_connects();
    t.tap("leave_look");
    assert_eq!(t.view().revision, revision);
    assert_eq!(t.view().screen, queue);
    t.act(Act::OpenHistory { chip });
    t.kill_and_reopen();
    assert_eq!((t.view().revision, t.title()), (revision, "title.queue"));
    t.act(Act::LeaveLook);
    assert_eq!((t.notice(), t.title()), ("", "title.queue"));
}

/// What `session.json` says of a dog's flags.
fn flags(t: &Table, dog: &str) -> Vec<String> {
    let file: serde_json::Value = serde_json::from_str(&t.phone().session_json()).expect("JSON");
    let dogs = file["dogs"].as_array().expect("dogs");
    let dog = dogs.iter().find(|d| d["name"] == dog).expect("the dog");
    let flags = dog["flags"].as_array().expect("flags");
    flags
        .iter()
        .filter_map(|f| f.as_str().map(str::to_owned))
        .collect()
}

#[test]
fn a_bite_is_recorded_in_two_taps_at_every_step_and_is_signed_with_the_dog() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    t.act(Act::CallDog { dog: "pip".into() });
    let mut steps = Vec::new();
    for way_on in [
        "book_agrees",
        "handler_all_clear",
        "scan",
        "settled",
        "stands_square",
        "base_flat",
    ] {
        steps.push(t.title().to_owned());
        let before = t.title().to_owned();
        t.tap("incident");
        let Screen::Incident { incident } = &t.view().screen else {
            panic!("{before}: {}", t.screen())
        };
        let act = incident.happened[0].act.clone();
        t.act(act);
        assert_eq!(
            (t.notice(), t.title()),
            ("notice.incident", before.as_str())
        );
        if way_on == "scan" {
            t.scan("999000000112233");
        } else {
            t.tap(way_on);
        }
    }
    assert_eq!(steps.len(), 6);
    // On the glass before the first signature, it is stated anew with it.
    let stated = |t: &Table| {
        let events = t.phone().journal().events().expect("reads");
        let all = events
            .iter()
            .filter(|e| matches!(e.fact, Fact::Stated { .. }));
        all.count()
    };
    assert_eq!((t.title(), stated(&t)), ("title.sign", 1));
    looking::record(&mut t, "fall", "dog", "");
    assert_eq!((t.title(), stated(&t)), ("title.sign", 2));
    t.both_sign();
    assert_eq!(flags(&t, "Pip"), ["bite", "fall"]);
    // After the signatures it is in the files and in the record; nothing is signed anew.
    t.tap("book_written");
    t.tap("handler_told");
    demo::to_the_chip(&mut t, "moss");
    t.scan(&demo::chip_of("moss"));
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    t.both_sign();
    looking::record(&mut t, "fall", "handler", "");
    assert_eq!((t.title(), stated(&t)), ("title.book_line", 3));
    t.tap("book_written");
    t.tap("handler_told");
    assert_eq!(flags(&t, "Moss"), ["fall"]);
    // Between two dogs.
    looking::record(&mut t, "bite", "other", "a judge passing by");
    let csv = t.phone().return_csv();
    assert!(csv.contains("bite: other"), "{csv}");
    assert!(t.phone().session_json().contains("a judge passing by"));
    // What is none is refused, and nothing can be recorded once the session is closed.
    let head = t.phone().journal().head();
    looking::record(&mut t, "bite", "everybody", "");
    looking::record(&mut t, "bite", "dog", &"x".repeat(401));
    assert_eq!(t.notice(), "refused.words_long");
    t.tap("review_close");
    t.tap("close_session");
    let closed = t.phone().journal().head();
    assert_ne!(head, closed);
    looking::record(&mut t, "bite", "dog", "");
    assert_eq!(
        (t.notice(), t.phone().journal().head()),
        ("refused.not_now", closed)
    );
}

/// The office has it as one of the points to look at, with the dog's other ones.
#[test]
fn the_offices_inbox_shows_the_bite() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    demo::to_the_chip(&mut t, "pip");
    looking::record(&mut t, "bite", "handler", "");
    t.scan("999000000112233");
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    demo::sign_and_tell(&mut t);
    demo::close_and_send(&mut t);
    let inbox = t.office.undecided(10).expect("the inbox");
    let points: Vec<_> = inbox.iter().flat_map(|v| &v.points).collect();
    assert!(points.iter().any(|p| p.kind == "bite"), "{points:?}");
}

/// What happened between two dogs, and after a dog was signed, is in the office's file as in
/// the phone's own, byte for byte.
#[test]
fn the_offices_return_is_the_phones_whatever_happened() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    looking::record(&mut t, "fall", "other", "at the gate");
    demo::to_the_chip(&mut t, "pip");
    t.scan("999000000112233");
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    t.both_sign();
    looking::record(&mut t, "bite", "handler", "");
    t.tap("book_written");
    t.tap("handler_told");
    looking::record(&mut t, "bite", "dog", "two in the queue");
    demo::close_and_send(&mut t);
    let csv = t.phone().return_csv();
    assert!(
        csv.contains("fall: other") && csv.contains("bite: dog"),
        "{csv}"
    );
    let session = t.office.sessions(9).expect("a list")[0].session;
    let theirs = t.office.return_csv(session).expect("asked").expect("there");
    assert_eq!(theirs, csv);
    // The words are the office's to read; the file has no place for them.
    let happened = t.office.incidents(session).expect("a list");
    let words: Vec<_> = happened.iter().map(|i| i.words.as_str()).collect();
    assert_eq!(words, ["at the gate", "", "two in the queue"]);
    let inbox = t.office.undecided(10).expect("the inbox");
    assert!(
        inbox[0].points.iter().any(|p| p.kind == "bite"),
        "{:?}",
        inbox[0].points
    );
}

#[test]
fn an_earlier_session_is_read_back_whole_and_shared_again() {
    let mut t = Table::new("");
    demo::whole(&mut t);
    t.tap("share_return");
    let (name, csv) = shared(&t, ".csv");
    t.tap("leave_session");
    // Two more sessions: the first one is then read out of the journal again.
    for _ in 0..2 {
        t.tap("start_session");
        t.tap("set_venue");
        for (x_mdeg, y_mdeg) in [(420, -130), (180, -310)] {
            t.act(Act::LevelReading { x_mdeg, y_mdeg });
        }
        t.tap("surface_done");
        for hoop in ["h35", "h43"] {
            t.act(Act::HoopLooked {
                hoop: hoop.into(),
                good: true,
            });
        }
        t.tap("hoops_done");
        for (person, _) in demo::PINS {
            t.act(Act::SeatMeasurer {
                person: person.into(),
            });
        }
        t.tap("open_queue");
        t.reader_connects();
        let chip = demo::chip_of("tansy");
        demo::to_the_chip(&mut t, "moss");
        t.tap("not_today");
        t.act(Act::NotToday {
            reason: "nervous".into(),
        });
        demo::sign_and_tell(&mut t);
        assert!(!chip.is_empty());
        t.tap("review_close");
        t.tap("close_session");
        t.tap("leave_session");
    }
    for kill in [false, true] {
        if kill {
            t.kill_and_reopen();
        }
        let Screen::Home { home } = &t.view().screen else {
            panic!("not home")
        };
        assert_eq!(home.sessions.len(), 3);
        let first = home.sessions[2].open.clone();
        t.act(first);
        let Screen::Past { past } = &t.view().screen else {
            panic!("{}: {}", t.screen(), t.notice())
        };
        let dogs: Vec<_> = past.sections[1]
            .lines
            .iter()
            .chain(&past.sections[2].lines)
            .collect();
        assert_eq!(dogs.len(), 3);
        assert!(
            dogs.iter()
                .all(|d| d.whereabouts == Some(Whereabouts::InLog))
        );
        t.tap("share_return");
        assert_eq!(shared(&t, ".csv"), (name.clone(), csv.clone()));
        t.tap("print_return");
        let sheet = t.effects().iter().find_map(|e| match e {
            Effect::Print { name, sheet } => Some((name.clone(), sheet.clone())),
            _ => None,
        });
        let (pdf, sheet) = sheet.expect("a sheet");
        assert_eq!(pdf, name.replace(".csv", ".pdf"));
        assert_eq!(sheet.blocks.len(), 1 + 3);
        // From there to one of its dogs: all three sessions know Moss.
        looking::open_line(&mut t, "moss");
        let Screen::History { history } = &t.view().screen else {
            panic!("{}", t.screen())
        };
        let mine = history.sections[1]
            .lines
            .iter()
            .filter(|l| l.whereabouts.is_some());
        assert_eq!(mine.count(), 3);
        t.tap("leave_look");
        t.tap("leave_look");
    }
    t.act(Act::OpenPast {
        session: "00".into(),
    });
    assert_eq!(t.notice(), "refused.session_unknown");
}

#[test]
fn the_wait_is_told_once_three_dogs_are_done_and_by_the_middle_one() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    let waits = |t: &Table| -> Vec<Option<i64>> {
        let Screen::Queue { queue } = &t.view().screen else {
            panic!("{}", t.screen())
        };
        let waiting = queue.waiting.iter().filter(|d| d.call.is_some());
        waiting
            .map(|d| {
                let wait = d.wait.as_ref()?;
                match wait.args.first().map(|a| &a.value) {
                    Some(standsquare_session::view::ArgValue::Count { n }) => Some(*n),
                    other => panic!("{other:?}"),
                }
            })
            .collect()
    };
    assert!(waits(&t).iter().all(Option::is_none));
    let mut done = 0;
    for (dog, minutes) in [("pip", 3), ("moss", 7), ("juno", 30)] {
        demo::to_the_chip(&mut t, dog);
        t.scan(&demo::chip_of(dog));
        t.tap("not_today");
        t.act(Act::NotToday {
            reason: "nervous".into(),
        });
        t.both_sign();
        t.tap("book_written");
        t.wait(minutes * 60_000);
        t.tap("handler_told");
        done += 1;
        let told = waits(&t);
        assert_eq!(told.iter().any(Option::is_some), done == 3, "{told:?}");
    }
    // The next one now, the one after it in about seven minutes, whatever the long one took.
    let told = waits(&t);
    assert_eq!(told[0], None);
    assert_eq!(told[1], Some(7), "{told:?}");
}

/// Python's icalendar reads the entry: whole days, the window's, and the words as they were.
#[test]
fn the_calendar_entry_is_read_by_another_library() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    signed_pip(&mut t);
    let summary = "Pip; zweite Messung, der Höhe \\ – ".repeat(4) + "\nEnde";
    t.act(Act::CalendarEntry {
        dog: "pip".into(),
        summary: summary.clone(),
    });
    let (name, text) = shared(&t, ".ics");
    assert_eq!(name, "second-measure-2026-11-25-1.ics");
    // The pack's window: 12 to 24 months after this first measure.
    assert!(text.contains("DTSTART;VALUE=DATE:20271125\r\n"), "{text}");
    let scratch = env!("CARGO_TARGET_TMPDIR");
    let python = standsquare_reader::oracle::python(scratch, "calendar", &["icalendar==7.3.2"]);
    let Some(python) = python.unwrap_or_else(|help| panic!("{help}")) else {
        return;
    };
    let script = "
import icalendar, json, sys
calendar = icalendar.Calendar.from_ical(sys.stdin.buffer.read())
[event] = calendar.walk('VEVENT')
print(json.dumps([str(event['summary']), event.decoded('dtstart').isoformat(),
    event.decoded('dtend').isoformat(), str(event['uid']), calendar.errors + event.errors]))
";
    let mut child = Command::new(python)
        .args(["-c", script])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("it starts");
    let mut stdin = child.stdin.take().expect("a pipe");
    stdin.write_all(text.as_bytes()).expect("feeds");
    drop(stdin);
    let out = child.wait_with_output().expect("it ends");
    assert!(out.status.success());
    let said: serde_json::Value = serde_json::from_slice(&out.stdout).expect("JSON");
    assert_eq!(said[0], summary.trim());
    assert_eq!(
        (said[1].as_str(), said[2].as_str()),
        (Some("2027-11-25"), Some("2028-11-26"))
    );
    assert!(said[3].as_str().is_some_and(|uid| uid.ends_with("-1")));
    assert_eq!(said[4], serde_json::json!([]));
}
