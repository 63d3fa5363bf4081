//! What the office gives out on paper, and the plot of returns.

mod support;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use chrono::NaiveDate;
use http_body_util::BodyExt;
use standsquare_office::over_time::MONTHS;
use standsquare_office::{OfficeState, web};
use support::*;
use tower::ServiceExt;

async fn file(office: &OfficeState, path: &str) -> (StatusCode, String, Vec<u8>) {
    let request = Request::get(path).body(Body::empty()).expect("a request");
    let answer = web::router(office.clone())
        .oneshot(request)
        .await
        .expect("an answer");
    let name = answer.headers().get(header::CONTENT_DISPOSITION);
    let name = name
        .map(|n| n.to_str().expect("text").to_owned())
        .unwrap_or_default();
    let status = answer.status();
    let bytes = answer
        .into_body()
        .collect()
        .await
        .expect("a body")
        .to_bytes();
    (status, name, bytes.to_vec())
}

fn has(bytes: &[u8], wanted: &str) -> bool {
    bytes.windows(wanted.len()).any(|w| w == wanted.as_bytes())
}

#[tokio::test]
async fn a_return_and_a_history_come_as_pdf_a() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    let session = "/sessions/5e5e5e5e-5e5e-5e5e-5e5e-5e5e5e5e5e5e/return.pdf";
    let (status, name, bytes) = file(&office, session).await;
    assert_eq!(status, StatusCode::OK);
    assert_eq!(
        name,
        "attachment; filename=\"return-larkmere-2026-11-25.pdf\""
    );
    // The mark of the format itself; the library refuses to write what does not keep to it.
    assert!(bytes.starts_with(b"%PDF-1.7") && has(&bytes, "%%EOF"));
    assert!(has(&bytes, "pdfaid:part") && has(&bytes, "pdfaid:conformance"));
    assert!(has(&bytes, "return of 25 November 2026, Hollin Field"));

    let (status, name, bytes) = file(&office, "/dogs/999000000112233/history.pdf").await;
    assert_eq!(status, StatusCode::OK);
    assert_eq!(name, "attachment; filename=\"history-999000000112233.pdf\"");
    assert!(has(&bytes, "history of Pip"));

    for path in [
        "/sessions/00000000-0000-0000-0000-000000000000/return.pdf",
        "/sessions/x/return.pdf",
        "/dogs/999/history.pdf",
    ] {
        assert_eq!(file(&office, path).await.0, StatusCode::NOT_FOUND, "{path}");
    }
}

#[tokio::test]
async fn names_of_any_script_can_be_drawn() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let dog = pen.statement(1, "Žluťoučký 狗 Ποδήλατο\u{202e}\u{0}🐕", "999000000998877");
    pen.dog(&dog);
    held(&office, &pen.frames);
    let (status, _, bytes) = file(&office, "/dogs/999000000998877/history.pdf").await;
    assert_eq!(
        status,
        StatusCode::OK,
        "{}",
        String::from_utf8_lossy(&bytes)
    );
}

#[test]
fn months_are_counted_by_the_sessions_day_and_empty_ones_stand() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    let mut other = Pen::new(2);
    other.session = [2; 16];
    other.set_up();
    let dog = other.statement(1, "Juno", "999000000445566");
    other.dog(&dog);
    held(&office, &other.frames);
    let today = NaiveDate::from_ymd_opt(2026, 12, 31).expect("a day");
    let months = apart(|| office.returns_over_time(today)).expect("months");
    assert_eq!(months.len(), MONTHS as usize);
    assert_eq!(months[0].first.to_string(), "2025-01-01");
    let november = months[22];
    assert_eq!(november.first.to_string(), "2026-11-01");
    assert_eq!((november.sessions, november.dogs, november.open), (2, 3, 1));
    let rest = months.iter().filter(|m| m.first != november.first);
    assert!(rest.into_iter().all(|m| m.dogs == 0 && m.sessions == 0));
}
