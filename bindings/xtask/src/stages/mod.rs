//! `cargo xtask test`: every test there is, in stages that can be asked for singly.

mod bindings;
mod kotlin;
mod office;
mod rust;
mod swift;
mod walk;

use std::env;
use std::time::{Duration, Instant};

use anyhow::{Result, bail};

pub use kotlin::pictures;

use crate::project::Project;
use crate::setup::Missing;

/// How a stage went.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// All of it holds.
    Passed,
    /// Something of it does not.
    Failed(String),
    /// It could not be run here, and why.
    LeftOut(String),
}

/// One stage.
pub struct Stage {
    /// What it is asked for by.
    pub name: &'static str,
    /// What it does, for the list.
    pub about: &'static str,
    /// Sets up what it needs, and runs.
    run: fn(&Project) -> Result<Outcome>,
}

/// The stages, cheap and telling ones first.
pub const STAGES: &[Stage] = &[
    Stage {
        name: "format",
        about: "cargo fmt --check",
        run: rust::format,
    },
    Stage {
        name: "layers",
        about: "no layer imports upwards",
        run: rust::layers,
    },
    Stage {
        name: "parity",
        about: "both phones have every screen, act, word and language",
        run: rust::parity,
    },
    Stage {
        name: "clippy",
        about: "clippy on everything, warnings are errors",
        run: rust::clippy,
    },
    Stage {
        name: "rust",
        about: "every Rust test",
        run: rust::tests,
    },
    Stage {
        name: "targets",
        about: "the core's types for a phone of either kind",
        run: rust::targets,
    },
    Stage {
        name: "deny",
        about: "licences, duplicate crates, sources (no advisories: they need a download)",
        run: rust::deny,
    },
    Stage {
        name: "bindings",
        about: "Kotlin and Swift generated; stale ones are noticed",
        run: bindings::fresh,
    },
    Stage {
        name: "kotlin",
        about: "the core through its bindings, the screens clicked",
        run: kotlin::verify,
    },
    Stage {
        name: "stale",
        about: "Kotlin of another interface is refused by the library",
        run: bindings::stale,
    },
    Stage {
        name: "swift",
        about: "the core through its bindings, in a Debian with Swift",
        run: swift::tests,
    },
    Stage {
        name: "office",
        about: "the office's pages in Chromium with axe-core, schemathesis over its document",
        run: office::met,
    },
    Stage {
        name: "walk",
        about: "phone --pictures from nothing, with its checks",
        run: walk::walk,
    },
    Stage {
        name: "kill",
        about: "the phone killed between clicks, the session goes on each time",
        run: walk::kill,
    },
    Stage {
        name: "monkey",
        about: "random acts on the screens over the real core, with kills",
        run: walk::monkey,
    },
];

/// Runs the stages named (all, if none is). Gives whether nothing failed and, in CI,
/// nothing was left out.
pub fn run(project: &Project, only: &[String]) -> Result<bool> {
    let chosen = choose(only)?;
    let ci = env::var_os("CI").is_some_and(|v| v == "true");
    let mut results = Vec::new();
    for (n, stage) in chosen.iter().enumerate() {
        println!(
            "\n== {} of {}: {}: {}",
            n + 1,
            chosen.len(),
            stage.name,
            stage.about
        );
        let began = Instant::now();
        let outcome = (stage.run)(project).unwrap_or_else(outcome_of);
        let took = began.elapsed();
        println!("== {}: {} in {}", stage.name, word(&outcome), seconds(took));
        if let Outcome::Failed(reason) | Outcome::LeftOut(reason) = &outcome {
            println!("{reason}");
        }
        results.push((stage.name, outcome, took));
    }
    println!("\n{}", table(&results));
    Ok(good(results.iter().map(|(_, outcome, _)| outcome), ci))
}

/// A stage that misses what is not the command's to install was left out; any other error is
/// a failure.
fn outcome_of(error: anyhow::Error) -> Outcome {
    match error.downcast::<Missing>() {
        Ok(missing) => Outcome::LeftOut(missing.to_string()),
        Err(other) => Outcome::Failed(format!("{other:#}")),
    }
}

/// The stages named, in the order of the table.
fn choose(only: &[String]) -> Result<Vec<&'static Stage>> {
    if let Some(unknown) = only
        .iter()
        .find(|n| !STAGES.iter().any(|s| s.name == n.as_str()))
    {
        let names: Vec<&str> = STAGES.iter().map(|s| s.name).collect();
        bail!(
            "there is no stage {unknown}; there are {}",
            names.join(", ")
        );
    }
    Ok(STAGES
        .iter()
        .filter(|s| only.is_empty() || only.iter().any(|n| n == s.name))
        .collect())
}

/// Whether the run as a whole is good. In CI a stage left out is a failure: nobody would
/// read why.
fn good<'a>(mut outcomes: impl Iterator<Item = &'a Outcome>, ci: bool) -> bool {
    outcomes.all(|outcome| match outcome {
        Outcome::Passed => true,
        Outcome::Failed(_) => false,
        Outcome::LeftOut(_) => !ci,
    })
}

fn word(outcome: &Outcome) -> &'static str {
    match outcome {
        Outcome::Passed => "passed",
        Outcome::Failed(_) => "FAILED",
        Outcome::LeftOut(_) => "left out",
    }
}

fn seconds(took: Duration) -> String {
    format!("{:.0} s", took.as_secs_f64())
}

fn table(results: &[(&str, Outcome, Duration)]) -> String {
    let mut lines = vec!["stage      result     time".to_owned()];
    for (name, outcome, took) in results {
        lines.push(format!(
            "{name:<10} {:<10} {:>6}",
            word(outcome),
            seconds(*took)
        ));
    }
    let count = |wanted: &str| results.iter().filter(|(_, o, _)| word(o) == wanted).count();
    let total = results.iter().map(|(_, _, took)| *took).sum();
    lines.push(format!(
        "stages: {} passed, {} failed, {} left out, in {}",
        count("passed"),
        count("FAILED"),
        count("left out"),
        seconds(total)
    ));
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stage_left_out_is_a_failure_in_ci_alone() {
        let left = [Outcome::Passed, Outcome::LeftOut("no Debian".into())];
        assert!(good(left.iter(), false));
        assert!(!good(left.iter(), true));
        let failed = [Outcome::Passed, Outcome::Failed("one".into())];
        assert!(!good(failed.iter(), false));
        assert!(good([Outcome::Passed].iter(), true));
    }

    #[test]
    fn stages_are_chosen_by_name_in_the_tables_order() {
        let names = |only: &[&str]| -> Vec<&str> {
            let only: Vec<String> = only.iter().map(|n| (*n).to_owned()).collect();
            choose(&only)
                .expect("known")
                .iter()
                .map(|s| s.name)
                .collect()
        };
        assert_eq!(names(&["kotlin", "rust"]), ["rust", "kotlin"]);
        assert_eq!(names(&[]).len(), STAGES.len());
        let error = choose(&["rusty".to_owned()])
            .err()
            .expect("unknown")
            .to_string();
        assert!(
            error.contains("no stage rusty") && error.contains("kotlin"),
            "{error}"
        );
    }

    #[test]
    fn the_table_counts_each_kind() {
        let results = [
            ("rust", Outcome::Passed, Duration::from_secs(90)),
            (
                "swift",
                Outcome::LeftOut("why".into()),
                Duration::from_secs(1),
            ),
            (
                "walk",
                Outcome::Failed("why".into()),
                Duration::from_secs(2),
            ),
        ];
        let text = table(&results);
        assert!(
            text.contains("stages: 1 passed, 1 failed, 1 left out, in 93 s"),
            "{text}"
        );
    }
}
