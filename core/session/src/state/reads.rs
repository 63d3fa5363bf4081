//! What a reader gave of one dog. What it comes to is worked out when it is asked for: of a
//! dog that is done it seldom is.

use std::cell::OnceCell;
use std::fmt;
use std::ops::Deref;

use standsquare_chip::{Checksum, Form, Frame, Read, ReadLog, parse_printed};

use super::put::{items, put, put_one_of};

/// A read that was written down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// As received.
    pub raw: Vec<u8>,
    /// The reader profile's name.
    pub form: String,
    /// The number understood.
    pub number: String,
    /// A checksum proved it.
    pub verified: bool,
    /// When, Unix milliseconds.
    pub at_ms: i64,
}

put!(Told {
    raw,
    form,
    number,
    verified,
    at_ms
});

/// One thing heard.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Thing {
    Read(Told),
    Typed(String, i64),
    PassDone,
}

put_one_of!(Thing { 0 PassDone, 1 Read(told), 2 Typed(number, at_ms) });
items!(Thing, Reads);

/// What a reader gave of one dog.
#[derive(Clone, Default)]
pub struct Reads {
    things: Vec<Thing>,
    log: OnceCell<ReadLog>,
}

impl fmt::Debug for Reads {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        (&self.things, &**self).fmt(f)
    }
}

impl super::put::Put for Reads {
    fn put(&self, to: &mut super::put::Out) {
        self.things.put(to);
    }

    fn take(from: &mut super::put::In<'_>) -> Self {
        let things = super::put::Put::take(from);
        let log = OnceCell::new();
        Reads { things, log }
    }
}

/// What would be heard, for seeing what becomes of it: it is not told.
impl From<ReadLog> for Reads {
    fn from(log: ReadLog) -> Self {
        let log = log.into();
        Reads {
            things: Vec::new(),
            log,
        }
    }
}

impl Deref for Reads {
    type Target = ReadLog;

    fn deref(&self) -> &ReadLog {
        self.log.get_or_init(|| {
            let mut log = ReadLog::new();
            for thing in &self.things {
                heard(&mut log, thing);
            }
            log
        })
    }
}

impl Reads {
    /// A read as it was when it came in.
    pub fn read(&mut self, told: Told) {
        self.hear(Thing::Read(told));
    }

    /// A number typed off the reader's display.
    pub fn typed(&mut self, number: String, at_ms: i64) {
        self.hear(Thing::Typed(number, at_ms));
    }

    /// A pass over the dog is done.
    pub fn pass_done(&mut self) {
        self.hear(Thing::PassDone);
    }

    fn hear(&mut self, thing: Thing) {
        if let Some(log) = self.log.get_mut() {
            heard(log, &thing);
        }
        self.things.push(thing);
    }
}

fn heard(log: &mut ReadLog, thing: &Thing) {
    match thing {
        Thing::Read(told) => {
            if let Some(read) = read_again(told) {
                log.take(Frame::Read(read));
            }
        }
        Thing::Typed(number, at_ms) => {
            // It was parsed before it was written.
            let _ = log.typed(number, *at_ms);
        }
        Thing::PassDone => log.pass_done(),
    }
}

/// A read as it was when it came in: the number is taken from the record, not
/// worked out again, so that a later version cannot read an old one differently.
fn read_again(told: &Told) -> Option<Read> {
    Some(Read {
        raw: told.raw.clone(),
        form: Form::by_name(&told.form)?,
        number: parse_printed(&told.number).ok()?.number,
        checksum: if told.verified {
            Checksum::Verified
        } else {
            Checksum::Absent
        },
        animal: None,
        code: None,
        flags: Vec::new(),
        at_ms: told.at_ms,
    })
}
