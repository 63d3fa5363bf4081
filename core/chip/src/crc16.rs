//! The check of a chip's telegram.

/// CRC-16 over the eight identification bytes, lowest first: x^16+x^12+x^5+1
/// with the lowest bit first, starting from 0 (the catalogue's CRC-16/KERMIT,
/// check value 0x2189; facts in `docs/sources.md`).
///
/// Held against two independent libraries in `tests/crc_oracles.rs`.
pub fn crc16(bytes: &[u8]) -> u16 {
    bytes.iter().fold(0, |crc, byte| {
        (0..8).fold(crc ^ u16::from(*byte), |c, _| {
            if c & 1 == 1 {
                (c >> 1) ^ 0x8408
            } else {
                c >> 1
            }
        })
    })
}

#[cfg(test)]
mod tests {
    #[test]
    fn catalogue_check_value() {
        assert_eq!(super::crc16(b"123456789"), 0x2189);
    }
}
