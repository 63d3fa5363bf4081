//! The pages and routes, over the real router without a socket.

mod support;

use axum::body::Body;
use axum::http::{Request, Response, StatusCode, header};
use http_body_util::BodyExt;
use standsquare_office::{OfficeState, demo, web};
use standsquare_sync::{Receipt, post_body, roster::Roster};
use support::*;
use tower::ServiceExt;

async fn ask(office: &OfficeState, request: Request<Body>) -> (Response<()>, Vec<u8>) {
    let answer = web::router(office.clone())
        .oneshot(request)
        .await
        .expect("an answer");
    let (parts, body) = answer.into_parts();
    let bytes = body
        .collect()
        .await
        .expect("a whole body")
        .to_bytes()
        .to_vec();
    (Response::from_parts(parts, ()), bytes)
}

async fn get(office: &OfficeState, path: &str) -> (Response<()>, String) {
    let request = Request::get(path).body(Body::empty()).expect("a request");
    let (head, bytes) = ask(office, request).await;
    (head, String::from_utf8(bytes).expect("text"))
}

async fn post_to(office: &OfficeState, body: Vec<u8>) -> (Response<()>, Vec<u8>) {
    ask(
        office,
        Request::post("/v1/frames")
            .body(Body::from(body))
            .expect("a request"),
    )
    .await
}

const PATH: &str = "/sessions/5e5e5e5e-5e5e-5e5e-5e5e-5e5e5e5e5e5e";

#[tokio::test]
async fn a_post_is_answered_with_a_receipt_and_the_page_shows_the_session() {
    let office = office();
    let pen = two_dogs(1);
    let (head, body) = post_to(&office, post_body(&pen.frames)).await;
    assert_eq!(head.status(), StatusCode::OK);
    assert_eq!(head.headers()[header::CONTENT_TYPE], web::RECEIPT_TYPE);
    let receipt = Receipt::verify(&body, &office.public_key()).expect("a receipt");
    assert_eq!(receipt.held.len(), 3);

    let (head, inbox) = get(&office, "/").await;
    assert_eq!(head.status(), StatusCode::OK);
    assert!(inbox.contains(&format!("href=\"{PATH}\"")), "{inbox}");
    assert!(inbox.contains("25 November 2026") && inbox.contains("Hollin Field"));

    let (_, page) = get(&office, PATH).await;
    for words in [
        "demo, not official",
        "Pip",
        "999000000112233",
        "Small",
        "Moss",
        "999000000204518",
        "Medium",
        "over 35 to 43 cm",
        "near-limit",
        "Ottoline Marsh",
        "Bram Tolley",
        "LM-022",
        "2027-11-25 to 2028-11-24",
        "Larkmere Agility League",
    ] {
        assert!(page.contains(words), "'{words}' is missing in {page}");
    }
}

#[tokio::test]
async fn pages_are_for_everybody_and_run_nothing() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    for path in ["/", PATH, "/nothing"] {
        let (head, page) = get(&office, path).await;
        let policy = head.headers()[header::CONTENT_SECURITY_POLICY]
            .to_str()
            .expect("text");
        assert!(policy.starts_with("default-src 'none'"), "{policy}");
        assert_eq!(head.headers()[header::X_CONTENT_TYPE_OPTIONS], "nosniff");
        for words in [
            "<html lang=\"en-GB\"",
            "<main",
            "<header",
            "<footer",
            "<h1",
            "<title>",
        ] {
            assert!(page.contains(words), "{path}: {words}");
        }
        assert_eq!(page.matches("<h1").count(), 1);
        assert_eq!(
            page.matches("<table").count(),
            page.matches("<caption").count()
        );
        for words in ["<script", "style=\"", "javascript:", " onclick"] {
            assert!(!page.contains(words), "{path}: {words}");
        }
    }
    let (head, style) = get(&office, "/style.css").await;
    assert_eq!(
        head.headers()[header::CONTENT_TYPE],
        "text/css; charset=utf-8"
    );
    assert!(!style.contains("http"), "nothing is fetched from elsewhere");
}

#[tokio::test]
async fn names_with_markup_stay_text() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let mut statement = pen.statement(1, "<script>alert(1)</script>", "999000000112233");
    statement.flags = vec!["\"><b>".into()];
    pen.dog(&statement);
    held(&office, &pen.frames);
    let (_, page) = get(&office, PATH).await;
    assert!(!page.contains("<script") && !page.contains("<b>"));
    assert!(page.contains("&lt;script&gt;"));
}

#[tokio::test]
async fn the_return_is_a_csv() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    let (head, text) = get(&office, &format!("{PATH}/return.csv")).await;
    assert_eq!(
        head.headers()[header::CONTENT_DISPOSITION],
        "attachment; filename=\"return-larkmere-2026-11-25.csv\""
    );
    let lines: Vec<_> = text.split("\r\n").collect();
    assert_eq!(lines.len(), 4, "a head, two dogs, and the last line's end");
    assert_eq!(
        lines[1],
        "\"demo, not official\",Larkmere Agility League,2026-11-25,Hollin Field,\
         5e5e5e5e-5e5e-5e5e-5e5e-5e5e5e5e5e5e,1,Pip,999000000112233,equal,,measured,Small,1,\
         provisional,,2027-11-25,2028-11-24,Ottoline Marsh; Bram Tolley"
    );
}

#[tokio::test]
async fn the_roster_names_the_key_that_signs() {
    let office = office();
    let (head, text) = get(&office, "/v1/roster").await;
    assert_eq!(head.headers()[header::CONTENT_TYPE], "application/json");
    let roster: Roster = serde_json::from_str(&text).expect("a roster");
    assert_eq!(roster.office.key, hex::encode(office.public_key()));
}

#[tokio::test]
async fn outside_the_demo_the_roster_with_its_handlers_is_for_who_is_signed_in() {
    let mut roster = demo::roster();
    roster.demo = false;
    let office =
        apart(|| OfficeState::open(engine(), demo::demo_only_key(), roster).expect("an office"));
    let (head, why) = get(&office, "/v1/roster").await;
    assert_eq!(head.status(), StatusCode::UNAUTHORIZED);
    assert!(why.contains("Sign in") && !why.contains("Oxley"), "{why}");
}

#[tokio::test]
async fn what_is_not_there_says_so() {
    let office = office();
    for path in [
        "/sessions/nonsense",
        PATH,
        "/sessions/nonsense/return.csv",
        "/v1/other",
    ] {
        assert_eq!(
            get(&office, path).await.0.status(),
            StatusCode::NOT_FOUND,
            "{path}"
        );
    }
    let (head, why) = post_to(&office, b"nonsense".to_vec()).await;
    assert_eq!(head.status(), StatusCode::BAD_REQUEST);
    assert!(
        String::from_utf8(why)
            .expect("text")
            .contains("not a batch of frames")
    );
    let (head, _) = post_to(&office, vec![0; 5 * 1024 * 1024]).await;
    assert_eq!(head.status(), StatusCode::PAYLOAD_TOO_LARGE);
    let (head, _) = post_to(&office, post_body(&vec![vec![1]; 65])).await;
    assert_eq!(head.status(), StatusCode::PAYLOAD_TOO_LARGE);
    assert!(
        get(&office, "/")
            .await
            .1
            .contains("No session has come in yet")
    );
}

#[tokio::test]
async fn the_log_answers_over_http() {
    use standsquare_sync::log::{Ask, Bundle, Checkpoint, origin};
    let office = office();
    let pen = two_dogs(1);
    held(&office, &pen.frames);
    apart(|| office.extend_log()).expect("logged");
    let frames: Vec<_> = pen
        .frames
        .iter()
        .map(|f| standsquare_sync::frame_id(f))
        .collect();
    let question = Ask {
        seen: 0,
        frames: frames.clone(),
    }
    .encode();
    let request = Request::post("/v1/log")
        .body(Body::from(question))
        .expect("a request");
    let (head, answer) = ask(&office, request).await;
    assert_eq!(head.status(), StatusCode::OK);
    let key = office.public_key();
    let (now, proved) = Bundle::verify(&answer, &origin("larkmere"), &key, None).expect("it holds");
    assert_eq!(proved, frames);
    let (_, note) = get(&office, "/v1/log/checkpoint").await;
    assert_eq!(Checkpoint::open(&note, &origin("larkmere"), &key), Ok(now));
    let request = Request::post("/v1/log")
        .body(Body::from("what?"))
        .expect("a request");
    assert_eq!(
        ask(&office, request).await.0.status(),
        StatusCode::BAD_REQUEST
    );
}
