//! The published JSON Schemas, made from the types in this test build and compared with
//! core/measuring/docs. Set STANDSQUARE_WRITE_SCHEMAS to write them anew.

use std::borrow::Cow;
use std::path::{Path, PathBuf};

use schemars::{JsonSchema, Schema, SchemaGenerator, generate::SchemaSettings, json_schema};

use crate::cli::{Answer, NamedCase};
use crate::dates::Span;
use crate::length::Length;
use crate::pack::{PackDoc, RulePack};

impl JsonSchema for Length {
    fn schema_name() -> Cow<'static, str> {
        "Length".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A length: whole millimetres, or text with its unit (1 in = 25.4 mm exactly).",
            "oneOf": [
                { "type": "integer", "minimum": 0, "maximum": 10_000 },
                {
                    "type": "string",
                    "pattern": "^\\s*([0-9]{1,7}(\\.[0-9]+)?|([0-9]{1,7}\\s+)?[0-9]{1,7}/[0-9]{1,7})\\s*(mm|cm|in)\\s*$"
                }
            ],
            "examples": ["35 cm", "350 mm", "13 7/8 in", 350]
        })
    }
}

impl JsonSchema for Span {
    fn schema_name() -> Cow<'static, str> {
        "Span".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "Calendar years, months, weeks and days in that order, months added first; only weeks and days may be taken off.",
            "type": "string",
            "pattern": "^\\s*([0-9]{1,5}\\s+years?)?\\s*([0-9]{1,5}\\s+months?)?\\s*((-\\s+)?[0-9]{1,5}\\s+weeks?)?\\s*((-\\s+)?[0-9]{1,5}\\s+days?)?\\s*$",
            "minLength": 5,
            "examples": ["2 years", "15 months", "18 months 1 day", "24 months - 14 days"]
        })
    }
}

fn docs() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("docs")
}

fn of<T: JsonSchema>(title: &str) -> serde_json::Value {
    let generator = SchemaSettings::draft2020_12().into_generator();
    let mut schema = generator.into_root_schema_for::<T>();
    schema.insert("title".into(), title.into());
    schema.into()
}

fn all() -> [(&'static str, serde_json::Value); 3] {
    [
        (
            "rule-pack.schema.json",
            of::<PackDoc>("Standsquare rule pack, format 1"),
        ),
        (
            "cases.schema.json",
            of::<Vec<NamedCase>>("Cases for `cargo xtask rules try`"),
        ),
        (
            "tried.schema.json",
            of::<Answer>("What `cargo xtask rules try` prints"),
        ),
    ]
}

#[test]
fn the_published_schemas_are_those_of_the_types() {
    for (name, schema) in all() {
        let path = docs().join(name);
        let mut text = serde_json::to_string_pretty(&schema).expect("JSON");
        text.push('\n');
        if std::env::var_os("STANDSQUARE_WRITE_SCHEMAS").is_some() {
            std::fs::write(&path, &text).expect("written");
        }
        let published = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(
            published == text,
            "{name} is stale: run STANDSQUARE_WRITE_SCHEMAS=1 cargo test -p standsquare-measuring schema"
        );
    }
}

/// TOML as the JSON that a schema speaks of: dates as text.
fn json(value: toml::Value) -> serde_json::Value {
    match value {
        toml::Value::Datetime(d) => d.to_string().into(),
        toml::Value::Array(items) => items.into_iter().map(json).collect(),
        toml::Value::Table(table) => table.into_iter().map(|(k, v)| (k, json(v))).collect(),
        toml::Value::String(s) => s.into(),
        toml::Value::Integer(i) => i.into(),
        toml::Value::Float(f) => f.into(),
        toml::Value::Boolean(b) => b.into(),
    }
}

fn packs() -> Vec<(String, String)> {
    let mut all = vec![("larkmere".to_owned(), crate::pack::LARKMERE.to_owned())];
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/packs");
    for entry in std::fs::read_dir(folder).expect("tests/packs") {
        let path = entry.expect("an entry").path();
        if path.extension().is_some_and(|e| e == "toml") {
            let text = std::fs::read_to_string(&path).expect("a pack");
            all.push((path.display().to_string(), text));
        }
    }
    all
}

#[test]
fn packs_that_parse_fit_the_schema_and_ill_shaped_ones_do_not() {
    let validator = jsonschema::validator_for(&all()[0].1).expect("a schema");
    for (name, text) in packs() {
        let value = json(toml::from_str(&text).expect("TOML"));
        let errors: Vec<String> = validator
            .iter_errors(&value)
            .map(|e| e.to_string())
            .collect();
        assert_eq!(errors, Vec::<String>::new(), "{name}");
        // As printed, too.
        let printed = RulePack::parse(&text).expect("a pack").to_toml();
        assert!(
            validator.is_valid(&json(toml::from_str(&printed).expect("TOML"))),
            "{name}"
        );
    }
    let larkmere = crate::pack::LARKMERE;
    for (from, to) in [
        ("demo = true", "demos = true"),
        ("demo = true", "demo = 3"),
        ("id = \"larkmere\"\n", ""),
        ("up_to = \"35 cm\"", "up_to = \"35\""),
        ("up_to = \"35 cm\"", "up_to = 35.5"),
        ("from = \"12 months\"", "from = \"12\""),
        ("late = \"flagged\"", "late = \"perhaps\""),
        ("work = \"together\"\n", ""),
        ("needed = 3", "needed = -3"),
    ] {
        assert!(larkmere.contains(from), "{from}");
        let text = larkmere.replacen(from, to, 1);
        assert!(RulePack::parse(&text).is_err(), "{to}");
        assert!(
            !validator.is_valid(&json(toml::from_str(&text).expect("TOML"))),
            "{to}"
        );
    }
}

#[test]
fn the_documented_example_fits_the_schemas() {
    let text = std::fs::read_to_string(docs().join("cases.example.json")).expect("the example");
    let cases: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let [_, (_, schema), (_, answer)] = all();
    assert!(jsonschema::is_valid(&schema, &cases));
    assert!(!jsonschema::is_valid(
        &schema,
        &serde_json::json!([{ "name": "x", "case": {} }])
    ));
    let said = crate::cli::rules_try("larkmere.toml", crate::pack::LARKMERE, &text);
    let tried: serde_json::Value = serde_json::from_str(&said.text).expect("JSON");
    assert!(jsonschema::is_valid(&answer, &tried));
}
