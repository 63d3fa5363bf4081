//! What a machine must have, found out by looking, and put there where that is possible.
//!
//! On Debian (and what derives from it) as root, what is missing is installed; anywhere
//! else the commands say what to install and stop.

use std::env;
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Result, bail};

use crate::run::{Program, on_path};

/// The oldest Java that the Kotlin side is compiled for.
const JAVA: u32 = 17;

/// One thing that a command needs.
struct Need {
    /// What it is, for the message.
    what: &'static str,
    /// Whether it is there.
    there: fn() -> bool,
    /// Debian's packages that bring it.
    packages: &'static [&'static str],
}

const C_COMPILER: Need = Need {
    what: "a C compiler (SQLite is compiled in)",
    there: || on_path("cc"),
    packages: &["gcc", "libc6-dev"],
};

const JDK: Need = Need {
    what: "a Java development kit, 17 or newer",
    there: || java_home().is_some() && on_path("javac"),
    packages: &["openjdk-17-jdk"],
};

const PYTHON: Need = Need {
    what: "Python 3 with venv (second implementations that tests compare with)",
    there: || {
        let script = "import ensurepip, venv";
        on_path("python3") && Program::new("python3").args(["-c", script]).succeeds()
    },
    packages: &["python3", "python3-venv"],
};

const JAVA_WINDOWS: Need = Need {
    what: "Java's libraries for windows (the kit installed is a headless one)",
    there: || java_home().is_some_and(|home| java_library(&home, "jawt").exists()),
    packages: &["openjdk-17-jre"],
};

const MAVEN: Need = Need {
    what: "Maven",
    there: || on_path("mvn"),
    packages: &["maven"],
};

const NPM: Need = Need {
    what: "npm (the screens' typeface and axe-core are packages of its registry)",
    there: || on_path("npm"),
    packages: &["npm"],
};

const GL: Need = Need {
    what: "OpenGL's library (the screens are drawn with Skia)",
    there: || shared_library("libGL.so.1"),
    packages: &["libgl1"],
};

const FONTS: Need = Need {
    what: "fontconfig and a font",
    there: || shared_library("libfontconfig.so.1") && a_font(),
    packages: &["libfontconfig1", "fontconfig", "fonts-dejavu-core"],
};

const CHROMIUM: Need = Need {
    what: "Chromium (it shows and takes pictures of the office's pages)",
    there: || chromium().is_some(),
    packages: &["chromium"],
};

const POSTGRES: Need = Need {
    what: "PostgreSQL's server",
    there: || {
        fs::read_dir("/usr/lib/postgresql").is_ok_and(|mut dirs| {
            dirs.any(|d| d.is_ok_and(|d| d.path().join("bin/initdb").is_file()))
        })
    },
    packages: &["postgresql"],
};

const IP: Need = Need {
    what: "ip(8), for network namespaces",
    there: || on_path("ip"),
    packages: &["iproute2"],
};

/// What is missing here and is not this command's to install.
#[derive(Debug)]
pub struct Missing(String);

impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Missing {}

/// A set of needs.
pub enum For {
    /// To build the Rust side.
    Rust,
    /// To test it, against second implementations in other languages.
    RustTests,
    /// To build the Kotlin side and draw its screens.
    Screens,
    /// To take a picture of a web page.
    Page,
    /// To meet the office as others do: by browser and by its document.
    Browser,
    /// To try the office on PostgreSQL.
    Postgres,
    /// To send over a bad link.
    Link,
}

impl For {
    fn needs(&self) -> &'static [Need] {
        match self {
            Self::Rust => &[C_COMPILER],
            Self::RustTests => &[C_COMPILER, PYTHON, JDK],
            Self::Screens => &[C_COMPILER, JDK, JAVA_WINDOWS, MAVEN, NPM, GL, FONTS],
            Self::Page => &[CHROMIUM],
            Self::Browser => &[CHROMIUM, NPM, PYTHON],
            Self::Postgres => &[C_COMPILER, POSTGRES],
            Self::Link => &[C_COMPILER, PYTHON, IP],
        }
    }
}

/// Installs what is missing of `wanted`, or says what to install and fails.
pub fn ready(wanted: &For) -> Result<()> {
    let missing: Vec<&Need> = wanted.needs().iter().filter(|n| !(n.there)()).collect();
    if missing.is_empty() {
        return Ok(());
    }
    let whats: Vec<&str> = missing.iter().map(|n| n.what).collect();
    let packages: Vec<&str> = missing.iter().flat_map(|n| n.packages).copied().collect();
    if !is_debian(&os_release()) {
        bail!(
            "missing on this machine: {}. Install that and call this again.",
            whats.join("; ")
        );
    }
    if !nix::unistd::geteuid().is_root() {
        let text = format!(
            "missing on this machine: {}. As root: apt-get install {}. Then call this again.",
            whats.join("; "),
            packages.join(" ")
        );
        return Err(Missing(text).into());
    }
    println!("Missing on this machine: {}.", whats.join("; "));
    println!("Installing Debian's packages: {}", packages.join(" "));
    apt(&["update", "-qq"])?;
    let mut install = vec!["install", "-y", "-qq", "--no-install-recommends"];
    install.extend(&packages);
    apt(&install)?;
    match missing.iter().find(|n| !(n.there)()) {
        None => Ok(()),
        Some(still) => bail!(
            "{} is still missing although {} is installed: is another one first on the path?",
            still.what,
            still.packages.join(" ")
        ),
    }
}

fn apt(args: &[&str]) -> Result<()> {
    // Another installation may be under way: wait for it rather than fail.
    Program::new("apt-get")
        .args(["-o", "DPkg::Lock::Timeout=300"])
        .args(args)
        .env("DEBIAN_FRONTEND", "noninteractive")
        .run()
}

/// Sees to it that the Rust toolchain in use has the target `name` or the component `name`.
fn rustup(kind: &str, name: &str, there: impl Fn() -> bool) -> Result<()> {
    if there() {
        return Ok(());
    }
    if !on_path("rustup") {
        bail!(
            "the Rust {kind} {name} is missing and there is no rustup to add it: install it and call this again"
        );
    }
    println!("Adding the Rust {kind} {name}.");
    Program::new("rustup").args([kind, "add", name]).run()
}

/// rustfmt or clippy, by the name of its cargo command and of its component.
pub fn rust_component(command: &str, component: &str) -> Result<()> {
    rustup("component", component, || {
        Program::new("cargo")
            .args([command, "--version"])
            .succeeds()
    })
}

/// A target of the Rust compiler, with its standard library.
pub fn rust_target(target: &str) -> Result<()> {
    rustup("target", target, || {
        Program::new("rustc")
            .args(["--print", "target-libdir", "--target", target])
            .output()
            .is_ok_and(|dir| Path::new(dir.trim()).is_dir())
    })
}

/// The machine has cargo-deny afterwards.
pub fn cargo_deny() -> Result<()> {
    if Program::new("cargo").args(["deny", "--version"]).succeeds() {
        return Ok(());
    }
    println!("Installing cargo-deny (a few minutes, once for this machine).");
    // Checks of this size need no optimised build, which takes twice as long to make.
    Program::new("cargo")
        .args([
            "install",
            "--locked",
            "--debug",
            "--quiet",
            "cargo-deny@0.20.2",
        ])
        .run()
}

/// Chromium's command, under any of its names.
pub fn chromium() -> Option<&'static str> {
    ["chromium", "chromium-browser", "google-chrome"]
        .into_iter()
        .find(|name| on_path(name))
}

/// Debian as root, where a Debian root of another release can be made.
pub fn debian_root() -> bool {
    is_debian(&os_release()) && nix::unistd::geteuid().is_root()
}

/// Whether a window can be shown.
pub fn has_display() -> bool {
    let named = |name| env::var_os(name).is_some_and(|v| !v.is_empty());
    cfg!(target_os = "macos") || named("DISPLAY")
}

/// The home of the Java in use, if it is new enough.
fn java_home() -> Option<PathBuf> {
    if !on_path("java") {
        return None;
    }
    // Java prints its settings on stderr.
    let script = "exec java -XshowSettings:properties -version 2>&1";
    let text = Program::new("sh").args(["-c", script]).output().ok()?;
    let (version, home) = java_settings(&text)?;
    (version >= JAVA).then_some(home)
}

/// The major version and the home out of Java's list of settings.
fn java_settings(text: &str) -> Option<(u32, PathBuf)> {
    let value = |name: &str| {
        text.lines()
            .filter_map(|line| line.split_once('='))
            .find(|(key, _)| key.trim() == name)
            .map(|(_, value)| value.trim())
    };
    let version = value("java.specification.version")?;
    // Java 8 and older call themselves 1.8 and so on: older than any wanted here.
    let major = version.split('.').next()?.parse().ok()?;
    Some((major, value("java.home")?.into()))
}

fn java_library(home: &Path, name: &str) -> PathBuf {
    let (before, after) = (env::consts::DLL_PREFIX, env::consts::DLL_SUFFIX);
    home.join("lib").join(format!("{before}{name}{after}"))
}

/// Whether the loader knows the shared library; only Linux needs any.
fn shared_library(name: &str) -> bool {
    if !cfg!(target_os = "linux") {
        return true;
    }
    let loader = ["ldconfig", "/sbin/ldconfig", "/usr/sbin/ldconfig"];
    loader.into_iter().any(|l| {
        let known = Program::new("sh")
            .args(["-c", &format!("{l} -p 2>/dev/null || true")])
            .output();
        known.is_ok_and(|text| {
            text.lines()
                .any(|line| line.split_whitespace().next() == Some(name))
        })
    })
}

fn a_font() -> bool {
    !cfg!(target_os = "linux")
        || Program::new("fc-list")
            .output()
            .is_ok_and(|text| !text.trim().is_empty())
}

fn os_release() -> String {
    fs::read_to_string("/etc/os-release").unwrap_or_default()
}

/// Whether `/etc/os-release` (os-release(5)) names Debian, or what derives from it.
fn is_debian(os_release: &str) -> bool {
    os_release
        .lines()
        .filter_map(|line| line.split_once('='))
        .filter(|(key, _)| matches!(*key, "ID" | "ID_LIKE"))
        .any(|(_, value)| {
            value
                .trim_matches(['"', '\''])
                .split_whitespace()
                .any(|id| id == "debian")
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn debian_and_what_derives_from_it_is_told_from_others() {
        assert!(is_debian(
            "PRETTY_NAME=\"Debian GNU/Linux 12\"\nID=debian\n"
        ));
        assert!(is_debian("ID=ubuntu\nID_LIKE=debian\n"));
        assert!(is_debian("ID=mint\nID_LIKE=\"ubuntu debian\"\n"));
        assert!(!is_debian("ID=fedora\nHOME_URL=\"of no debian\"\n"));
        assert!(!is_debian(""));
    }

    #[test]
    fn the_java_in_use_is_read_from_its_settings() {
        let text =
            "Property settings:\n    java.home = /opt/java\n    java.specification.version = 17\n";
        assert_eq!(java_settings(text), Some((17, PathBuf::from("/opt/java"))));
        let old = "    java.home = /opt/java8\n    java.specification.version = 1.8\n";
        assert_eq!(java_settings(old), Some((1, PathBuf::from("/opt/java8"))));
        assert_eq!(java_settings("nothing of the kind"), None);
    }

    #[test]
    fn a_library_that_no_machine_has_is_missing() {
        assert!(!shared_library("libno-such-thing.so.99") || !cfg!(target_os = "linux"));
    }
}
