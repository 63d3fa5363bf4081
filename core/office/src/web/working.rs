//! Signing in and out, and recording decisions.

use axum::Form;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use maud::Markup;
use serde::Deserialize;

use super::signed_in::{Visitor, cookie, form_word, from_here, token_in};
use super::{Failed, apart, hex32, now_ms, page};
use crate::accounts::SignIn;
use crate::db::DbFault;
use crate::decide::{DecisionFault, Verdict};
use crate::pages;
use crate::points::read_points;
use crate::state::OfficeState;

#[derive(Deserialize)]
pub(super) struct Name {
    account: String,
    password: String,
}

pub(super) async fn sign_in_form(State(office): State<OfficeState>) -> Markup {
    pages::sign_in(&office, None)
}

pub(super) async fn sign_in(
    State(office): State<OfficeState>,
    headers: HeaderMap,
    Form(name): Form<Name>,
) -> Result<Response, Failed> {
    if !from_here(&headers) {
        return Err(Failed::Refused(
            office,
            "The form came from another site.".into(),
        ));
    }
    let mut token = [0; 32];
    if let Err(fault) = getrandom::fill(&mut token) {
        return Err(Failed::Db(office, DbFault::Engine(fault.to_string())));
    }
    let at_ms = now_ms();
    let done = apart(&office, move |office| {
        office.sign_in(name.account.trim(), &name.password, &token, at_ms)
    })
    .await?;
    let say = |status, words: &str| Ok(page(status, pages::sign_in(&office, Some(words))));
    match done {
        SignIn::Done(_) => {
            let headers = [(header::SET_COOKIE, cookie(Some(&token)))];
            Ok((headers, Redirect::to("/")).into_response())
        }
        SignIn::Wrong => say(
            StatusCode::UNAUTHORIZED,
            "That account and password do not fit together. Try again.",
        ),
        SignIn::Wait(ms) => {
            let words = format!(
                "Too many wrong passwords. Try again in {} seconds.",
                ms.div_euclid(1000) + 1
            );
            say(StatusCode::TOO_MANY_REQUESTS, &words)
        }
    }
}

#[derive(Deserialize)]
pub(super) struct Word {
    word: String,
}

pub(super) async fn sign_out(
    State(office): State<OfficeState>,
    headers: HeaderMap,
    Form(form): Form<Word>,
) -> Result<Response, Failed> {
    if let Some(token) = token_in(&headers)
        && form.word == form_word(&token)
    {
        apart(&office, move |office| office.sign_out(&token)).await?;
    }
    let headers = [(header::SET_COOKIE, cookie(None))];
    Ok((headers, Redirect::to("/")).into_response())
}

#[derive(Deserialize)]
pub(super) struct Decided {
    word: String,
    verdict: String,
    reason: String,
    nth: i64,
    seen: String,
    back: String,
}

pub(super) async fn decide(
    State(office): State<OfficeState>,
    visitor: Visitor,
    headers: HeaderMap,
    Path(subject): Path<String>,
    Form(form): Form<Decided>,
) -> Result<Response, Failed> {
    let worker = visitor.with_form(&office, &form.word, &headers)?;
    let refused = |why: &str| Err(Failed::Refused(office.clone(), why.to_owned()));
    let Some(subject) = hex32(&subject) else {
        return Err(Failed::NotThere(office));
    };
    let Some(verdict) = Verdict::read(&form.verdict) else {
        return refused("Choose what is decided.");
    };
    let Ok(seen) = read_points(&form.seen) else {
        return refused("The form is damaged. Open the page again.");
    };
    let back = match form.back.as_str() {
        "aside" => format!("/aside/{}", hex::encode(subject)),
        _ => format!("/measures/{}", hex::encode(subject)),
    };
    let at_ms = now_ms();
    let (nth, reason) = (form.nth, form.reason);
    let done = apart(&office, move |office| {
        match office.decide(subject, nth, &seen, verdict, &reason, &worker, at_ms) {
            Err(DecisionFault::Db(fault)) => Err(fault),
            other => Ok(other),
        }
    })
    .await?;
    match done {
        Ok(()) => Ok(Redirect::to(&back).into_response()),
        Err(fault) => Err(Failed::Refused(office, sentence(&fault.to_string()))),
    }
}

/// Begins with a capital and ends with a full stop.
pub(super) fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars
        .next()
        .map(|c| c.to_uppercase().to_string())
        .unwrap_or_default();
    format!("{first}{}.", chars.as_str())
}
