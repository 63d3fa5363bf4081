//! Search, dossiers, calendars, appeals, and who looked at what.

mod support;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use http_body_util::BodyExt;
use standsquare_journal::record::notice::{Says, Why};
use standsquare_office::accounts::{Role, Worker};
use standsquare_office::appeals::{AppealFault, Decided, Step};
use standsquare_office::decide::Verdict;
use standsquare_office::dossier::{DossierFault, verify_dossier};
use standsquare_office::keys::Owner;
use standsquare_office::{OfficeState, demo, web};
use support::*;
use tower::ServiceExt;

const PIP: &str = "999000000112233";
const MOSS: &str = "999000000204518";

fn idris() -> Worker {
    Worker {
        account: "idris".into(),
        name: "Idris Fell".into(),
        role: Role::Secretary,
    }
}

async fn get(
    office: &OfficeState,
    path: &str,
    cookie: Option<&str>,
) -> (StatusCode, String, String) {
    let mut request = Request::get(path);
    if let Some(cookie) = cookie {
        request = request.header(header::COOKIE, cookie);
    }
    let answer = web::router(office.clone())
        .oneshot(request.body(Body::empty()).expect("a request"))
        .await
        .expect("an answer");
    let status = answer.status();
    let kind = answer
        .headers()
        .get(header::CONTENT_TYPE)
        .map(|v| v.to_str().expect("text").to_owned())
        .unwrap_or_default();
    let body = answer.into_body().collect().await.expect("a body");
    let text = String::from_utf8(body.to_bytes().to_vec()).expect("text");
    (status, kind, text)
}

#[test]
fn dogs_are_found_by_the_beginning_of_their_chip_or_name() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    for (visit, (name, chip)) in [
        ("Pip", PIP),
        ("Pippin", "999000000112234"),
        ("Moss", MOSS),
        ("Änne", "999000000300000"),
        ("p%p", ""),
    ]
    .into_iter()
    .enumerate()
    {
        let statement = pen.statement(visit as u32 + 1, name, chip);
        pen.dog(&statement);
    }
    held(&office, &pen.frames);
    let names = |text: &str| {
        let found = apart(|| office.search(text)).expect("searched");
        found.into_iter().map(|f| f.dog).collect::<Vec<_>>()
    };
    assert_eq!(names("pip"), ["Pip", "Pippin"]);
    assert_eq!(names("PIPP"), ["Pippin"]);
    assert_eq!(names("änn"), ["Änne"]);
    assert_eq!(names("ip"), [] as [String; 0]);
    assert_eq!(
        names("p%"),
        ["p%p"],
        "a sign of pattern languages is only a sign"
    );
    assert_eq!(names(PIP), ["Pip"]);
    assert_eq!(names("999 0000 0011-223"), ["Pip", "Pippin"]);
    assert_eq!(names("9990000003"), ["Änne"]);
    assert_eq!(names("998"), [] as [String; 0]);
    assert_eq!(names("' OR 1=1 --"), [] as [String; 0]);
    assert_eq!(names(" "), [] as [String; 0]);
}

#[test]
fn a_dossier_proves_what_was_signed_and_nothing_else() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    let text = apart(|| {
        office.extend_log().expect("logged");
        let moss = office.dog(MOSS).expect("asked").remove(0);
        office
            .decide(
                moss.head,
                1,
                &moss.points,
                Verdict::Stands,
                "well placed",
                &idris(),
                7,
            )
            .expect("decided");
        office.dossier(MOSS, 9).expect("asked").expect("there")
    });
    let key = office.public_key();
    let proven = verify_dossier(&text, &key).expect("it verifies");
    assert_eq!(
        (proven.chip.as_str(), proven.log_size, proven.notes),
        (MOSS, 3, 1)
    );
    assert_eq!(proven.measures.len(), 1);
    let (statement, signers) = &proven.measures[0];
    assert_eq!((statement.dog.as_str(), signers.len()), ("Moss", 2));
    assert!(!text.contains("Pip"), "another dog's name is not in clear");

    // Any change is noticed.
    assert_eq!(verify_dossier(&text, &[5; 32]), Err(DossierFault::Forged));
    let mut random = 5;
    for _ in 0..300 {
        let mut bytes = text.clone().into_bytes();
        let at = (number(&mut random) % bytes.len() as u64) as usize;
        bytes[at] ^= 1 << (number(&mut random) % 7);
        if let Ok(changed) = String::from_utf8(bytes)
            && let Ok(found) = verify_dossier(&changed, &key)
        {
            assert_eq!(found, proven, "white space and the like");
        }
    }
    assert!(apart(|| office.dossier("999", 9)).expect("asked").is_none());
}

#[test]
fn a_dossier_says_which_measures_a_lost_key_leaves_in_doubt() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    let key = office.public_key();
    let taken = || {
        let text = apart(|| {
            office.extend_log().expect("logged");
            office.dossier(PIP, 9).expect("asked").expect("there")
        });
        let proven = verify_dossier(&text, &key).expect("it verifies");
        (text, proven.doubtful)
    };
    assert_eq!(taken().1, [] as [&str; 0]);
    let speak = |person: &str, from_ms| {
        let owner = Owner::Person(person.into());
        let says = Says::Revoked {
            from_ms,
            why: Why::Exposed,
        };
        let public = person_key(person).verifying_key().to_bytes();
        apart(|| {
            let said =
                office.speak_of_key(public, &owner, 1, says, "rang up", &idris(), BEGIN_MS * 2);
            said.expect("said").text
        })
    };
    // From after the day on: told, and nothing is in doubt.
    let later = speak("bram", BEGIN_MS + 86_400_000);
    let (text, doubtful) = taken();
    assert!(text.contains(&later) && doubtful.is_empty());
    speak("ottoline", BEGIN_MS);
    let head = apart(|| office.dog(PIP)).expect("asked")[0].head;
    let (text, doubtful) = taken();
    assert_eq!(doubtful, [hex::encode(head)]);
    // What the secretary was told stays at the office.
    assert!(!text.contains("rang up"));
}

#[test]
fn a_dossier_leaves_in_doubt_what_a_key_signed_outside_its_time_as_the_inbox_does() {
    let ended = Says::Enrolled {
        from_ms: BEGIN_MS - 2,
        until_ms: Some(BEGIN_MS - 1),
    };
    let not_yet = Says::Enrolled {
        from_ms: BEGIN_MS * 2,
        until_ms: None,
    };
    let in_time = Says::Enrolled {
        from_ms: BEGIN_MS - 2,
        until_ms: None,
    };
    for (says, kind) in [
        (ended, Some("key-over")),
        (not_yet, Some("key-not-yet")),
        (in_time, None),
    ] {
        let office = office();
        held(&office, &two_dogs(1).frames);
        let public = person_key("bram").verifying_key().to_bytes();
        let owner = Owner::Person("bram".into());
        let (text, pip) = apart(|| {
            office.extend_log().expect("logged");
            office
                .speak_of_key(public, &owner, 1, says, "rang up", &idris(), BEGIN_MS * 2)
                .expect("said");
            let text = office.dossier(PIP, 9).expect("asked").expect("there");
            (text, office.dog(PIP).expect("asked").remove(0))
        });
        let proven = verify_dossier(&text, &office.public_key()).expect("it verifies");
        let points = pip.points.iter().map(|p| p.kind.as_str());
        let of_keys: Vec<_> = points.filter(|k| k.starts_with("key-")).collect();
        assert_eq!(of_keys, Vec::from_iter(kind));
        assert_eq!(!proven.doubtful.is_empty(), kind.is_some(), "{kind:?}");
    }
}

#[test]
fn what_is_not_logged_is_not_in_a_dossier() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    let text = apart(|| office.dossier(PIP, 9))
        .expect("asked")
        .expect("there");
    let proven = verify_dossier(&text, &office.public_key()).expect("it verifies");
    assert_eq!((proven.log_size, proven.measures.len()), (0, 0));
}

#[test]
fn an_appeal_goes_its_way_and_stays_on_record() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    apart(|| {
        let head = office.dog(MOSS).expect("asked").remove(0).head;
        let note = |nth, step: Step| office.note_appeal(head, nth, DAY, &step, &idris(), 5);
        let objection = Step::Objection {
            words: "She stood crooked.".into(),
        };
        let decided = Step::Decided {
            outcome: Decided::Dismissed,
            reason: "Measured again, the same.".into(),
        };
        let appeal = |measurers: &str| Step::Appeal {
            words: "Please measure again.".into(),
            interim: "Medium".into(),
            measurers: measurers.into(),
        };
        assert!(matches!(
            note(1, decided.clone()),
            Err(AppealFault::NothingOpen)
        ));
        note(1, objection.clone()).expect("noted");
        assert_eq!(
            office.open_appeals(9).expect("a list"),
            [(head, "Moss".to_owned(), DAY)]
        );
        assert!(matches!(
            note(1, appeal("LM-031")),
            Err(AppealFault::Changed)
        ));
        assert!(matches!(
            note(2, appeal("LM-031, lm-014")),
            Err(AppealFault::Involved(who)) if who == "lm-014"
        ));
        let short = Step::Objection {
            words: " x ".into(),
        };
        assert!(matches!(note(2, short), Err(AppealFault::Words)));
        note(2, appeal("LM-031, LM-040")).expect("noted");
        note(3, decided.clone()).expect("noted");
        assert_eq!(office.open_appeals(9).expect("a list"), []);
        let steps: Vec<_> = office.appeals(head).expect("a list");
        let steps: Vec<_> = steps.into_iter().map(|s| s.step).collect();
        assert_eq!(steps, [objection, appeal("LM-031, LM-040"), decided]);
        // The measure is as it was signed.
        assert_eq!(office.dog(MOSS).expect("asked")[0].statement.dog, "Moss");
        let reader = Worker {
            role: Role::Reader,
            ..idris()
        };
        let step = Step::Objection { words: "no".into() };
        assert!(matches!(
            office.note_appeal(head, 4, DAY, &step, &reader, 5),
            Err(AppealFault::NotAllowed)
        ));
        let step = Step::Objection {
            words: "of nothing".into(),
        };
        assert!(matches!(
            office.note_appeal([1; 32], 1, DAY, &step, &idris(), 5),
            Err(AppealFault::NotThere)
        ));
        // And it is in the dossier.
        office.extend_log().expect("logged");
        let text = office.dossier(MOSS, 9).expect("asked").expect("there");
        let proven = verify_dossier(&text, &office.public_key()).expect("it verifies");
        assert_eq!(proven.notes, 3);
    });
}

#[tokio::test]
async fn the_second_measure_is_a_calendar_that_stays_the_same() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    let path = format!("/dogs/{PIP}/second-measure.ics");
    let (status, kind, text) = get(&office, &path, None).await;
    assert_eq!(status, StatusCode::OK);
    assert_eq!(kind, "text/calendar; charset=utf-8");
    // RFC 5545: lines end with CR LF and have at most 75 octets.
    assert!(text.ends_with("END:VCALENDAR\r\n"));
    assert!(
        text.split("\r\n")
            .all(|line| line.len() <= 75 && !line.contains('\n'))
    );
    let unfolded = text.replace("\r\n ", "");
    for line in [
        "BEGIN:VEVENT",
        "DTSTART;VALUE=DATE:20271125",
        "DTEND;VALUE=DATE:20281125",
        "SUMMARY:demo\\, not official: second measure of Pip",
    ] {
        assert!(
            unfolded.split("\r\n").any(|l| l == line),
            "{line} in {unfolded}"
        );
    }
    assert_eq!(get(&office, &path, None).await.2, text);
    let (status, ..) = get(&office, "/dogs/999/second-measure.ics", None).await;
    assert_eq!(status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn who_looked_at_what_is_noted_and_only_a_secretary_reads_it() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    apart(|| demo::staff(&office)).expect("staff");
    let cookie = format!("standsquare-office={}", hex::encode([7; 32]));
    apart(|| {
        let now = std::time::SystemTime::now()
            .duration_since(std::time::UNIX_EPOCH)
            .expect("a clock");
        office.sign_in(
            "idris",
            demo::DEMO_ONLY_ACCOUNT.1,
            &[7; 32],
            now.as_millis() as i64,
        )
    })
    .expect("asked");
    get(&office, &format!("/dogs/{PIP}"), None).await;
    assert_eq!(
        apart(|| office.looks(9)).expect("a list"),
        [],
        "nobody is signed in"
    );
    for path in [
        format!("/dogs/{PIP}"),
        "/search?q=moss".to_owned(),
        format!("/dogs/{MOSS}/dossier.json"),
    ] {
        let (status, ..) = get(&office, &path, Some(&cookie)).await;
        assert_eq!(status, StatusCode::OK, "{path}");
    }
    let looks: Vec<_> = apart(|| office.looks(9))
        .expect("a list")
        .into_iter()
        .map(|l| (l.account, l.what, l.which))
        .collect();
    let look = |what: &str, which: &str| ("idris".to_owned(), what.to_owned(), which.to_owned());
    assert_eq!(
        looks,
        [
            look("dossier", MOSS),
            look("search", "moss"),
            look("dog", PIP)
        ]
    );
    let (status, _, page) = get(&office, "/looked", Some(&cookie)).await;
    assert_eq!(status, StatusCode::OK);
    assert!(page.contains(PIP) && page.contains("dossier"));
    let (status, ..) = get(&office, "/looked", None).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn what_is_counted_names_nobody() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    get(&office, "/search?q=Pip", None).await;
    let (status, _, text) = get(&office, "/metrics", None).await;
    assert_eq!(status, StatusCode::OK);
    assert!(text.contains("standsquare_frames_held_total 3\n"), "{text}");
    assert!(text.contains("standsquare_looks_total 1\n"), "{text}");
    assert!(!text.contains("Pip") && !text.contains("999"));
}
