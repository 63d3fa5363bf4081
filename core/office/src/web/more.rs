//! Search, who looked at what, a dog's files, and appeals.

use axum::Form;
use axum::body::Body;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use chrono::NaiveDate;
use maud::Markup;
use serde::Deserialize;

use super::looking::visitor_of;
use super::signed_in::Visitor;
use super::working::sentence;
use super::{Failed, apart, hex32, now_ms};
use crate::accounts::Role;
use crate::appeals::{AppealFault, Decided, Step};
use crate::pages;
use crate::state::OfficeState;

/// Most looks on one page.
const LOOKS: i64 = 500;

type Office = State<OfficeState>;

/// Notes that somebody signed in looks at something.
pub(super) async fn note(
    office: &OfficeState,
    visitor: &Visitor,
    what: &'static str,
    which: &str,
) -> Result<(), Failed> {
    office.counts().looks.count(1);
    let Some(worker) = visitor.worker().cloned() else {
        return Ok(());
    };
    let (which, at_ms) = (which.to_owned(), now_ms());
    apart(office, move |office| {
        office.note_look(&worker, what, &which, at_ms)
    })
    .await
}

#[derive(Deserialize)]
pub(super) struct Asked {
    #[serde(default)]
    q: String,
}

pub(super) async fn search(
    State(office): Office,
    visitor: Visitor,
    Query(asked): Query<Asked>,
) -> Result<Markup, Failed> {
    let text: String = asked.q.chars().take(100).collect();
    if !text.trim().is_empty() {
        note(&office, &visitor, "search", &text).await?;
    }
    let wanted = text.clone();
    let found = apart(&office, move |office| office.search(&wanted)).await?;
    Ok(pages::search(&office, &visitor_of(&visitor), &text, &found))
}

pub(super) async fn looked(State(office): Office, visitor: Visitor) -> Result<Markup, Failed> {
    match visitor.worker() {
        None => return Err(Failed::SignInFirst),
        Some(worker) if worker.role != Role::Secretary => {
            return Err(Failed::Refused(
                office,
                "Only a secretary reads who looked at what.".into(),
            ));
        }
        Some(_) => {}
    }
    let looks = apart(&office, |office| office.looks(LOOKS)).await?;
    Ok(pages::looked(&office, &visitor_of(&visitor), &looks))
}

/// What CSV files are sent as (RFC 4180, section 3).
pub(super) const CSV: &str = "text/csv; charset=utf-8; header=present";

/// A file to be kept.
pub(super) fn attached(kind: &'static str, name: &str, content: impl Into<Body>) -> Response {
    let headers = [
        (header::CONTENT_TYPE, kind.to_owned()),
        (
            header::CONTENT_DISPOSITION,
            format!("attachment; filename=\"{name}\""),
        ),
    ];
    (headers, content.into()).into_response()
}

/// A chip as part of a file's name.
pub(super) fn file_name(chip: &str) -> String {
    chip.chars()
        .filter(char::is_ascii_alphanumeric)
        .take(20)
        .collect()
}

pub(super) async fn dossier(
    State(office): Office,
    visitor: Visitor,
    Path(chip): Path<String>,
) -> Result<Response, Failed> {
    note(&office, &visitor, "dossier", &chip).await?;
    let asked = chip.clone();
    let made = apart(&office, move |office| {
        // What came in just now is proved as well.
        while office.extend_log()? > 0 {}
        office.dossier(&asked, now_ms())
    })
    .await?;
    match made {
        Some(text) => {
            let name = format!("dossier-{}.json", file_name(&chip));
            Ok(attached("application/json", &name, text))
        }
        None => Err(Failed::NotThere(office)),
    }
}

pub(super) async fn second_measure(
    State(office): Office,
    visitor: Visitor,
    Path(chip): Path<String>,
) -> Result<Response, Failed> {
    note(&office, &visitor, "dog", &chip).await?;
    let asked = chip.clone();
    let measures = apart(&office, move |office| office.dog(&asked)).await?;
    match pages::second_measure(&office, &measures) {
        Some(text) => {
            let name = format!("second-measure-{}.ics", file_name(&chip));
            Ok(attached("text/calendar; charset=utf-8", &name, text))
        }
        None => Err(Failed::NotThere(office)),
    }
}

#[derive(Deserialize)]
pub(super) struct NextStep {
    word: String,
    nth: i64,
    kind: String,
    day: String,
    words: String,
    #[serde(default)]
    interim: String,
    #[serde(default)]
    measurers: String,
}

pub(super) async fn appeal(
    State(office): Office,
    visitor: Visitor,
    headers: HeaderMap,
    Path(head): Path<String>,
    Form(form): Form<NextStep>,
) -> Result<Response, Failed> {
    let worker = visitor.with_form(&office, &form.word, &headers)?;
    let refused = |why: &str| Err(Failed::Refused(office.clone(), why.to_owned()));
    let Some(subject) = hex32(&head) else {
        return Err(Failed::NotThere(office));
    };
    let Ok(date) = form.day.parse::<NaiveDate>() else {
        return refused("Give the day as year, month and day, such as 2026-11-25.");
    };
    let step = match form.kind.as_str() {
        "objection" => Step::Objection { words: form.words },
        "appeal" => Step::Appeal {
            words: form.words,
            interim: form.interim,
            measurers: form.measurers,
        },
        other => match Decided::read(other) {
            Some(outcome) => Step::Decided {
                outcome,
                reason: form.words,
            },
            None => return refused("Choose what happened."),
        },
    };
    let (day, at_ms, nth) = (date.to_epoch_days(), now_ms(), form.nth);
    let done = apart(&office, move |office| {
        match office.note_appeal(subject, nth, day, &step, &worker, at_ms) {
            Err(AppealFault::Db(fault)) => Err(fault),
            other => Ok(other),
        }
    })
    .await?;
    match done {
        Ok(()) => Ok(Redirect::to(&format!("/measures/{}", hex::encode(subject))).into_response()),
        Err(fault) => Err(Failed::Refused(office, sentence(&fault.to_string()))),
    }
}

/// The document of what others may call.
pub(super) async fn openapi() -> Response {
    let headers = [(header::CONTENT_TYPE, "application/json")];
    (headers, include_str!("../../docs/openapi.json")).into_response()
}

pub(super) async fn metrics(State(office): Office) -> Response {
    let headers = [(header::CONTENT_TYPE, "text/plain; version=0.0.4")];
    (StatusCode::OK, headers, office.counts().text()).into_response()
}
