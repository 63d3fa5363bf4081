//! Phones and keys: the pages of phones and people, one-time codes, speaking of a key, and
//! what phones ask of it.

use axum::Form;
use axum::body::Bytes;
use axum::extract::{FromRequestParts, Path, Query, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use chrono::NaiveDateTime;
use maud::Markup;
use serde::Deserialize;
use standsquare_journal::record::notice::{Says, Why};

use super::looking::visitor_of;
use super::more::note;
use super::signed_in::Visitor;
use super::working::sentence;
use super::{Failed, apart, hex32, now_ms};
use crate::accounts::Worker;
use crate::beside::BesideFault;
use crate::db::DbFault;
use crate::editions::RosterFault;
use crate::enrolling::{CodeFault, EnrolFault};
use crate::keys::{NoticeFault, Owner};
use crate::pages;
use crate::state::OfficeState;

/// Media type of an enrolment and of an edition.
const CBOR: &str = "application/cbor";

type Office = State<OfficeState>;

/// A secretary, signed in: at the demo office, too.
pub(super) struct Secretary(pub(super) Visitor);

impl FromRequestParts<OfficeState> for Secretary {
    type Rejection = Failed;

    async fn from_request_parts(
        parts: &mut Parts,
        office: &OfficeState,
    ) -> Result<Self, Self::Rejection> {
        let visitor = Visitor::from_request_parts(parts, office).await?;
        match visitor.worker() {
            None => Err(Failed::SignInFirst),
            Some(worker) if worker.role.may_decide() => Ok(Secretary(visitor)),
            Some(_) => Err(Failed::ForSecretary(office.clone())),
        }
    }
}

/// The address that the browser reached this office under, to begin with.
fn reached_at(headers: &HeaderMap) -> String {
    let of = |name: &str| headers.get(name).and_then(|v| v.to_str().ok());
    let host = of("host").unwrap_or_default();
    let local =
        host.starts_with("127.") || host.starts_with("localhost") || host.starts_with("[::1]");
    let scheme = if local { "http" } else { "https" };
    format!("{scheme}://{host}")
}

pub(super) async fn phones(
    State(office): Office,
    who: Secretary,
    headers: HeaderMap,
) -> Result<Markup, Failed> {
    let phones = apart(&office, |office| Ok((office.phones()?, office.notices(0)?))).await?;
    let (phones, notices) = phones;
    let at = reached_at(&headers);
    Ok(pages::phones(
        &office,
        &visitor_of(&who.0),
        &phones,
        &notices,
        &at,
    ))
}

#[derive(Deserialize)]
pub(super) struct Wanted {
    word: String,
    person: String,
    label: String,
    address: String,
}

pub(super) async fn make_code(
    State(office): Office,
    who: Secretary,
    headers: HeaderMap,
    Form(form): Form<Wanted>,
) -> Result<Response, Failed> {
    let looker = visitor_of(&who.0);
    let worker = who.0.with_form(&office, &form.word, &headers)?;
    let mut secret = [0; 16];
    if let Err(fault) = getrandom::fill(&mut secret) {
        return Err(Failed::Db(office, DbFault::Engine(fault.to_string())));
    }
    let (at_ms, label) = (now_ms(), form.label.clone());
    let made = apart(&office, move |office| {
        let Wanted {
            person,
            label,
            address,
            ..
        } = &form;
        match office.make_enrol_code(person, label, address, secret, &worker, at_ms) {
            Err(CodeFault::Db(fault)) => Err(fault),
            other => Ok(other),
        }
    })
    .await?;
    match made {
        Ok(code) => match pages::code(&office, &looker, label.trim(), &code) {
            Some(page) => Ok(page.into_response()),
            None => Err(Failed::Refused(
                office,
                "The address is too long for a code that a camera can read.".into(),
            )),
        },
        Err(fault) => Err(Failed::Refused(office, sentence(&fault.to_string()))),
    }
}

pub(super) async fn phone(
    State(office): Office,
    who: Secretary,
    Path(key): Path<String>,
) -> Result<Markup, Failed> {
    let Some(key) = hex32(&key) else {
        return Err(Failed::NotThere(office));
    };
    note(&office, &who.0, "phone", &hex::encode(key)).await?;
    let (phones, notices) =
        apart(&office, |office| Ok((office.phones()?, office.notices(0)?))).await?;
    let Some(phone) = phones.into_iter().find(|p| p.key == key) else {
        return Err(Failed::NotThere(office));
    };
    Ok(pages::phone(&office, &visitor_of(&who.0), &phone, &notices))
}

pub(super) async fn people(State(office): Office, who: Secretary) -> Result<Markup, Failed> {
    let notices = apart(&office, |office| office.notices(0)).await?;
    Ok(pages::people(&office, &visitor_of(&who.0), &notices))
}

pub(super) async fn person(
    State(office): Office,
    who: Secretary,
    Path(id): Path<String>,
) -> Result<Markup, Failed> {
    note(&office, &who.0, "person", &id).await?;
    let asked = id.clone();
    let (keys, notices) = apart(&office, move |office| {
        Ok((office.keys_of(&asked)?, office.notices(0)?))
    })
    .await?;
    let known = office.roster().people.iter().any(|p| p.id == id);
    if !known && keys.is_empty() {
        return Err(Failed::NotThere(office));
    }
    Ok(pages::person(
        &office,
        &visitor_of(&who.0),
        &id,
        &keys,
        &notices,
    ))
}

#[derive(Deserialize)]
pub(super) struct Spoken {
    word: String,
    nth: i64,
    #[serde(default)]
    person: String,
    says: String,
    since: String,
    #[serde(default)]
    until: String,
    reason: String,
}

/// A moment of a form, UTC, Unix milliseconds.
fn moment(text: &str) -> Option<i64> {
    ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"]
        .iter()
        .find_map(|form| NaiveDateTime::parse_from_str(text.trim(), form).ok())
        .map(|at| at.and_utc().timestamp_millis())
}

fn says(form: &Spoken) -> Result<Says, &'static str> {
    const WHEN: &str = "Give the moment as day and time, such as 2026-11-25T14:30, in UTC.";
    let from_ms = moment(&form.since).ok_or(WHEN)?;
    let why = match form.says.as_str() {
        "enrolled" => {
            let until_ms = match form.until.trim() {
                "" => None,
                text => Some(moment(text).ok_or(WHEN)?),
            };
            return Ok(Says::Enrolled { from_ms, until_ms });
        }
        "lost" => Why::Lost,
        "exposed" => Why::Exposed,
        "replaced" => Why::Replaced,
        "ended" => Why::Ended,
        _ => return Err("Choose what is said of the key."),
    };
    Ok(Says::Revoked { from_ms, why })
}

pub(super) async fn speak(
    State(office): Office,
    who: Secretary,
    headers: HeaderMap,
    Path(key): Path<String>,
    Form(form): Form<Spoken>,
) -> Result<Response, Failed> {
    let worker: Worker = who.0.with_form(&office, &form.word, &headers)?;
    let Some(key) = hex32(&key) else {
        return Err(Failed::NotThere(office));
    };
    let says = match says(&form) {
        Ok(says) => says,
        Err(why) => return Err(Failed::Refused(office, why.into())),
    };
    let (owner, back) = match form.person.as_str() {
        "" => (Owner::Phone, format!("/phones/{}", hex::encode(key))),
        person => (
            Owner::Person(person.to_owned()),
            format!("/people/{person}"),
        ),
    };
    let at_ms = now_ms();
    let done = apart(&office, move |office| {
        let (nth, reason) = (form.nth, &form.reason);
        match office.speak_of_key(key, &owner, nth, says, reason, &worker, at_ms) {
            Err(NoticeFault::Db(fault)) => Err(fault),
            other => Ok(other),
        }
    })
    .await?;
    match done {
        Ok(_) => {
            tracing::info!("a notice of a key was made");
            Ok(Redirect::to(&back).into_response())
        }
        Err(fault) => Err(Failed::Refused(office, sentence(&fault.to_string()))),
    }
}

fn plain(status: StatusCode, why: &str) -> Response {
    (status, format!("{why}\n")).into_response()
}

const NOT_NOW: &str = "the office cannot keep anything at the moment; try again later";

pub(super) async fn enrol(State(office): Office, body: Bytes) -> Response {
    let (here, at_ms) = (office.clone(), now_ms());
    let done = tokio::task::spawn_blocking(move || here.enrol(&body, at_ms)).await;
    let counts = office.counts();
    let fault = match done {
        Ok(Ok(answer)) => {
            counts.enrolled.count(1);
            return ([(header::CONTENT_TYPE, CBOR)], answer).into_response();
        }
        Ok(Err(fault)) => fault,
        Err(panic) => EnrolFault::Db(DbFault::Unexpected(panic.to_string())),
    };
    if let EnrolFault::Db(fault) = &fault {
        counts.faults.count(1);
        tracing::error!("{fault}");
        return plain(StatusCode::SERVICE_UNAVAILABLE, NOT_NOW);
    }
    counts.enrol_refused.count(1);
    tracing::warn!("enrolment refused: {fault}");
    let status = match fault {
        EnrolFault::Wait => StatusCode::TOO_MANY_REQUESTS,
        EnrolFault::Code | EnrolFault::Reported => StatusCode::FORBIDDEN,
        _ => StatusCode::BAD_REQUEST,
    };
    plain(status, &fault.to_string())
}

pub(super) async fn roster(State(office): Office, body: Bytes) -> Response {
    let (here, at_ms) = (office.clone(), now_ms());
    let done = tokio::task::spawn_blocking(move || here.answer_roster(&body, at_ms)).await;
    let counts = office.counts();
    let fault = match done {
        Ok(Ok(answer)) => {
            counts.editions.count(1);
            return ([(header::CONTENT_TYPE, CBOR)], answer).into_response();
        }
        Ok(Err(fault)) => fault,
        Err(panic) => RosterFault::Db(DbFault::Unexpected(panic.to_string())),
    };
    let status = match &fault {
        RosterFault::Db(fault) => {
            counts.faults.count(1);
            tracing::error!("{fault}");
            return plain(StatusCode::SERVICE_UNAVAILABLE, NOT_NOW);
        }
        RosterFault::Stale(_) => StatusCode::UNAUTHORIZED,
        RosterFault::NotEnrolled => StatusCode::FORBIDDEN,
        RosterFault::Ask(_) | RosterFault::OtherBody => StatusCode::BAD_REQUEST,
    };
    tracing::warn!("roster refused: {fault}");
    plain(status, &fault.to_string())
}

pub(super) async fn beside(State(office): Office, body: Bytes) -> Response {
    let (here, at_ms) = (office.clone(), now_ms());
    let done = tokio::task::spawn_blocking(move || here.answer_beside(&body, at_ms)).await;
    let fault = match done {
        Ok(Ok(answer)) => return ([(header::CONTENT_TYPE, CBOR)], answer).into_response(),
        Ok(Err(fault)) => fault,
        Err(panic) => BesideFault::Db(DbFault::Unexpected(panic.to_string())),
    };
    let status = match &fault {
        BesideFault::Db(fault) => {
            office.counts().faults.count(1);
            tracing::error!("{fault}");
            return plain(StatusCode::SERVICE_UNAVAILABLE, NOT_NOW);
        }
        BesideFault::Stale(_) => StatusCode::UNAUTHORIZED,
        BesideFault::NotOfIt => StatusCode::FORBIDDEN,
        BesideFault::Ask(_) => StatusCode::BAD_REQUEST,
    };
    tracing::warn!("other phones' results refused: {fault}");
    plain(status, &fault.to_string())
}

#[derive(Deserialize)]
pub(super) struct After {
    #[serde(default)]
    after: u32,
}

/// Notices are signed and hold no name: everybody may have them.
pub(super) async fn notices(
    State(office): Office,
    Query(asked): Query<After>,
) -> Result<Response, Failed> {
    let notices = apart(&office, move |office| office.notices(asked.after.into())).await?;
    let mut text = String::new();
    for noticed in notices {
        text.push_str(&noticed.text);
        text.push('\n');
    }
    Ok(text.into_response())
}
