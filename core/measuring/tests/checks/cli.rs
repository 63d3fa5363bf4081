//! `rules check` and `rules try` as texts.

use crate::support::*;
use serde_json::Value;
use standsquare_measuring::cli::{rules_check, rules_try, text};
use standsquare_measuring::*;

#[test]
fn check_says_what_a_good_pack_is() {
    let said = rules_check("larkmere.toml", LARKMERE);
    assert_eq!(said.status, 0);
    assert_eq!(
        said.text,
        "larkmere.toml: in order: Larkmere Agility League (2026), 3 categories, 2 gauges, 1 procedures, valid from 2026-01-01\n"
    );
}

#[test]
fn check_says_what_is_wrong_where_and_what_to_do() {
    let bad = LARKMERE.replacen("maximum = 8", "maximum = 2", 1);
    for said in [
        rules_check("bad.toml", &bad),
        rules_try("bad.toml", &bad, "[]"),
    ] {
        assert_eq!(said.status, 1);
        assert!(
            said.text
                .starts_with("bad.toml: refused, 1 to put right\nbad.toml:line "),
            "{}",
            said.text
        );
        assert!(
            said.text
                .contains("procedure[hoops].placings.maximum: 2 placings"),
            "{}",
            said.text
        );
        assert!(said.text.contains("to do: "), "{}", said.text);
    }
}

/// The documented example: docs/cases.example.json.
fn example() -> String {
    std::fs::read_to_string(here().join("docs/cases.example.json")).expect("the example")
}

#[test]
fn try_prints_each_verdict_with_reasons_that_name_their_clause() {
    let said = rules_try("larkmere.toml", LARKMERE, &example());
    assert_eq!(said.status, 0, "{}", said.text);
    let answer: Value = serde_json::from_str(&said.text).expect("JSON");
    assert_eq!(answer["pack"]["id"], "larkmere");
    let tried = answer["tried"].as_array().expect("a list");
    let outcome = |name: &str| {
        let one = tried.iter().find(|t| t["name"] == name).expect(name);
        one["verdict"]["outcome"].clone()
    };
    assert_eq!(outcome("Pip, flat at once")["category"], "small");
    assert_eq!(
        outcome("Moss, over 35 and flat at 43")["category"],
        "medium"
    );
    assert_eq!(outcome("Juno, not today"), "not-today");
    assert_eq!(outcome("Tansy, too early"), "refused");
    assert_eq!(outcome("Rook, still at it"), "not-yet");
    for one in tried {
        let words = one["in_words"].as_array().expect("words");
        assert!(!words.is_empty());
        for word in words {
            let word = word.as_str().expect("text");
            assert!(word.ends_with(']') && word.contains(" ["), "{word}");
        }
    }
    let pip = &tried[0];
    assert!(
        pip["in_words"][0]
            .as_str()
            .unwrap()
            .contains("base flat on hoop-35 (350 mm): within [procedure[hoops].placings.flat]"),
        "{pip}"
    );
    // What is printed is what the engine says.
    let named: Vec<cli::NamedCase> = serde_json::from_str(&example()).unwrap();
    for (named, one) in named.iter().zip(tried) {
        let verdict: Verdict = serde_json::from_value(one["verdict"].clone()).unwrap();
        assert_eq!(verdict, judge(&pack("larkmere"), &named.case));
    }
}

#[test]
fn a_case_that_cannot_be_read_is_refused_by_name_and_the_others_judged() {
    let cases = r#"[
        {"name": "good", "case": {"today": "2026-06-14"}},
        {"name": "bad", "case": {"today": "2026-06-14", "sean": []}},
        {"case": {"today": "yesterday"}}
    ]"#;
    let said = rules_try("larkmere.toml", LARKMERE, cases);
    assert_eq!(said.status, 2);
    let answer: Value = serde_json::from_str(&said.text).expect("JSON");
    assert_eq!(answer["tried"].as_array().unwrap().len(), 1);
    let refused = answer["refused"].as_object().unwrap();
    assert!(
        refused["bad"]
            .as_str()
            .unwrap()
            .contains("unknown field `sean`")
    );
    assert!(refused["case 3"].as_str().unwrap().contains("cases.md"));
}

#[test]
fn what_is_no_list_is_refused() {
    for cases in ["", "{}", "[", "7"] {
        let said = rules_try("larkmere.toml", LARKMERE, cases);
        assert_eq!(said.status, 1);
        assert!(
            said.text.contains("not a JSON list") && said.text.contains("cases.md"),
            "{}",
            said.text
        );
    }
    let most = format!("[{}1]", "1,".repeat(99_999));
    let said = rules_try("larkmere.toml", LARKMERE, &most);
    assert_eq!(
        said.status, 2,
        "as many as are allowed, each refused by itself"
    );
    let many = format!("[{}1]", "1,".repeat(100_000));
    let said = rules_try("larkmere.toml", LARKMERE, &many);
    assert!(
        said.text.contains("more than 100000 cases"),
        "{}",
        &said.text[..80]
    );
}

#[test]
fn a_file_that_is_no_text_is_refused_with_what_to_do() {
    let said = |bytes: &[u8]| text("my.toml", bytes).expect_err("no text");
    for (bytes, line, reason) in [
        (&b"PK\x03\x04rest"[..], 1, "word processor's"),
        (&b"\xff\xfef\0"[..], 1, "UTF-16"),
        (&b"\xfe\xff\0f"[..], 1, "UTF-16"),
        (
            &b"format = 1\n\nname = \"K\xf6ter\"\n"[..],
            3,
            "another way than UTF-8",
        ),
        (&b"\xef\xbb\xbf\xff"[..], 1, "another way than UTF-8"),
    ] {
        let said = said(bytes);
        assert_eq!(said.status, 1);
        let start = format!("my.toml:line {line}: ");
        assert!(said.text.starts_with(&start), "{}", said.text);
        assert!(said.text.contains(reason), "{}", said.text);
        assert!(said.text.contains("\n  to do: save "), "{}", said.text);
    }
    // With and without the mark that some editors put in front.
    let marked = format!("\u{feff}{LARKMERE}");
    for good in [LARKMERE, &marked] {
        assert_eq!(text("my.toml", good.as_bytes()), Ok(LARKMERE));
    }
    assert_eq!(text("my.toml", b""), Ok(""));
}
