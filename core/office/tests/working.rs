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
