//! One struct a screen: exactly what has to be drawn on it.

use super::look::{
    CodesScreen, HeardScreen, IncidentScreen, ObjectionScreen, PageScreen, SlipCheckScreen,
    SlipScreen,
};
use super::parts::*;
use super::practice::*;
use super::readers::ReadersScreen;
use super::{Text, Tone};
use serde::{Deserialize, Serialize};

record! {
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
        /// The number that was just read, of no dog on the list; grouped for reading.
        new_chip: Option<String>,
    }

    /// Screen: what the record book of a dog that is not on the list says. Name, birth
    /// and the last earlier measure are typed by whoever holds the book.
    pub struct NewcomerScreen {
        /// The number read, grouped for reading.
        chip: String,
        /// Categories that an earlier measure may have found.
        categories: Vec<CategoryChoice>,
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
        /// Who lowers it, where each measurer makes their own placings.
        by: Option<String>,
        /// What the two keys (a clicker's, or the volume keys) say now. Absent: the
        /// platform leaves them to whatever else they do.
        keys: Option<Text>,
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
        /// How sure the category is, where the body shows its measurers.
        how_sure: Option<Text>,
        /// What trainees who watched would have found.
        shadowed: Vec<Text>,
    }

    /// Screen: tell the handler.
    pub struct TellScreen {
        /// What to say, in order.
        lines: Vec<Text>,
        /// How sure the category is, where the body shows the handler.
        how_sure: Option<Text>,
    }

    /// Screen: why stop.
    pub struct StopScreen {
        /// To choose from.
        reasons: Vec<StopChoice>,
    }

    /// Screen: put something right. First what (and which dog, where placings were another's),
    /// then why, then every measurer signs.
    pub struct CorrectScreen {
        /// What to do, where nothing is chosen or signed: scan the other dog.
        instruction: Option<Text>,
        /// To choose from: what was wrong, or why. Empty once it is to be signed.
        choices: Vec<StopChoice>,
        /// Exactly what is signed; empty before.
        statement: Vec<StatementLine>,
        /// Who signs; empty before.
        seats: Vec<SignSeat>,
        /// Fewest digits.
        min_digits: u32,
        /// Most digits.
        max_digits: u32,
    }

    /// Screen: the phone goes to the next measurer, who sees nothing of what the one
    /// before them found.
    pub struct HandOverScreen {
        /// Their id in the roster.
        person: String,
        /// Their name.
        name: String,
    }

    /// Screen: where a session is signed once, measurers open their keys for the dogs that
    /// follow.
    pub struct UnlockScreen {
        /// Why now, and for how long.
        why: Text,
        /// Who.
        seats: Vec<SignSeat>,
        /// Fewest digits.
        min_digits: u32,
        /// Most digits.
        max_digits: u32,
    }

    /// Screen: the list that is signed at the close.
    pub struct SignListScreen {
        /// Exactly what is signed, a line a dog; each names the statement that was shown
        /// for it.
        statement: Vec<StatementLine>,
        /// Who signs.
        seats: Vec<SignSeat>,
        /// Fewest digits.
        min_digits: u32,
        /// Most digits.
        max_digits: u32,
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
#[allow(clippy::large_enum_variant)] // one at a time, and it goes over the boundary by value
pub enum Screen {
    Home { home: HomeScreen },
    Venue { venue: VenueScreen },
    Surface { surface: SurfaceScreen },
    Hoops { hoops: HoopsScreen },
    Measurers { measurers: MeasurersScreen },
    Pin { pin: PinScreen },
    Queue { queue: QueueScreen },
    Newcomer { newcomer: NewcomerScreen },
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
    Correct { correct: CorrectScreen },
    HandOver { hand_over: HandOverScreen },
    Unlock { unlock: UnlockScreen },
    SignList { sign_list: SignListScreen },
    Close { close: CloseScreen },
    Return { sent: ReturnScreen },
    Readers { readers: ReadersScreen },
    Slip { slip: SlipScreen },
    SlipCheck { check: SlipCheckScreen },
    Past { past: PageScreen },
    History { history: PageScreen },
    Settings { settings: PageScreen },
    Incident { incident: IncidentScreen },
    Objection { objection: ObjectionScreen },
    Codes { codes: CodesScreen },
    Heard { heard: HeardScreen },
    Practice { practice: PracticeScreen },
    Own { own: OwnScreen },
    Drill { drill: DrillScreen },
    Feedback { feedback: FeedbackScreen },
    Shadow { shadow: ShadowScreen },
}
