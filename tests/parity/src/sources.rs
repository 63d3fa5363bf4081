//! The sources that are compared, as texts: a test can change one and see it noticed.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Files by their path from the checkout's root.
pub type Files = BTreeMap<String, String>;

/// What is compared.
#[derive(Clone, Debug)]
pub struct Sources {
    /// The core's acts.
    pub acts: String,
    /// The core's views: what there is to draw.
    pub view: Files,
    /// The rest of the session, which says the message keys and offers the acts.
    pub session: Files,
    /// Android's screens.
    pub kotlin_screens: Files,
    /// What else runs on an Android phone: gateway, device, app.
    pub kotlin_phone: Files,
    /// iOS's model: it turns a view into words.
    pub swift_model: Files,
    /// iOS's screens.
    pub swift_views: Files,
    /// What else runs on an iPhone: device, app.
    pub swift_phone: Files,
    /// What the Xcode project is made from.
    pub ios_project: String,
    /// The words, by language.
    pub words: BTreeMap<String, String>,
}

impl Sources {
    /// Reads a checkout.
    ///
    /// # Errors
    /// Names the file or folder that cannot be read.
    pub fn read(root: &Path) -> Result<Self, String> {
        let words = files(root, "bindings/words", "json")?;
        let all = |folders: &[&str], ending: &str| -> Result<Files, String> {
            let mut found = Files::new();
            for folder in folders {
                found.append(&mut files(root, folder, ending)?);
            }
            Ok(found)
        };
        Ok(Self {
            acts: text(root, "core/session/src/act.rs")?,
            view: all(&["core/session/src/view"], "rs")?,
            session: all(&["core/session/src"], "rs")?,
            kotlin_screens: all(&["android/screens/src/main"], "kt")?,
            kotlin_phone: all(
                &[
                    "android/gateway/src/main",
                    "android/device/src/main",
                    "android/app/src/main",
                ],
                "kt",
            )?,
            swift_model: all(&["ios/Model"], "swift")?,
            swift_views: all(&["ios/Views"], "swift")?,
            swift_phone: all(&["ios/Device", "ios/App"], "swift")?,
            ios_project: text(root, "ios/App/project.toml")?,
            words: words
                .into_iter()
                .filter_map(|(path, text)| {
                    let language = Path::new(&path).file_stem()?.to_str()?.to_owned();
                    Some((language, text))
                })
                .collect(),
        })
    }

    /// All that runs on an Android phone.
    pub fn kotlin(&self) -> impl Iterator<Item = (&String, &String)> {
        self.kotlin_screens.iter().chain(&self.kotlin_phone)
    }

    /// All that runs on an iPhone.
    pub fn swift(&self) -> impl Iterator<Item = (&String, &String)> {
        self.swift_model
            .iter()
            .chain(&self.swift_views)
            .chain(&self.swift_phone)
    }
}

fn text(root: &Path, path: &str) -> Result<String, String> {
    fs::read_to_string(root.join(path)).map_err(|e| format!("{path} cannot be read: {e}"))
}

/// Every file under `folder` that ends so; a folder without any is an error.
fn files(root: &Path, folder: &str, ending: &str) -> Result<Files, String> {
    let mut found = Files::new();
    let mut todo = vec![PathBuf::from(folder)];
    while let Some(dir) = todo.pop() {
        let unread = |e: std::io::Error| format!("{} cannot be read: {e}", dir.display());
        for entry in fs::read_dir(root.join(&dir)).map_err(unread)? {
            let name = entry.map_err(unread)?.file_name();
            let path = dir.join(&name);
            if root.join(&path).is_dir() {
                todo.push(path);
            } else if path.extension().is_some_and(|e| e == ending) {
                let path = path.to_string_lossy().into_owned();
                let read = text(root, &path)?;
                found.insert(path, read);
            }
        }
    }
    if found.is_empty() {
        return Err(format!(
            "no .{ending} file in {folder}: have the sources moved?"
        ));
    }
    Ok(found)
}
