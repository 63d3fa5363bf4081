//! The office behind HTTP. Handlers only translate; the database's work runs on
//! threads of its own, so that a slow disk never stops the listening.

use axum::body::{Body, Bytes};
use axum::extract::{DefaultBodyLimit, Path, State};
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Router, serve};
use maud::Markup;
use standsquare_sync::{BodyFault, Limits};
use std::time::{SystemTime, UNIX_EPOCH};
use tower_http::set_header::SetResponseHeaderLayer;

use crate::db::DbFault;
use crate::ingest::IngestFault;
use crate::pages;
use crate::state::OfficeState;

/// Media type of a batch of frames.
pub const FRAMES_TYPE: &str = "application/vnd.standsquare.frames";
/// Media type of a receipt.
pub const RECEIPT_TYPE: &str = "application/vnd.standsquare.receipt+cbor";

/// Nothing may be loaded but the office's own style sheet, and no script runs.
const POLICY: &str = "default-src 'none'; style-src 'self'; form-action 'self'; \
                      base-uri 'none'; frame-ancestors 'none'";

/// Most sessions on the first page.
const ON_FIRST_PAGE: i64 = 500;

/// All routes of this office.
pub fn router(office: OfficeState) -> Router {
    let always = |name: HeaderName, value: &'static str| {
        SetResponseHeaderLayer::if_not_present(name, HeaderValue::from_static(value))
    };
    Router::new()
        .route("/v1/roster", get(roster))
        .route("/v1/frames", post(frames))
        .route("/", get(inbox))
        .route("/sessions/{id}", get(session))
        .route("/sessions/{id}/return.csv", get(session_csv))
        .route("/style.css", get(style))
        .fallback(nothing_here)
        .layer(DefaultBodyLimit::max(Limits::default().body_bytes))
        .layer(always(header::CONTENT_SECURITY_POLICY, POLICY))
        .layer(always(header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .layer(always(header::REFERRER_POLICY, "no-referrer"))
        .layer(always(header::CACHE_CONTROL, "no-store"))
        .with_state(office)
}

/// Serves until `stop` is done.
///
/// # Errors
/// Whatever the listening socket says.
pub async fn run(
    listener: tokio::net::TcpListener,
    office: OfficeState,
    stop: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<()> {
    serve(listener, router(office))
        .with_graceful_shutdown(stop)
        .await
}

/// The office's clock, Unix milliseconds.
fn now_ms() -> i64 {
    let since = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .unwrap_or_default();
    i64::try_from(since.as_millis()).unwrap_or(i64::MAX)
}

/// Why there is no answer as asked.
enum Failed {
    NotThere(OfficeState),
    Db(OfficeState, DbFault),
}

impl IntoResponse for Failed {
    fn into_response(self) -> Response {
        match self {
            Failed::NotThere(office) => page(
                StatusCode::NOT_FOUND,
                pages::trouble(
                    &office,
                    "Not there",
                    "This office has no such page or session.",
                ),
            ),
            Failed::Db(office, fault) => {
                tracing::error!("{fault}");
                page(
                    StatusCode::SERVICE_UNAVAILABLE,
                    pages::trouble(
                        &office,
                        "Not at the moment",
                        "The office's database does not answer. Nothing is lost; try again in a \
                         minute, and tell whoever runs the office if it lasts.",
                    ),
                )
            }
        }
    }
}

fn page(status: StatusCode, page: Markup) -> Response {
    (status, page).into_response()
}

/// Runs `work` where it may wait for the disk.
async fn apart<T: Send + 'static>(
    office: OfficeState,
    work: impl FnOnce(&OfficeState) -> Result<T, DbFault> + Send + 'static,
) -> Result<(OfficeState, T), Failed> {
    let here = office.clone();
    match tokio::task::spawn_blocking(move || work(&here)).await {
        Ok(Ok(found)) => Ok((office, found)),
        Ok(Err(fault)) => Err(Failed::Db(office, fault)),
        Err(panic) => Err(Failed::Db(office, DbFault::Unexpected(panic.to_string()))),
    }
}

async fn roster(State(office): State<OfficeState>) -> Response {
    (
        [(header::CONTENT_TYPE, "application/json")],
        office.roster_json(),
    )
        .into_response()
}

async fn frames(State(office): State<OfficeState>, body: Bytes) -> Response {
    let at_ms = now_ms();
    let done = tokio::task::spawn_blocking(move || office.ingest(&body, at_ms)).await;
    let plain = |status: StatusCode, why: String| (status, why + "\n").into_response();
    match done {
        Ok(Ok(receipt)) => ([(header::CONTENT_TYPE, RECEIPT_TYPE)], receipt).into_response(),
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
            plain(
                StatusCode::INTERNAL_SERVER_ERROR,
                "the office failed; send it again later".into(),
            )
        }
    }
}

async fn inbox(State(office): State<OfficeState>) -> Result<Markup, Failed> {
    let (office, (sessions, aside, waiting)) = apart(office, |office| {
        Ok((
            office.sessions(ON_FIRST_PAGE)?,
            office.set_aside(ON_FIRST_PAGE)?,
            office.waiting()?,
        ))
    })
    .await?;
    Ok(pages::inbox(&office, &sessions, &aside, waiting))
}

async fn session(
    State(office): State<OfficeState>,
    Path(id): Path<String>,
) -> Result<Markup, Failed> {
    let Ok(id) = uuid::Uuid::try_parse(&id) else {
        return Err(Failed::NotThere(office));
    };
    let (office, (lines, visits)) =
        apart(office, move |office| office.session(id.into_bytes())).await?;
    if lines.is_empty() {
        return Err(Failed::NotThere(office));
    }
    Ok(pages::session(&office, &lines, &visits))
}

async fn session_csv(
    State(office): State<OfficeState>,
    Path(id): Path<String>,
) -> Result<Response, Failed> {
    let Ok(id) = uuid::Uuid::try_parse(&id) else {
        return Err(Failed::NotThere(office));
    };
    let (office, (lines, visits)) =
        apart(office, move |office| office.session(id.into_bytes())).await?;
    let Some(first) = lines.first() else {
        return Err(Failed::NotThere(office));
    };
    let name = format!("attachment; filename=\"{}\"", pages::csv_name(first));
    let headers = [
        (
            header::CONTENT_TYPE,
            "text/csv; charset=utf-8; header=present".to_owned(),
        ),
        (header::CONTENT_DISPOSITION, name),
    ];
    Ok((
        headers,
        Body::from(pages::return_csv(&office, &lines, &visits)),
    )
        .into_response())
}

async fn style() -> Response {
    let headers = [
        (header::CONTENT_TYPE, "text/css; charset=utf-8"),
        (header::CACHE_CONTROL, "max-age=3600"),
    ];
    (headers, pages::STYLE).into_response()
}

async fn nothing_here(State(office): State<OfficeState>) -> Failed {
    Failed::NotThere(office)
}
