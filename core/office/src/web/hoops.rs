//! The hoops' pages, for the trainer and the secretary.

use axum::Form;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Redirect, Response};
use chrono::NaiveDate;
use maud::Markup;
use serde::Deserialize;
use standsquare_measuring::Length;
use standsquare_measuring::gauge::hoop::HoopCheck;
use standsquare_sync::roster::Hoop;

use super::looking::visitor_of;
use super::training::{Trainer, file};
use super::{Failed, apart, now_ms, today};
use crate::db::DbFault;
use crate::hoops::{CheckFault, NotedCheck, Placed};
use crate::pages;
use crate::state::OfficeState;
use crate::trainer::csv;
use standsquare_measuring::gauge::hoop::UsedIn;

type Office = State<OfficeState>;

pub(super) async fn all(State(office): Office, who: Trainer) -> Result<Markup, Failed> {
    let (rules, all) = apart(&office, |office| {
        let hoops = office.roster().hoops.iter();
        let all: Vec<(Hoop, Vec<NotedCheck>)> = hoops
            .map(|h| Ok((h.clone(), office.hoop_checks(&h.id)?)))
            .collect::<Result<_, DbFault>>()?;
        Ok((office.rules()?, all))
    })
    .await?;
    let looker = visitor_of(&who.0);
    Ok(pages::hoops(
        &office,
        &looker,
        rules.on(today().to_epoch_days()),
        &all,
        today(),
    ))
}

/// A hoop with its checks and the measures it was placed in.
async fn found(
    office: &OfficeState,
    id: &str,
) -> Result<(Hoop, Vec<NotedCheck>, Vec<UsedIn<Placed>>), Failed> {
    let Some(hoop) = office.hoop(id).cloned() else {
        return Err(Failed::NotThere(office.clone()));
    };
    let asked = hoop.clone();
    let (checks, uses) = apart(office, move |office| {
        Ok((office.hoop_checks(&asked.id)?, office.hoop_uses(&asked)?))
    })
    .await?;
    Ok((hoop, checks, uses))
}

pub(super) async fn one(
    State(office): Office,
    who: Trainer,
    Path(id): Path<String>,
) -> Result<Markup, Failed> {
    let (hoop, checks, uses) = found(&office, &id).await?;
    let rules = apart(&office, OfficeState::rules).await?;
    let looker = visitor_of(&who.0);
    Ok(pages::hoop(
        &office,
        &looker,
        rules.on(today().to_epoch_days()),
        &hoop,
        &checks,
        &uses,
        today(),
    ))
}

pub(super) async fn affected_csv(
    State(office): Office,
    _: Trainer,
    Path(id): Path<String>,
) -> Result<Response, Failed> {
    let (_, checks, uses) = found(&office, &id).await?;
    let rules = apart(&office, OfficeState::rules).await?;
    let head = ["day", "dog", "chip", "hoop_said", "could_turn"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    if let Some((_, doubt)) = pages::in_doubt(rules.on(today().to_epoch_days()), &checks, &uses) {
        for u in &doubt.all {
            let turned = doubt.could_turn.iter().any(|t| std::ptr::eq(*t, *u));
            rows.push(vec![
                u.on.to_string(),
                u.measure.dog.clone(),
                u.measure.chip.clone(),
                pages::said(u.within).to_owned(),
                if turned { "yes" } else { "no" }.to_owned(),
            ]);
        }
    }
    Ok(file("affected.csv", csv(&rows)))
}

#[derive(Deserialize)]
pub(super) struct Checked {
    word: String,
    nth: i64,
    day: String,
    left: String,
    middle: String,
    right: String,
    uncertainty: String,
    instrument: String,
}

pub(super) async fn note(
    State(office): Office,
    who: Trainer,
    headers: HeaderMap,
    Path(id): Path<String>,
    Form(form): Form<Checked>,
) -> Result<Response, Failed> {
    let worker = who.0.with_form(&office, &form.word, &headers)?;
    let refused = |why: String| Failed::Refused(office.clone(), why);
    let Some(hoop) = office.hoop(&id) else {
        return Err(Failed::NotThere(office));
    };
    let Ok(on) = form.day.parse::<NaiveDate>() else {
        return Err(refused(
            "Give the day as year, month and day, such as 2026-11-25.".into(),
        ));
    };
    let millimetres = |text: &str| {
        let read = format!("{} mm", text.trim()).parse::<Length>();
        read.map_err(|_| {
            refused(format!(
                "'{}' is no number of millimetres: write one such as 350.4, with a point.",
                text.trim()
            ))
        })
    };
    let check = HoopCheck {
        gauge: hoop.gauge.as_str().into(),
        serial: hoop.serial.clone(),
        on,
        heights: [
            millimetres(&form.left)?,
            millimetres(&form.middle)?,
            millimetres(&form.right)?,
        ],
        uncertainty: millimetres(&form.uncertainty)?,
        instrument: form.instrument.trim().to_owned(),
    };
    let (at_ms, nth, asked, today) = (now_ms(), form.nth, id.clone(), today());
    let done = apart(&office, move |office| {
        match office.note_hoop_check(&asked, nth, &check, &worker, today, at_ms) {
            Err(CheckFault::Db(fault)) => Err(fault),
            other => Ok(other),
        }
    })
    .await?;
    match done {
        Ok(()) => Ok(Redirect::to(&format!("/hoops/{id}")).into_response()),
        Err(fault) => Err(refused(super::working::sentence(&fault.to_string()))),
    }
}
