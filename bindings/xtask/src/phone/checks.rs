//! What must hold of a walk: its files agree with each other, and there are pictures.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use anyhow::{Context, Result, bail, ensure};
use serde_json::Value;

/// What a walk leaves beside its pictures.
pub const FILES: [&str; 4] = [
    "return.csv",
    "session.json",
    "journal.sqlite",
    "office.html",
];

/// What every file of the invented league must say.
pub const MARK: &str = "demo, not official";

/// The dogs of the demo session: how many it measures or stops.
const DOGS: usize = 3;

/// The fewest screens that a walk passes through.
const PICTURES: usize = 14;

/// A phone's screen in the pictures, in pixels across and down.
const SCREEN: (u32, u32) = (1080, 2400);

/// One dog, as both files must tell it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dog {
    /// Its name.
    pub name: String,
    /// The number of its chip.
    pub chip: String,
    /// The category's label, or none where it was not measured.
    pub category: Option<String>,
    /// What to point out to the office.
    pub flags: Vec<String>,
    /// Who signed.
    pub signed_by: Vec<String>,
}

/// A session, as both files must tell it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// Its id.
    pub id: String,
    /// Its dogs in order.
    pub dogs: Vec<Dog>,
    /// Bites and falls between two dogs: what, and to whom.
    pub between_dogs: Vec<String>,
}

/// Reads both files in `dir` and fails unless they agree, say whose they are, and hold the
/// demo's dogs.
pub fn files(dir: &Path) -> Result<Session> {
    let read = |name: &str| {
        let path = dir.join(name);
        fs::read_to_string(&path).with_context(|| format!("the walk left no {}", path.display()))
    };
    let session = agree(&read("session.json")?, &read("return.csv")?)?;
    ensure!(
        dir.join("journal.sqlite").is_file(),
        "the walk left no journal.sqlite"
    );
    ensure!(
        session.dogs.len() == DOGS,
        "the session holds {} dogs, not the demo's {DOGS}",
        session.dogs.len()
    );
    Ok(session)
}

/// The session that both texts tell, if they do tell the same.
fn agree(json: &str, csv: &str) -> Result<Session> {
    let of_json = from_json(json)?;
    let of_csv = from_csv(csv)?;
    ensure!(
        of_json.id == of_csv.id,
        "session.json is of session {} and return.csv of {}",
        of_json.id,
        of_csv.id
    );
    ensure!(
        of_json.dogs.len() == of_csv.dogs.len(),
        "session.json has {} dogs and return.csv has {}",
        of_json.dogs.len(),
        of_csv.dogs.len()
    );
    ensure!(
        of_json.between_dogs == of_csv.between_dogs,
        "session.json has {:?} between dogs and return.csv has {:?}",
        of_json.between_dogs,
        of_csv.between_dogs
    );
    for (a, b) in of_json.dogs.iter().zip(&of_csv.dogs) {
        ensure!(
            a == b,
            "the files differ on a dog: session.json has {a:?}, return.csv has {b:?}"
        );
    }
    Ok(of_json)
}

fn from_json(text: &str) -> Result<Session> {
    let file: Value = serde_json::from_str(text).context("session.json is not JSON")?;
    ensure!(file["mark"] == MARK, "session.json does not say '{MARK}'");
    let dogs = file["dogs"]
        .as_array()
        .context("session.json has no dogs")?;
    let dogs = dogs.iter().map(dog_from_json).collect::<Result<Vec<_>>>()?;
    let incidents = file["incidents"].as_array();
    let between_dogs = incidents.into_iter().flatten().map(|i| {
        let (what, to) = (text_of(&i["what"], "what")?, text_of(&i["to"], "to")?);
        Ok(format!("{what}: {to}"))
    });
    Ok(Session {
        id: text_of(&file["session"], "session")?,
        dogs,
        between_dogs: between_dogs.collect::<Result<Vec<_>>>()?,
    })
}

fn dog_from_json(dog: &Value) -> Result<Dog> {
    Ok(Dog {
        name: text_of(&dog["name"], "name")?,
        chip: text_of(&dog["chip"], "chip")?,
        category: dog["category"]["label"].as_str().map(str::to_owned),
        flags: texts_of(&dog["flags"], "flags")?,
        signed_by: texts_of(&dog["signed_by"], "signed_by")?,
    })
}

fn text_of(value: &Value, name: &str) -> Result<String> {
    let text = value
        .as_str()
        .with_context(|| format!("session.json: {name} is not a text"))?;
    Ok(text.to_owned())
}

fn texts_of(value: &Value, name: &str) -> Result<Vec<String>> {
    let list = value
        .as_array()
        .with_context(|| format!("session.json: {name} is not a list"))?;
    list.iter().map(|v| text_of(v, name)).collect()
}

fn from_csv(text: &str) -> Result<Session> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let head = reader.headers().context("return.csv has no head")?.clone();
    let mut ids = BTreeSet::new();
    let mut dogs = Vec::new();
    let mut between_dogs = Vec::new();
    for row in reader.records() {
        let row = row.context("return.csv cannot be read")?;
        let cell = |name: &str| {
            let at = head.iter().position(|h| h == name);
            let value = at.and_then(|i| row.get(i));
            value.with_context(|| format!("return.csv has no column {name}"))
        };
        ensure!(
            cell("mark")? == MARK,
            "a row of return.csv does not say '{MARK}'"
        );
        ids.insert(cell("session")?.to_owned());
        if cell("dog")?.is_empty() {
            between_dogs.push(cell("outcome")?.to_owned());
            continue;
        }
        let category = cell("category")?;
        dogs.push(Dog {
            name: cell("dog")?.to_owned(),
            chip: cell("chip")?.to_owned(),
            category: (!category.is_empty()).then(|| category.to_owned()),
            flags: cell("flags")?
                .split_whitespace()
                .map(str::to_owned)
                .collect(),
            signed_by: split(cell("signed_by")?, "; "),
        });
    }
    let mut ids = ids.into_iter();
    match (ids.next(), ids.next()) {
        (Some(id), None) => Ok(Session {
            id,
            dogs,
            between_dogs,
        }),
        (None, _) => bail!("return.csv has no rows"),
        (Some(_), Some(_)) => bail!("return.csv is of more than one session"),
    }
}

fn split(cell: &str, between: &str) -> Vec<String> {
    cell.split(between)
        .filter(|p| !p.is_empty())
        .map(str::to_owned)
        .collect()
}

/// Whether a walk gives its pictures such a name: digits, a hyphen, words, `.png`; or it is
/// the picture of the office's page.
pub fn is_picture(name: &str) -> bool {
    let Some(stem) = name.strip_suffix(".png") else {
        return false;
    };
    stem == "office"
        || stem
            .split_once('-')
            .is_some_and(|(n, _)| n.parse::<u32>().is_ok())
}

/// Counts the pictures of screens in `dir`; fails if they are too few, not of a phone's
/// size, or the same picture twice running.
pub fn pictures(dir: &Path) -> Result<usize> {
    let mut names: Vec<String> = fs::read_dir(dir)?
        .filter_map(|e| e.ok()?.file_name().into_string().ok())
        .filter(|name| is_picture(name) && name != "office.png")
        .collect();
    names.sort();
    ensure!(
        names.len() >= PICTURES,
        "the walk left {} pictures, fewer than {PICTURES}",
        names.len()
    );
    let mut last = Vec::new();
    for name in &names {
        let bytes = fs::read(dir.join(name))?;
        match size(&bytes) {
            Some(SCREEN) => {}
            Some((w, h)) => bail!("{name} is {w}×{h}, not {}×{}", SCREEN.0, SCREEN.1),
            None => bail!("{name} is not a PNG"),
        }
        ensure!(
            bytes != last,
            "{name} shows the same as the picture before it: a click changed nothing"
        );
        last = bytes;
    }
    Ok(names.len())
}

/// Width and height out of a PNG's first chunk (PNG Specification, third edition, 5.2 and
/// 11.2.1: eight bytes of signature, then a chunk of 13 bytes of the type IHDR).
fn size(png: &[u8]) -> Option<(u32, u32)> {
    let head = png.strip_prefix(b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR")?;
    let number = |at: usize| Some(u32::from_be_bytes(head.get(at..at + 4)?.try_into().ok()?));
    Some((number(0)?, number(4)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    const JSON: &str = r#"{"mark":"demo, not official","session":"s1","dogs":[
        {"name":"Pip","chip":"999000000112233","category":{"id":"small","label":"Small"},
         "flags":["late","typed"],"signed_by":["Ottoline Marsh","Bram Tolley"]},
        {"name":"Juno","chip":"999000000445566","not_today":{"reason":"nervous"},
         "flags":[],"signed_by":["Ottoline Marsh"]}]}"#;

    const CSV: &str = "mark,session,dog,chip,category,flags,signed_by\r\n\
        \"demo, not official\",s1,Pip,999000000112233,Small,late typed,Ottoline Marsh; Bram Tolley\r\n\
        \"demo, not official\",s1,Juno,999000000445566,,,Ottoline Marsh\r\n";

    #[test]
    fn files_that_agree_give_the_session() {
        let session = agree(JSON, CSV).expect("they agree");
        assert_eq!(session.id, "s1");
        assert_eq!(session.dogs[0].category.as_deref(), Some("Small"));
        assert_eq!(session.dogs[1].category, None);
    }

    #[test]
    fn any_difference_between_the_files_is_said() {
        for (from, to, said) in [
            ("s1,Pip", "s2,Pip", "more than one session"),
            (",Small,", ",Medium,", "differ on a dog"),
            ("late typed", "late", "differ on a dog"),
            ("999000000445566", "999000000445567", "differ on a dog"),
            ("Marsh; Bram Tolley", "Marsh", "differ on a dog"),
            ("mark,session", "mark,sitting", "no column session"),
            (
                "\"demo, not official\",s1,J",
                "official,s1,J",
                "does not say",
            ),
        ] {
            let other = CSV.replacen(from, to, 1);
            assert_ne!(other, CSV, "{from} is not in the text");
            let error = agree(JSON, &other).expect_err(to).to_string();
            assert!(error.contains(said), "{error}");
        }
        let unmarked = JSON.replace("demo, not official", "official");
        assert!(agree(&unmarked, CSV).is_err());
        let one_row = CSV.lines().take(2).collect::<Vec<_>>().join("\n");
        assert!(agree(JSON, &one_row).is_err());
        assert!(agree(JSON, CSV.lines().next().unwrap_or("")).is_err());
    }

    fn png(width: u32, height: u32, content: &[u8]) -> Vec<u8> {
        let mut bytes = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR".to_vec();
        bytes.extend(width.to_be_bytes());
        bytes.extend(height.to_be_bytes());
        bytes.extend(content);
        bytes
    }

    fn folder_of(count: usize, picture: impl Fn(usize) -> Vec<u8>) -> tempfile::TempDir {
        let dir = tempfile::tempdir().expect("a folder");
        for n in 0..count {
            fs::write(dir.path().join(format!("{n:02}-screen.png")), picture(n)).expect("written");
        }
        dir
    }

    #[test]
    fn pictures_are_counted_and_must_be_screens_that_change() {
        let good = folder_of(PICTURES, |n| png(1080, 2400, &[n as u8]));
        assert_eq!(pictures(good.path()).expect("good"), PICTURES);
        for (dir, said) in [
            (
                folder_of(PICTURES - 1, |n| png(1080, 2400, &[n as u8])),
                "fewer than",
            ),
            (
                folder_of(PICTURES, |n| png(1080, 2340, &[n as u8])),
                "1080×2340",
            ),
            (
                folder_of(PICTURES, |n| png(1080, 2400, &[n as u8 / 2])),
                "changed nothing",
            ),
            (folder_of(PICTURES, |_| b"no picture".to_vec()), "not a PNG"),
        ] {
            let error = pictures(dir.path()).expect_err(said).to_string();
            assert!(error.contains(said), "{error}");
        }
    }

    #[test]
    fn only_a_walks_own_names_are_pictures() {
        assert!(is_picture("01-roster.png") && is_picture("office.png"));
        assert!(
            !is_picture("holiday.png") && !is_picture("01-roster.jpg") && !is_picture("a-b.png")
        );
    }
}
