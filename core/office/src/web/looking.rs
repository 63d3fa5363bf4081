//! Pages to look at.

use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use maud::Markup;

use super::more::{CSV, attached, note};
use super::signed_in::Visitor;
use super::{Failed, apart, hex32};
use crate::incidents::Incident;
use crate::pages;
use crate::read::{SessionLine, VisitLine};
use crate::state::OfficeState;

/// Most lines of a kind on the first page.
const ON_FIRST_PAGE: i64 = 500;

type Office = State<OfficeState>;

pub(super) async fn inbox(State(office): Office, visitor: Visitor) -> Result<Markup, Failed> {
    let content = apart(&office, |office| {
        Ok(pages::Inbox {
            undecided: office.undecided(ON_FIRST_PAGE)?,
            set_aside: office.set_aside(ON_FIRST_PAGE)?,
            appeals: office.open_appeals(ON_FIRST_PAGE)?,
            waiting: office.waiting()?,
            sessions: office.sessions(ON_FIRST_PAGE)?,
        })
    })
    .await?;
    Ok(pages::inbox(&office, &visitor_of(&visitor), &content))
}

/// What a page needs to know of who looks at it.
pub(super) fn visitor_of(visitor: &Visitor) -> pages::Looker {
    pages::Looker {
        worker: visitor.worker().cloned(),
        form_word: visitor.form_word(),
    }
}

pub(super) async fn session(
    State(office): Office,
    visitor: Visitor,
    Path(id): Path<String>,
) -> Result<Markup, Failed> {
    let (lines, visits, happened) = whole_session(&office, &visitor, &id).await?;
    Ok(pages::session(
        &office,
        &visitor_of(&visitor),
        &lines,
        &visits,
        &happened,
    ))
}

/// A session as each phone wrote it, its dogs, and what happened.
type WholeSession = (Vec<SessionLine>, Vec<VisitLine>, Vec<Incident>);

/// The session with this id, at least one phone's record of it; that it was looked at is
/// noted.
pub(super) async fn whole_session(
    office: &OfficeState,
    visitor: &Visitor,
    id: &str,
) -> Result<WholeSession, Failed> {
    let Ok(id) = uuid::Uuid::try_parse(id) else {
        return Err(Failed::NotThere(office.clone()));
    };
    note(office, visitor, "session", &id.to_string()).await?;
    let id = id.into_bytes();
    let whole = apart(office, move |office| {
        let (lines, visits) = office.session(id)?;
        Ok((lines, visits, office.incidents(id)?))
    })
    .await?;
    if whole.0.is_empty() {
        return Err(Failed::NotThere(office.clone()));
    }
    Ok(whole)
}

pub(super) async fn session_csv(
    State(office): Office,
    visitor: Visitor,
    Path(id): Path<String>,
) -> Result<Response, Failed> {
    let (lines, visits, happened) = whole_session(&office, &visitor, &id).await?;
    let name = pages::csv_name(&lines[0]);
    let rows = pages::return_csv(&office, &lines, &visits, &happened);
    Ok(attached(CSV, &name, rows))
}

pub(super) async fn dog(
    State(office): Office,
    visitor: Visitor,
    Path(chip): Path<String>,
) -> Result<Markup, Failed> {
    note(&office, &visitor, "dog", &chip).await?;
    let asked = chip.clone();
    let measures = apart(&office, move |office| office.dog(&asked)).await?;
    if measures.is_empty() {
        return Err(Failed::NotThere(office));
    }
    Ok(pages::dog(&office, &visitor_of(&visitor), &chip, &measures))
}

pub(super) async fn measure(
    State(office): Office,
    visitor: Visitor,
    Path(head): Path<String>,
) -> Result<Markup, Failed> {
    let Some(head) = hex32(&head) else {
        return Err(Failed::NotThere(office));
    };
    note(&office, &visitor, "measure", &hex::encode(head)).await?;
    let found = apart(&office, move |office| {
        let Some(visit) = office.measure(head)? else {
            return Ok(None);
        };
        let objected = office.objections(&visit)?;
        Ok(Some((
            visit,
            office.decisions(head)?,
            office.appeals(head)?,
            objected,
        )))
    })
    .await?;
    let Some((visit, decisions, steps, objected)) = found else {
        return Err(Failed::NotThere(office));
    };
    Ok(pages::measure(
        &office,
        &visitor_of(&visitor),
        &visit,
        &decisions,
        &steps,
        &objected,
    ))
}

pub(super) async fn aside(
    State(office): Office,
    visitor: Visitor,
    Path(id): Path<String>,
) -> Result<Markup, Failed> {
    let Some(id) = hex32(&id) else {
        return Err(Failed::NotThere(office));
    };
    let found = apart(&office, move |office| {
        let Some(line) = office.set_aside_frame(id)? else {
            return Ok(None);
        };
        Ok(Some((line, office.decisions(id)?)))
    })
    .await?;
    let Some((line, decisions)) = found else {
        return Err(Failed::NotThere(office));
    };
    Ok(pages::aside(
        &office,
        &visitor_of(&visitor),
        &line,
        &decisions,
    ))
}

pub(super) async fn style() -> Response {
    let headers = [
        (header::CONTENT_TYPE, "text/css; charset=utf-8"),
        (header::CACHE_CONTROL, "max-age=3600"),
    ];
    (headers, pages::STYLE).into_response()
}

pub(super) async fn nothing_here(State(office): Office) -> Failed {
    Failed::NotThere(office)
}

pub(super) async fn over_time(State(office): Office, visitor: Visitor) -> Result<Markup, Failed> {
    let now = chrono::DateTime::from_timestamp_millis(super::now_ms()).unwrap_or_default();
    let today = now.date_naive();
    let months = apart(&office, move |office| office.returns_over_time(today)).await?;
    Ok(pages::over_time(&office, &visitor_of(&visitor), &months))
}
