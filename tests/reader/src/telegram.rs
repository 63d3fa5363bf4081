//! What a chip sends on the air, bit by bit: for vectors and error tests.

/// The check as the shift register in the chip makes it: the polynomial
/// x^16+x^12+x^5+1 over the bits in the order in which they go out, from 0.
/// The register's top bit is the first to be sent.
pub fn air_crc(bits: &[bool]) -> u16 {
    bits.iter().fold(0u16, |reg, bit| {
        let feed = (reg & 0x8000 != 0) != *bit;
        (reg << 1) ^ if feed { 0x1021 } else { 0 }
    })
}

fn lowest_first(value: u64, count: u32) -> Vec<bool> {
    (0..count).map(|i| value >> i & 1 == 1).collect()
}

fn protected(word: u64) -> (Vec<bool>, Vec<bool>) {
    let id = lowest_first(word, 64);
    let register = air_crc(&id);
    let crc = (0..16).map(|i| register >> (15 - i) & 1 == 1).collect();
    (id, crc)
}

/// The 128 air bits of an FDX-B telegram: header, then every eight bits of
/// number, check and trailer followed by a control bit 1.
pub fn fdxb(word: u64, trailer: u32) -> Vec<bool> {
    let (id, crc) = protected(word);
    let content = [id, crc, lowest_first(u64::from(trailer), 24)].concat();
    let mut bits = vec![false; 10];
    bits.push(true);
    for eight in content.chunks(8) {
        bits.extend(eight);
        bits.push(true);
    }
    bits
}

/// The 112 air bits of an HDX telegram: start 01111110, number, check, 24 more.
pub fn hdx(word: u64, trailer: u32) -> Vec<bool> {
    let (id, crc) = protected(word);
    let start = [false, true, true, true, true, true, true, false].to_vec();
    [start, id, crc, lowest_first(u64::from(trailer), 24)].concat()
}

/// Bits as bytes, the first bit highest in each.
pub fn pack(bits: &[bool]) -> Vec<u8> {
    bits.chunks(8)
        .map(|c| {
            c.iter()
                .enumerate()
                .fold(0, |b, (i, bit)| b | (u8::from(*bit) << (7 - i)))
        })
        .collect()
}

/// Bits from a text of 0 and 1.
pub fn bits(text: &str) -> Vec<bool> {
    text.chars().map(|c| c == '1').collect()
}
