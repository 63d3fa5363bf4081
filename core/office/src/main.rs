//! The office as a program: `standsquare-office --data DIR --listen 127.0.0.1:0`.

use clap::Parser;
use standsquare_office::db::SqliteDb;
use standsquare_office::{OfficeState, demo, key, web};
use std::error::Error;
use std::io::Write;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

/// Takes returns in and shows them.
#[derive(Parser)]
#[command(version)]
struct Arguments {
    /// Folder of the office's data; made if it is not there
    #[arg(long, value_name = "DIR")]
    data: PathBuf,
    /// Address to listen at; port 0 takes a free one
    #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1:0")]
    listen: SocketAddr,
    /// Be the office of the invented league, with a key that protects nothing
    #[arg(long)]
    demo: bool,
}

fn main() {
    tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_ansi(false)
        .init();
    if let Err(fault) = start(&Arguments::parse()) {
        eprintln!("standsquare-office: {fault}");
        std::process::exit(1);
    }
}

fn start(arguments: &Arguments) -> Result<(), Box<dyn Error>> {
    let data = &arguments.data;
    std::fs::create_dir_all(data)
        .map_err(|e| format!("the folder {} cannot be made: {e}", data.display()))?;
    let office = open(data, arguments.demo)?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?;
    runtime.block_on(async {
        let listener = tokio::net::TcpListener::bind(arguments.listen)
            .await
            .map_err(|e| format!("cannot listen at {}: {e}", arguments.listen))?;
        let address = listener.local_addr()?;
        // The one line on standard output: whoever started this reads it.
        let line = serde_json::json!({
            "listening": format!("http://{address}"),
            "key": hex::encode(office.public_key()),
        });
        writeln!(std::io::stdout(), "{line}")?;
        std::io::stdout().flush()?;
        tracing::info!(%address, demo = arguments.demo, "the office is open");
        web::run(listener, office, asked_to_stop()).await?;
        tracing::info!("the office is closed");
        Ok(())
    })
}

fn open(data: &Path, demo: bool) -> Result<OfficeState, Box<dyn Error>> {
    let (key, roster) = if demo {
        (demo::demo_only_key(), demo::roster())
    } else {
        let file = data.join("roster.json");
        let text = std::fs::read_to_string(&file).map_err(|e| {
            format!(
                "put the league's roster into {} ({e}), or start with --demo",
                file.display()
            )
        })?;
        let roster = serde_json::from_str(&text)
            .map_err(|e| format!("{} is not a roster: {e}", file.display()))?;
        (key::load_or_make(data)?, roster)
    };
    let engine = SqliteDb::open(&data.join("office.sqlite"))?;
    Ok(OfficeState::new(Box::new(engine), key, roster))
}

/// Done when somebody presses Ctrl-C or the system asks.
async fn asked_to_stop() {
    let interrupted = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminated) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = interrupted => {}
                _ = terminated.recv() => {}
            }
            return;
        }
    }
    let _ = interrupted.await;
}
