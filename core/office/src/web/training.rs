//! The trainer's pages, for the trainer and the secretary alone.

use axum::extract::{FromRequestParts, Path, State};
use axum::http::request::Parts;
use axum::response::Response;
use maud::Markup;
use standsquare_measuring::gauge::Least;

use super::looking::visitor_of;
use super::more::{CSV, attached};
use super::signed_in::Visitor;
use super::{Failed, apart, today};
use crate::state::OfficeState;
use crate::trainer;

type Office = State<OfficeState>;

/// A visitor who may see numbers of one measurer. At the demo office, too, only who is
/// signed in.
pub(super) struct Trainer(pub(super) Visitor);

impl FromRequestParts<OfficeState> for Trainer {
    type Rejection = Failed;

    async fn from_request_parts(
        parts: &mut Parts,
        office: &OfficeState,
    ) -> Result<Self, Self::Rejection> {
        let visitor = Visitor::from_request_parts(parts, office).await?;
        match visitor.worker() {
            None => Err(Failed::SignInFirst),
            Some(worker) if worker.role.may_train() => Ok(Trainer(visitor)),
            Some(_) => Err(Failed::NotForThem(office.clone())),
        }
    }
}

pub(super) async fn overview(State(office): Office, who: Trainer) -> Result<Markup, Failed> {
    let (rules, all, drills) = apart(&office, |office| {
        Ok((
            office.rules()?,
            office.measured(today())?,
            office.all_practised()?,
        ))
    })
    .await?;
    let looker = visitor_of(&who.0);
    let pack = rules.on(today().to_epoch_days());
    Ok(trainer::overview(&office, &looker, pack, &all, &drills))
}

pub(super) async fn changes_csv(State(office): Office, _: Trainer) -> Result<Response, Failed> {
    let (rules, all) = apart(&office, |office| {
        Ok((office.rules()?, office.measured(today())?))
    })
    .await?;
    let pack = rules.on(today().to_epoch_days());
    Ok(file("changes.csv", trainer::changes_csv(pack, &all)))
}

/// The measurer's name and numbers.
async fn one(office: &OfficeState, id: &str) -> Result<(String, trainer::OfMeasurer), Failed> {
    let person = office.roster().people.iter().find(|p| p.id == id);
    let Some(person) = person else {
        return Err(Failed::NotThere(office.clone()));
    };
    let (name, id) = (person.name.clone(), person.id.clone());
    let found = apart(office, move |office| {
        Ok(trainer::of_measurer(
            &office.measured(today())?,
            &id,
            Least::default(),
        ))
    })
    .await?;
    Ok((name, found))
}

pub(super) async fn measurer(
    State(office): Office,
    who: Trainer,
    Path(id): Path<String>,
) -> Result<Markup, Failed> {
    let (name, found) = one(&office, &id).await?;
    let asked = id.clone();
    let drills = apart(&office, move |office| office.practised(&asked)).await?;
    Ok(trainer::measurer(
        &office,
        &visitor_of(&who.0),
        (&id, &name),
        &found,
        &drills,
    ))
}

pub(super) async fn months_csv(
    State(office): Office,
    _: Trainer,
    Path(id): Path<String>,
) -> Result<Response, Failed> {
    let (_, found) = one(&office, &id).await?;
    Ok(file("months.csv", trainer::months_csv(&found)))
}

pub(super) async fn drills_csv(
    State(office): Office,
    _: Trainer,
    Path(id): Path<String>,
) -> Result<Response, Failed> {
    one(&office, &id).await?;
    let drills = apart(&office, move |office| office.practised(&id)).await?;
    Ok(file("drills.csv", trainer::drills_csv(&drills)))
}

pub(super) fn file(name: &str, text: String) -> Response {
    attached(CSV, name, text)
}
