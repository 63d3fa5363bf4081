//! What phones ask: the roster, and taking frames in.

use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use standsquare_sync::BodyFault;
use standsquare_sync::log::Ask;
use tokio::task::JoinError;

use super::arriving::{Arrived, arrive};
use super::signed_in::Visitor;
use super::{Failed, apart, now_ms};
use crate::ingest::IngestFault;
use crate::state::OfficeState;

/// Media type of a batch of frames.
pub const FRAMES_TYPE: &str = "application/vnd.standsquare.frames";
/// Media type of a receipt.
pub const RECEIPT_TYPE: &str = "application/vnd.standsquare.receipt+cbor";

/// The roster holds handlers' names: like the pages, it is open at the demo office only.
pub(super) async fn roster(
    State(office): State<OfficeState>,
    visitor: Result<Visitor, Failed>,
) -> Response {
    match visitor {
        Ok(_) => {}
        Err(Failed::SignInFirst) => {
            let why = "Sign in at /sign-in first, or load the roster from a file.\n";
            return (StatusCode::UNAUTHORIZED, why).into_response();
        }
        Err(other) => return other.into_response(),
    }
    // With the pack that is in force today.
    match apart(&office, |office| office.roster_json_at(now_ms())).await {
        Ok(text) => ([(header::CONTENT_TYPE, "application/json")], text).into_response(),
        Err(failed) => failed.into_response(),
    }
}

pub(super) async fn frames(State(office): State<OfficeState>, body: Body) -> Response {
    let done = match arrive(&office, body).await {
        Arrived::Early(receipt) => Ok(Ok(receipt)),
        Arrived::TooLarge(fault) => Ok(Err(fault.into())),
        // Nobody is there to hear it.
        Arrived::CutOff => return StatusCode::BAD_REQUEST.into_response(),
        Arrived::Whole(body) => take_in(&office, body).await,
    };
    match told(&office, done) {
        (StatusCode::OK, receipt) => {
            ([(header::CONTENT_TYPE, RECEIPT_TYPE)], receipt).into_response()
        }
        (status, why) => {
            let kind = [(header::CONTENT_TYPE, "text/plain; charset=utf-8")];
            (status, kind, why).into_response()
        }
    }
}

/// What came of a post: a receipt, a fault, or a panic on the thread that took it in.
pub(super) type Done = Result<Result<Vec<u8>, IngestFault>, JoinError>;

/// Takes in a post that is all here.
pub(super) async fn take_in(office: &OfficeState, body: Vec<u8>) -> Done {
    let here = office.clone();
    let done = tokio::task::spawn_blocking(move || here.ingest(&body, now_ms())).await;
    office.arrivals().notify_waiters();
    done
}

/// What is answered to a post: a receipt, or in words what is wrong.
pub(super) fn told(office: &OfficeState, done: Done) -> (StatusCode, Vec<u8>) {
    let counts = office.counts();
    match &done {
        Ok(Ok(_)) => counts.posts.count(1),
        Ok(Err(IngestFault::Body(_))) => counts.posts_refused.count(1),
        _ => counts.faults.count(1),
    }
    let plain = |status: StatusCode, why: String| (status, (why + "\n").into_bytes());
    match done {
        Ok(Ok(receipt)) => (StatusCode::OK, receipt),
        Ok(Err(IngestFault::Body(fault))) => {
            tracing::warn!("post refused: {fault}");
            let status = match fault {
                BodyFault::TooLarge(_)
                | BodyFault::TooMany(_)
                | BodyFault::FrameTooLarge { .. } => StatusCode::PAYLOAD_TOO_LARGE,
                BodyFault::TooNew(_) | BodyFault::Encoding(_) => StatusCode::UNSUPPORTED_MEDIA_TYPE,
                _ => StatusCode::BAD_REQUEST,
            };
            plain(status, fault.to_string())
        }
        Ok(Err(IngestFault::Db(fault))) => {
            tracing::error!("{fault}");
            let why = "the office cannot keep anything at the moment; send it again later";
            plain(StatusCode::SERVICE_UNAVAILABLE, why.into())
        }
        Err(panic) => {
            tracing::error!("{panic}");
            let why = "the office failed; send it again later";
            plain(StatusCode::INTERNAL_SERVER_ERROR, why.into())
        }
    }
}

pub(super) async fn ask_log(
    State(office): State<OfficeState>,
    body: Bytes,
) -> Result<Response, Failed> {
    let ask = match Ask::decode_strict(&body) {
        Ok(ask) => ask,
        Err(fault) => return Ok((StatusCode::BAD_REQUEST, format!("{fault}\n")).into_response()),
    };
    let answer = apart(&office, move |office| office.ask_log(&ask)).await?;
    Ok((
        [(header::CONTENT_TYPE, "application/cbor")],
        answer.encode(),
    )
        .into_response())
}

pub(super) async fn checkpoint(State(office): State<OfficeState>) -> Result<String, Failed> {
    apart(&office, OfficeState::signed_checkpoint).await
}
