//! A browser of sorts: asks the office's pages over the real router, without a socket.

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use http_body_util::BodyExt;
use standsquare_office::{OfficeState, demo, web};
use tower::ServiceExt;

pub struct Answer {
    pub status: StatusCode,
    pub cookie: Option<String>,
    pub to: Option<String>,
    pub text: String,
}

pub async fn ask(office: &OfficeState, request: Request<Body>) -> Answer {
    let answer = web::router(office.clone())
        .oneshot(request)
        .await
        .expect("an answer");
    let text_of = |name| {
        let value = answer.headers().get(name)?;
        Some(value.to_str().expect("text").to_owned())
    };
    let (status, cookie, to) = (
        answer.status(),
        text_of(header::SET_COOKIE),
        text_of(header::LOCATION),
    );
    let bytes = answer
        .into_body()
        .collect()
        .await
        .expect("a whole body")
        .to_bytes();
    Answer {
        status,
        cookie,
        to,
        text: String::from_utf8(bytes.to_vec()).expect("text"),
    }
}

pub async fn get(office: &OfficeState, path: &str, cookie: &str) -> Answer {
    let request = Request::get(path).header(header::COOKIE, cookie);
    ask(office, request.body(Body::empty()).expect("a request")).await
}

pub async fn send(office: &OfficeState, path: &str, cookie: &str, form: String) -> Answer {
    let request = Request::post(path)
        .header(header::COOKIE, cookie)
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    ask(office, request.body(Body::from(form)).expect("a request")).await
}

/// A form's text: names and values.
pub fn form(fields: &[(&str, &str)]) -> String {
    let encode = |text: &str| -> String {
        text.bytes()
            .map(|b| match b {
                b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' => char::from(b).to_string(),
                b => format!("%{b:02X}"),
            })
            .collect()
    };
    let pairs: Vec<_> = fields
        .iter()
        .map(|(name, value)| format!("{name}={}", encode(value)))
        .collect();
    pairs.join("&")
}

/// The value of a hidden field of a page, as a browser would read it.
pub fn hidden(page: &str, name: &str) -> String {
    let at = page
        .find(&format!("name=\"{name}\" value=\""))
        .expect("the field is there");
    let rest = &page[at..];
    let value = rest.split('"').nth(3).expect("its value");
    value
        .replace("&quot;", "\"")
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&amp;", "&")
}

pub async fn signed_in(office: &OfficeState) -> String {
    let (account, password) = demo::DEMO_ONLY_ACCOUNT;
    let answer = send(
        office,
        "/sign-in",
        "",
        form(&[("account", account), ("password", password)]),
    )
    .await;
    assert_eq!(
        (answer.status, answer.to.as_deref()),
        (StatusCode::SEE_OTHER, Some("/"))
    );
    let cookie = answer.cookie.expect("a cookie");
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"));
    cookie.split(';').next().expect("its value").to_owned()
}
