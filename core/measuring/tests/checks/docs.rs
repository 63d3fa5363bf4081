//! The documents say what the code does: their examples run, and every key of the format is named.

use std::collections::BTreeSet;

use crate::support::here;
use serde_json::Value;
use standsquare_measuring::cli::{NamedCase, rules_check};
use standsquare_measuring::*;

fn doc(name: &str) -> String {
    std::fs::read_to_string(here().join("docs").join(name)).expect("a document")
}

/// The first fenced block of a language.
fn block(text: &str, language: &str) -> String {
    let start = text.find(&format!("```{language}\n")).expect("a block");
    let rest = &text[start..];
    let rest = &rest[rest.find('\n').expect("a line") + 1..];
    rest[..rest.find("```").expect("its end")].to_owned()
}

#[test]
fn the_documented_pack_parses_and_the_documented_fault_is_the_real_one() {
    let text = doc("rule-pack.md");
    let pack = block(&text, "toml");
    assert!(
        RulePack::parse(&pack).is_ok(),
        "{:#?}",
        RulePack::parse(&pack)
    );
    let bad = LARKMERE.replacen("maximum = 8", "maximum = 2", 1);
    let said = rules_check("larkmere.toml", &bad).text;
    let fault = said.split_once('\n').expect("a first line").1;
    assert!(
        text.contains(fault.trim_end()),
        "the document's fault is not:\n{fault}"
    );
}

#[test]
fn the_documented_case_parses() {
    let cases: Vec<NamedCase> =
        serde_json::from_str(&block(&doc("cases.md"), "json")).expect("cases");
    assert_eq!(cases[0].case.seen.len(), 4);
}

/// Every property name and constant of a schema.
fn names(schema: &Value, found: &mut BTreeSet<String>) {
    match schema {
        Value::Object(map) => {
            if let Some(Value::Object(properties)) = map.get("properties") {
                found.extend(properties.keys().cloned());
            }
            if let Some(Value::String(constant)) = map.get("const") {
                found.insert(constant.clone());
            }
            if let Some(Value::Array(all)) = map.get("enum") {
                found.extend(all.iter().filter_map(|v| v.as_str().map(str::to_owned)));
            }
            map.values().for_each(|v| names(v, found));
        }
        Value::Array(items) => items.iter().for_each(|v| names(v, found)),
        _ => {}
    }
}

#[test]
fn every_key_and_choice_of_the_formats_is_documented() {
    for (schema, document) in [
        ("rule-pack.schema.json", "rule-pack.md"),
        ("cases.schema.json", "cases.md"),
    ] {
        let schema: Value = serde_json::from_str(&doc(schema)).expect("a schema");
        let mut all = BTreeSet::new();
        names(&schema, &mut all);
        assert!(all.len() > 30);
        let text = doc(document);
        let words: BTreeSet<&str> = text
            .split(|c: char| !c.is_alphanumeric() && c != '_' && c != '-')
            .collect();
        let missing: Vec<&String> = all.iter().filter(|n| !words.contains(n.as_str())).collect();
        assert_eq!(missing, Vec::<&String>::new(), "{document}");
    }
}
