//! A phone killed between clicks, again and again, and started again over the same folder.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail, ensure};

use super::world::World;
use super::{Data, Preview, checks, page};
use crate::run::Running;

/// How many kills a walk must live through for the check to be worth anything.
const KILLS: usize = 8;

/// How long a killed-and-started walk may be silent: starting Java on a loaded machine.
const PATIENCE: Duration = Duration::from_secs(120);

/// Walks the demo, killing the phone after more and more pictures and starting it again over
/// the same folder, until it comes to its end. `whole` holds the pictures of a walk that was
/// not disturbed. Fails unless each start goes on at the screen of the kill, or at one that
/// the click under way leads to, and the finished session is whole. Gives the number of kills.
pub fn walk(preview: &Preview, whole: &Path) -> Result<usize> {
    let follows = steps(&screens(whole)?);
    let data = Data::choose(None)?;
    let world = World::start(preview, data.path())?;
    let mut before: Option<String> = None;
    let mut kills = 0;
    loop {
        let pictures = data.path().join(format!("run-{kills}"));
        fs::create_dir_all(&pictures)?;
        let log = data.path().join(format!("run-{kills}.log"));
        // Further each time, so that refusals which the walk repeats do not hold it up.
        let target = 3 + 2 * kills;
        let phone = preview
            .program(data.path(), &world)
            .arg("--pictures")
            .arg(&pictures)
            .background(&log)?;
        let outcome = until(phone, &pictures, target)
            .and_then(|killed| {
                goes_on(before.as_deref(), &screens(&pictures)?, &follows).map(|()| killed)
            })
            .with_context(|| said(&log, kills));
        let killed = match outcome {
            Ok(killed) => killed,
            Err(error) => return Err(error.context(kept(data))),
        };
        if !killed {
            let checked = finished(&world, &pictures, kills);
            return checked.map_err(|error| error.context(kept(data)));
        }
        before = screens(&pictures)?.pop();
        kills += 1;
    }
}

fn kept(data: Data) -> String {
    format!(
        "the killed phone's folder is kept: {}",
        data.keep().display()
    )
}

fn said(log: &Path, kills: usize) -> String {
    format!("after {kills} kills, the phone said: {}", super::said(log))
}

/// The finished walk in `pictures`, held against the office.
fn finished(world: &World, pictures: &Path, kills: usize) -> Result<usize> {
    ensure!(
        kills >= KILLS,
        "the walk was over after {kills} kills, fewer than {KILLS}"
    );
    let session = checks::files(pictures)?;
    page::compare(world, &session, pictures)?;
    Ok(kills)
}

/// Waits until the phone has drawn `target` pictures and kills it: true. If it comes to its
/// end before: false.
fn until(mut phone: Running, pictures: &Path, target: usize) -> Result<bool> {
    let mut last = (0, Instant::now());
    loop {
        let count = screens(pictures)?.len();
        if count >= target {
            phone.kill()?;
            return Ok(true);
        }
        if !phone.is_running() {
            let status = phone.wait()?;
            ensure!(status.success(), "the phone failed ({status})");
            return Ok(false);
        }
        if count > last.0 {
            last = (count, Instant::now());
        }
        ensure!(
            last.1.elapsed() < PATIENCE,
            "the phone drew nothing for {} s",
            PATIENCE.as_secs()
        );
        thread::sleep(Duration::from_millis(5));
    }
}

/// The screens of the pictures in `dir`, in order: `012-placing-….png` is of `placing`. The
/// first is the one before the record is open and says nothing.
fn screens(dir: &Path) -> Result<Vec<String>> {
    let mut names: Vec<PathBuf> = fs::read_dir(dir)?
        .map(|e| Ok(e?.path()))
        .collect::<Result<_>>()?;
    names.sort();
    Ok(names
        .iter()
        .filter_map(|path| path.file_name()?.to_str()?.strip_suffix(".png"))
        .filter(|stem| checks::is_picture(&format!("{stem}.png")) && *stem != "office")
        .filter_map(|stem| stem.split('-').nth(1).map(str::to_owned))
        .filter(|screen| screen != "opening")
        .collect())
}

/// Which screen comes after which in a walk.
fn steps(screens: &[String]) -> BTreeSet<(String, String)> {
    screens
        .windows(2)
        .map(|pair| (pair[0].clone(), pair[1].clone()))
        .collect()
}

/// Fails unless the first screen after a start is where the phone was before, or one step on.
fn goes_on(
    before: Option<&str>,
    after: &[String],
    follows: &BTreeSet<(String, String)>,
) -> Result<()> {
    let (Some(before), Some(first)) = (before, after.first()) else {
        return Ok(());
    };
    let step = (before.to_owned(), first.clone());
    if before != first && !follows.contains(&step) {
        bail!(
            "killed on the screen {before}, the phone started on {first}, to which no click leads from there"
        );
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn list(names: &[&str]) -> Vec<String> {
        names.iter().map(|n| (*n).to_owned()).collect()
    }

    #[test]
    fn a_start_goes_on_where_the_kill_was_or_one_step_on() {
        let follows = steps(&list(&[
            "queue", "papers", "chip", "chip", "placing", "sign", "queue",
        ]));
        for (before, first) in [
            ("chip", "chip"),
            ("chip", "placing"),
            ("sign", "queue"),
            ("papers", "papers"),
        ] {
            goes_on(Some(before), &list(&[first]), &follows).expect(first);
        }
        for (before, first) in [
            ("chip", "queue"),
            ("placing", "chip"),
            ("sign", "home"),
            ("queue", "chip"),
        ] {
            assert!(
                goes_on(Some(before), &list(&[first]), &follows).is_err(),
                "{before} to {first}"
            );
        }
        goes_on(None, &list(&["home"]), &follows).expect("nothing was before");
    }

    #[test]
    fn the_screen_is_read_from_a_pictures_name() {
        let dir = tempfile::tempdir().expect("a folder");
        for name in [
            "001-opening.png",
            "003-placing-sure.png",
            "002-chip.png",
            "office.png",
            "return.csv",
        ] {
            fs::write(dir.path().join(name), "").expect("written");
        }
        assert_eq!(screens(dir.path()).expect("read"), ["chip", "placing"]);
    }
}
