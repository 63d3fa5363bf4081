//! The pages of phones, people and their keys, and what happened at a session.

mod support;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use ed25519_dalek::{Signer, SigningKey};
use http_body_util::BodyExt;
use standsquare_journal::record::fact::{Fact, Harm, Whom};
use standsquare_journal::record::notice::{Notice, Says, Why};
use standsquare_office::accounts::Role;
use standsquare_office::{OfficeState, demo, web};
use standsquare_sync::{Edition, EnrolAsk, EnrolCode, Enrolment, RosterAsk};
use support::web::*;
use support::*;
use tower::ServiceExt;

/// An office that is no demo, with a secretary and a return.
fn real_office() -> OfficeState {
    let mut roster = demo::roster();
    roster.demo = false;
    let office = apart(|| {
        let office = OfficeState::open(engine(), demo::demo_only_key(), roster);
        let office = office.expect("it opens");
        demo::staff(&office).expect("a secretary");
        office
    });
    held(&office, &two_dogs(1).frames);
    office
}

async fn post_bytes(office: &OfficeState, path: &str, body: Vec<u8>) -> (StatusCode, Vec<u8>) {
    let request = Request::post(path)
        .body(Body::from(body))
        .expect("a request");
    let answer = web::router(office.clone())
        .oneshot(request)
        .await
        .expect("an answer");
    let status = answer.status();
    let bytes = answer
        .into_body()
        .collect()
        .await
        .expect("a body")
        .to_bytes();
    (status, bytes.to_vec())
}

/// The first code of this kind on a page.
fn code_on(page: &str, begins: &str) -> String {
    let at = page.find(&format!("<code>{begins}")).expect("a code") + "<code>".len();
    page[at..]
        .split('<')
        .next()
        .expect("its end")
        .replace("&amp;", "&")
}

fn now_ms() -> i64 {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
    since.expect("after 1970").as_millis() as i64
}

#[tokio::test]
async fn a_phone_is_enrolled_over_the_pages_and_then_fetches_the_roster() {
    let office = real_office();
    let cookie = signed_in(&office).await;
    let request = Request::get("/phones")
        .header(header::COOKIE, &cookie)
        .header(header::HOST, "office.larkmere.example");
    let page = ask(&office, request.body(Body::empty()).expect("a request"))
        .await
        .text;
    // The address is filled in as the browser reached it.
    let address = "https://office.larkmere.example";
    assert!(page.contains(&format!("value=\"{address}\"")), "{page}");
    let fields = |word: &str, label: &str| {
        form(&[
            ("word", word),
            ("person", "ottoline"),
            ("label", label),
            ("address", address),
        ])
    };
    let word = hidden(&page, "word");
    let forged = send(&office, "/phones/codes", &cookie, fields("00", "Hers")).await;
    assert_eq!(forged.status, StatusCode::CONFLICT);
    let unnamed = send(&office, "/phones/codes", &cookie, fields(&word, " ")).await;
    assert!(
        unnamed.text.contains("Give the phone a name"),
        "{}",
        unnamed.text
    );
    let shown = send(
        &office,
        "/phones/codes",
        &cookie,
        fields(&word, "Ottoline's own"),
    )
    .await;
    assert_eq!(shown.status, StatusCode::OK);
    assert!(shown.text.contains("<svg") && shown.text.contains("Ottoline's own"));

    let code = EnrolCode::read(&code_on(&shown.text, "SSE1:")).expect("a code");
    let device = SigningKey::from_bytes(&[5; 32]);
    let asked = EnrolAsk::of(&code, device.verifying_key().to_bytes(), now_ms());
    let bytes = asked.sign(|bytes| device.sign(bytes).to_bytes());
    let (status, answer) = post_bytes(&office, "/v1/enrol", bytes).await;
    assert_eq!(status, StatusCode::OK);
    Enrolment::verify(&answer, &asked).expect("signed by the office");

    // The roster with the handlers' names is closed to strangers, and open to this phone.
    let request = Request::get("/v1/roster")
        .body(Body::empty())
        .expect("a request");
    assert_eq!(ask(&office, request).await.status, StatusCode::UNAUTHORIZED);
    let question = RosterAsk {
        office_key: code.office_key,
        body: code.body.clone(),
        device_key: asked.device_key,
        after: 0,
        at_ms: now_ms(),
    };
    let bytes = question.sign(|bytes| device.sign(bytes).to_bytes());
    let (status, answer) = post_bytes(&office, "/v1/roster", bytes).await;
    assert_eq!(status, StatusCode::OK);
    let edition = Edition::verify(&answer, &code.office_key, &code.body).expect("signed");
    assert!(
        edition
            .take(None)
            .expect("whole")
            .contains("Ottoline Marsh")
    );

    let page = get(&office, "/phones", &cookie).await.text;
    assert!(
        page.contains("Ottoline's own") && page.contains("code by Idris Fell"),
        "{page}"
    );
    // The code itself stays nowhere.
    assert!(!page.contains("SSE1:"));
}

#[tokio::test]
async fn a_lost_key_is_said_on_the_persons_page_and_goes_to_phones() {
    let office = real_office();
    let cookie = signed_in(&office).await;
    let list = get(&office, "/people", &cookie).await.text;
    assert!(list.contains("/people/ottoline") && list.contains("nothing was reported"));
    let page = get(&office, "/people/ottoline", &cookie).await.text;
    let key = hex::encode(person_key("ottoline").verifying_key().to_bytes());
    assert!(page.contains(&key), "{page}");
    let to = format!("/keys/{key}");
    let fields = |word: &str, since: &str, says: &str| {
        form(&[
            ("word", word),
            ("nth", "1"),
            ("person", "ottoline"),
            ("says", says),
            ("since", since),
            ("until", ""),
            ("reason", "She rang: left in a train."),
        ])
    };
    let word = hidden(&page, "word");
    for (word, since, says, told) in [
        ("00", "2026-11-25T09:00", "lost", "does not belong"),
        (word.as_str(), "yesterday", "lost", "Give the moment"),
        (&word, "2026-11-25T09:00", "", "Choose what"),
        (&word, "2999-11-25T09:00", "lost", "a moment to come"),
    ] {
        let refused = send(&office, &to, &cookie, fields(word, since, says)).await;
        assert_eq!(refused.status, StatusCode::CONFLICT);
        assert!(refused.text.contains(told), "{told}: {}", refused.text);
    }
    let request = Request::get("/v1/keys/notices")
        .body(Body::empty())
        .expect("a request");
    assert_eq!(ask(&office, request).await.text, "");

    let done = send(
        &office,
        &to,
        &cookie,
        fields(&word, "2026-11-25T09:00", "lost"),
    )
    .await;
    assert_eq!(
        done.to.as_deref(),
        Some("/people/ottoline"),
        "{}",
        done.text
    );
    let page = get(&office, "/people/ottoline", &cookie).await.text;
    assert!(page.contains("It was reported") && page.contains("She rang: left in a train."));
    let late = send(
        &office,
        &to,
        &cookie,
        fields(&word, "2026-11-25T09:00", "lost"),
    )
    .await;
    assert!(
        late.text.contains("since this page was shown"),
        "{}",
        late.text
    );

    // For everybody, signed; the secretary's words are not in it.
    let notices = get(&office, "/v1/keys/notices", "").await.text;
    let notice = Notice::check(notices.trim(), &[office.public_key()]).expect("signed");
    let from_ms = 1_795_597_200_000;
    assert_eq!(
        notice.says,
        Says::Revoked {
            from_ms,
            why: Why::Lost
        }
    );
    assert_eq!(code_on(&page, "SSK1:"), notices.trim());
    assert_eq!(get(&office, "/v1/keys/notices?after=1", "").await.text, "");
    // Who did it, and who looked, is on record.
    let looks = get(&office, "/looked", &cookie).await.text;
    assert!(looks.contains("person") && looks.contains("ottoline"));
}

#[tokio::test]
async fn these_pages_are_the_secretarys_alone() {
    let office = real_office();
    let password = "a long enough password";
    apart(|| {
        for (account, role) in [("bram", Role::Measurer), ("wren", Role::Reader)] {
            office
                .put_account(account, "X", role, password, &[3; 16])
                .expect("made");
        }
    });
    let key = hex::encode(two_dogs(1).device_key());
    let phone = format!("/phones/{key}");
    let paths = ["/phones", &phone, "/people", "/people/ottoline"];
    for account in ["bram", "wren"] {
        let name = form(&[("account", account), ("password", password)]);
        let cookie = send(&office, "/sign-in", "", name)
            .await
            .cookie
            .expect("signed in");
        let cookie = cookie.split(';').next().expect("its value").to_owned();
        for path in paths {
            let answer = get(&office, path, &cookie).await;
            assert_eq!(answer.status, StatusCode::FORBIDDEN, "{account} {path}");
        }
        let inbox = get(&office, "/", &cookie).await.text;
        assert!(
            !inbox.contains("href=\"/phones\""),
            "no link that leads nowhere"
        );
        let fields = form(&[
            ("word", &hidden(&inbox, "word")),
            ("nth", "1"),
            ("says", "lost"),
            ("since", "2026-11-25T09:00"),
            ("reason", "because"),
        ]);
        let answer = send(&office, &format!("/keys/{key}"), &cookie, fields).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN);
    }
    for path in paths {
        assert_eq!(
            get(&office, path, "").await.to.as_deref(),
            Some("/sign-in"),
            "{path}"
        );
    }
    assert_eq!(apart(|| office.notices(0)).expect("a list"), []);
    let cookie = signed_in(&office).await;
    for path in paths {
        assert_eq!(
            get(&office, path, &cookie).await.status,
            StatusCode::OK,
            "{path}"
        );
    }
    for path in [
        "/phones/00",
        &format!("/phones/{}", "00".repeat(32)),
        "/people/nobody",
    ] {
        assert_eq!(
            get(&office, path, &cookie).await.status,
            StatusCode::NOT_FOUND,
            "{path}"
        );
    }
}

#[tokio::test]
async fn a_lost_phone_is_said_on_its_own_page() {
    let office = real_office();
    let cookie = signed_in(&office).await;
    let key = hex::encode(two_dogs(1).device_key());
    let page = get(&office, &format!("/phones/{key}"), &cookie).await.text;
    // What can only be said of a person's key is not offered.
    assert!(page.contains("it only sent returns") && !page.contains("value=\"enrolled\""));
    let word = hidden(&page, "word");
    let fields = form(&[
        ("word", &word),
        ("nth", "1"),
        ("person", ""),
        ("says", "lost"),
        ("since", "2026-11-25T09:00"),
        ("reason", "left in a train"),
    ]);
    let done = send(&office, &format!("/keys/{key}"), &cookie, fields).await;
    assert_eq!(done.to, Some(format!("/phones/{key}")), "{}", done.text);
    let page = get(&office, "/", &cookie).await.text;
    assert!(
        page.contains("written by a phone that was reported"),
        "{page}"
    );
}

#[tokio::test]
async fn what_happened_between_two_dogs_and_after_signing_is_on_the_page_and_in_the_file() {
    let office = support::office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let incident = |visit, what, whom, words: &str| Fact::Incident {
        visit,
        what,
        whom,
        words: words.into(),
    };
    let pip = pen.statement(1, "Pip", "999000000112233");
    pen.dog(&pip);
    pen.write(incident(0, Harm::Bite, Whom::Other, "in <the> queue"));
    // After it was signed: the statement cannot say it any more.
    pen.write(incident(1, Harm::Fall, Whom::Handler, ""));
    pen.close();
    held(&office, &pen.frames);
    let session = "/sessions/5e5e5e5e-5e5e-5e5e-5e5e-5e5e5e5e5e5e";
    let page = get(&office, session, "").await.text;
    assert!(
        page.contains("between two dogs") && page.contains("in &lt;the&gt; queue"),
        "{page}"
    );
    assert!(page.contains("Bites and falls") && page.contains("the handler"));
    let inbox = get(&office, "/", "").await.text;
    assert!(inbox.contains("1 bite or fall between two dogs"), "{inbox}");
    // Of the dog itself it is something to decide about.
    let (_, visits) = apart(|| office.session(SESSION)).expect("a session");
    let kinds: Vec<_> = visits[0].points.iter().map(|p| p.kind.as_str()).collect();
    assert_eq!(kinds, ["fall"]);
    let csv = get(&office, &format!("{session}/return.csv"), "")
        .await
        .text;
    let rows: Vec<&str> = csv.lines().collect();
    assert_eq!(rows.len(), 3, "{csv}");
    assert!(rows[1].contains(",provisional,fall,"), "{}", rows[1]);
    assert!(rows[2].ends_with(",,,,,bite: other,,,,,,,"), "{}", rows[2]);
}
