//! What goes out for one command, as pieces and pauses: pure, from a seed.

use crate::encode::encode;
use crate::noise::{cut, noise};
use fastrand::Rng;

/// One piece of bytes, sent `after_ms` after the one before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// Pause before it, milliseconds.
    pub after_ms: u32,
    /// The bytes, 1 to 20.
    pub bytes: Vec<u8>,
}

/// Silence around a frame that only silence ends, milliseconds: well above the
/// profile's gap.
const SILENCE_MS: u32 = 600;

/// Adds bytes to a script; `silent` puts a long pause before them.
fn add(script: &mut Vec<Piece>, bytes: &[u8], silent: bool, rng: &mut Rng) {
    for (i, bytes) in cut(bytes, rng).into_iter().enumerate() {
        let after_ms = if silent && i == 0 {
            SILENCE_MS
        } else {
            rng.u32(1..=4)
        };
        script.push(Piece { after_ms, bytes });
    }
}

/// A chip is held to the reader: perhaps noise, the whole frame, perhaps the
/// same frame again at once (bounce), perhaps noise.
///
/// # Errors
/// As [`encode`].
pub fn present(form: &str, number: &str, rng: &mut Rng) -> Result<Vec<Piece>, String> {
    let frame = encode(form, number)?;
    let silent = form == "idle-15";
    let mut script = Vec::new();
    if rng.bool() {
        let before = noise(form, rng);
        add(&mut script, &before, silent, rng);
    }
    add(&mut script, &frame, silent, rng);
    if rng.u8(..4) == 0 {
        add(&mut script, &frame, silent, rng);
    }
    if rng.u8(..4) == 0 {
        let after = noise(form, rng);
        add(&mut script, &after, silent, rng);
    }
    Ok(script)
}

/// The first half of a frame, after which the link is to be dropped.
///
/// # Errors
/// As [`encode`].
pub fn half(form: &str, number: &str, rng: &mut Rng) -> Result<Vec<Piece>, String> {
    let frame = encode(form, number)?;
    let mut script = Vec::new();
    add(
        &mut script,
        &frame[..frame.len() / 2],
        form == "idle-15",
        rng,
    );
    Ok(script)
}

/// Noise alone.
pub fn only_noise(form: &str, rng: &mut Rng) -> Vec<Piece> {
    let mut script = Vec::new();
    let bytes = noise(form, rng);
    add(&mut script, &bytes, form == "idle-15", rng);
    script
}
