//! The document of what others may call, held against the routes: nothing is missing on
//! either side, and each route answers in a way that the document names.

mod support;

use std::collections::BTreeSet;

use axum::body::Body;
use axum::http::{Method, Request, StatusCode, header};
use http_body_util::BodyExt;
use standsquare_office::web;
use support::*;
use tower::ServiceExt;

const DOCUMENT: &str = include_str!("../docs/openapi.json");
const ROUTES: &str = include_str!("../src/web/mod.rs");

/// Pages for people at the office: they may change with every release.
const FOR_PEOPLE: &[&str] = &[
    "/",
    "/sessions/{id}",
    "/measures/{head}",
    "/aside/{id}",
    "/decisions/{subject}",
    "/appeals/{head}",
    "/sign-in",
    "/sign-out",
    "/looked",
    "/rules",
    "/rules/try",
    "/rules/publish",
    "/trainer",
    "/trainer/changes.csv",
    "/trainer/measurers/{id}",
    "/trainer/measurers/{id}/months.csv",
    "/trainer/measurers/{id}/drills.csv",
    "/over-time",
    "/phones",
    "/phones/codes",
    "/phones/{key}",
    "/people",
    "/people/{id}",
    "/keys/{key}",
    "/hoops",
    "/hoops/{id}",
    "/hoops/{id}/affected.csv",
    "/style.css",
];

fn document() -> serde_json::Value {
    serde_json::from_str(DOCUMENT).expect("JSON")
}

fn documented() -> Vec<(String, String)> {
    let document = document();
    let paths = document["paths"].as_object().expect("paths");
    paths
        .iter()
        .flat_map(|(path, methods)| {
            let methods = methods.as_object().expect("methods");
            methods
                .keys()
                .map(move |m| (path.clone(), m.to_uppercase()))
        })
        .collect()
}

#[test]
fn every_route_is_in_the_document_or_for_people() {
    let routes: BTreeSet<&str> = ROUTES
        .split(".route(")
        .skip(1)
        .filter_map(|rest| rest.split('"').nth(1))
        .collect();
    assert!(routes.len() > 15, "the routes were found: {routes:?}");
    let mut told: BTreeSet<String> = documented().into_iter().map(|(path, _)| path).collect();
    told.extend(FOR_PEOPLE.iter().map(|p| (*p).to_owned()));
    let routes: BTreeSet<String> = routes.into_iter().map(str::to_owned).collect();
    assert_eq!(told, routes);
}

#[tokio::test]
async fn each_answers_as_the_document_says() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    apart(|| office.extend_log()).expect("logged");
    for (path, method) in documented() {
        let asked = path
            .replace("{chip}", "999000000112233")
            .replace("{id}", "5e5e5e5e-5e5e-5e5e-5e5e-5e5e5e5e5e5e");
        let request = Request::builder()
            .method(Method::from_bytes(method.as_bytes()).expect("a method"))
            .uri(&asked)
            .body(Body::from("not what is wanted"))
            .expect("a request");
        let answer = web::router(office.clone())
            .oneshot(request)
            .await
            .expect("an answer");
        let status = answer.status();
        let named = &document()["paths"][&path][method.to_lowercase()]["responses"]
            [status.as_str()]["content"];
        let kind = answer.headers()[header::CONTENT_TYPE]
            .to_str()
            .expect("text");
        let kind = kind.split(';').next().expect("a type");
        assert!(named[kind].is_object(), "{method} {path}: {status} {kind}");
        if method == "GET" {
            assert_eq!(status, StatusCode::OK, "{path}");
            let body = answer.into_body().collect().await.expect("a body");
            // Of no key anything was said yet.
            let may_be_empty = path == "/v1/keys/notices";
            assert!(may_be_empty || !body.to_bytes().is_empty(), "{path}");
        }
    }
}
