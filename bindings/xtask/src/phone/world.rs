//! The world around the phone: emulated chip readers and the office, as processes.

use std::fs;
use std::path::Path;
use std::time::Duration;

use anyhow::{Context, Result};
use serde_json::Value;

use super::Preview;
use crate::run::{Program, Running};

/// How long either may take to be ready: a slow machine under load, not a hang.
const PATIENCE: Duration = Duration::from_secs(60);

/// The readers in range: what the phone knows each by, its name, and the form it sends.
/// Each speaks another one, so that pairing has something to find out.
const READERS: [(&str, &str, &str); 3] = [
    ("table", "Table reader", "stx-etx-wl30"),
    ("pocket", "Pocket reader", "line-15"),
    ("wand", "Long wand", "line-hex16-right"),
];

/// The running readers and office. All end when this is dropped.
pub struct World {
    /// The office's address.
    pub office: String,
    /// For each reader what the preview is told of it: `ID,NAME,DATA,CONTROL`.
    pub readers: Vec<String>,
    _running: Vec<Running>,
}

impl World {
    /// Starts them; the office keeps its records in `office` inside `data`.
    pub fn start(preview: &Preview, data: &Path) -> Result<Self> {
        let mut running = Vec::new();
        let mut readers = Vec::new();
        for (id, name, form) in READERS {
            let (reader, said) = Program::new(&preview.reader)
                .args(["--form", form])
                .serve(PATIENCE)?;
            let (data, control) = (text(&said, "data")?, text(&said, "control")?);
            readers.push(format!("{id},{name},{data},{control}"));
            running.push(reader);
        }
        let kept = data.join("office");
        fs::create_dir_all(&kept).with_context(|| format!("{} cannot be made", kept.display()))?;
        let (office, said) = Program::new(&preview.office)
            .arg("--data")
            .arg(&kept)
            .args(["--listen", "127.0.0.1:0", "--demo"])
            .serve(PATIENCE)?;
        running.push(office);
        Ok(Self {
            office: text(&said, "listening")?,
            readers,
            _running: running,
        })
    }
}

fn text(said: &Value, name: &str) -> Result<String> {
    let value = said[name]
        .as_str()
        .with_context(|| format!("{name} is not in {said}"))?;
    Ok(value.to_owned())
}
