//! The project's own commands: `cargo xtask …`.

mod bench;
mod bindings;
mod library;
mod maven;
mod phone;
mod project;
mod run;
mod setup;
mod stages;
mod tools;

use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Result;
use clap::{Parser, Subcommand};

use project::Project;

/// The project's own commands.
#[derive(Parser)]
#[command(name = "cargo xtask", bin_name = "cargo xtask")]
struct Commands {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Open the phone's screens over the real core, with an emulated reader and an office.
    ///
    /// Sets the machine up and builds everything first. Without a display, or with
    /// --pictures, walks the demo session into pictures instead.
    Phone {
        /// Walk the demo into this folder and check what it leaves there.
        #[arg(long, value_name = "DIR")]
        pictures: Option<PathBuf>,
        /// Keep the session in this folder, and go on with the one that is there.
        #[arg(long, value_name = "DIR")]
        data: Option<PathBuf>,
    },
    /// Build the library and generate Kotlin and Swift from it into target/bindings.
    Bindings {
        /// Change nothing; fail if what is there is stale.
        #[arg(long)]
        check: bool,
    },
    /// Build the library as it goes onto a phone, and say where it is and what it weighs.
    Library {
        /// The phone's Rust target, such as aarch64-linux-android; this machine's if none.
        #[arg(long)]
        target: Option<String>,
        /// Generate its Kotlin and Swift into this folder: a phone's library has no
        /// recordings, so that those of `cargo xtask bindings` do not fit it.
        #[arg(long, value_name = "DIR")]
        bindings: Option<PathBuf>,
    },
    /// Hold every screen's pictures against the ones that were kept.
    Pictures {
        /// Draw anew those that are no longer alike, and remove those of nothing. Look at
        /// them before they are committed.
        #[arg(long)]
        record: bool,
    },
    /// Run every test there is, or only the stages named.
    Test {
        /// Stages, with commas or spaces between.
        #[arg(long, value_delimiter = ',', num_args = 1.., value_name = "STAGE")]
        only: Vec<String>,
        /// Say which stages there are.
        #[arg(long)]
        list: bool,
    },
    /// Measure figures: NAME VALUE GOAL ok|short, a line each.
    Bench {
        /// The figures wanted; all, if none is named.
        names: Vec<String>,
    },
    /// Check a rule pack, or try cases against one.
    #[command(subcommand)]
    Rules(Rules),
    /// Read a chip reader's bytes.
    #[command(subcommand)]
    Chip(Chip),
    /// Look at a journal.
    #[command(subcommand)]
    Journal(Journal),
}

#[derive(Subcommand)]
enum Rules {
    /// Say what is wrong with a rule pack, if anything is.
    Check {
        /// The pack, a TOML file.
        pack: PathBuf,
    },
    /// Judge cases by a pack.
    Try {
        /// The pack, a TOML file.
        pack: PathBuf,
        /// The cases, a JSON file.
        cases: PathBuf,
    },
}

#[derive(Subcommand)]
enum Chip {
    /// Read one capture of bytes and print the answer as JSON.
    Read {
        /// A form's or a profile's name, or auto.
        #[arg(long)]
        form: String,
        /// The bytes, two hex digits each; white space between them is allowed.
        #[arg(long)]
        hex: String,
    },
}

#[derive(Subcommand)]
enum Journal {
    /// Check a journal's chain and signatures, and how the keys stood that signed.
    Verify {
        /// The journal's file, or a copy that another phone gave.
        file: PathBuf,
        /// An office's public key, 64 hexadecimal digits: then of each sign-off it is said
        /// whether its key was enrolled and not revoked. May be given again.
        #[arg(long, value_name = "HEX")]
        office_key: Vec<String>,
        /// What the office said of keys, a text a line; more may be in the journal's file.
        #[arg(long, value_name = "FILE")]
        notices: Option<PathBuf>,
    },
}

fn main() -> ExitCode {
    match act(Commands::parse().command) {
        Ok(code) => code,
        Err(error) => {
            eprintln!("\n{error:#}");
            ExitCode::FAILURE
        }
    }
}

fn act(command: Command) -> Result<ExitCode> {
    run::end_children_on_interrupt()?;
    let project = Project::find()?;
    let word = |text: &str| OsString::from(text);
    match command {
        Command::Phone { pictures, data } => {
            phone::run(&project, phone::Wanted { pictures, data })?;
        }
        Command::Bindings { check: true } => {
            bindings::check(&project)?;
            println!(
                "{} is what today's interface gives.",
                project.bindings().display()
            );
        }
        Command::Bindings { check: false } => {
            bindings::make(&project)?;
            println!(
                "The library, its Kotlin and its Swift are in {}.",
                project.bindings().display()
            );
        }
        Command::Library {
            target,
            bindings: folder,
        } => {
            let library = library::build(&project, target.as_deref())?;
            if let Some(folder) = folder {
                bindings::generate(&project, &library, &folder)?;
            }
            println!("{}", library.display());
            let packed = library::package(&project, target.as_deref())?;
            println!("for the package: {}", packed.display());
            if target.is_none() {
                println!("stripped: {} bytes", library::stripped(&packed)?);
            }
        }
        Command::Pictures { record } => stages::pictures(&project, record)?,
        Command::Test { list: true, .. } => {
            for stage in stages::STAGES {
                println!("{:<10} {}", stage.name, stage.about);
            }
        }
        Command::Test { only, list: false } => {
            if !stages::run(&project, &only)? {
                return Ok(ExitCode::FAILURE);
            }
        }
        Command::Bench { names } => bench::run(&project, &names)?,
        Command::Rules(Rules::Check { pack }) => {
            return tools::hand_over(&project, [word("rules-check"), pack.into()]);
        }
        Command::Rules(Rules::Try { pack, cases }) => {
            return tools::hand_over(&project, [word("rules-try"), pack.into(), cases.into()]);
        }
        Command::Chip(Chip::Read { form, hex }) => {
            let args = ["chip-read", "--form", &form, "--hex", &hex].map(OsString::from);
            return tools::hand_over(&project, args);
        }
        Command::Journal(Journal::Verify {
            file,
            office_key,
            notices,
        }) => {
            let mut args = vec![word("journal-verify"), file.into()];
            for key in office_key {
                args.extend([word("--office-key"), key.into()]);
            }
            if let Some(notices) = notices {
                args.extend([word("--notices"), notices.into()]);
            }
            return tools::hand_over(&project, args);
        }
    }
    Ok(ExitCode::SUCCESS)
}
