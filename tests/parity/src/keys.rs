//! Every word of the screens' own (`ui.…`) is said on both phones and has words; every key that
//! the session writes out has words.

use std::collections::{BTreeMap, BTreeSet};

use syn::visit::{self, Visit};

use crate::exceptions::KEYS;
use crate::sources::{Files, Sources};
use crate::text::{code, literals};

/// A words file.
///
/// # Errors
/// If it is not one flat JSON object of texts.
pub fn read_words(language: &str, text: &str) -> Result<BTreeMap<String, String>, String> {
    serde_json::from_str(text)
        .map_err(|e| format!("bindings/words/{language}.json is no flat JSON of texts: {e}"))
}

/// The keys without the endings of plurals.
pub fn stems(words: &BTreeMap<String, String>) -> BTreeSet<String> {
    words
        .keys()
        .map(|key| {
            let counted = words.contains_key(&format!("{}.count", parent(key)));
            let plural = [".count", ".one", ".other"]
                .iter()
                .any(|e| key.ends_with(e));
            if plural && counted {
                parent(key).to_owned()
            } else {
                key.clone()
            }
        })
        .collect()
}

fn parent(key: &str) -> &str {
    key.rsplit_once('.').map_or("", |(before, _)| before)
}

/// Whether a text could be a key's name: small letters in groups.
fn keyish(text: &str) -> bool {
    let mut parts = text.split('.');
    parts.clone().count() >= 2
        && parts.all(|part| {
            !part.is_empty()
                && part
                    .chars()
                    .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || "_-".contains(c))
        })
}

/// What Android's screens say, with the file: `ui("x.y")`, `counted("x.y")`, and any other
/// literal that is the name of a key.
fn kotlin(sources: &Sources, known: &BTreeSet<String>) -> BTreeMap<String, String> {
    let mut said = BTreeMap::new();
    for (path, text) in &sources.kotlin_screens {
        let code = code(text);
        for literal in literals(&code) {
            let key = format!("ui.{literal}");
            let asked = ["ui(\"", "counted(\""]
                .iter()
                .any(|call| code.contains(&format!("{call}{literal}\"")));
            if known.contains(&key) || (asked && !literal.contains('$')) {
                said.insert(key, path.clone());
            }
        }
        // A call inside a text's `${…}` breaks the count of quotes: found by the call itself.
        for call in ["ui(\"", "counted(\""] {
            for rest in code.split(call).skip(1) {
                let literal = rest.split('"').next().unwrap_or_default();
                if keyish(literal) || known.contains(&format!("ui.{literal}")) {
                    said.insert(format!("ui.{literal}"), path.clone());
                }
            }
        }
    }
    said
}

/// What iOS's model says, with the file.
fn swift(sources: &Sources) -> BTreeMap<String, String> {
    let mut said = BTreeMap::new();
    for (path, text) in &sources.swift_model {
        for literal in literals(&code(text)) {
            if literal.starts_with("ui.") {
                said.insert(literal.to_owned(), path.clone());
            }
        }
    }
    said
}

/// The keys that the session writes out in its sources, with the file; those that it puts
/// together of parts are for Android's `WordsTest`.
///
/// # Errors
/// Names the file that is not Rust.
pub fn of_the_session(files: &Files) -> Result<BTreeMap<String, String>, String> {
    struct Found<'a> {
        path: &'a str,
        keys: BTreeMap<String, String>,
    }
    impl<'ast> Visit<'ast> for Found<'_> {
        fn visit_item_mod(&mut self, module: &'ast syn::ItemMod) {
            // What stands in tests is never shown.
            if module.ident != "tests" {
                visit::visit_item_mod(self, module);
            }
        }
        fn visit_lit_str(&mut self, text: &'ast syn::LitStr) {
            let text = text.value();
            let ending = text.rsplit('.').next().unwrap_or_default();
            let file = ["sqlite", "json", "csv", "toml"].contains(&ending);
            if keyish(&text) && !file {
                self.keys.insert(text, self.path.to_owned());
            }
        }
    }
    let mut found = BTreeMap::new();
    for (path, text) in files {
        let file = syn::parse_file(text).map_err(|e| format!("{path} is not Rust: {e}"))?;
        let mut finder = Found {
            path,
            keys: BTreeMap::new(),
        };
        finder.visit_file(&file);
        found.append(&mut finder.keys);
    }
    Ok(found)
}

/// Words that one phone says and the other does not, that nobody says, or that are lacking.
///
/// # Errors
/// If a file cannot be read as what it is.
pub fn faults(sources: &Sources) -> Result<Vec<String>, String> {
    let english = sources
        .words
        .get("en")
        .ok_or("bindings/words/en.json is not there")?;
    let known = stems(&read_words("en", english)?);
    let (kotlin, swift) = (kotlin(sources, &known), swift(sources));
    let mut faults = Vec::new();
    for (key, path) in kotlin
        .iter()
        .chain(&swift)
        .chain(&of_the_session(&sources.session)?)
    {
        if key.contains("\\(") {
            faults.push(format!(
                "{path} puts {key} together: write the keys out, so that they can be found"
            ));
        } else if !known.contains(key) {
            faults.push(format!("{path} says {key}, for which there are no words"));
        }
    }
    let mut left: BTreeSet<(&str, &str)> = KEYS.iter().map(|(p, k, _)| (*p, *k)).collect();
    for key in known.iter().filter(|k| k.starts_with("ui.")) {
        let said = [
            ("Android", kotlin.contains_key(key)),
            ("iOS", swift.contains_key(key)),
        ];
        if said.iter().all(|(_, says)| !says) {
            faults.push(format!("{key} is said on neither phone"));
            continue;
        }
        for (phone, says) in said {
            if !says && !left.remove(&(phone, key.as_str())) {
                faults.push(format!("{key} is not said on {phone}"));
            }
        }
    }
    faults.extend(left.into_iter().map(|(phone, key)| {
        format!("{key} on {phone} is no exception any more: take it off the list in tests/parity")
    }));
    Ok(faults)
}
