//! `cargo xtask phone`: the phone's screens on this machine, with a reader and an office.

mod checks;
mod kill;
mod monkey;
mod page;
mod world;

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use anyhow::{Context, Result, bail, ensure};

use crate::bindings;
use crate::maven;
use crate::project::Project;
use crate::run::Program;
use crate::setup::{self, For};
use crate::tools;
use world::World;

/// What was asked for.
#[derive(Debug, Default)]
pub struct Wanted {
    /// Walk the demo into pictures in this folder instead of opening a window.
    pub pictures: Option<PathBuf>,
    /// Keep the session in this folder.
    pub data: Option<PathBuf>,
}

/// Where the pictures go when there is no display and no folder was named.
const PICTURES: &str = "out";

/// Builds everything, starts the world around the phone, and the phone; ends all of it.
pub fn run(project: &Project, wanted: Wanted) -> Result<()> {
    let pictures = match wanted.pictures {
        Some(dir) => Some(dir),
        None if !setup::has_display() => {
            println!("There is no display: the demo is walked into pictures in {PICTURES}.");
            Some(PICTURES.into())
        }
        None => None,
    };
    let preview = build(project)?;
    match pictures {
        Some(dir) => walk(project, preview, &absolute(&dir)?, wanted.data.as_deref()),
        None => open(preview, wanted.data.as_deref()),
    }
}

/// A walk that is killed between clicks and started again, held against the pictures of an
/// undisturbed one in `whole`. Gives the number of kills.
pub fn killed(project: &Project, whole: &Path) -> Result<usize> {
    kill::walk(build(project)?, whole)
}

/// Random acts on the screens, as many as the environment says. Gives what to say of them.
pub fn monkey(project: &Project) -> Result<String> {
    let wanted = monkey::Wanted::from_environment()?;
    monkey::run(project, build(project)?, &wanted)
}

/// The desktop preview, built, and the programs around it.
pub struct Preview {
    classpath: String,
    library: PathBuf,
    office: PathBuf,
    reader: PathBuf,
}

/// Sets this machine up and builds all that the phone needs, once in this process.
pub fn build(project: &Project) -> Result<&'static Preview> {
    static BUILT: OnceLock<Preview> = OnceLock::new();
    if let Some(built) = BUILT.get() {
        return Ok(built);
    }
    let built = build_now(project)?;
    Ok(BUILT.get_or_init(|| built))
}

fn build_now(project: &Project) -> Result<Preview> {
    setup::ready(&For::Screens)?;
    println!("Building the core, the office and the emulated reader.");
    Program::new("cargo")
        .args([
            "build",
            "--bins",
            "--package",
            "standsquare-office",
            "--package",
            "standsquare-reader",
        ])
        .dir(&project.root)
        .run()?;
    println!("Building the bindings.");
    let made = bindings::make(project)?;
    println!("Building the screens (Maven; the first time it fetches what they are made of).");
    maven::android(project, &made)
        .args(["--quiet", "-DskipTests", "package"])
        .run()?;
    Ok(Preview {
        classpath: maven::preview_classpath(project)?,
        library: made.library,
        office: project.built("standsquare-office"),
        reader: project.built("standsquare-reader"),
    })
}

impl Preview {
    /// The preview over the phone's folder `data`, in the world `world`.
    fn program(&self, data: &Path, world: &World) -> Program {
        self.java("standsquare.preview.MainKt")
            .arg("--data")
            .arg(data)
            .args(["--office", &world.office])
            .args(world.readers.iter().flat_map(|r| ["--reader", r.as_str()]))
    }
}

impl Preview {
    /// One of the preview's programs, by its main class.
    fn java(&self, class: &str) -> Program {
        Program::new("java")
            .arg(format!("-Djna.library.path={}", self.library.display()))
            .args(["-cp", &self.classpath, class])
    }
}

/// What a program wrote into its log, to be shown.
fn said(log: &Path) -> String {
    fs::read_to_string(log)
        .unwrap_or_default()
        .trim()
        .to_owned()
}

/// A window, until it is closed.
fn open(preview: &Preview, data: Option<&Path>) -> Result<()> {
    let data = Data::choose(data)?;
    let world = World::start(preview, data.path())?;
    println!("The office's page: {}", world.office);
    preview.program(data.path(), &world).run()
}

/// The walk of the demo into the folder `pictures`, with its checks.
fn walk(project: &Project, preview: &Preview, pictures: &Path, data: Option<&Path>) -> Result<()> {
    fs::create_dir_all(pictures)
        .with_context(|| format!("{} cannot be made", pictures.display()))?;
    forget_earlier_walk(pictures)?;
    let data = Data::choose(data)?;
    let world = World::start(preview, data.path())?;
    println!("Walking the demo session into {}.", pictures.display());
    let walked = preview
        .program(data.path(), &world)
        .arg("--pictures")
        .arg(pictures)
        .run();
    let checked = walked.and_then(|()| {
        let session = checks::files(pictures)?;
        let journal = pictures.join("journal.sqlite");
        let verified = tools::program(project)?
            .arg("journal-verify")
            .arg(&journal)
            .status()?;
        ensure!(
            verified.success(),
            "{} is not whole: see above",
            journal.display()
        );
        page::save(&world, &session, pictures)?;
        checks::pictures(pictures).map(|count| (session, count))
    });
    match checked {
        Ok((session, count)) => {
            println!(
                "{count} pictures, return.csv, session.json and the office's page agree on {}: {}",
                session.dogs.len(),
                session
                    .dogs
                    .iter()
                    .map(|d| d.name.as_str())
                    .collect::<Vec<_>>()
                    .join(", ")
            );
            println!("All of it is in {}.", pictures.display());
            Ok(())
        }
        Err(error) => Err(error.context(format!(
            "the walk failed; the phone's folder is kept: {}",
            data.keep().display()
        ))),
    }
}

/// The folder of the phone (and, inside it, of the office).
enum Data {
    Named(PathBuf),
    Fresh(tempfile::TempDir),
}

impl Data {
    /// The folder named, made if need be; a fresh one where none is.
    fn choose(named: Option<&Path>) -> Result<Self> {
        match named {
            Some(dir) => {
                let dir = absolute(dir)?;
                fs::create_dir_all(&dir)
                    .with_context(|| format!("{} cannot be made", dir.display()))?;
                Ok(Self::Named(dir))
            }
            None => Ok(Self::Fresh(
                tempfile::Builder::new().prefix("standsquare-").tempdir()?,
            )),
        }
    }

    fn path(&self) -> &Path {
        match self {
            Self::Named(dir) => dir,
            Self::Fresh(dir) => dir.path(),
        }
    }

    /// Leaves even a fresh folder where it is, to be looked at.
    fn keep(self) -> PathBuf {
        match self {
            Self::Named(dir) => dir,
            Self::Fresh(dir) => dir.keep(),
        }
    }
}

fn absolute(dir: &Path) -> Result<PathBuf> {
    std::path::absolute(dir).with_context(|| format!("{} is no folder's name", dir.display()))
}

/// Removes what an earlier walk wrote, so that nothing of it passes for the new one's.
/// Anything else in the folder stays.
fn forget_earlier_walk(pictures: &Path) -> Result<()> {
    for entry in fs::read_dir(pictures)? {
        let path = entry?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let ours = checks::FILES.contains(&name.as_ref()) || checks::is_picture(&name);
        if ours {
            fs::remove_file(&path)
                .with_context(|| format!("{} cannot be removed", path.display()))?;
        }
    }
    if let Some(Ok(_)) = fs::read_dir(pictures)?.find(|e| {
        e.as_ref()
            .is_ok_and(|e| e.file_name() == "journal.sqlite-wal")
    }) {
        bail!(
            "{} holds a journal in use: name another folder for the pictures",
            pictures.display()
        );
    }
    Ok(())
}
