//! What a screen has to show: typed data with message keys. The words for the
//! keys live on the platforms; every decision has been taken before a view is made.

macro_rules! record {
    ($($(#[$m:meta])* pub struct $name:ident { $($(#[$fm:meta])* $f:ident : $t:ty),* $(,)? })*) => {
        $( $(#[$m])* #[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
           #[cfg_attr(feature = "uniffi", derive(uniffi::Record))]
           pub struct $name { $( $(#[$fm])* pub $f: $t ),* } )*
    };
}
macro_rules! choice {
    ($($(#[$m:meta])* pub enum $name:ident { $($body:tt)* })*) => {
        $( $(#[$m])* #[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
           #[cfg_attr(feature = "uniffi", derive(uniffi::Enum))]
           #[serde(rename_all = "snake_case")]
           pub enum $name { $($body)* } )*
    };
}

mod look;
mod parts;
mod practice;
mod readers;
mod screens;

pub use look::*;
pub use parts::*;
pub use practice::*;
pub use readers::*;
pub use screens::*;

use crate::act::{Act, ReaderLink};
use serde::{Deserialize, Serialize};

choice! {
    /// A value inside a message, formatted by the platform for its language.
    pub enum ArgValue {
        /// A name, a chip number, a serial: shown as it is.
        Plain {
            /// The text.
            text: String
        },
        /// A count, for plurals too.
        Count {
            /// How many.
            n: i64
        },
        /// A length in micrometres, shown in centimetres.
        Length {
            /// Micrometres.
            um: i64
        },
        /// A calendar day, `YYYY-MM-DD`, shown as the language writes days.
        Day {
            /// ISO 8601.
            iso: String
        },
        /// Another message, without arguments.
        Word {
            /// Its key.
            key: String
        },
    }

    /// How much weight a button carries. Exactly one `Main` at most on a screen.
    pub enum Role {
        /// The act that a routine dog needs next.
        Main,
        /// As likely as the main one (base not flat beside base flat).
        Equal,
        /// Another way on.
        Other,
        /// Ends the dog for today; always in reach.
        Stop,
        /// Seldom needed.
        Quiet,
    }

    /// The colour and mark of a notice; never by colour alone.
    pub enum Tone {
        /// As hoped.
        Good,
        /// Look at this.
        Care,
        /// This does not go on.
        Bad,
    }

    /// Where a dog stands in today's queue.
    pub enum DogState {
        /// Not yet called.
        Waiting,
        /// At the table.
        AtTable,
        /// Waits aside, its papers begun.
        Parked,
        /// Signed off with a category.
        Measured,
        /// Stopped for today.
        NotToday,
        /// Answered for, but a measurer has signed on paper only.
        Awaiting,
        /// Confirmed by all, and the list at the close is not yet signed.
        Confirmed,
    }

    /// Where a signed dog's record is.
    pub enum Whereabouts {
        /// On this phone only.
        OnPhone,
        /// The office says, signed, that it holds it.
        AtOffice,
        /// It is in the office's signed log.
        InLog,
    }

    /// A short sound or buzz, told apart without looking.
    pub enum Cue {
        /// A chip was read and matches.
        ChipMatches,
        /// A chip was read and does not match, or two numbers were read.
        ChipDiffers,
        /// The act was refused.
        Refused,
        /// A step is done.
        Done,
    }

    /// What the platform is asked to do; its result comes back as an act.
    pub enum Effect {
        /// Make a sound or a buzz.
        Play {
            /// Which.
            cue: Cue
        },
        /// Send this body to the office; answer with `Act::OfficeAnswer` or
        /// `Act::OfficeUnreachable`.
        AskOffice {
            /// Names the request in the answer.
            request: String,
            /// Path at the office, such as `/v1/frames`.
            path: String,
            /// The body.
            body: Vec<u8>,
            /// Where the office answers, such as `https://office.larkmere.example`; empty
            /// for the office that this build was given, if it was given one.
            address: String
        },
        /// Send each of these packets by itself (UDP), one soon after the other, to the host and
        /// port of this address; what comes back is told with `Act::PacketCame`. Where that cannot be
        /// done nothing need be told: the same goes by requests as well.
        SendPackets {
            /// The packets.
            packets: Vec<Vec<u8>>,
            /// As in `AskOffice`.
            address: String
        },
        /// Give this request up: what it would bring is not needed any more. Several
        /// requests can be on their way at a time; nothing need be answered for this one.
        DropRequest {
            /// Which.
            request: String
        },
        /// Send `Act::Tick` at this time even if nothing else happens; the newest counts.
        WakeAt {
            /// When, Unix milliseconds.
            at_ms: i64
        },
        /// Ask the person for their biometrics, and the phone's key store for what it gives up
        /// only to them; answer with `Act::OwnerUnlock` or `Act::OwnerGone`.
        AskOwner {
            /// What for: the system's own dialogue says it.
            why: Text,
            /// If not empty, 32 bytes that the key store is given to keep so, in place of any
            /// before. They are the answer now and each time after.
            keep: Vec<u8>
        },
        /// Offer this file to the platform's share sheet.
        Share {
            /// File name.
            name: String,
            /// Media type.
            media_type: String,
            /// The content.
            bytes: Vec<u8>
        },
        /// Lay this sheet out as a PDF and offer it to the share sheet, which prints too.
        Print {
            /// File name.
            name: String,
            /// What is on it.
            sheet: Sheet
        },
    }
}

record! {
    /// A message: a key into the platform's words, and what to put in.
    pub struct Text {
        /// The key.
        key: String,
        /// Named values.
        args: Vec<Arg>,
    }

    /// One named value of a message.
    pub struct Arg {
        /// Its name in the words, as in `{name}`.
        name: String,
        /// The value.
        value: ArgValue,
    }

    /// Something that may be done now, or why it may not.
    pub struct Offer {
        /// Stable id: the tag in tests.
        id: String,
        /// The act to send back.
        act: Act,
        /// Its weight.
        role: Role,
        /// What the button says.
        label: Text,
        /// Whether it may be done now.
        allowed: bool,
        /// If not, why.
        why_not: Option<Text>,
    }

    /// A passing message about what just happened.
    pub struct Notice {
        /// Its weight.
        tone: Tone,
        /// The message.
        text: Text,
    }

    /// How the reader stands.
    pub struct ReaderBadge {
        /// The link.
        link: ReaderLink,
        /// The reader's own name.
        name: String,
        /// What is left in its battery, percent, where it tells.
        battery: Option<u8>,
        /// The reader that the radio is to connect to, and to look for again
        /// whenever the link is gone.
        wanted: Option<WantedReader>,
        /// Whether the radio is to tell every reader that it finds.
        look: bool,
    }

    /// What is still to be sent.
    pub struct OutboxBadge {
        /// Signed dogs that the office does not have yet.
        waiting: u32,
        /// In words.
        text: Text,
    }

    /// The dog in hand, as far as known.
    pub struct DogCard {
        /// Id in the roster.
        id: String,
        /// Call name.
        name: String,
        /// The handler's name.
        handler: String,
        /// The number in the record book, grouped for reading.
        chip: String,
        /// First or second measure, once worked out.
        measure: Option<Text>,
        /// The dog's place in the day: 1 for the first called.
        number: u32,
    }
}

record! {
    /// Everything on the phone's glass.
    pub struct View {
        /// What the screen was drawn from: sent back with each act, so that a
        /// second tap on a button that has already done its work does nothing.
        revision: i64,
        /// Whether this is the invented league: shown on every screen and file.
        demo: bool,
        /// The league's name; empty before a roster is loaded.
        league: String,
        /// The screen's heading.
        title: Text,
        /// The dog in hand.
        dog: Option<DogCard>,
        /// The screen.
        screen: Screen,
        /// What may be done, in the order to show it.
        offers: Vec<Offer>,
        /// What just happened.
        notice: Option<Notice>,
        /// What could hurt here.
        cautions: Vec<Text>,
        /// The reader.
        reader: ReaderBadge,
        /// What is to be sent.
        outbox: OutboxBadge,
    }

    /// The answer to an act.
    pub struct Answer {
        /// What to show.
        view: View,
        /// What to do.
        effects: Vec<Effect>,
    }
}

impl Text {
    /// A message without arguments.
    pub fn of(key: &str) -> Self {
        Text {
            key: key.into(),
            args: Vec::new(),
        }
    }

    fn with(mut self, name: &str, value: ArgValue) -> Self {
        self.args.push(Arg {
            name: name.into(),
            value,
        });
        self
    }

    /// Adds a text shown as it is.
    pub fn plain(self, name: &str, text: impl Into<String>) -> Self {
        self.with(name, ArgValue::Plain { text: text.into() })
    }

    /// Adds a count.
    pub fn count(self, name: &str, n: impl Into<i64>) -> Self {
        self.with(name, ArgValue::Count { n: n.into() })
    }

    /// Adds a length in micrometres.
    pub fn length(self, name: &str, um: i64) -> Self {
        self.with(name, ArgValue::Length { um })
    }

    /// Adds a day.
    pub fn day(self, name: &str, day: chrono::NaiveDate) -> Self {
        self.with(
            name,
            ArgValue::Day {
                iso: day.to_string(),
            },
        )
    }

    /// Adds another message.
    pub fn word(self, name: &str, key: &str) -> Self {
        self.with(name, ArgValue::Word { key: key.into() })
    }
}
