//! The rules: looking, trying out, publishing.

use axum::Form;
use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Redirect, Response};
use chrono::{Datelike, NaiveDate};
use maud::Markup;
use serde::Deserialize;

use super::looking::visitor_of;
use super::signed_in::Visitor;
use super::working::sentence;
use super::{Failed, apart, now_ms};
use crate::packs::{LONGEST, Looked, PublishFault, day_of};
use crate::pages::{self, Rules};
use crate::state::OfficeState;

/// Days from 0001-01-01 to 1970-01-01.
const EPOCH: i32 = 719_163;

/// The office's day, UTC, days since 1970-01-01.
pub(super) fn today() -> i32 {
    day_of(now_ms())
}

async fn page(
    office: &OfficeState,
    visitor: &Visitor,
    tried: Option<(String, String, Looked)>,
) -> Result<Markup, Failed> {
    let today = today();
    let (published, present) = apart(office, move |office| {
        Ok((office.packs()?, office.pack_on(today)?))
    })
    .await?;
    let rules = Rules {
        published,
        present,
        today,
        tried,
    };
    Ok(pages::rules(office, &visitor_of(visitor), &rules))
}

pub(super) async fn rules(
    State(office): State<OfficeState>,
    visitor: Visitor,
) -> Result<Markup, Failed> {
    page(&office, &visitor, None).await
}

#[derive(Deserialize)]
pub(super) struct Trial {
    word: String,
    pack: String,
    #[serde(default)]
    cases: String,
}

pub(super) async fn try_out(
    State(office): State<OfficeState>,
    visitor: Visitor,
    headers: HeaderMap,
    Form(trial): Form<Trial>,
) -> Result<Markup, Failed> {
    visitor.form_of(&office, &trial.word, &headers)?;
    if trial.pack.len().max(trial.cases.len()) > LONGEST {
        let why = "The pack or its cases are too long. Try fewer cases at a time.";
        return Err(Failed::Refused(office, why.into()));
    }
    // Browsers send lines as mail does; a pack's hash is over its author's.
    let (text, cases) = (trial.pack.replace("\r\n", "\n"), trial.cases);
    let day = today();
    let tried = apart(&office, move |office| {
        let looked = office.look_at_pack(&text, &cases, day)?;
        Ok((text, cases, looked))
    })
    .await?;
    page(&office, &visitor, Some(tried)).await
}

#[derive(Deserialize)]
pub(super) struct Publishing {
    word: String,
    nth: i64,
    pack: String,
    from: String,
}

pub(super) async fn publish(
    State(office): State<OfficeState>,
    visitor: Visitor,
    headers: HeaderMap,
    Form(form): Form<Publishing>,
) -> Result<Response, Failed> {
    let worker = visitor.with_form(&office, &form.word, &headers)?;
    let Ok(from) = NaiveDate::parse_from_str(&form.from, "%Y-%m-%d") else {
        return Err(Failed::Refused(
            office,
            "Choose the day from which it is in force.".into(),
        ));
    };
    let from_day = from.num_days_from_ce() - EPOCH;
    let (today, at_ms) = (today(), now_ms());
    let text = form.pack.replace("\r\n", "\n");
    let done = apart(&office, move |office| {
        match office.publish_pack(&text, from_day, form.nth, &worker, today, at_ms) {
            Err(PublishFault::Db(fault)) => Err(fault),
            other => Ok(other),
        }
    })
    .await?;
    match done {
        Ok(()) => Ok(Redirect::to("/rules").into_response()),
        Err(fault) => Err(Failed::Refused(office, sentence(&fault.to_string()))),
    }
}
