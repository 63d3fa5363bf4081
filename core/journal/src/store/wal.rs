//! SQLite's write-ahead log, read by its published format
//! (<https://www.sqlite.org/fileformat2.html#the_write_ahead_log>).
//!
//! SQLite stops at the first frame that is not whole: after a power cut that is right,
//! since that frame's act was never answered. But if a frame in the middle rots, every
//! act behind it goes without a word. Each commit is on the disk before the next one
//! begins, so a frame that is not whole with more than its own transaction behind it
//! never comes from a power cut: it is damage.

use super::schema::PAGE;

const HEADER: usize = 32;
const FRAME_HEADER: usize = 24;

type Sum = (u32, u32);

struct Frame<'a> {
    page: u32,
    /// Pages of the database after the commit that this frame ends, or 0.
    commit: u32,
    /// Belongs to the log's present generation.
    present: bool,
    /// As it was written.
    whole: bool,
    data: &'a [u8],
}

/// A log, frame by frame.
pub(super) struct Wal<'a> {
    header_damaged: bool,
    frames: Vec<Frame<'a>>,
}

fn word(bytes: &[u8], at: usize) -> u32 {
    let mut four = [0; 4];
    four.copy_from_slice(&bytes[at..at + 4]);
    u32::from_be_bytes(four)
}

/// SQLite's running sum, in the byte order that the log names.
fn sum(big: bool, start: Sum, bytes: &[u8]) -> Sum {
    let read = |four: &[u8]| {
        let four = [four[0], four[1], four[2], four[3]];
        if big {
            u32::from_be_bytes(four)
        } else {
            u32::from_le_bytes(four)
        }
    };
    bytes.chunks_exact(8).fold(start, |(a, b), eight| {
        let a = a.wrapping_add(read(&eight[..4])).wrapping_add(b);
        let b = b.wrapping_add(read(&eight[4..])).wrapping_add(a);
        (a, b)
    })
}

impl<'a> Wal<'a> {
    /// Reads a log; `None` where there is no frame in it.
    pub(super) fn read(log: &'a [u8]) -> Option<Self> {
        let (header, rest) = log.split_at_checked(HEADER)?;
        let frames = rest.chunks_exact(FRAME_HEADER + PAGE);
        let first_salts = &frames.clone().next()?[8..16];
        let big = word(header, 0) & 1 == 1;
        let written = (word(header, 24), word(header, 28));
        let found = sum(big, (0, 0), &header[..24]);
        let header_whole = written == found;
        let salts = if header_whole {
            &header[16..24]
        } else {
            first_salts
        };
        // What the frame before says its sum is, and what it comes to: whichever of the
        // two is damaged, the other carries on.
        let mut before = [written, found];
        let frames = frames
            .map(|frame| {
                let (head, data) = frame.split_at(FRAME_HEADER);
                let written = (word(head, 16), word(head, 20));
                let found = before.map(|start| sum(big, sum(big, start, &head[..8]), data));
                before = [written, found[1]];
                Frame {
                    page: word(head, 0),
                    commit: word(head, 4),
                    present: head[8..16] == *salts,
                    whole: found.contains(&written),
                    data,
                }
            })
            .collect();
        // A power cut can tear a header only while the log begins anew. The frames are
        // then still of the generation before, and both their salts are others.
        let header_damaged = !header_whole
            && (header[16..20] == first_salts[..4] || header[20..24] == first_salts[4..]);
        Some(Wal {
            header_damaged,
            frames,
        })
    }

    /// What is damaged in it, beyond what a power cut leaves behind.
    pub(super) fn damage(&self) -> Option<String> {
        if self.header_damaged {
            return Some("the beginning of its log is damaged".to_owned());
        }
        let last = self.frames.iter().rposition(|f| f.present)?;
        let bad = self.frames[..=last]
            .iter()
            .position(|f| !(f.present && f.whole))?;
        // Some transaction ends at or behind the bad frame and is not the last one: the
        // bad frame was on the disk before the last transaction began.
        self.frames[bad..last]
            .iter()
            .any(|f| f.commit != 0)
            .then(|| format!("frame {} of its log is damaged", bad + 1))
    }

    /// Puts every frame that is whole, up to the last commit, over the database's pages:
    /// a damaged frame in the middle is passed over, and later ones of the same page
    /// make up for it.
    pub(super) fn apply(&self, database: &mut Vec<u8>) {
        let good = |f: &Frame| f.present && f.whole;
        let Some(last) = self.frames.iter().rposition(|f| good(f) && f.commit != 0) else {
            return;
        };
        let most = database.len() / PAGE + self.frames.len();
        for frame in self.frames[..=last].iter().filter(|f| good(f)) {
            let page = frame.page as usize;
            if page == 0 || page > most {
                continue;
            }
            let end = page * PAGE;
            if database.len() < end {
                database.resize(end, 0);
            }
            database[end - PAGE..end].copy_from_slice(frame.data);
        }
        database.truncate((self.frames[last].commit as usize).saturating_mul(PAGE));
    }
}
