//! The office behind HTTP. Handlers only translate; the database's work runs on
//! threads of its own, so that a slow disk never stops the listening.

mod arriving;
mod doors;
mod hoops;
mod keys;
mod looking;
mod more;
pub mod packets;
mod packs;
mod paper;
mod phones;
mod signed_in;
pub mod tls;
mod training;
mod working;

pub use doors::{Doors, Peer};
pub use phones::{FRAMES_TYPE, RECEIPT_TYPE};

use axum::extract::DefaultBodyLimit;
use axum::extract::connect_info::Connected;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::serve::{IncomingStream, Listener};
use axum::{Router, serve};
use chrono::{DateTime, NaiveDate};
use maud::Markup;
use standsquare_sync::Limits;
use std::net::SocketAddr;
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use tokio::net::UdpSocket;
use tokio::task::JoinHandle;
use tower_http::set_header::SetResponseHeaderLayer;

use crate::db::DbFault;
use crate::pages;
use crate::state::OfficeState;

/// Nothing may be loaded but the office's own style sheet, and no script runs.
const POLICY: &str = "default-src 'none'; style-src 'self'; form-action 'self'; \
                      base-uri 'none'; frame-ancestors 'none'";

/// All routes of this office.
pub fn router(office: OfficeState) -> Router {
    router_behind(office, Doors::new(false))
}

fn router_behind(office: OfficeState, doors: Doors) -> Router {
    let always = |name: HeaderName, value: &'static str| {
        SetResponseHeaderLayer::if_not_present(name, HeaderValue::from_static(value))
    };
    // Forms are short; only phones bring much.
    let short = DefaultBodyLimit::max(64 * 1024);
    let pages = Router::new()
        .route("/", get(looking::inbox))
        .route("/sessions/{id}", get(looking::session))
        .route("/sessions/{id}/return.csv", get(looking::session_csv))
        .route("/sessions/{id}/return.pdf", get(paper::session))
        .route("/dogs/{chip}", get(looking::dog))
        .route("/dogs/{chip}/history.pdf", get(paper::dog))
        .route("/measures/{head}", get(looking::measure))
        .route("/aside/{id}", get(looking::aside))
        .route("/trainer", get(training::overview))
        .route("/trainer/changes.csv", get(training::changes_csv))
        .route("/trainer/measurers/{id}", get(training::measurer))
        .route(
            "/trainer/measurers/{id}/months.csv",
            get(training::months_csv),
        )
        .route(
            "/trainer/measurers/{id}/drills.csv",
            get(training::drills_csv),
        )
        .route("/hoops", get(hoops::all))
        .route("/hoops/{id}", get(hoops::one).post(hoops::note))
        .route("/hoops/{id}/affected.csv", get(hoops::affected_csv))
        .route("/phones", get(keys::phones))
        .route("/phones/codes", post(keys::make_code))
        .route("/phones/{key}", get(keys::phone))
        .route("/people", get(keys::people))
        .route("/people/{id}", get(keys::person))
        .route("/keys/{key}", post(keys::speak))
        .route("/decisions/{subject}", post(working::decide))
        .route(
            "/sign-in",
            get(working::sign_in_form).post(working::sign_in),
        )
        .route("/sign-out", post(working::sign_out))
        .route("/over-time", get(looking::over_time))
        .route("/search", get(more::search))
        .route("/looked", get(more::looked))
        .route("/dogs/{chip}/dossier.json", get(more::dossier))
        .route("/dogs/{chip}/second-measure.ics", get(more::second_measure))
        .route("/appeals/{head}", post(more::appeal))
        .route("/style.css", get(looking::style))
        .layer(short)
        // A pack and its cases are longer.
        .route("/rules", get(packs::rules))
        .route("/rules/try", post(packs::try_out))
        .route("/rules/publish", post(packs::publish));
    // What is asked here is signed and has a few hundred bytes.
    let asks = DefaultBodyLimit::max(4 * 1024);
    let phones = Router::new()
        .route("/v1/openapi.json", get(more::openapi))
        .route("/metrics", get(more::metrics))
        .route("/v1/enrol", post(keys::enrol).layer(asks))
        .route(
            "/v1/roster",
            get(phones::roster).post(keys::roster).layer(asks),
        )
        .route("/v1/beside", post(keys::beside).layer(asks))
        .route("/v1/keys/notices", get(keys::notices))
        .route("/v1/frames", post(phones::frames))
        .route("/v1/log", post(phones::ask_log))
        .route("/v1/log/checkpoint", get(phones::checkpoint))
        .layer(DefaultBodyLimit::max(Limits::default().body_bytes))
        .layer(from_fn_with_state(doors, doors::knock));
    Router::new()
        .merge(pages)
        .merge(phones)
        .fallback(looking::nothing_here)
        .layer(always(header::CONTENT_SECURITY_POLICY, POLICY))
        .layer(always(header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .layer(always(header::REFERRER_POLICY, "same-origin"))
        .layer(always(header::CACHE_CONTROL, "no-store"))
        .with_state(office)
}

/// Serves until `stop` is done, behind these doors; posts in packets come in at `packets`.
///
/// # Errors
/// Whatever the listening socket says.
pub async fn run<L: Listener<Addr = SocketAddr>>(
    listener: L,
    packets: Option<UdpSocket>,
    office: OfficeState,
    doors: Doors,
    stop: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<()>
where
    Peer: for<'a> Connected<IncomingStream<'a, L>>,
{
    let logging = tokio::spawn(keep_the_log(office.clone()));
    let erasing = tokio::spawn(keep_no_longer(office.clone()));
    let packets = packets.map(|at| tokio::spawn(packets::run(at, office.clone())));
    let routes = router_behind(office, doors).into_make_service_with_connect_info::<Peer>();
    let served = serve(listener, routes).with_graceful_shutdown(stop).await;
    logging.abort();
    erasing.abort();
    packets.inspect(JoinHandle::abort);
    served
}

/// How long a frame of the record waits at most for its place in the log. Own choice,
/// no source: long enough to take a whole post at once.
const LOG_EVERY: Duration = Duration::from_secs(1);

/// Gives frames their places in the log as they come.
async fn keep_the_log(office: OfficeState) {
    let mut tick = tokio::time::interval(LOG_EVERY);
    loop {
        tick.tick().await;
        let here = office.clone();
        match tokio::task::spawn_blocking(move || here.extend_log()).await {
            Ok(Ok(0)) => {}
            Ok(Ok(some)) => {
                office.counts().logged.count(some);
                tracing::info!(frames = some, "logged");
            }
            Ok(Err(fault)) => tracing::error!("the log: {fault}"),
            Err(panic) => tracing::error!("the log: {panic}"),
        }
    }
}

/// How often it is looked for words whose time is over, which goes by the day. Own choice, no
/// source.
const ERASE_EVERY: Duration = Duration::from_secs(6 * 3600);

/// Erases what handlers said at the table when the rules have kept it long enough.
async fn keep_no_longer(office: OfficeState) {
    let mut tick = tokio::time::interval(ERASE_EVERY);
    loop {
        tick.tick().await;
        let here = office.clone();
        let (today, at_ms) = (today(), now_ms());
        match tokio::task::spawn_blocking(move || here.erase_words(today, at_ms)).await {
            Ok(Ok(0)) => {}
            Ok(Ok(some)) => {
                office.counts().words_erased.count(some);
                tracing::info!(objections = some, "words erased");
            }
            Ok(Err(fault)) => tracing::error!("words to erase: {fault}"),
            Err(panic) => tracing::error!("words to erase: {panic}"),
        }
    }
}

/// The office's clock, Unix milliseconds.
fn now_ms() -> i64 {
    let since = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .unwrap_or_default();
    i64::try_from(since.as_millis()).unwrap_or(i64::MAX)
}

/// The day by the office's clock.
fn today() -> NaiveDate {
    let now = DateTime::from_timestamp_millis(now_ms());
    now.map(|n| n.date_naive()).unwrap_or_default()
}

/// Why there is no answer as asked.
enum Failed {
    NotThere(OfficeState),
    SignInFirst,
    NotForThem(OfficeState),
    ForSecretary(OfficeState),
    Refused(OfficeState, String),
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
                    "This office has no such page or record.",
                ),
            ),
            Failed::SignInFirst => Redirect::to("/sign-in").into_response(),
            Failed::NotForThem(office) => page(
                StatusCode::FORBIDDEN,
                pages::trouble(
                    &office,
                    "Not for this account",
                    "Only the trainer and the secretary see these pages. The secretary can give \
                     an account that role.",
                ),
            ),
            Failed::ForSecretary(office) => page(
                StatusCode::FORBIDDEN,
                pages::trouble(
                    &office,
                    "Not for this account",
                    "Only the secretary sees these pages.",
                ),
            ),
            Failed::Refused(office, why) => page(
                StatusCode::CONFLICT,
                pages::trouble(&office, "Not recorded", &why),
            ),
            Failed::Db(office, fault) => {
                office.counts().faults.count(1);
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
    office: &OfficeState,
    work: impl FnOnce(&OfficeState) -> Result<T, DbFault> + Send + 'static,
) -> Result<T, Failed> {
    let here = office.clone();
    match tokio::task::spawn_blocking(move || work(&here)).await {
        Ok(Ok(found)) => Ok(found),
        Ok(Err(fault)) => Err(Failed::Db(office.clone(), fault)),
        Err(panic) => Err(Failed::Db(
            office.clone(),
            DbFault::Unexpected(panic.to_string()),
        )),
    }
}

/// Thirty-two bytes from their hexadecimal form.
fn hex32(text: &str) -> Option<[u8; 32]> {
    let mut out = [0; 32];
    hex::decode_to_slice(text, &mut out).ok().map(|()| out)
}
