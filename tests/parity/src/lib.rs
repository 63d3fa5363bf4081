//! Both kinds of phone can show and do the same.
//!
//! Kotlin's and Swift's compilers each see one phone only, and the tests of each take minutes.
//! This reads the sources of both, and the core's, within a second: what is on one phone only
//! is a fault that names the place. It reads names, not meanings: that a thing is drawn well is
//! for the tests of each phone.

pub mod acts;
pub mod colours;
pub mod exceptions;
pub mod keys;
pub mod languages;
pub mod screens;
pub mod sources;
pub mod text;

pub use sources::Sources;

/// Everything in which the phones differ, and every exception that is none any more.
///
/// # Errors
/// Says which of the core's files cannot be read as Rust, or which words file is no JSON.
pub fn faults(sources: &Sources) -> Result<Vec<String>, String> {
    let mut faults = screens::faults(sources)?;
    faults.extend(acts::faults(sources)?);
    faults.extend(keys::faults(sources)?);
    faults.extend(languages::faults(sources)?);
    faults.extend(colours::faults(sources));
    Ok(faults)
}
