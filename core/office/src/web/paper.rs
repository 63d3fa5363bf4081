//! Files to be printed.

use axum::extract::{Path, State};
use axum::response::Response;

use super::looking::whole_session;
use super::more::{attached, file_name, note};
use super::signed_in::Visitor;
use super::{Failed, apart, now_ms};
use crate::db::DbFault;
use crate::pages;
use crate::pdf;
use crate::state::OfficeState;

type Office = State<OfficeState>;

const PDF: &str = "application/pdf";

fn undrawn(why: String) -> DbFault {
    DbFault::Unexpected(format!("something that cannot be drawn: {why}"))
}

pub(super) async fn session(
    State(office): Office,
    visitor: Visitor,
    Path(id): Path<String>,
) -> Result<Response, Failed> {
    let (lines, visits, happened) = whole_session(&office, &visitor, &id).await?;
    let name = pages::csv_name(&lines[0]).replace(".csv", ".pdf");
    let drawn = apart(&office, move |office| {
        pdf::return_pdf(office, &lines, &visits, &happened, now_ms()).map_err(undrawn)
    })
    .await?;
    Ok(attached(PDF, &name, drawn))
}

pub(super) async fn dog(
    State(office): Office,
    visitor: Visitor,
    Path(chip): Path<String>,
) -> Result<Response, Failed> {
    note(&office, &visitor, "dog", &chip).await?;
    let asked = chip.clone();
    let drawn = apart(&office, move |office| {
        let mut measures = Vec::new();
        for visit in office.dog(&asked)? {
            let (decisions, steps) = (office.decisions(visit.head)?, office.appeals(visit.head)?);
            measures.push((visit, decisions, steps));
        }
        if measures.is_empty() {
            return Ok(None);
        }
        let drawn = pdf::history_pdf(office, &asked, &measures, now_ms());
        drawn.map(Some).map_err(undrawn)
    })
    .await?;
    match drawn {
        Some(bytes) => {
            let name = format!("history-{}.pdf", file_name(&chip));
            Ok(attached(PDF, &name, bytes))
        }
        None => Err(Failed::NotThere(office)),
    }
}
