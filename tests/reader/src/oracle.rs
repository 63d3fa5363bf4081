//! Python packages that checks are held against, in an environment of their own.

use std::path::{Path, PathBuf};
use std::process::Command;

/// Set to anything, it leaves out every check that needs such a package.
pub const SKIP: &str = "STANDSQUARE_SKIP_ORACLES";

/// The Python of an environment under `scratch` (a test's `CARGO_TARGET_TMPDIR`)
/// with these packages, made on first use with `python3 -m venv` and pip.
/// `None` where [`SKIP`] is set: what is left out is then printed.
///
/// # Errors
/// A sentence that says what to install.
pub fn python(scratch: &str, name: &str, packages: &[&str]) -> Result<Option<PathBuf>, String> {
    if std::env::var_os(SKIP).is_some() {
        eprintln!(
            "left out, because {SKIP} is set: the check against {}",
            packages.join(", ")
        );
        return Ok(None);
    }
    let place = Path::new(scratch).join(format!("oracle-{name}"));
    let python = place.join("bin").join("python");
    // Written last, so that an environment half made is made again.
    let stamp = place.join("installed.txt");
    let wanted = packages.join("\n");
    if std::fs::read_to_string(&stamp).is_ok_and(|have| have == wanted) {
        return Ok(Some(python));
    }
    let run = |program: &Path, arguments: &[&str]| {
        let out = Command::new(program).args(arguments).output();
        match out {
            Ok(out) if out.status.success() => Ok(()),
            Ok(out) => Err(String::from_utf8_lossy(&out.stderr).into_owned()),
            Err(e) => Err(e.to_string()),
        }
    };
    let help = |why: String| {
        format!(
            "this check needs Python 3 with venv and pip, and from PyPI: {}.\n\
             Install Python (on Debian: apt-get install python3-venv) and let pip reach PyPI, \
             or set {SKIP}=1 to leave the check out.\n{why}",
            packages.join(", ")
        )
    };
    run(
        Path::new("python3"),
        &["-m", "venv", "--clear", &place.to_string_lossy()],
    )
    .map_err(help)?;
    let pip = [
        &[
            "-m",
            "pip",
            "install",
            "--quiet",
            "--disable-pip-version-check",
        ],
        packages,
    ]
    .concat();
    run(&python, &pip).map_err(help)?;
    std::fs::write(&stamp, wanted).map_err(|e| e.to_string())?;
    Ok(Some(python))
}
