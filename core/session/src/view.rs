//! What a screen has to show: typed data with message keys. The words for the
//! keys live on the platforms; every decision has been taken before a view is made.

use crate::act::{Act, BookState, PlacingSeen, ReaderLink};
use serde::{Deserialize, Serialize};

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
        /// Signed off with a category.
        Measured,
        /// Stopped for today.
        NotToday,
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
            body: Vec<u8>
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

    /// A dog in a list.
    pub struct DogLine {
        /// Id in the roster.
        id: String,
        /// Call name.
        name: String,
        /// The handler's name.
        handler: String,
        /// Where it stands.
        state: DogState,
        /// Category, or the reason it was stopped, or what is known of it before.
        note: Option<Text>,
        /// Where its record is, once signed.
        whereabouts: Option<Whereabouts>,
        /// Sending this act calls the dog; absent where it cannot be called.
        call: Option<Act>,
    }

    /// A hoop.
    pub struct HoopLine {
        /// Id in the roster.
        id: String,
        /// Its name in the rule pack's words.
        label: String,
        /// Nominal inside height, micrometres.
        nominal_um: i64,
        /// The number stamped on it.
        serial: String,
        /// When it was last checked, ISO day.
        checked: String,
        /// Looked at today: good, not good, or not yet.
        good: Option<bool>,
        /// A warning, such as a check that is due.
        note: Option<Text>,
        /// Say that it is good.
        say_good: Act,
        /// Say that it is not.
        say_bad: Act,
    }

    /// A person who may measure.
    pub struct PersonLine {
        /// Id in the roster.
        id: String,
        /// Their name.
        name: String,
        /// Their measurer's number.
        number: String,
        /// Measures today.
        seated: bool,
        /// A PIN is set on this phone.
        has_pin: bool,
        /// Seat or unseat.
        toggle: Act,
        /// Why they may not be seated.
        why_not: Option<Text>,
    }

    /// A line of the record book to look at.
    pub struct BookItem {
        /// Its id.
        id: String,
        /// What to look for.
        label: Text,
        /// What should stand there, where something is known.
        expected: Option<Text>,
        /// What was found.
        state: BookState,
        /// What to do if it is missing or differs.
        advice: Option<Text>,
    }

    /// A question to the handler.
    pub struct Question {
        /// Its id.
        id: String,
        /// The question.
        text: Text,
        /// The answer so far.
        answer: Option<bool>,
        /// Whether the answer given calls for care, and which.
        caution: Option<Text>,
    }

    /// A read of a chip.
    pub struct ReadLine {
        /// The number, grouped for reading.
        number: String,
        /// How often it came.
        count: u32,
        /// Whether a checksum proved it, as a message.
        proof: Text,
        /// Things to notice (a test number, say).
        flags: Vec<Text>,
    }

    /// Two numbers one above the other.
    pub struct SideBySide {
        /// From the record book.
        book: String,
        /// From the reader.
        read: String,
        /// Positions (0 for the first character) that differ.
        differs_at: Vec<u32>,
    }

    /// One placing.
    pub struct PlacingLine {
        /// Its number at this dog, from 1.
        number: u32,
        /// The hoop's label.
        hoop: String,
        /// What was seen.
        seen: PlacingSeen,
        /// Whether it counts.
        counts: bool,
    }

    /// A line of what is signed: exactly this is in the signed bytes.
    pub struct StatementLine {
        /// What it is.
        label: Text,
        /// What it says.
        value: Text,
    }

    /// A reason for a verdict, with the clause of the rule pack it comes from.
    pub struct Reason {
        /// The reason.
        text: Text,
        /// The clause's path in the pack.
        clause: String,
    }

    /// A measurer's place at the sign-off.
    pub struct SignSeat {
        /// Id in the roster.
        person: String,
        /// Their name.
        name: String,
        /// Their number.
        number: String,
        /// Has signed this dog.
        signed: bool,
        /// Wrong PINs that are still allowed.
        tries_left: u32,
    }

    /// A reason to stop.
    pub struct StopChoice {
        /// The act that stops the dog for it.
        act: Act,
        /// Its id.
        id: String,
        /// In words.
        label: Text,
    }

    /// An earlier session.
    pub struct SessionLine {
        /// Its id.
        id: String,
        /// Its day, ISO.
        day: String,
        /// Its venue.
        venue: String,
        /// Dogs signed in it.
        dogs: u32,
        /// Of these not yet at the office.
        waiting: u32,
    }

    /// A row of the return.
    pub struct ReturnRow {
        /// Call name.
        name: String,
        /// Chip number.
        chip: String,
        /// The category's label, or the reason it was stopped.
        outcome: Text,
        /// Flags for the office.
        flags: Vec<Text>,
        /// Where its record is.
        whereabouts: Whereabouts,
    }

    /// Screen: nothing under way.
    pub struct HomeScreen {
        /// Whether a roster is loaded.
        roster: bool,
        /// Earlier sessions, newest first.
        sessions: Vec<SessionLine>,
    }

    /// Screen: where are we.
    pub struct VenueScreen {
        /// To choose from.
        venues: Vec<String>,
        /// The rule pack's name and edition.
        pack: Text,
    }

    /// Screen: is the surface level.
    pub struct SurfaceScreen {
        /// Readings taken of this surface, 0 to 2.
        taken: u32,
        /// What to do with the phone now.
        instruction: Text,
        /// The surface's tilt once known, thousandths of a degree.
        tilt_mdeg: Option<i32>,
        /// The pack's limit, thousandths of a degree.
        limit_mdeg: i32,
        /// The outcome, once known.
        level: Option<bool>,
    }

    /// Screen: are the hoops good.
    pub struct HoopsScreen {
        /// Those of the roster.
        hoops: Vec<HoopLine>,
    }

    /// Screen: who measures.
    pub struct MeasurersScreen {
        /// Those of the roster.
        people: Vec<PersonLine>,
        /// How many the pack wants.
        needed: u32,
    }

    /// Screen: set a PIN.
    pub struct PinScreen {
        /// Whose.
        person: String,
        /// Their name.
        name: String,
        /// Fewest digits.
        min_digits: u32,
        /// Most digits.
        max_digits: u32,
    }

    /// Screen: who is next.
    pub struct QueueScreen {
        /// Not yet seen, in order.
        waiting: Vec<DogLine>,
        /// Done today, newest first.
        done: Vec<DogLine>,
    }

    /// Screen: the record book.
    pub struct PapersScreen {
        /// What to look for.
        items: Vec<BookItem>,
        /// What follows so far: first or second measure, or what is wrong.
        findings: Vec<Text>,
    }

    /// Screen: the handler's answers.
    pub struct HandlerScreen {
        /// The questions.
        questions: Vec<Question>,
    }

    /// Screen: the chip.
    pub struct ChipScreen {
        /// What is happening, or what was found.
        state: Text,
        /// Its weight.
        tone: Tone,
        /// What was read for this dog.
        reads: Vec<ReadLine>,
        /// Where the numbers are alike but not equal.
        compare: Option<SideBySide>,
        /// Where to scan.
        places: Vec<Text>,
        /// Whether a number from the reader's display may be typed.
        may_type: bool,
    }

    /// Screen: let it settle.
    pub struct SettleScreen {
        /// When the dog came to the surface, Unix milliseconds.
        since_ms: i64,
        /// What to look out for.
        signs: Vec<Text>,
    }

    /// Screen: stand it square.
    pub struct StanceScreen {
        /// A placing was not flat or did not count: reposition.
        again: bool,
        /// What square means.
        points: Vec<Text>,
    }

    /// Screen: lower the hoop.
    pub struct PlacingScreen {
        /// The hoop in hand.
        hoop: HoopLine,
        /// Placings so far, in order.
        placings: Vec<PlacingLine>,
        /// Valid ones on this hoop.
        valid: u32,
        /// Valid ones that show a dog over this hoop, if none is flat.
        needed: u32,
    }

    /// Screen: what it comes to, and two signatures.
    pub struct SignScreen {
        /// The category's label, or 'not today'.
        outcome: Text,
        /// What is known of the height, as a message (`35 < h ≤ 43`).
        height: Option<Text>,
        /// Exactly what is signed.
        statement: Vec<StatementLine>,
        /// Why.
        reasons: Vec<Reason>,
        /// Who signs.
        seats: Vec<SignSeat>,
        /// Fewest digits.
        min_digits: u32,
        /// Most digits.
        max_digits: u32,
    }

    /// Screen: the line for the record book.
    pub struct BookLineScreen {
        /// The line to copy, cell by cell.
        line: Vec<StatementLine>,
    }

    /// Screen: tell the handler.
    pub struct TellScreen {
        /// What to say, in order.
        lines: Vec<Text>,
    }

    /// Screen: why stop.
    pub struct StopScreen {
        /// To choose from.
        reasons: Vec<StopChoice>,
    }

    /// Screen: before closing.
    pub struct CloseScreen {
        /// Measured today.
        measured: Vec<DogLine>,
        /// Stopped today.
        stopped: Vec<DogLine>,
        /// Expected and not seen.
        not_seen: Vec<DogLine>,
    }

    /// Screen: the return, and where it is.
    pub struct ReturnScreen {
        /// Its rows.
        rows: Vec<ReturnRow>,
        /// How the sending stands.
        state: Text,
        /// Its weight.
        tone: Tone,
        /// File name of the CSV.
        csv_name: String,
    }
}

/// Which screen, and what is on it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "uniffi", derive(uniffi::Enum))]
#[serde(tag = "screen", rename_all = "snake_case")]
#[allow(missing_docs)] // each variant is documented by its struct
pub enum Screen {
    Home { home: HomeScreen },
    Venue { venue: VenueScreen },
    Surface { surface: SurfaceScreen },
    Hoops { hoops: HoopsScreen },
    Measurers { measurers: MeasurersScreen },
    Pin { pin: PinScreen },
    Queue { queue: QueueScreen },
    Papers { papers: PapersScreen },
    Handler { handler: HandlerScreen },
    Chip { chip: ChipScreen },
    Settle { settle: SettleScreen },
    Stance { stance: StanceScreen },
    Placing { placing: PlacingScreen },
    Sign { sign: SignScreen },
    BookLine { book_line: BookLineScreen },
    Tell { tell: TellScreen },
    Stop { stop: StopScreen },
    Close { close: CloseScreen },
    Return { sent: ReturnScreen },
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
