//! Random acts on the real screens over the real core, the process killed now and then.

use std::env;
use std::path::Path;
use std::time::Instant;

use anyhow::{Context, Result, bail, ensure};
use serde_json::Value;

use super::world::World;
use super::{Data, Preview, said};
use crate::project::Project;
use crate::tools;

/// Acts where the environment does not say: what a whole run of every test has time for.
const ACTS: u64 = 3_000;

/// A process kills itself at one act in so many, or less often where there are many acts:
/// each start of Java takes seconds.
const KILL_ONE_IN: u64 = 150;

/// So often in a run, about, at the most.
const MOST_KILLS: u64 = 60;

/// The signal that ends a process without warning (POSIX: SIGKILL is 9 on Linux).
const KILLED: i32 = 9;

/// What was asked for.
pub struct Wanted {
    acts: u64,
    seed: u64,
}

impl Wanted {
    /// `STANDSQUARE_SCREEN_MONKEY` says how many acts, `STANDSQUARE_SEED` where to begin.
    pub fn from_environment() -> Result<Self> {
        Ok(Self {
            acts: setting("STANDSQUARE_SCREEN_MONKEY", ACTS)?,
            seed: setting("STANDSQUARE_SEED", 1)?,
        })
    }
}

fn setting(name: &str, otherwise: u64) -> Result<u64> {
    match env::var(name) {
        Ok(text) => text
            .parse()
            .with_context(|| format!("{name} is a number, not '{text}'")),
        Err(_) => Ok(otherwise),
    }
}

/// Does the acts, going on after each kill, and holds what is left to its journal: whole, as
/// many events as were shown, and in the files of the return no dog without two sign-offs.
pub fn run(project: &Project, preview: &Preview, wanted: &Wanted) -> Result<String> {
    let data = Data::choose(None)?;
    let began = Instant::now();
    let outcome = acts(project, preview, wanted, data.path());
    let took = began.elapsed().as_secs();
    match outcome {
        Ok((kills, dogs)) => Ok(format!(
            "seed {}: {} acts on the screens in {took} s, the process killed {kills} times; nothing lost, \
             {dogs} dogs in the last session, none without two sign-offs, the journal whole.",
            wanted.seed, wanted.acts
        )),
        Err(error) => Err(error.context(format!(
            "the same again: STANDSQUARE_SEED={} STANDSQUARE_SCREEN_MONKEY={} cargo xtask test --only monkey; \
             what was done, act by act, is in trail.txt in the folder that is kept: {}",
            wanted.seed,
            wanted.acts,
            data.keep().display()
        ))),
    }
}

fn one_in(acts: u64) -> u64 {
    KILL_ONE_IN.max(acts / MOST_KILLS)
}

fn acts(
    project: &Project,
    preview: &Preview,
    wanted: &Wanted,
    data: &Path,
) -> Result<(usize, usize)> {
    let world = World::start(preview, data)?;
    let mut kills = 0;
    loop {
        let log = data.join(format!("run-{kills}.log"));
        let status = preview
            .java("standsquare.preview.monkey.MonkeyMainKt")
            .arg("--data")
            .arg(data)
            .args(["--office", &world.office])
            .args(["--seed", &wanted.seed.to_string()])
            .args(["--acts", &wanted.acts.to_string()])
            .args(["--kill-one-in", &one_in(wanted.acts).to_string()])
            .logged(&log)?;
        if status.success() {
            println!("{}", said(&log));
            break;
        }
        // The one that is to kill it is itself, so that the seed says when.
        let signal = std::os::unix::process::ExitStatusExt::signal(&status);
        if signal != Some(KILLED) {
            bail!("{}", said(&log));
        }
        kills += 1;
        ensure!(
            kills as u64 <= wanted.acts,
            "more kills than acts: it does not go on"
        );
    }
    let verified = tools::program(project)?
        .arg("journal-verify")
        .arg(data.join("journal.sqlite"))
        .output()
        .context("the journal is not whole")?;
    for line in verified.lines().take(6) {
        println!("{line}");
    }
    let text = std::fs::read_to_string(data.join("session.json"))?;
    let trail = std::fs::read_to_string(data.join("trail.txt"))?;
    let told = |what: &str| trail.lines().filter(|l| l.ends_with(what)).count();
    println!(
        "of {kills} kills, {} found the act under way there whole and {} not there",
        told("is there whole"),
        told("is not there")
    );
    Ok((kills, answered_for(&text)?))
}

/// The dogs in `session.json`; fails where one has fewer than two people to answer for it.
fn answered_for(text: &str) -> Result<usize> {
    if text.is_empty() {
        return Ok(0);
    }
    let file: Value = serde_json::from_str(text).context("session.json is not JSON")?;
    let dogs = file["dogs"].as_array().context("it has no dogs")?;
    for dog in dogs {
        let count = |key: &str| dog[key].as_array().map_or(0, Vec::len);
        ensure!(
            count("signed_by") + count("on_paper") >= 2,
            "fewer than two answer for a dog: {dog}"
        );
    }
    Ok(dogs.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dog_that_one_alone_answers_for_is_found() {
        let two =
            r#"{"dogs":[{"signed_by":["a","b"]},{"signed_by":["a"],"on_paper":[{"name":"b"}]}]}"#;
        assert_eq!(answered_for(two).expect("good"), 2);
        assert!(answered_for(r#"{"dogs":[{"signed_by":["a"]}]}"#).is_err());
        assert_eq!(answered_for("").expect("no session"), 0);
    }
}
