//! The CRC against two independent libraries on 100,000 random telegrams:
//! crates.io `crc` and PyPI `crccheck` (pure Python). The emulated reader's own
//! shift register, written from the polynomial, is held against all of them.

use standsquare_chip::crc16;
use standsquare_chip::telegram::FdxB;
use standsquare_reader::{oracle, telegram};
use std::io::Write;
use std::process::{Command, Stdio};

const TELEGRAMS: usize = 100_000;
const SEED: u64 = 0x0011_7841_1785;

fn words() -> Vec<u64> {
    let mut rng = fastrand::Rng::with_seed(SEED);
    (0..TELEGRAMS).map(|_| rng.u64(..)).collect()
}

#[test]
fn crates_io_crc_agrees_on_random_telegrams() {
    let kermit = crc::Crc::<u16>::new(&crc::CRC_16_KERMIT);
    let xmodem = crc::Crc::<u16>::new(&crc::CRC_16_XMODEM);
    let mut rng = fastrand::Rng::with_seed(SEED + 1);
    for word in words() {
        let ours = crc16(&word.to_le_bytes());
        assert_eq!(ours, kermit.checksum(&word.to_le_bytes()), "{word:016X}");
        // The other name in the sources: over the bytes packed first air bit
        // highest, the result turned round.
        let packed = word.to_le_bytes().map(u8::reverse_bits);
        assert_eq!(ours, xmodem.checksum(&packed).reverse_bits());
        // And through a whole telegram made by the other program.
        let trailer = rng.u32(..1 << 24);
        let air = telegram::fdxb(word, trailer);
        let decoded = FdxB::from_air_bits(&air).expect("a whole telegram");
        assert_eq!(
            (decoded.code.0, decoded.crc, decoded.trailer),
            (word, ours, trailer)
        );
    }
}

#[test]
fn pypi_crccheck_agrees_on_random_telegrams() {
    let python = match oracle::python(env!("CARGO_TARGET_TMPDIR"), "crc", &["crccheck==1.3.1"]) {
        Ok(Some(python)) => python,
        Ok(None) => return,
        Err(help) => panic!("{help}"),
    };
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/oracles/kermit.py");
    let mut child = Command::new(python)
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the environment's python starts");
    let words = words();
    let mut stdin = child.stdin.take().expect("a pipe");
    let bytes: Vec<u8> = words.iter().flat_map(|w| w.to_le_bytes()).collect();
    // The script reads everything before it writes anything.
    stdin.write_all(&bytes).expect("the script reads");
    drop(stdin);
    let out = child.wait_with_output().expect("the script ends");
    assert!(out.status.success());
    let theirs: Vec<u16> = out
        .stdout
        .chunks_exact(2)
        .map(|b| u16::from_le_bytes([b[0], b[1]]))
        .collect();
    assert_eq!(theirs.len(), TELEGRAMS);
    for (word, crc) in words.iter().zip(theirs) {
        assert_eq!(crc16(&word.to_le_bytes()), crc, "{word:016X}");
    }
}
