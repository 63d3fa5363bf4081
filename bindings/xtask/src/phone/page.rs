//! The office's page for the session just walked: saved, and held against the files.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result, bail, ensure};

use super::checks::{MARK, Session};
use super::world::World;
use crate::run::Program;
use crate::setup::{self, For};

/// Saves the office's page of `session` as `office.html` (and, where Chromium can be had,
/// as the picture `office.png`) in `dir`; fails unless it shows the same dogs and gives the
/// same return.csv.
pub fn save(world: &World, session: &Session, dir: &Path) -> Result<()> {
    let path = compare(world, session, dir)?;
    let in_packets = counted(&world.office, "posts_in_packets")?;
    ensure!(
        in_packets > 0,
        "no post came to the office in packets (UDP)"
    );
    println!("{in_packets} posts came to the office in packets.");
    if let Err(reason) = setup::ready(&For::Page) {
        println!("No picture of the office's page: {reason}");
        return Ok(());
    }
    picture(&format!("{}{path}", world.office), &dir.join("office.png"))
}

/// Saves the office's page of `session` as `office.html` in `dir` and holds it, and the
/// office's return.csv, against the phone's files there. Gives the page's path.
pub fn compare(world: &World, session: &Session, dir: &Path) -> Result<String> {
    let front = get(&world.office, "/")?;
    let Some(path) = link_to(&front, &session.id) else {
        bail!(
            "the office's front page has no link to session {}: did the return arrive?",
            session.id
        );
    };
    let page = get(&world.office, &path)?;
    let file = dir.join("office.html");
    fs::write(&file, &page).with_context(|| format!("{} cannot be written", file.display()))?;
    shows(&page, session)?;
    let shared = fs::read_to_string(dir.join("return.csv"))?;
    let kept = get(&world.office, &format!("{path}/return.csv"))?;
    ensure!(
        kept == shared,
        "the office's return.csv is not, byte for byte, the phone's"
    );
    Ok(path)
}

fn get(office: &str, path: &str) -> Result<String> {
    let url = format!("{office}{path}");
    let answer = minreq::get(&url).with_timeout(30).send();
    let answer = answer.with_context(|| format!("the office does not answer at {url}"))?;
    ensure!(
        answer.status_code == 200,
        "the office answers {} at {url}",
        answer.status_code
    );
    Ok(answer
        .as_str()
        .context("the office's page is not text")?
        .to_owned())
}

/// What the office has counted under this name.
fn counted(office: &str, name: &str) -> Result<u64> {
    let metrics = get(office, "/metrics")?;
    let begin = format!("standsquare_{name}_total ");
    let number = metrics.lines().find_map(|line| line.strip_prefix(&begin));
    let number = number.with_context(|| format!("the office counts no {name}"))?;
    Ok(number.trim().parse()?)
}

/// The first link of the page with the session's id in it.
fn link_to(page: &str, id: &str) -> Option<String> {
    page.split("href=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .find(|path| path.starts_with('/') && path.contains(id))
        .map(str::to_owned)
}

/// Fails unless the page has a table row for each dog of the session, and no more, with the
/// dog's name, chip, category and flags in it.
fn shows(page: &str, session: &Session) -> Result<()> {
    ensure!(
        plain(page).contains(MARK),
        "the office's page does not say '{MARK}'"
    );
    let rows: Vec<String> = page
        .split("<tr")
        .skip(1)
        .map(|row| plain(row.split("</tr").next().unwrap_or_default()))
        .collect();
    for dog in &session.dogs {
        let Some(row) = rows.iter().find(|row| row.contains(&dog.chip)) else {
            bail!(
                "the office's page has no row with {}'s chip {}",
                dog.name,
                dog.chip
            );
        };
        let words = [Some(&dog.name), dog.category.as_ref()]
            .into_iter()
            .flatten()
            .chain(&dog.flags);
        for word in words {
            ensure!(
                row.contains(word.as_str()),
                "the office's row for {} does not show '{word}': {row}",
                dog.name
            );
        }
    }
    let dogs = rows.iter().filter(|row| has_chip(row)).count();
    ensure!(
        dogs == session.dogs.len(),
        "the office's page shows {dogs} dogs, the session has {}",
        session.dogs.len()
    );
    Ok(())
}

/// Whether the text has a chip's 15 digits in it.
fn has_chip(row: &str) -> bool {
    row.split(|c: char| !c.is_ascii_digit())
        .any(|run| run.len() == 15)
}

/// The text of a piece of HTML: without tags, the five entities every writer uses resolved.
fn plain(html: &str) -> String {
    let mut text = String::new();
    let mut inside = false;
    // A piece may begin inside a tag, as a row cut at `<tr` does.
    let html = html
        .split_once('>')
        .filter(|(tag, _)| !tag.contains('<'))
        .map_or(html, |(_, rest)| rest);
    for c in html.chars() {
        match c {
            '<' => {
                inside = true;
                text.push(' ');
            }
            '>' if inside => inside = false,
            c if !inside => text.push(c),
            _ => {}
        }
    }
    [
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&#39;", "'"),
        ("&amp;", "&"),
    ]
    .into_iter()
    .fold(text, |text, (entity, sign)| text.replace(entity, sign))
}

/// A picture of the page by Chromium, without a window.
fn picture(url: &str, file: &Path) -> Result<()> {
    let Some(chromium) = setup::chromium() else {
        bail!("Chromium is not there")
    };
    let profile = tempfile::tempdir()?;
    let log = profile.path().join("log");
    let mut program = Program::new(chromium).args([
        "--headless",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--hide-scrollbars",
        "--window-size=1280,1200",
    ]);
    if nix::unistd::geteuid().is_root() {
        // Chromium refuses its own sandbox to root. The page is the project's own.
        program = program.arg("--no-sandbox");
    }
    let status = program
        .arg(format!(
            "--user-data-dir={}",
            profile.path().join("profile").display()
        ))
        .arg(format!("--screenshot={}", file.display()))
        .arg(url)
        .logged(&log)?;
    let said = fs::read_to_string(&log).unwrap_or_default();
    ensure!(
        status.success() && file.is_file(),
        "Chromium took no picture of {url} ({status}): {said}"
    );
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::super::checks::Dog;
    use super::*;

    fn session() -> Session {
        let dog = |name: &str, chip: &str, category: Option<&str>, flags: &[&str]| Dog {
            name: name.into(),
            chip: chip.into(),
            category: category.map(str::to_owned),
            flags: flags.iter().map(|f| (*f).to_owned()).collect(),
            signed_by: Vec::new(),
        };
        Session {
            between_dogs: vec![],
            id: "s1".into(),
            dogs: vec![
                dog("Pip & Co", "999000000112233", Some("Small"), &["late"]),
                dog("Juno", "999000000445566", None, &[]),
            ],
        }
    }

    const PAGE: &str = "<h1>demo, not official</h1><table><tr><th>Dog</th></tr>\
        <tr class=\"dog\"><td>Pip &amp; Co</td><td>999000000112233</td><td>Small</td><td>late</td></tr>\
        <tr><td>Juno</td><td><code>999000000445566</code></td><td></td></tr></table>";

    #[test]
    fn a_page_with_the_same_dogs_passes_and_any_other_does_not() {
        shows(PAGE, &session()).expect("the same dogs");
        for (from, to) in [
            ("demo, not official", "official"),
            ("Pip", "Moss"),
            ("999000000445566", "999000000445567"),
            ("Small", "Medium"),
            (">late<", "><"),
            ("</table>", "<tr><td>Rook 999000000999999</td></tr></table>"),
        ] {
            let other = PAGE.replacen(from, to, 1);
            assert_ne!(other, PAGE);
            assert!(shows(&other, &session()).is_err(), "{from} became {to}");
        }
    }

    #[test]
    fn the_link_is_the_one_with_the_sessions_id() {
        let page = "<a href=\"https://s1\">x</a><a href=\"/sessions/s0\">a</a><a href=\"/sessions/s1\">b</a>";
        assert_eq!(link_to(page, "s1").as_deref(), Some("/sessions/s1"));
        assert_eq!(link_to(page, "s2"), None);
    }
}
