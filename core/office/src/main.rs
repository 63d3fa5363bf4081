//! The office as a program: `standsquare-office --data DIR --listen 127.0.0.1:0`.

use chrono::Datelike;
use clap::{Parser, Subcommand};
use standsquare_office::accounts::Role;
use standsquare_office::db::{Engine, PostgresDb, SqliteDb};
use standsquare_office::dossier::verify_dossier;
use standsquare_office::{OfficeState, backup, demo, key, web};
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
    /// Address to take posts in packets (UDP) at, where that is not the same as HTTP's: phones
    /// send them to the host and port of the address that their code named
    #[arg(long, value_name = "ADDRESS")]
    packets: Option<SocketAddr>,
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
    /// Certificates to answer HTTPS with, a PEM file; without it a proxy must do so
    #[arg(long, value_name = "FILE", requires = "tls_key")]
    tls_chain: Option<PathBuf>,
    /// The first certificate's private key, a PEM file
    #[arg(long, value_name = "FILE", requires = "tls_chain")]
    tls_key: Option<PathBuf>,
    /// A proxy of your own stands before the office and tells callers' addresses in
    /// X-Forwarded-For: then these are held to how often one address may post
    #[arg(long)]
    behind_proxy: bool,
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
    /// Take in files that were carried by hand, as phones make them; what is held already
    /// changes nothing
    Import {
        /// The files
        #[arg(required = true)]
        files: Vec<PathBuf>,
    },
    /// Write everything the office keeps into a folder, while it goes on working
    Backup {
        /// The folder; made if it is not there. Keep it as safe as the office itself: the
        /// office's signing key is in it
        folder: PathBuf,
    },
    /// Check a dossier that this office, or another one, gave out
    Verify {
        /// The file
        file: PathBuf,
        /// The office's public key, 64 hexadecimal digits, from whoever you trust with it
        #[arg(long)]
        key: String,
    },
    /// Put a backup into an empty place: --data must be empty, and so must --database
    Restore {
        /// The backup's folder
        folder: PathBuf,
    },
}

fn main() {
    let arguments = Arguments::parse();
    // What is done by hand says itself how far it is, on the same lines.
    let logged = match arguments.task {
        None => tracing::Level::INFO,
        Some(_) => tracing::Level::WARN,
    };
    tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_ansi(false)
        .with_max_level(logged)
        .init();
    if let Err(fault) = start(&arguments) {
        eprintln!("standsquare-office: {fault}");
        std::process::exit(1);
    }
}

fn start(arguments: &Arguments) -> Result<(), Box<dyn Error>> {
    if let Some(Task::Verify { file, key }) = &arguments.task {
        return verify(file, key);
    }
    let data = &arguments.data;
    std::fs::create_dir_all(data)
        .map_err(|e| format!("the folder {} cannot be made: {e}", data.display()))?;
    if let Some(Task::Restore { folder }) = &arguments.task {
        return restore(arguments, folder);
    }
    let office = open(arguments)?;
    match &arguments.task {
        Some(Task::Account {
            account,
            name,
            role,
        }) => return put_account(&office, account, name, role),
        Some(Task::Import { files }) => return import(&office, files),
        Some(Task::Backup { folder }) => return back_up(arguments, &office, folder),
        Some(Task::Restore { .. } | Task::Verify { .. }) | None => {}
    }
    let doors = web::Doors::new(arguments.behind_proxy);
    let tls = match (&arguments.tls_chain, &arguments.tls_key) {
        (Some(chain), Some(key)) => Some(web::tls::settings(chain, key)?),
        _ => None,
    };
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?;
    runtime.block_on(async {
        let listener = tokio::net::TcpListener::bind(arguments.listen)
            .await
            .map_err(|e| format!("cannot listen at {}: {e}", arguments.listen))?;
        let address = listener.local_addr()?;
        let packets = open_to_packets(arguments.packets.unwrap_or(address)).await;
        // The one line on standard output: whoever started this reads it.
        let scheme = if tls.is_some() { "https" } else { "http" };
        let line = serde_json::json!({
            "listening": format!("{scheme}://{address}"),
            "key": hex::encode(office.public_key()),
        });
        writeln!(std::io::stdout(), "{line}")?;
        std::io::stdout().flush()?;
        tracing::info!(%address, demo = arguments.demo, "the office is open");
        match tls {
            Some(settings) => {
                let listener = web::tls::TlsListener::new(listener, settings)?;
                web::run(listener, packets, office, doors, asked_to_stop()).await?;
            }
            None => web::run(listener, packets, office, doors, asked_to_stop()).await?,
        }
        tracing::info!("the office is closed");
        Ok(())
    })
}

/// The door for posts in packets. The port may be taken by another program; phones
/// reach the office over connections then.
async fn open_to_packets(at: SocketAddr) -> Option<tokio::net::UdpSocket> {
    match web::packets::listen(at).await {
        Ok(socket) => Some(socket),
        Err(fault) => {
            tracing::warn!("no posts in packets (UDP) at {at}: {fault}");
            None
        }
    }
}

fn verify(file: &Path, key: &str) -> Result<(), Box<dyn Error>> {
    let mut office = [0; 32];
    hex::decode_to_slice(key.trim(), &mut office)
        .map_err(|_| "the office's key is 64 hexadecimal digits; it stands on its pages")?;
    let text = std::fs::read_to_string(file)
        .map_err(|e| format!("{} cannot be read: {e}", file.display()))?;
    let proven = verify_dossier(&text, &office)?;
    println!(
        "Chip {}: {} measures proved, {} notes of the office, log of {} entries.",
        proven.chip,
        proven.measures.len(),
        proven.notes,
        proven.log_size
    );
    for head in &proven.doubtful {
        println!("  doubtful: {head}: a key under it counted no more by then");
    }
    for (statement, signers) in &proven.measures {
        println!(
            "  {}: {:?}, signed by {}",
            statement.dog,
            statement.outcome,
            signers.len()
        );
        for signer in signers {
            println!("    {}: {}", signer.person, signer.how.words());
        }
    }
    Ok(())
}

/// Takes in carried files, saying how far it is. Stops at the first that is none: what was
/// taken in before stays.
fn import(office: &OfficeState, files: &[PathBuf]) -> Result<(), Box<dyn Error>> {
    for file in files {
        let name = file.display();
        let bytes = std::fs::read(file).map_err(|e| format!("{name} cannot be read: {e}"))?;
        let now = chrono::DateTime::<chrono::Utc>::from(std::time::SystemTime::now());
        let began = std::time::Instant::now();
        let mut told = |done: usize, all: usize| {
            let taken = began.elapsed().as_secs_f64();
            let left = taken * (all - done) as f64 / done.max(1) as f64;
            eprint!("\r{name}: {done} of {all} frames, {left:.0} s left ");
        };
        let imported = office.import(&bytes, now.timestamp_millis(), &mut told);
        eprintln!();
        let (held, refused) = imported.map_err(|e| {
            format!("{name}: {e}; frames taken in before are held, import it again")
        })?;
        println!(
            "{name}: {held} frames are at the office, {} refused",
            refused.len()
        );
        for (id, reason) in refused {
            println!("  refused {}: {reason}", hex::encode(id));
        }
    }
    // In the log at once, not when the office is opened next.
    office.extend_log()?;
    Ok(())
}

/// Files of the folder that a backup holds beside the data; a demo office has neither.
const BESIDE: [&str; 2] = [key::KEY_FILE, "roster.json"];
/// The data's file in a backup's folder.
const BACKUP_FILE: &str = "office.backup";

fn back_up(
    arguments: &Arguments,
    office: &OfficeState,
    folder: &Path,
) -> Result<(), Box<dyn Error>> {
    std::fs::create_dir_all(folder)
        .map_err(|e| format!("the folder {} cannot be made: {e}", folder.display()))?;
    let now = chrono::DateTime::<chrono::Utc>::from(std::time::SystemTime::now());
    let file = folder.join(BACKUP_FILE);
    let counted = backup::back_up(office.engine(), &file, now.timestamp_millis())?;
    for name in BESIDE.iter().filter(|_| !arguments.demo) {
        copy_private(&arguments.data.join(name), &folder.join(name))?;
    }
    // Read back, so that nobody finds out in need.
    if backup::check(&file)? != counted {
        return Err(format!("{} did not come out whole; try again", file.display()).into());
    }
    eprintln!(
        "{} rows of {} tables are in {}.",
        counted.rows,
        counted.tables,
        file.display()
    );
    Ok(())
}

/// Copies a file that only this user may read, wherever it lies.
fn copy_private(from: &Path, to: &Path) -> Result<(), Box<dyn Error>> {
    let fault = |e: std::io::Error| format!("{} cannot be copied: {e}", from.display());
    let bytes = std::fs::read(from).map_err(fault)?;
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut out = options.open(to).map_err(fault)?;
    out.write_all(&bytes).map_err(fault)?;
    out.sync_all().map_err(fault)?;
    Ok(())
}

fn restore(arguments: &Arguments, folder: &Path) -> Result<(), Box<dyn Error>> {
    let file = folder.join(BACKUP_FILE);
    // Before anything is made: whether it is a whole backup.
    backup::check(&file)?;
    for name in BESIDE.iter().filter(|_| !arguments.demo) {
        let to = arguments.data.join(name);
        if to.exists() {
            return Err(format!(
                "{} is already there: restore into an empty folder",
                to.display()
            )
            .into());
        }
        copy_private(&folder.join(name), &to)?;
    }
    let place = match &arguments.database {
        Some(_) => "the database".to_owned(),
        None => arguments.data.display().to_string(),
    };
    let engine = engine(arguments)?;
    let counted = backup::restore(engine.as_ref(), &file, &place)?;
    drop(engine);
    // As at every start: what does not fit is found now.
    let office = open(arguments)?;
    let checkpoint = office.checkpoint()?;
    eprintln!(
        "{} rows of {} tables are back; the log has {} entries.",
        counted.rows, counted.tables, checkpoint.size
    );
    Ok(())
}

fn engine(arguments: &Arguments) -> Result<Box<dyn Engine>, Box<dyn Error>> {
    Ok(match &arguments.database {
        Some(setting) => Box::new(PostgresDb::open(setting)?),
        None => Box::new(SqliteDb::open(&arguments.data.join("office.sqlite"))?),
    })
}

fn put_account(
    office: &OfficeState,
    account: &str,
    name: &str,
    role: &str,
) -> Result<(), Box<dyn Error>> {
    let role = Role::read(role).ok_or_else(|| {
        format!("there is no role '{role}': use reader, measurer, trainer or secretary")
    })?;
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
    let office = OfficeState::open(engine(arguments)?, key, roster)?;
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
