//! The other end: the real office over TLS on SQLite in a file, and beside it what an
//! ordinary service would do with gzip'd JSON: unpack, read, write durably, answer 200.

use std::io::{Read, Write};
use std::path::Path;

use axum::body::Bytes;
use axum::http::StatusCode;
use axum::routing::post;
use standsquare_office::db::SqliteDb;
use standsquare_office::web::{packets, router, tls};

use crate::support::office_over;

/// Makes a certificate for `office.example` in `dir`.
pub fn certificate(dir: &Path) {
    let made = rcgen::generate_simple_self_signed(vec!["office.example".into()]).expect("made");
    std::fs::write(dir.join("chain.pem"), made.cert.pem()).expect("written");
    std::fs::write(dir.join("key.pem"), made.signing_key.serialize_pem()).expect("written");
}

/// Serves until it is killed.
pub fn serve(dir: &Path, address: &str) {
    let db = SqliteDb::open(&dir.join("office.sqlite")).expect("a database");
    let office = office_over(Box::new(db));
    let settings = tls::settings(&dir.join("chain.pem"), &dir.join("key.pem")).expect("TLS");
    let folder = dir.to_owned();
    let ordinary = post(async move |body: Bytes| {
        let folder = folder.clone();
        let kept = tokio::task::spawn_blocking(move || keep(&folder, &body)).await;
        match kept {
            Ok(Ok(())) => StatusCode::OK,
            _ => StatusCode::BAD_REQUEST,
        }
    });
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(1)
        .enable_all()
        .build()
        .expect("a runtime");
    runtime.block_on(async {
        let socket = tokio::net::TcpListener::bind(address)
            .await
            .expect("the address");
        let at = socket.local_addr().expect("the address");
        let packets = packets::listen(at).await.expect("the port");
        tokio::spawn(packets::run(packets, office.clone()));
        let listener = tls::TlsListener::new(socket, settings).expect("a listener");
        let routes = router(office).merge(axum::Router::new().route("/json", ordinary));
        println!("ready");
        axum::serve(listener, routes).await.expect("served");
    });
}

fn keep(dir: &Path, body: &[u8]) -> std::io::Result<()> {
    let mut text = String::new();
    flate2::read::GzDecoder::new(body).read_to_string(&mut text)?;
    let _: serde_json::Value = serde_json::from_str(&text)?;
    let mut file = tempfile::NamedTempFile::new_in(dir)?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()
}
