//! Faults of shape in plain words. The parser says what it stumbled over; whoever wrote the pack,
//! a club's secretary more often than a programmer, needs to hear what to write instead.

use toml::de::Error;

use super::PackFault;
use super::fault::Places;

/// Where the documents of the format stand.
const DOCS: &str = "core/measuring/docs/rule-pack.md";

/// A file that is not TOML: the line itself mostly shows why.
pub(super) fn not_toml(places: &Places<'_>, error: &Error) -> PackFault {
    let line = places.line_at(error.span().unwrap_or(0..0).start);
    let text = places.text_of(line).trim();
    let (key, value) = text.split_once('=').unwrap_or((text, ""));
    let (key, value) = (key.trim(), value.trim());
    let said = error.message().trim();
    let (reason, fix) = if said.contains("duplicate key") {
        duplicate(text)
    } else if text.starts_with('[') {
        (
            format!("the heading can't be read ({said})"),
            "write [name], or [[name]] for each item of a list".to_owned(),
        )
    } else if !text.contains('=') {
        (
            format!("the line is neither a heading nor key = value ({said})"),
            "write key = value, or a # in front of a remark".to_owned(),
        )
    } else {
        bad_value(key, value).unwrap_or_else(|| {
            let fix = "correct the line so that the file is TOML (toml.io)";
            (said.to_owned(), fix.to_owned())
        })
    };
    let is_key = !key.is_empty() && key.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_');
    PackFault {
        line,
        clause: if is_key { key } else { "(file)" }.to_owned(),
        reason,
        fix,
    }
}

fn duplicate(text: &str) -> (String, String) {
    let name = text.trim_matches(['[', ']']);
    if text.starts_with('[') {
        (
            format!("the heading '{name}' stands twice"),
            format!(
                "write [[{name}]] for each item of a list, or put both parts under one heading"
            ),
        )
    } else {
        (
            "the same key stands twice under one heading".to_owned(),
            "leave one of the two out".to_owned(),
        )
    }
}

/// What is wrong with a value that TOML can't read, where it is one of the usual slips.
fn bad_value(key: &str, value: &str) -> Option<(String, String)> {
    let bare = value.split('#').next().unwrap_or_default().trim();
    let first = value.chars().next();
    let (reason, fix) = if value.contains(['“', '”', '„', '‟', '‘', '’', '«', '»']) {
        let straight = value.replace(['“', '”', '„', '‟', '‘', '’', '«', '»'], "\"");
        (
            "the quotes are a word processor's round ones".to_owned(),
            format!("write straight ones: {key} = {straight}"),
        )
    } else if bare.is_empty() {
        (
            "nothing stands behind the =".to_owned(),
            "write the value, or leave the line out".to_owned(),
        )
    } else if first == Some('"') {
        (
            "the quotes are not closed, or something stands behind them".to_owned(),
            format!("write {key} = \"…\" and nothing behind it but a # remark"),
        )
    } else if let Some(is) = yes_or_no(bare) {
        (
            format!("'{bare}' is not known here"),
            format!("write {key} = {is}"),
        )
    } else if is_date(bare) {
        (
            format!("'{bare}' is not a day as written here"),
            format!("write the year first, as in {key} = 2026-01-31, without quotes"),
        )
    } else if first.is_some_and(char::is_alphanumeric) {
        (
            format!("'{bare}' is text without quotes"),
            format!("write {key} = \"{bare}\", or a number in digits if one is asked for"),
        )
    } else {
        return None;
    };
    Some((reason, fix))
}

fn yes_or_no(word: &str) -> Option<bool> {
    match word.to_lowercase().as_str() {
        "yes" | "y" | "on" | "true" => Some(true),
        "no" | "n" | "off" | "false" => Some(false),
        _ => None,
    }
}

/// Three numbers with points, strokes or hyphens between them.
fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.split(['.', '/', '-']).map(str::trim).collect();
    let number = |p: &&str| (1..=4).contains(&p.len()) && p.bytes().all(|b| b.is_ascii_digit());
    parts.len() == 3 && parts.iter().all(number)
}

/// A file that is TOML but no pack: an unknown key, a missing one, a value of the wrong sort.
pub(super) fn not_a_pack(places: &Places<'_>, error: &Error) -> PackFault {
    let span = error.span().unwrap_or(0..0);
    let said = error.message().trim();
    let named: Vec<&str> = said.split('`').skip(1).step_by(2).collect();
    let fix = if said.starts_with("unknown field") {
        let others = "use one of the names listed, move the line under the heading it belongs to, or leave it out";
        nearest(&named).unwrap_or_else(|| others.to_owned())
    } else if said.starts_with("unknown variant") {
        nearest(&named)
            .unwrap_or_else(|| "use one of the names listed, or leave the line out".to_owned())
    } else if said.starts_with("missing field") {
        missing(named.first().copied().unwrap_or_default())
    } else if said.contains("expected a sequence") {
        "write the heading in double brackets, [[name]], for each item of the list; a list in a line as [..]".to_owned()
    } else if said.starts_with("invalid type: string") && !said.contains("such as") {
        "write it without quotes".to_owned()
    } else if said.contains("expected a string") || said.contains("expected a borrowed string") {
        "write it in quotes".to_owned()
    } else {
        "write it as the message says".to_owned()
    };
    let mut clause = places.clause_at(&span).unwrap_or("(file)");
    if clause == "(file)" && said.starts_with("missing field") {
        clause = named.first().copied().unwrap_or(clause);
    }
    PackFault {
        line: places.line_at(span.start),
        clause: clause.to_owned(),
        reason: in_words(said),
        fix,
    }
}

/// The program's own names of types in plain words.
fn in_words(said: &str) -> String {
    said.replace("expected u32", "expected a whole number, 0 or more")
        .replace("expected a boolean", "expected true or false")
        .replace("expected a sequence", "expected a list")
        .replace("a map", "a table")
        .replace("invalid type: map", "invalid type: table")
}

/// A misspelt name's likely meaning: the first name is the one that stands there, the others are
/// those that are known.
fn nearest(named: &[&str]) -> Option<String> {
    let (written, known) = named.split_first()?;
    let far = |name: &str| strsim::osa_distance(written, name);
    let best = known.iter().min_by_key(|name| far(name))?;
    (far(best) <= 1 + written.len() / 5).then(|| format!("write `{best}` if that is meant"))
}

fn missing(name: &str) -> String {
    let heading = match name {
        "category" | "gauge" | "procedure" => format!("[[{name}]]"),
        "pack" | "measurers" | "measures" => format!("[{name}]"),
        _ => format!("{name} = …"),
    };
    format!("add it: {heading}; {DOCS} says what it means")
}
