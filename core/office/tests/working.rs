//! Signing in and deciding, over the real router without a socket.

mod support;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use standsquare_journal::record::fact::ChipProof;
use standsquare_office::{OfficeState, demo};
use support::web::*;
use support::*;

/// A demo office with a secretary and Pip, whose chip was another one.
fn office() -> OfficeState {
    let office = support::office();
    apart(|| demo::staff(&office)).expect("a secretary");
    let mut pen = Pen::new(1);
    pen.set_up();
    let mut pip = pen.statement(1, "Pip", "999000000112233");
    pip.proof = ChipProof::Different;
    pen.dog(&pip);
    held(&office, &pen.frames);
    office
}

#[tokio::test]
async fn a_secretary_signs_in_and_decides() {
    let office = office();
    let head = hex::encode(apart(|| office.undecided(1)).expect("a list")[0].head);
    let path = format!("/measures/{head}");
    let before = get(&office, "/", "").await;
    assert!(before.text.contains(&path) && before.text.contains("another chip"));
    assert!(
        !get(&office, &path, "").await.text.contains("<textarea"),
        "not signed in, no form"
    );

    let cookie = signed_in(&office).await;
    let page = get(&office, &path, &cookie).await.text;
    assert!(page.contains("Idris Fell, secretary"));
    let reason = "Compared with the <breeder's> papers & \"found\" right.";
    let fields = |word: &str, reason: &str| {
        let seen = hidden(&page, "seen");
        form(&[
            ("word", word),
            ("nth", "1"),
            ("seen", &seen),
            ("back", "measure"),
            ("verdict", "stands"),
            ("reason", reason),
        ])
    };
    let word = hidden(&page, "word");
    let to = format!("/decisions/{head}");
    // Without the page's word, without a reason, without signing in: nothing.
    let forged = send(&office, &to, &cookie, fields("00", reason)).await;
    assert_eq!(forged.status, StatusCode::CONFLICT);
    let bare = send(&office, &to, &cookie, fields(&word, " ")).await;
    assert!(bare.text.contains("needs a reason"), "{}", bare.text);
    let nobody = send(&office, &to, "", fields(&word, reason)).await;
    assert_eq!(nobody.to.as_deref(), Some("/sign-in"));
    assert_eq!(apart(|| office.undecided(9)).expect("a list").len(), 1);

    let done = send(&office, &to, &cookie, fields(&word, reason)).await;
    assert_eq!(
        (done.status, done.to),
        (StatusCode::SEE_OTHER, Some(path.clone()))
    );
    let page = get(&office, &path, "").await.text;
    assert!(page.contains("The measure stands"));
    assert!(
        page.contains("&lt;breeder's&gt; papers &amp; &quot;found&quot; right."),
        "{page}"
    );
    assert!(
        get(&office, "/", "")
            .await
            .text
            .contains("Nothing at the moment")
    );
    let late = send(&office, &to, &cookie, fields(&word, reason)).await;
    assert!(late.text.contains("Something changed"), "{}", late.text);
}

#[tokio::test]
async fn a_form_from_another_site_is_refused() {
    let office = office();
    let (account, password) = demo::DEMO_ONLY_ACCOUNT;
    let request = Request::post("/sign-in")
        .header("sec-fetch-site", "cross-site")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .body(Body::from(form(&[
            ("account", account),
            ("password", password),
        ])))
        .expect("a request");
    let answer = ask(&office, request).await;
    assert_eq!((answer.status, answer.cookie), (StatusCode::CONFLICT, None));
}

#[tokio::test]
async fn a_wrong_password_says_so_and_sign_out_ends_it() {
    let office = office();
    let wrong = send(
        &office,
        "/sign-in",
        "",
        form(&[("account", "idris"), ("password", "no")]),
    )
    .await;
    assert_eq!(
        (wrong.status, wrong.cookie),
        (StatusCode::UNAUTHORIZED, None)
    );
    let cookie = signed_in(&office).await;
    let page = get(&office, "/", &cookie).await.text;
    send(
        &office,
        "/sign-out",
        &cookie,
        form(&[("word", &hidden(&page, "word"))]),
    )
    .await;
    assert!(
        !get(&office, "/", &cookie)
            .await
            .text
            .contains("Idris Fell, secretary")
    );
}

#[tokio::test]
async fn outside_the_demo_nothing_is_shown_to_strangers() {
    let mut roster = demo::roster();
    roster.demo = false;
    let office = apart(|| {
        let office = OfficeState::open(engine(), demo::demo_only_key(), roster);
        let office = office.expect("it opens");
        demo::staff(&office).expect("a secretary");
        office
    });
    held(&office, &two_dogs(1).frames);
    let session = "/sessions/5e5e5e5e-5e5e-5e5e-5e5e-5e5e5e5e5e5e";
    let paths = [
        "/",
        session,
        &format!("{session}/return.csv"),
        "/dogs/999000000112233",
    ];
    for path in paths {
        let answer = get(&office, path, "standsquare-office=00").await;
        assert_eq!(answer.to.as_deref(), Some("/sign-in"), "{path}");
        assert!(!answer.text.contains("Pip"));
    }
    let form = get(&office, "/sign-in", "").await.text;
    assert!(!form.contains(demo::DEMO_ONLY_ACCOUNT.1));
    let cookie = signed_in(&office).await;
    for path in paths {
        assert_eq!(
            get(&office, path, &cookie).await.status,
            StatusCode::OK,
            "{path}"
        );
    }
}

/// The demo's pack in another edition.
fn next_edition() -> String {
    let pack = demo::roster().pack;
    let edition = pack
        .lines()
        .find(|line| line.starts_with("edition"))
        .expect("an edition");
    pack.replacen(edition, "edition = \"next\"", 1)
}

#[tokio::test]
async fn a_pack_is_tried_out_and_published_from_a_day_on() {
    let office = office();
    let cookie = signed_in(&office).await;
    let page = get(&office, "/rules", &cookie).await;
    assert_eq!(page.status, StatusCode::OK);
    let word = hidden(&page.text, "word");
    let try_out = async |pack: &str, cases: &str| {
        let fields = [("word", word.as_str()), ("pack", pack), ("cases", cases)];
        send(&office, "/rules/try", &cookie, form(&fields)).await
    };
    // What is wrong is named, and there is nothing to publish.
    let wrong = try_out(&next_edition().replace("id = ", "idd = "), "").await;
    assert!(wrong.text.contains("The pack is refused"), "{}", wrong.text);
    assert!(!wrong.text.contains("/rules/publish"));

    let cases = include_str!("../../measuring/docs/cases.example.json");
    let tried = try_out(&next_edition().replace('\n', "\r\n"), cases).await;
    assert_eq!(tried.status, StatusCode::OK);
    assert!(
        tried.text.contains("The pack is in order"),
        "{}",
        tried.text
    );
    assert!(
        tried.text.contains("Every case was judged"),
        "{}",
        tried.text
    );
    assert!(
        tried.text.contains("+ edition = &quot;next&quot;"),
        "{}",
        tried.text
    );
    assert!(
        apart(|| office.packs()).expect("a list").is_empty(),
        "only tried"
    );

    let pack = hidden(&tried.text, "pack");
    let publish = async |from: &str, nth: &str| {
        let fields = [
            ("word", word.as_str()),
            ("pack", pack.as_str()),
            ("nth", nth),
            ("from", from),
        ];
        send(&office, "/rules/publish", &cookie, form(&fields)).await
    };
    let now = chrono::DateTime::<chrono::Utc>::from(std::time::SystemTime::now());
    let today = now.date_naive();
    let early = publish(&today.to_string(), "1").await;
    assert_eq!(early.status, StatusCode::CONFLICT);
    let next_year = today + chrono::Days::new(365);
    let done = publish(&next_year.to_string(), "1").await;
    assert_eq!(
        (done.status, done.to.as_deref()),
        (StatusCode::SEE_OTHER, Some("/rules"))
    );
    // A second press, or somebody else's, is not another pack.
    assert_eq!(
        publish(&next_year.to_string(), "1").await.status,
        StatusCode::CONFLICT
    );

    use chrono::Datelike;
    let day = next_year.num_days_from_ce() - 719_163;
    let (before, from) = apart(|| {
        let on = |day| {
            office
                .roster_json_at(i64::from(day) * 86_400_000)
                .expect("a roster")
        };
        (on(day - 1), on(day))
    });
    let pack_of = |text: &str| {
        let roster: standsquare_sync::roster::Roster = serde_json::from_str(text).expect("one");
        roster.pack
    };
    assert_eq!(pack_of(&before), demo::roster().pack);
    assert_eq!(pack_of(&from), next_edition(), "as its author wrote it");
    let page = get(&office, "/rules", &cookie).await;
    assert!(page.text.contains("(to come)"), "{}", page.text);
}

#[tokio::test]
async fn a_pack_that_phones_would_refuse_is_not_published() {
    let office = office();
    let worker = |role| standsquare_office::accounts::Worker {
        account: "idris".into(),
        name: "Idris Fell".into(),
        role,
    };
    use standsquare_office::accounts::Role;
    let other = next_edition().replace("hoop-35", "hoop-36");
    let publish = |text: &str, role| {
        apart(|| office.publish_pack(text, 30, 1, &worker(role), 20, 0)).map_err(|e| e.to_string())
    };
    let why = publish(&other, Role::Secretary).expect_err("refused");
    assert!(
        why.contains("LAL-35-07") && why.contains("hoop-35"),
        "{why}"
    );
    let why = publish("nonsense", Role::Secretary).expect_err("refused");
    assert!(why.contains("to do"), "{why}");
    let why = publish(&next_edition(), Role::Reader).expect_err("refused");
    assert!(why.contains("secretary"), "{why}");
    assert!(apart(|| office.packs()).expect("a list").is_empty());
}
