//! Copies of other phones' records that this one keeps, so that a lost phone loses no dog.
//! They lie in files of their own beside the journal (`store::Copies`), each followed event
//! by event; what is known of them here is read again whenever the app is opened.

use std::path::{Path, PathBuf};

use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::run::Copied;
use standsquare_journal::record::{Event, Hash, chain, genesis};
use standsquare_journal::store::{Copies, CopyFault};
use standsquare_sync::Frame;

use crate::map::Set;

/// Folder of the copies in the phone's folder.
const FOLDER: &str = "copies";

/// One phone's record, as far as it is kept here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptCopy {
    /// The journal's random id.
    pub journal: [u8; 16],
    /// Number of the last event held.
    pub held: u64,
    /// The chain's head there.
    pub head: Hash,
    /// Dogs in it that somebody has put their name to.
    pub dogs: u32,
    /// When the last event was written, by that phone's clock, Unix milliseconds.
    pub last_ms: i64,
}

/// All of them.
pub struct Kept {
    folder: PathBuf,
    /// As they stand.
    pub all: Vec<KeptCopy>,
}

impl Kept {
    /// Those in the phone's folder. A file that does not hold is passed over: it is told when
    /// the next copy of the same journal comes.
    pub fn open(dir: &Path) -> Self {
        let mut kept = Kept {
            folder: dir.join(FOLDER),
            all: Vec::new(),
        };
        if kept.folder.is_dir() {
            let found = Copies::open(&kept.folder).and_then(|copies| copies.journals());
            for journal in found.unwrap_or_default() {
                kept.look(&journal);
            }
        }
        kept
    }

    fn look(&mut self, journal: &[u8; 16]) -> Option<KeptCopy> {
        let copies = Copies::open(&self.folder).ok()?;
        let copy = known(&copies.copied(journal).ok()??);
        self.all.retain(|k| k.journal != *journal);
        self.all.push(copy.clone());
        Some(copy)
    }

    /// Takes in what another phone gave; after `Ok` it is on the disk.
    ///
    /// # Errors
    /// [`CopyFault`]
    pub fn take(&mut self, bytes: &[u8], own: &[u8; 16]) -> Result<Option<KeptCopy>, CopyFault> {
        let taken = Copies::open(&self.folder)?.take(bytes, own)?;
        Ok(self.look(&taken.journal))
    }

    /// Everything kept as frames, cut where the other phone would have cut them, so that the
    /// office knows a frame that comes both ways.
    ///
    /// # Errors
    /// [`CopyFault`]
    pub fn frames(&self) -> Result<Vec<Vec<u8>>, CopyFault> {
        let mut frames = Vec::new();
        if self.all.is_empty() {
            return Ok(frames);
        }
        let copies = Copies::open(&self.folder)?;
        for kept in &self.all {
            if let Some(copied) = copies.copied(&kept.journal)? {
                frames.extend(cut(&copied));
            }
        }
        Ok(frames)
    }
}

fn events<'a>(copied: &'a Copied) -> impl Iterator<Item = (&'a Vec<u8>, Event)> {
    let read = |bytes: &'a Vec<u8>| Some((bytes, Event::decode_strict(bytes).ok()?));
    copied.events().iter().filter_map(read)
}

fn known(copied: &Copied) -> KeptCopy {
    let (mut dogs, mut session, mut last_ms) = (Set::new(), 0_u64, 0);
    let (mut head, mut put_right) = (genesis(), Vec::new());
    for (bytes, event) in events(copied) {
        head = chain(&head, bytes);
        last_ms = event.at_ms;
        match event.fact {
            Fact::SessionBegun { .. } => session += 1,
            Fact::CorrectionStated { .. } => put_right.push(head),
            // Under a list, or a correction: that counts no dog.
            Fact::SignedElsewhere { visit, head, .. }
                if visit == 0 || put_right.contains(&*head) => {}
            Fact::Signed { visit, .. }
            | Fact::SignedElsewhere { visit, .. }
            | Fact::SignedOnPaper { visit, .. }
            | Fact::Confirmed { visit, .. } => {
                dogs.insert((session, visit));
            }
            _ => {}
        }
    }
    KeptCopy {
        journal: copied.journal(),
        held: copied.held(),
        head,
        dogs: dogs.iter().count() as u32,
        last_ms,
    }
}

fn cut(copied: &Copied) -> Vec<Vec<u8>> {
    let run = copied.run();
    let empty = |from_seq| Frame {
        device_key: run.device_key,
        journal: run.journal,
        from_seq,
        events: Vec::new(),
    };
    let mut frames = Vec::new();
    let mut open = empty(1);
    for (n, (bytes, event)) in events(copied).enumerate() {
        open.events.push(bytes.clone());
        if matches!(event.fact, Fact::Sealed { .. }) {
            frames.push(open.encode());
            open = empty(n as u64 + 2);
        }
    }
    frames
}
