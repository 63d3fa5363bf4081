//! `standsquare-tools`: what `cargo xtask` hands over because it needs the core, or the
//! generator of bindings. Call it through `cargo xtask`.

use std::process::ExitCode;

use anyhow::{Context, Result};
use camino::Utf8PathBuf;
use clap::{Parser, Subcommand};

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
}

fn main() -> ExitCode {
    match run(Tools::parse().tool) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("{error:#}");
            ExitCode::from(2)
        }
    }
}

/// Says whether the answer was yes: accepted, sound, whole.
fn run(tool: Tool) -> Result<bool> {
    match tool {
        Tool::Bindgen { library, out } => bindgen(library, out).map(|()| true),
        Tool::ChipRead { form, hex } => {
            let (answer, accepted) = standsquare_chip::cli::chip_read(&form, &hex);
            println!("{answer}");
            Ok(accepted)
        }
    }
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
