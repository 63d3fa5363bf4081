//! Every act can be sent from both phones.

use std::collections::BTreeSet;

use syn::Item;

use crate::exceptions::ACTS;
use crate::sources::Sources;
use crate::text::{code, has_word, lower_first, words};

/// All acts, by their names in Rust.
///
/// # Errors
/// If `act.rs` cannot be read, or has no enum `Act`.
pub fn names(sources: &Sources) -> Result<Vec<String>, String> {
    let file = syn::parse_file(&sources.acts).map_err(|e| format!("act.rs is not Rust: {e}"))?;
    for item in file.items {
        if let Item::Enum(item) = item
            && item.ident == "Act"
        {
            return Ok(item.variants.iter().map(|v| v.ident.to_string()).collect());
        }
    }
    Err("no enum Act in core/session/src/act.rs: has it moved?".to_owned())
}

/// Acts that come with the view, ready to be sent back: a phone that sends offers sends them all.
pub fn offered(sources: &Sources, names: &[String]) -> BTreeSet<String> {
    let show: String = sources
        .session
        .iter()
        .filter(|(path, _)| path.contains("/show/"))
        .map(|(_, text)| code(text.split("#[cfg(test)]").next().unwrap_or_default()))
        .collect();
    names
        .iter()
        // The level's offer carries no reading: the phone puts its own tilt in.
        .filter(|name| *name != "LevelReading" && has_word(&show, "Act::", name))
        .cloned()
        .collect()
}

/// Acts that one phone cannot send.
///
/// # Errors
/// If the acts cannot be read.
pub fn faults(sources: &Sources) -> Result<Vec<String>, String> {
    let names = names(sources)?;
    let offered = offered(sources, &names);
    let kotlin: String = sources
        .kotlin()
        .map(|(_, text)| code(text) + "\n")
        .collect();
    let swift: String = sources.swift().map(|(_, text)| code(text) + "\n").collect();
    let mut faults = Vec::new();
    // An offer is sent back as it is; without these two lines none is.
    for (what, there) in [
        (
            "android/screens sends no offer's act",
            has_word(&kotlin, "send(offer.", "act"),
        ),
        (
            "ios/Model makes no tap of an offer's act",
            has_word(&swift, "tap(offer.", "act"),
        ),
    ] {
        if !there {
            faults.push(format!("{what}: has it moved?"));
        }
    }
    let mut left: BTreeSet<(&str, &str)> = ACTS.iter().map(|(p, a, _)| (*p, *a)).collect();
    for name in names.iter().filter(|n| !offered.contains(*n)) {
        // Kotlin tells acts apart by `is Act.Name`; everything else makes one.
        let android = words(&kotlin, "Act.", name).any(|at| !kotlin[..at].ends_with("is "));
        let case = lower_first(name);
        let ios = words(&swift, ".", &case).any(|at| {
            let before = &swift[..at];
            // `case .name` takes one apart; `thing.name` is a member of something else.
            !before.ends_with("case ")
                && !before.ends_with(|c: char| c.is_alphanumeric() || ")]?!".contains(c))
        });
        for (phone, can) in [("Android", android), ("iOS", ios)] {
            if can || left.remove(&(phone, name.as_str())) {
                continue;
            }
            faults.push(format!("the act {name} cannot be sent on {phone}"));
        }
    }
    faults.extend(left.into_iter().map(|(phone, act)| {
        format!("{act} on {phone} is no exception any more: take it off the list in tests/parity")
    }));
    Ok(faults)
}
