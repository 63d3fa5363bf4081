//! Line noise, and bytes cut as a radio cuts them.
//!
//! Noise is any bytes, and sometimes a line of status text. It never leaves a
//! frame after it unreadable to a reader of the right profile: where only a
//! terminator or an unprintable byte shows that something new begins, noise
//! ends with one. (No receiver could tell a stray digit just before a number
//! without a check from a digit of it.)

use fastrand::Rng;

const STATUS: [&str; 5] = ["READY\r\n", "BATT 83%\r\n", "OK\r\n", "SCAN...\r\n", "\r\n"];

/// One burst of noise between frames of this form, 1 to about 20 bytes.
pub fn noise(form: &str, rng: &mut Rng) -> Vec<u8> {
    if rng.u8(..4) == 0 {
        return STATUS[rng.usize(..STATUS.len())].as_bytes().to_vec();
    }
    let length = rng.usize(1..=20);
    // A keyboard gives characters, not bytes: stray keys, then Enter.
    if form == "wedge-15" {
        let mut keys: Vec<u8> = (1..length).map(|_| rng.u8(0x20..0x7F)).collect();
        keys.push(b'\r');
        return keys;
    }
    let mut bytes: Vec<u8> = (0..length).map(|_| rng.u8(..)).collect();
    if form.starts_with("line-") {
        let last = bytes.len() - 1;
        // Not printable, and so not part of the line that follows.
        bytes[last] = if rng.bool() {
            rng.u8(0x00..0x20)
        } else {
            rng.u8(0x7F..=0xFF)
        };
    }
    bytes
}

/// Cuts bytes into pieces of 1 to 20, anywhere.
pub fn cut(bytes: &[u8], rng: &mut Rng) -> Vec<Vec<u8>> {
    let mut rest = bytes;
    let mut pieces = Vec::new();
    while !rest.is_empty() {
        let (piece, after) = rest.split_at(rng.usize(1..=20).min(rest.len()));
        pieces.push(piece.to_vec());
        rest = after;
    }
    pieces
}
