//! `cargo xtask rules check PACK` and `rules try PACK CASES.json`, without the reading of files:
//! texts in, a text and an exit status out.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::case::Case;
use crate::judge::judge;
use crate::pack::{PackFault, RulePack};
use crate::progress::{Next, progress};
use crate::reason::Reason;
use crate::verdict::Verdict;

/// The most cases judged in one go.
const MOST_CASES: usize = 100_000;

/// What a command says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// The text: for standard error where `status` is 1, else for standard output.
    pub text: String,
    /// The exit status: 0 all well; 1 the pack or the whole cases file is refused; 2 some cases
    /// are refused, and the text is the JSON of all the same.
    pub status: u8,
}

/// The text of a file as it was read, without a byte order mark. What is no text is refused, with what
/// to do about it. `name` is what the file is called in the answer.
pub fn text<'a>(name: &str, bytes: &'a [u8]) -> Result<&'a str, Said> {
    let refused = |line: usize, reason: &str, fix: &str| Said {
        text: format!("{name}:line {line}: {reason}\n  to do: {fix}\n"),
        status: 1,
    };
    let plain = "save it as plain text in UTF-8, not as a document";
    if bytes.starts_with(b"PK\x03\x04") {
        return Err(refused(
            1,
            "this is a word processor's or a packed file",
            plain,
        ));
    }
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(refused(1, "this is text in UTF-16", plain));
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    std::str::from_utf8(bytes).map_err(|error| {
        let before = &bytes[..error.valid_up_to()];
        let line = 1 + before.iter().filter(|b| **b == b'\n').count();
        let reason = "a character is written in another way than UTF-8";
        refused(line, reason, "save the file as UTF-8")
    })
}

/// Checks a pack. `name` is what the file is called in the text.
pub fn rules_check(name: &str, pack: &str) -> Said {
    match RulePack::parse(pack) {
        Ok(pack) => Said {
            text: format!(
                "{name}: in order: {} ({}), {} categories, {} gauges, {} procedures, valid from {}\n",
                pack.name(),
                pack.edition(),
                pack.categories().len(),
                pack.gauges().len(),
                pack.doc().procedure.len(),
                pack.valid_from(),
            ),
            status: 0,
        },
        Err(faults) => refused(name, &faults),
    }
}

fn refused(name: &str, faults: &[PackFault]) -> Said {
    let mut text = format!("{name}: refused, {} to put right\n", faults.len());
    for fault in faults {
        text.push_str(&format!("{name}:{fault}\n"));
    }
    Said { text, status: 1 }
}

/// A named case of a cases file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct NamedCase {
    /// What it is called in the answer.
    pub name: String,
    /// The dog at the table.
    pub case: Case,
}

/// What is printed for each case.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Tried {
    /// The case's name.
    pub name: String,
    /// The verdict.
    pub verdict: Verdict,
    /// What to do next at the table.
    pub next: Next,
    /// The reasons in English, each with its clause.
    pub in_words: Vec<String>,
    /// The flags in English, each with its clause.
    pub flags_in_words: Vec<String>,
}

/// What `rules try` prints.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Answer {
    /// Whose rules.
    pub pack: PackName,
    /// The cases judged, in their order.
    pub tried: Vec<Tried>,
    /// The cases that could not be read, by name, and why.
    pub refused: BTreeMap<String, String>,
}

/// Whose rules they are.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct PackName {
    /// The pack's id.
    pub id: String,
    /// The edition.
    pub edition: String,
}

/// Judges cases by a pack: a JSON list of [`NamedCase`] in, an [`Answer`] as JSON out. A case that can't be read is refused by name; the others are judged.
pub fn rules_try(name: &str, pack: &str, cases: &str) -> Said {
    let pack = match RulePack::parse(pack) {
        Ok(pack) => pack,
        Err(faults) => return refused(name, &faults),
    };
    let bad = |why: String| Said {
        text: format!("cases: {why}\n"),
        status: 1,
    };
    let list: Vec<Value> = match serde_json::from_str(cases) {
        Ok(list) => list,
        Err(error) => {
            return bad(format!(
                "not a JSON list ({error}); write [{{\"name\": …, \"case\": {{…}}}}, …], see core/measuring/docs/cases.md"
            ));
        }
    };
    if list.len() > MOST_CASES {
        return bad(format!("more than {MOST_CASES} cases; split the file"));
    }
    let mut tried = Vec::new();
    let mut refused = BTreeMap::new();
    for (i, value) in list.into_iter().enumerate() {
        let called = value.get("name").and_then(Value::as_str);
        let called = called.map_or_else(|| format!("case {}", i + 1), str::to_owned);
        match serde_json::from_value::<NamedCase>(value) {
            Ok(named) => tried.push(one(&pack, named)),
            Err(error) => {
                let why = format!("{error}; see core/measuring/docs/cases.md");
                refused.insert(called, why);
            }
        }
    }
    let status = if refused.is_empty() { 0 } else { 2 };
    let answer = Answer {
        pack: PackName {
            id: pack.id().to_owned(),
            edition: pack.edition().to_owned(),
        },
        tried,
        refused,
    };
    // Text keys and plain values only: this can't fail, and an empty text would be seen.
    let mut text = serde_json::to_string_pretty(&answer).unwrap_or_default();
    text.push('\n');
    Said { text, status }
}

fn one(pack: &RulePack, named: NamedCase) -> Tried {
    let verdict = judge(pack, &named.case);
    let words = |reasons: &[Reason]| {
        let one = |r: &Reason| format!("{} [{}]", r.english(), r.clause);
        reasons.iter().map(one).collect()
    };
    Tried {
        name: named.name,
        next: progress(pack, &named.case).next,
        in_words: words(&verdict.reasons),
        flags_in_words: words(&verdict.flags),
        verdict,
    }
}
