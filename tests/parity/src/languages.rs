//! Every language there are words in is offered on both phones, and is whole.

use std::collections::{BTreeMap, BTreeSet};

use crate::keys::read_words;
use crate::sources::Sources;
use crate::text::{code, literals};

/// The rules of plurals that both phones know.
const PLURALS: [&str; 2] = ["one-is-1", "one-is-0-and-1"];

/// The names in braces of a text.
fn places(text: &str) -> BTreeSet<&str> {
    text.split('{')
        .skip(1)
        .filter_map(|rest| rest.split_once('}'))
        .map(|(name, _)| name)
        .collect()
}

/// The codes in the braces of `enum … Language`: the literals of its cases.
fn listed(source: &str, start: &str, end: &str) -> Option<BTreeSet<String>> {
    let code = code(source);
    let body = code.split_once(start)?.1.split_once(end)?.0;
    Some(literals(body).into_iter().map(str::to_owned).collect())
}

/// What each phone offers, by the name of the list.
fn offered(sources: &Sources) -> Vec<(&'static str, Option<BTreeSet<String>>)> {
    let find = |files: &BTreeMap<String, String>, start: &str, end: &str| {
        files.values().find_map(|text| listed(text, start, end))
    };
    vec![
        (
            "Android's enum Language",
            find(&sources.kotlin_screens, "enum class Language(", ";"),
        ),
        (
            "iOS's enum Language",
            find(&sources.swift_model, "enum Language:", "\n\n"),
        ),
        (
            "the languages of ios/App/project.toml",
            listed(&sources.ios_project, "languages = [", "]"),
        ),
    ]
}

/// Languages that are lacking somewhere, and words that are not whole.
///
/// # Errors
/// If a words file is not one.
pub fn faults(sources: &Sources) -> Result<Vec<String>, String> {
    let mut faults = Vec::new();
    let there: BTreeSet<String> = sources.words.keys().cloned().collect();
    for (list, codes) in offered(sources) {
        let Some(codes) = codes else {
            faults.push(format!("{list} is not found: has it moved?"));
            continue;
        };
        faults.extend(
            there
                .difference(&codes)
                .map(|c| format!("{list} lacks {c}")),
        );
        faults.extend(
            codes
                .difference(&there)
                .map(|c| format!("{list} has {c}, but there is no bindings/words/{c}.json")),
        );
    }
    let english = read_words("en", sources.words.get("en").ok_or("en.json is not there")?)?;
    for (language, text) in &sources.words {
        let words = read_words(language, text)?;
        let name = format!("{language}.json");
        faults.extend(
            english
                .keys()
                .filter(|k| !words.contains_key(*k))
                .map(|k| format!("{name} lacks {k}")),
        );
        faults.extend(
            words
                .keys()
                .filter(|k| !english.contains_key(*k))
                .map(|k| format!("{name} has {k}, which en.json has not")),
        );
        for (key, said) in &words {
            let Some(original) = english.get(key) else {
                continue;
            };
            if said.trim().is_empty() {
                faults.push(format!("{name}: {key} has no words"));
            }
            // One form of a plural may say its number in a word.
            let whole = !key.ends_with(".one");
            if whole && !key.starts_with("format.") && places(said) != places(original) {
                faults.push(format!(
                    "{name}: {key} fills in {:?}, en.json {:?}",
                    places(said),
                    places(original)
                ));
            }
            if key.ends_with(".count") && said != original {
                faults.push(format!(
                    "{name}: {key} must name {original}, as en.json does"
                ));
            }
        }
        let rule = words.get("format.plural").map_or("", String::as_str);
        if rule == "one-is-0-and-1" {
            // "One dog" would be said of none, too.
            faults.extend(
                words
                    .iter()
                    .filter_map(|(key, by)| Some((key.strip_suffix(".count")?, by)))
                    .filter_map(|(stem, by)| Some((stem, by, words.get(&format!("{stem}.one"))?)))
                    .filter(|(_, by, one)| !places(one).contains(by.as_str()))
                    .map(|(stem, by, _)| {
                        format!("{name}: {stem}.one is said of 0 as well: it must fill in {by}")
                    }),
            );
        }
        if language == "fr" {
            // An ordinary space would let the sign begin a line of its own.
            let loose = |text: &str| {
                [" :", " ;", " ?", " !"]
                    .iter()
                    .any(|sign| text.contains(sign))
            };
            faults.extend(
                words
                    .iter()
                    .filter(|(_, said)| loose(said))
                    .map(|(key, _)| {
                        format!("{name}: {key} needs a no-break space before : ; ? or !")
                    }),
            );
        }
        if !PLURALS.contains(&rule) {
            faults.push(format!("{name}: no phone knows the plural rule '{rule}'"));
        }
    }
    Ok(faults)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_the_names_in_braces() {
        assert_eq!(places("{from} to {to}"), BTreeSet::from(["from", "to"]));
        assert_eq!(places("none { here"), BTreeSet::new());
    }

    #[test]
    fn a_list_is_read_from_its_literals() {
        let found = listed(
            "enum class Language(val code: String) {\n A(\"en\"), // \"xx\"\n B(\"de\");",
            "enum class Language(",
            ";",
        );
        assert_eq!(
            found,
            Some(BTreeSet::from(["en".to_owned(), "de".to_owned()]))
        );
        assert_eq!(listed("", "enum", ";"), None);
    }
}
