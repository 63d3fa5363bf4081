//! The file and its log, looked at before SQLite does: it would take another program's
//! database over, and pass over damage in its own log.

use std::fs;
use std::io::{self, Read};
use std::path::Path;

use super::StoreFault;
use super::files::with;
use super::schema::{APPLICATION, PAGE};
use super::wal::Wal;

const LENGTH: usize = 100;

/// Whether what lies at `path` may be opened as a journal: nothing yet, or a file whose
/// header and log are as a journal's are.
pub(super) fn look(path: &Path) -> Result<(), StoreFault> {
    let (begins, length) = beginning(path)?;
    let log = look_at_log(path, length)?;
    // A creation cut short is SQLite's own to undo.
    if begins.len() < LENGTH || with(path, "-journal").exists() {
        return Ok(());
    }
    // Until its first transaction has left the log, the file says nothing of itself; and a
    // power cut may have come while it was leaving.
    match wrong(&begins, length > PAGE as u64 && !log) {
        None => Ok(()),
        Some(what) => Err(StoreFault::damaged(what)),
    }
}

fn beginning(path: &Path) -> io::Result<(Vec<u8>, u64)> {
    let mut begins = Vec::new();
    match fs::File::open(path) {
        Ok(file) => {
            let length = file.metadata()?.len();
            file.take(LENGTH as u64).read_to_end(&mut begins)?;
            Ok((begins, length))
        }
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok((begins, 0)),
        Err(e) => Err(e),
    }
}

/// Whether there is a log with something in it.
fn look_at_log(path: &Path, length: u64) -> Result<bool, StoreFault> {
    let log = match fs::read(with(path, "-wal")) {
        Ok(log) => log,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(false),
        Err(e) => return Err(e.into()),
    };
    let Some(wal) = Wal::read(&log) else {
        return Ok(false);
    };
    match wal.damage() {
        // SQLite throws a log away that has no file to it.
        None if length == 0 => Err(StoreFault::damaged("only its log is there")),
        None => Ok(true),
        Some(damage) => Err(StoreFault::damaged(damage)),
    }
}

/// What is wrong with SQLite's header
/// (<https://www.sqlite.org/fileformat2.html#the_database_header>) of a journal, which
/// may not have `begun` to say anything of itself.
fn wrong(header: &[u8], begun: bool) -> Option<&'static str> {
    let number = |at: usize| u32::from_be_bytes([0, 1, 2, 3].map(|n| header[at + n]));
    let application = number(68);
    if &header[..16] != b"SQLite format 3\0" {
        return Some("it is no SQLite file");
    }
    if application != APPLICATION.cast_unsigned() && (begun || application != 0) {
        return Some("it does not say that it is a journal");
    }
    let page = u16::from_be_bytes([header[16], header[17]]);
    // In write-ahead mode (a copy made by SQLite is not, until it is opened); no bytes
    // kept free; the fractions that there are.
    let mode = matches!(header[18..20], [2, 2] | [1, 1]);
    let fixed = mode && header[20..24] == [0, 64, 32, 32];
    let schema = matches!(number(44), 4) || !begun && number(44) == 0;
    let utf8 = number(56) == 1 || !begun && number(56) == 0;
    if usize::from(page) != PAGE || !fixed || !schema || !utf8 {
        return Some("its header is damaged");
    }
    None
}
