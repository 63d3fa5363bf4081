//! The world around the phone: an emulated chip reader and the office, as processes.

use std::fs;
use std::path::Path;
use std::time::Duration;

use anyhow::{Context, Result};
use serde_json::Value;

use super::Preview;
use crate::run::{Program, Running};

/// How long either may take to be ready: a slow machine under load, not a hang.
const PATIENCE: Duration = Duration::from_secs(60);

/// The running reader and office. Both end when this is dropped.
pub struct World {
    /// The office's address.
    pub office: String,
    /// Where the phone hears the reader.
    pub reader_data: String,
    /// Where the reader is told what happens to it.
    pub reader_control: String,
    _running: [Running; 2],
}

impl World {
    /// Starts both; the office keeps its records in `office` inside `data`.
    pub fn start(preview: &Preview, data: &Path) -> Result<Self> {
        let (reader, said) = Program::new(&preview.reader).serve(PATIENCE)?;
        let reader_data = text(&said, "data")?;
        let reader_control = text(&said, "control")?;
        let kept = data.join("office");
        fs::create_dir_all(&kept).with_context(|| format!("{} cannot be made", kept.display()))?;
        let (office, said) = Program::new(&preview.office)
            .arg("--data")
            .arg(&kept)
            .args(["--listen", "127.0.0.1:0", "--demo"])
            .serve(PATIENCE)?;
        Ok(Self {
            office: text(&said, "listening")?,
            reader_data,
            reader_control,
            _running: [reader, office],
        })
    }
}

fn text(said: &Value, name: &str) -> Result<String> {
    let value = said[name]
        .as_str()
        .with_context(|| format!("{name} is not in {said}"))?;
    Ok(value.to_owned())
}
