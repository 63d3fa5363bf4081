//! The office as a program: `standsquare-office --data DIR --listen 127.0.0.1:0`.

use chrono::Datelike;
use clap::{Parser, Subcommand};
use standsquare_office::accounts::Role;
use standsquare_office::db::{Engine, PostgresDb, SqliteDb};
use standsquare_office::{OfficeState, demo, key, web};
use std::error::Error;
use std::io::Write;
use std::net::SocketAddr;
use std::path::PathBuf;

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
    /// PostgreSQL to keep everything in, such as postgres://office@db/office; without it,
    /// a file in DIR
    #[arg(
        long,
        env = "STANDSQUARE_DATABASE",
        value_name = "SETTING",
        hide_env_values = true
    )]
    database: Option<String>,
    /// Something else than to open the office
    #[command(subcommand)]
    task: Option<Task>,
}

#[derive(Subcommand)]
enum Task {
    /// Make an account, or change it; the password is read from standard input
    Account {
        /// What they sign in with
        account: String,
        /// Their name
        #[arg(long)]
        name: String,
        /// reader, measurer or secretary
        #[arg(long)]
        role: String,
    },
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
    let office = open(arguments)?;
    if let Some(Task::Account {
        account,
        name,
        role,
    }) = &arguments.task
    {
        return put_account(&office, account, name, role);
    }
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

fn put_account(
    office: &OfficeState,
    account: &str,
    name: &str,
    role: &str,
) -> Result<(), Box<dyn Error>> {
    let role = Role::read(role)
        .ok_or_else(|| format!("there is no role '{role}': use reader, measurer or secretary"))?;
    eprintln!("Password of {account}:");
    let mut password = String::new();
    std::io::stdin().read_line(&mut password)?;
    let mut salt = [0; 16];
    getrandom::fill(&mut salt).map_err(|e| format!("the system gives no random bytes: {e}"))?;
    office.put_account(
        account,
        name,
        role,
        password.trim_end_matches(['\r', '\n']),
        &salt,
    )?;
    eprintln!("{account} can sign in.");
    Ok(())
}

fn open(arguments: &Arguments) -> Result<OfficeState, Box<dyn Error>> {
    let (data, demo) = (&arguments.data, arguments.demo);
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
    let engine: Box<dyn Engine> = match &arguments.database {
        Some(setting) => Box::new(PostgresDb::open(setting)?),
        None => Box::new(SqliteDb::open(&data.join("office.sqlite"))?),
    };
    let office = OfficeState::open(engine, key, roster)?;
    // Last year's late returns, this year's, and the next ones if nobody starts anew.
    let year =
        i64::from(chrono::DateTime::<chrono::Utc>::from(std::time::SystemTime::now()).year());
    office.make_room(year - 1..=year + 2)?;
    if demo {
        demo::staff(&office)?;
    }
    Ok(office)
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
