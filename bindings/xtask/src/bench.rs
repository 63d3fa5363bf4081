//! `cargo xtask bench`: figures, each a ratio against something measured in the same run,
//! so that a slow machine gives the same figure as a fast one.

mod size;

use anyhow::{Context, Result, bail, ensure};

use crate::project::Project;
use crate::run::Program;

/// One figure. The example prints its line: `NAME VALUE GOAL ok|short`.
struct Bench {
    name: &'static str,
    package: &'static str,
    features: &'static str,
    example: &'static str,
}

/// Every figure there is. A new one is a line here and an example in its crate.
const BENCHES: &[Bench] = &[
    Bench {
        name: "journal.append",
        package: "standsquare-journal",
        features: "bundled",
        example: "bench_append",
    },
    Bench {
        name: "journal.open",
        package: "standsquare-tests",
        features: "",
        example: "bench_open",
    },
    Bench {
        name: "journal.growth",
        package: "standsquare-tests",
        features: "",
        example: "bench_growth",
    },
    Bench {
        name: "gauge.fit",
        package: "standsquare-measuring",
        features: "",
        example: "bench_gauge",
    },
    Bench {
        name: "gauge.year",
        package: "standsquare-measuring",
        features: "",
        example: "bench_gauge",
    },
];

/// Measures the figures named (all, if none is) and prints a line each.
pub fn run(project: &Project, only: &[String]) -> Result<()> {
    let wanted = |name: &str| only.is_empty() || only.iter().any(|n| n == name);
    for name in only {
        if name != size::NAME && !BENCHES.iter().any(|b| b.name == name) {
            let mut names: Vec<&str> = BENCHES.iter().map(|b| b.name).collect();
            names.push(size::NAME);
            bail!("there is no bench {name}; there are {}", names.join(", "));
        }
    }
    for bench in BENCHES.iter().filter(|b| wanted(b.name)) {
        println!("{}", measure(project, bench)?);
    }
    if wanted(size::NAME) {
        println!("{}", size::measure(project)?);
    }
    Ok(())
}

fn measure(project: &Project, bench: &Bench) -> Result<String> {
    let printed = Program::new("cargo")
        .args(["run", "--quiet", "--release", "--package", bench.package])
        .args(["--features", bench.features, "--example", bench.example])
        .dir(&project.root)
        .output()?;
    let line = printed
        .lines()
        .rfind(|l| l.split_whitespace().next() == Some(bench.name));
    let line =
        line.with_context(|| format!("{} printed no line for {}", bench.example, bench.name))?;
    ensure!(
        is_figure(line),
        "{} should print NAME VALUE GOAL ok|short, not: {line}",
        bench.example
    );
    Ok(line.to_owned())
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
