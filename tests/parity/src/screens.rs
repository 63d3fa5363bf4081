//! Every screen of the view is drawn on both phones, and every field of it that one shows, the
//! other shows too.

use std::collections::BTreeSet;

use syn::{Fields, Item};

use crate::exceptions::FIELDS;
use crate::sources::{Files, Sources};
use crate::text::{camel, code, has_word, lower_first, words};

/// The screens that the core can show, by their names in Rust.
///
/// # Errors
/// If the views cannot be read, or there is no enum `Screen` in them.
pub fn names(sources: &Sources) -> Result<Vec<String>, String> {
    for item in items(&sources.view)? {
        if let Item::Enum(item) = item
            && item.ident == "Screen"
        {
            return Ok(item.variants.iter().map(|v| v.ident.to_string()).collect());
        }
    }
    Err("no enum Screen in core/session/src/view: has it moved?".to_owned())
}

/// The names of all fields of all records of the view.
///
/// # Errors
/// If the views cannot be read.
pub fn fields(sources: &Sources) -> Result<BTreeSet<String>, String> {
    let mut found = BTreeSet::new();
    for item in items(&sources.view)? {
        let Item::Struct(item) = item else { continue };
        let Fields::Named(named) = item.fields else {
            continue;
        };
        found.extend(
            named
                .named
                .into_iter()
                .filter_map(|f| f.ident)
                .map(|i| i.to_string()),
        );
    }
    Ok(found)
}

/// The items of some files, those inside a macro's braces (`record! { … }`) included.
fn items(files: &Files) -> Result<Vec<Item>, String> {
    let mut found = Vec::new();
    for (path, text) in files {
        let file = syn::parse_file(text).map_err(|e| format!("{path} is not Rust: {e}"))?;
        for item in file.items {
            if let Item::Macro(call) = &item
                && let Ok(inner) = syn::parse2::<syn::File>(call.mac.tokens.clone())
            {
                found.extend(inner.items);
            }
            found.push(item);
        }
    }
    Ok(found)
}

fn joined<'a>(files: impl IntoIterator<Item = (&'a String, &'a String)>) -> String {
    files
        .into_iter()
        .map(|(_, text)| code(text) + "\n")
        .collect()
}

/// Whether the field is read somewhere; a call of a function with its name is none.
fn reads(code: &str, name: &str) -> bool {
    words(code, ".", name).any(|at| !code[at + 1 + name.len()..].starts_with('('))
}

/// What one phone draws and the other does not.
///
/// # Errors
/// If the views cannot be read.
pub fn faults(sources: &Sources) -> Result<Vec<String>, String> {
    let kotlin = joined(&sources.kotlin_screens);
    let phone = joined(&sources.kotlin_phone);
    let model = joined(&sources.swift_model);
    let views = joined(&sources.swift_views);
    let mut faults = Vec::new();
    for name in names(sources)? {
        // Android: a branch of the one `when`, and a function that draws it.
        if !has_word(&kotlin, "is Screen.", &name) {
            faults.push(format!(
                "the screen {name} is drawn by no branch of android/screens"
            ));
        }
        if !has_word(&kotlin, "fun ", &name) {
            faults.push(format!(
                "android/screens has no function {name} that draws the screen"
            ));
        }
        // iOS: the model makes a state of it (a case called `return` cannot be: it is `sent`),
        // and a view shows that state.
        let case = lower_first(&name);
        let state = if name == "Return" { "sent" } else { &case };
        if !has_word(&model, "case .", &format!("{case}(let")) {
            faults.push(format!("the screen {name} becomes no state in ios/Model"));
        }
        if !has_word(&views, "case .", &format!("{state}(let")) {
            faults.push(format!(
                "the screen {name} is shown by no view of ios/Views"
            ));
        }
    }
    let mut left: BTreeSet<&str> = FIELDS.iter().map(|(name, _)| *name).collect();
    for field in fields(sources)? {
        let name = camel(&field);
        let android = reads(&kotlin, &name) || reads(&phone, &name);
        let ios = reads(&model, &name);
        if android == ios {
            continue;
        }
        if left.remove(field.as_str()) {
            continue;
        }
        let (has, lacks) = if android {
            ("Android", "iOS")
        } else {
            ("iOS", "Android")
        };
        faults.push(format!(
            "the view's field {field} is shown on {has} and not on {lacks}"
        ));
    }
    faults.extend(left.into_iter().map(|name| {
        format!("the field {name} is no exception any more: take it off the list in tests/parity")
    }));
    Ok(faults)
}
