//! `cargo xtask bench`: figures, each a ratio against something measured in the same run,
//! so that a slow machine gives the same figure as a fast one.

mod size;

use anyhow::{Context, Result, bail, ensure};

use crate::project::Project;
use crate::run::Program;
use crate::setup::{self, For};

/// Figures that one example measures. It prints a line for each: `NAME VALUE GOAL ok|short`.
struct Bench {
    names: &'static [&'static str],
    package: &'static str,
    features: &'static str,
    example: &'static str,
    /// What it needs beside the compiler.
    over: Over,
}

/// What a bench runs over.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Over {
    /// Nothing special.
    Nothing,
    /// A PostgreSQL of its own.
    Postgres,
    /// Network namespaces joined by a bad link: as root, on Linux.
    Link,
}

/// Starts a PostgreSQL, runs what follows, and takes it away again.
const ON_POSTGRES: &str = "core/office/tests/on-postgres.sh";

/// Every figure there is. A new one is a line here and an example in its crate.
const BENCHES: &[Bench] = &[
    Bench {
        names: &["journal.append"],
        package: "standsquare-journal",
        features: "bundled",
        example: "bench_append",
        over: Over::Nothing,
    },
    Bench {
        names: &["journal.open"],
        package: "standsquare-tests",
        features: "",
        example: "bench_open",
        over: Over::Nothing,
    },
    Bench {
        names: &["journal.growth"],
        package: "standsquare-tests",
        features: "",
        example: "bench_growth",
        over: Over::Nothing,
    },
    Bench {
        names: &["sync.bytes"],
        package: "standsquare-office",
        features: "",
        example: "bench_bytes",
        over: Over::Nothing,
    },
    Bench {
        names: &["office.ingest"],
        package: "standsquare-office",
        features: "",
        example: "bench_ingest",
        over: Over::Nothing,
    },
    Bench {
        names: &["office.ingest.postgres"],
        package: "standsquare-office",
        features: "",
        example: "bench_ingest",
        over: Over::Postgres,
    },
    Bench {
        names: &["office.search"],
        package: "standsquare-office",
        features: "",
        example: "bench_search",
        over: Over::Nothing,
    },
    Bench {
        names: &["gauge.fit", "gauge.year"],
        package: "standsquare-measuring",
        features: "",
        example: "bench_gauge",
        over: Over::Nothing,
    },
    // Last: it waits for a bad link for some ten minutes.
    Bench {
        names: &["sync.time", "sync.tail"],
        package: "standsquare-office",
        features: "",
        example: "bench_link",
        over: Over::Link,
    },
];

/// Measures the figures named (all, if none is) and prints a line each.
pub fn run(project: &Project, only: &[String]) -> Result<()> {
    let wanted = |name: &str| only.is_empty() || only.iter().any(|n| n == name);
    for name in only {
        if name != size::NAME && !BENCHES.iter().any(|b| b.names.contains(&name.as_str())) {
            let mut names: Vec<&str> = BENCHES.iter().flat_map(|b| b.names).copied().collect();
            names.push(size::NAME);
            bail!("there is no bench {name}; there are {}", names.join(", "));
        }
    }
    for bench in BENCHES {
        if !bench.names.iter().any(|name| wanted(name)) {
            continue;
        }
        for line in measure(project, bench)? {
            if line.split_whitespace().next().is_some_and(wanted) {
                println!("{line}");
            }
        }
    }
    if wanted(size::NAME) {
        println!("{}", size::measure(project)?);
    }
    Ok(())
}

fn measure(project: &Project, bench: &Bench) -> Result<Vec<String>> {
    let cargo = ["run", "--quiet", "--release", "--package", bench.package];
    let rest = ["--features", bench.features, "--example", bench.example];
    let program = match bench.over {
        Over::Nothing => Program::new("cargo"),
        Over::Postgres => {
            setup::ready(&For::Postgres)?;
            Program::new("bash").args([ON_POSTGRES, "--run", "cargo"])
        }
        Over::Link => {
            setup::ready(&For::Link)?;
            Program::new("cargo")
        }
    };
    let printed = program.args(cargo).args(rest).dir(&project.root).output()?;
    let mut lines = Vec::new();
    for name in bench.names {
        let line = printed
            .lines()
            .rfind(|l| l.split_whitespace().next() == Some(name));
        let line = line.with_context(|| format!("{} printed no line for {name}", bench.example))?;
        ensure!(
            is_figure(line),
            "{} should print NAME VALUE GOAL ok|short, not: {line}",
            bench.example
        );
        lines.push(line.to_owned());
    }
    Ok(lines)
}

/// Whether the line is `NAME VALUE GOAL ok|short`, the last word first found true of it:
/// a figure is only as good as its goal can be read.
fn is_figure(line: &str) -> bool {
    let words: Vec<&str> = line.split_whitespace().collect();
    let [_, value, _, verdict] = words[..] else {
        return false;
    };
    value.parse::<f64>().is_ok_and(f64::is_finite) && matches!(verdict, "ok" | "short")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_has_a_name_a_number_a_goal_and_a_verdict() {
        assert!(is_figure("journal.append 1.62 <=2.0 ok"));
        assert!(is_figure("journal.append 2.4 2.0 short"));
        for line in [
            "journal.append 1.62 ok",
            "journal.append fast 2.0 ok",
            "journal.append NaN 2.0 ok",
            "journal.append 1 2 good",
            "",
        ] {
            assert!(!is_figure(line), "{line}");
        }
    }
}
