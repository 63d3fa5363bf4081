//! `standsquare-tools`: what `cargo xtask` hands over because it needs the core, or the
//! generator of bindings. Call it through `cargo xtask`.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::{Context, Result, ensure};
use camino::Utf8PathBuf;
use clap::{Parser, Subcommand};
use standsquare_measuring::cli as rules;

/// The tools behind cargo xtask.
#[derive(Parser)]
struct Tools {
    #[command(subcommand)]
    tool: Tool,
}

#[derive(Subcommand)]
enum Tool {
    /// Generate Kotlin and Swift from the library.
    Bindgen {
        /// The library.
        #[arg(long)]
        library: Utf8PathBuf,
        /// The folder that gets a folder a language.
        #[arg(long)]
        out: Utf8PathBuf,
    },
    /// Read one capture of a chip reader's bytes.
    ChipRead {
        /// A form's name, or auto.
        #[arg(long)]
        form: String,
        /// The bytes, two hex digits each.
        #[arg(long)]
        hex: String,
    },
    /// Say what is wrong with a rule pack, if anything is.
    RulesCheck {
        /// The pack.
        pack: PathBuf,
    },
    /// Judge cases by a pack.
    RulesTry {
        /// The pack.
        pack: PathBuf,
        /// The cases.
        cases: PathBuf,
    },
    /// Check a journal's chain and signatures.
    JournalVerify {
        /// The journal's file, or a copy that another phone gave.
        file: PathBuf,
        /// An office's public key, 64 hexadecimal digits.
        #[arg(long)]
        office_key: Vec<String>,
        /// What the office said of keys, a text a line.
        #[arg(long)]
        notices: Option<PathBuf>,
    },
}

fn main() -> ExitCode {
    run(Tools::parse().tool).unwrap_or_else(|error| {
        eprintln!("{error:#}");
        ExitCode::from(2)
    })
}

/// Does it. 0: accepted, in order, whole. 1: refused, and the output says why.
fn run(tool: Tool) -> Result<ExitCode> {
    match tool {
        Tool::Bindgen { library, out } => {
            bindgen(library, out)?;
            Ok(ExitCode::SUCCESS)
        }
        Tool::ChipRead { form, hex } => {
            let (answer, accepted) = standsquare_chip::cli::chip_read(&form, &hex);
            println!("{answer}");
            Ok(if accepted {
                ExitCode::SUCCESS
            } else {
                ExitCode::FAILURE
            })
        }
        Tool::JournalVerify {
            file,
            office_key,
            notices,
        } => {
            let office = office(&office_key, notices.as_deref())?;
            let (text, whole) = standsquare_journal::cli::verify_file_with(&file, &office);
            print!("{text}");
            Ok(if whole {
                ExitCode::SUCCESS
            } else {
                ExitCode::FAILURE
            })
        }
        Tool::RulesCheck { pack } => {
            let (name, bytes) = bytes(&pack)?;
            let checked = rules::text(&name, &bytes).map(|text| rules::rules_check(&name, text));
            Ok(say(checked.unwrap_or_else(|refused| refused)))
        }
        Tool::RulesTry { pack, cases } => {
            let ((name, pack), (listed, cases)) = (bytes(&pack)?, bytes(&cases)?);
            let tried = rules::text(&name, &pack).and_then(|pack| {
                let cases = rules::text(&listed, &cases)?;
                Ok(rules::rules_try(&name, pack, cases))
            });
            Ok(say(tried.unwrap_or_else(|refused| refused)))
        }
    }
}

fn office(keys: &[String], notices: Option<&Path>) -> Result<standsquare_journal::cli::Office> {
    let mut office = standsquare_journal::cli::Office::default();
    for key in keys {
        let mut bytes = [0; 32];
        hex::decode_to_slice(key, &mut bytes)
            .with_context(|| format!("an office's key is 64 hexadecimal digits, not '{key}'"))?;
        office.keys.push(bytes);
    }
    if let Some(file) = notices {
        ensure!(
            !office.keys.is_empty(),
            "notices are believed for the office's signature: give its key with --office-key"
        );
        let text = read(file)?;
        let lines = text.lines().filter(|line| !line.trim().is_empty());
        office.notices = lines.map(str::to_owned).collect();
    }
    Ok(office)
}

fn read(file: &Path) -> Result<String> {
    fs::read_to_string(file).with_context(|| format!("{} cannot be read", file.display()))
}

/// A file's name as shown, and its bytes.
fn bytes(file: &Path) -> Result<(String, Vec<u8>)> {
    let name = file.display().to_string();
    let bytes = fs::read(file).with_context(|| format!("{name} cannot be read"))?;
    Ok((name, bytes))
}

fn say(said: rules::Said) -> ExitCode {
    // Where only some cases are refused (2), the answer holds all the others.
    if said.status == 1 {
        eprint!("{}", said.text);
    } else {
        print!("{}", said.text);
    }
    ExitCode::from(said.status)
}

fn bindgen(library: Utf8PathBuf, out: Utf8PathBuf) -> Result<()> {
    use uniffi_bindgen::bindings::{GenerateOptions, TargetLanguage, generate};
    for (folder, language) in [
        ("kotlin", TargetLanguage::Kotlin),
        ("swift", TargetLanguage::Swift),
    ] {
        generate(GenerateOptions {
            languages: vec![language],
            source: library.clone(),
            out_dir: out.join(folder),
            ..Default::default()
        })
        .with_context(|| format!("no {folder} could be generated from {library}"))?;
    }
    Ok(())
}
