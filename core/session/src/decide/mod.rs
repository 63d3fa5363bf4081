//! What an act leads to: the facts to write, or why it is refused. One file for
//! each part of the day. Nothing here draws or writes.

mod chip;
mod closing;
mod codes;
mod copies;
mod correct;
mod dog;
mod elsewhere;
mod enrol;
mod heard;
mod keeping;
mod keys;
mod look;
mod moved;
mod newcomer;
mod notices;
mod objection;
mod office;
mod once;
mod owner;
mod pair;
mod practice;
mod readers;
mod setup;
mod sign;

pub use chip::{ChipFinding, find as chip_finding};
pub(crate) use closing::may_not_close;
pub(crate) use correct::{
    choices as correction_choices, may_ask as may_put_right, may_leave as may_leave_correction,
    reasons as correction_reasons,
};
pub(crate) use dog::may_sign_later;
pub(crate) use elsewhere::may_sign_elsewhere;
pub(crate) use enrol::held_text;
pub(crate) use heard::nothing_to_list;
pub use keys::Keys;
pub(crate) use look::{BITTEN, FALLEN, may_happen, may_have_slip};
pub(crate) use notices::{may_not_sign, may_not_sit};
pub(crate) use objection::{MOST_WORDS, may_object};
pub(crate) use once::{must_unlock, signers};
pub use owner::Owner;
pub(crate) use owner::{may_own, owner_opens};
pub(crate) use pair::may_pair;
pub(crate) use practice::{may_open as may_open_practice, may_shadow, practises, trainers};
pub(crate) use readers::may_open as may_open_readers;
pub(crate) use setup::hoops_missing;
pub use setup::{DIGITS, level_tilt_mdeg, surface_limit_mdeg};

use sign::ToSign;
pub use sign::tries_left;

use crate::act::{Act, Stamp};
use crate::battery::Battery;
use crate::copies::Kept;
use crate::looking::Looking;
use crate::random::Source;
use crate::reader::Reader;
use crate::roster::Loaded;
use crate::sending::Sending;
use crate::state::{Session, State, Step, Visit};
use crate::view::{Cue, Effect, Notice, Text, Tone};

use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::pieces::Gathering;
use standsquare_journal::store::{Item, Journal};

/// All that a decision may look at.
pub struct Context<'a> {
    /// The state before the act.
    pub state: &'a State,
    /// For keys and personal data; nothing is written through it.
    pub journal: &'a Journal,
    /// The reader's bytes so far.
    pub reader: &'a mut Reader,
    /// The two keys' presses so far.
    pub keys: &'a mut Keys,
    /// The owner's biometrics.
    pub owner: &'a mut Owner,
    /// What is looked at beside the session.
    pub looking: &'a mut Vec<Looking>,
    /// Pieces of a longer text, as they are read.
    pub gathering: &'a mut Gathering,
    /// The phone's own battery.
    pub battery: &'a mut Battery,
    /// Copies of other phones' records.
    pub copies: &'a mut Kept,
    /// When.
    pub stamp: &'a Stamp,
    /// Fresh bytes.
    pub random: Source,
    /// What is on its way to the office.
    pub sending: &'a mut Sending,
    /// This phone's secret.
    pub device_secret: &'a [u8; 32],
}

/// What an act leads to.
#[derive(Default)]
pub struct Outcome {
    /// To be written, in one transaction.
    pub items: Vec<Item>,
    /// To be shown.
    pub notice: Option<Notice>,
    /// To be done by the platform.
    pub effects: Vec<Effect>,
}

impl Outcome {
    /// One fact.
    pub fn fact(fact: Fact) -> Self {
        Outcome {
            items: vec![Item::Fact(fact)],
            ..Outcome::default()
        }
    }

    /// One more fact.
    pub fn and(mut self, fact: Fact) -> Self {
        self.items.push(Item::Fact(fact));
        self
    }

    /// With a message.
    pub fn say(mut self, tone: Tone, text: Text) -> Self {
        self.notice = Some(Notice { tone, text });
        self
    }

    /// With a sound.
    pub fn play(mut self, cue: Cue) -> Self {
        self.effects.push(Effect::Play { cue });
        self
    }

    /// Nothing is done, and this is why.
    pub fn refuse(text: Text) -> Self {
        Outcome::default().say(Tone::Bad, text).play(Cue::Refused)
    }
}

impl Context<'_> {
    /// The session, if one is under way.
    pub fn session(&self) -> Option<&Session> {
        self.state.session.as_ref()
    }

    /// The session with the dog in hand, if the dog stands at this step.
    fn at(&self, step: Step) -> Option<(&Session, &Visit)> {
        let session = self.session()?;
        let visit = session.in_hand()?;
        (visit.step() == step).then_some((session, visit))
    }

    /// What lies on the glass to be signed.
    fn to_sign(&self) -> Option<(&Session, ToSign<'_>)> {
        let session = self.session()?;
        Some((session, ToSign::of(session)?))
    }

    /// What the session works by.
    fn loaded(&self) -> Option<&Loaded> {
        self.session()
            .map(|s| s.loaded.as_ref())
            .or(self.state.roster.as_deref())
    }
}

/// The act does not belong to where things stand.
fn not_now() -> Outcome {
    Outcome::refuse(Text::of("refused.not_now"))
}

/// What the act leads to.
pub fn decide(c: &mut Context, act: &Act) -> Outcome {
    // While the readers are on the screen, nothing under them can be touched.
    let under = c.state.readers.open && !act.is_of_the_world();
    // A code that was scanned meanwhile shows something else.
    if !act.is_of_the_world() || matches!(act, Act::BookCode { .. }) {
        c.owner.forget();
    }
    match act {
        // A notice comes as a file or as a code that is scanned: it says what it is.
        Act::LoadRoster { text } | Act::BookCode { code: text } | Act::CheckSlip { text }
            if notices::is_notice(text) =>
        {
            notices::take(c, text)
        }
        Act::LoadRoster { text } | Act::BookCode { code: text } | Act::CheckSlip { text }
            if enrol::is_code(text) =>
        {
            enrol::begin(c, text)
        }
        Act::LoadRoster { text } | Act::BookCode { code: text } | Act::CheckSlip { text }
            if codes::is_one(text) =>
        {
            codes::read(c, text)
        }
        Act::OwnerCan { can } => {
            c.owner.can = *can;
            Outcome::default()
        }
        Act::OwnerUnlock { secret } => owner::answer(c, Some(secret)),
        Act::OwnerGone => owner::answer(c, None),
        Act::ReaderLink { .. } | Act::ReaderBytes { .. } | Act::Tick => {
            if let Some(Looking::Codes(shown)) = c.looking.last_mut() {
                shown.turn(c.stamp.at_ms);
            }
            chip::world(c, act)
        }
        Act::ReaderSeen { .. }
        | Act::ReaderBattery { .. }
        | Act::OpenReaders
        | Act::LeaveReaders
        | Act::ChooseReader { .. }
        | Act::TryReaderAgain
        | Act::KnownChip { .. }
        | Act::KeepReader { .. } => readers::decide(c, act),
        Act::BookCode { code } => chip::book_code(c, code),
        _ if under && !matches!(act, Act::LoadRoster { .. }) => not_now(),
        Act::LeaveLook
        | Act::OpenSlip { .. }
        | Act::PrintSlip { .. }
        | Act::CalendarEntry { .. }
        | Act::OpenSlipCheck
        | Act::CheckSlip { .. }
        | Act::OpenDogsList
        | Act::OpenPairing
        | Act::SettleDispute { .. }
        | Act::ShareCodes
        | Act::OpenPast { .. }
        | Act::OpenHistory { .. }
        | Act::OpenSettings
        | Act::OpenIncident
        | Act::RecordIncident { .. } => look::decide(c, act),
        Act::Battery { percent, charging } => copies::battery(c, *percent, *charging),
        Act::ShowCopy { .. } | Act::CarryCopies => copies::decide(c, act),
        Act::AskOwner { person } => owner::ask(c, person),
        Act::OwnPhone { .. } | Act::NotOwnPhone => owner::decide(c, act),
        Act::Unlock { person, pin } if matches!(c.looking.last(), Some(Looking::OwnPhone(_))) => {
            owner::set_up(c, person, pin)
        }
        Act::Sign { .. } if elsewhere::is_open(c) => elsewhere::decide(c, act),
        Act::OpenObjection { .. } | Act::RecordObjection { .. } => objection::decide(c, act),
        Act::ShareReturn | Act::PrintReturn => closing::share(c, act),
        // While something is looked at, what lies under it is not touched.
        _ if !c.looking.is_empty() && !look::goes_on(act) => not_now(),
        Act::OpenPractice
        | Act::OpenOwn { .. }
        | Act::LeavePage
        | Act::BeginDrill { .. }
        | Act::DrillSaw { .. }
        | Act::LeaveDrill
        | Act::SignPractice { .. }
        | Act::TraineeWatches { .. }
        | Act::OpenShadow { .. }
        | Act::Shadow { .. } => practice::decide(c, act),
        // While a page lies over the day's work, nothing under it can be touched.
        _ if c.state.practice.page.is_some() && !act.is_of_the_world() => not_now(),
        Act::OfficeAnswer { .. }
        | Act::OfficeUnreachable { .. }
        | Act::PacketCame { .. }
        | Act::NetworkChanged
        | Act::CarryReturn
        | Act::SendReturn => office::decide(c, act),
        Act::LoadRoster { .. }
        | Act::StartSession
        | Act::SetVenue { .. }
        | Act::LevelReading { .. }
        | Act::LevelAgain
        | Act::SurfaceDone
        | Act::HoopLooked { .. }
        | Act::HoopsDone
        | Act::SeatMeasurer { .. }
        | Act::UnseatMeasurer { .. }
        | Act::SetPin { .. }
        | Act::OpenQueue => setup::decide(c, act),
        Act::ScanAgain
        | Act::ChipTyped { .. }
        | Act::ChipMisKeyed
        | Act::ChipConfirmed
        | Act::NoChip => chip::decide(c, act),
        Act::CallNewcomer { .. } | Act::DescribeNewcomer { .. } => newcomer::decide(c, act),
        Act::SignElsewhere { .. } => elsewhere::decide(c, act),
        Act::PressKey { key } => keys::press(c, *key),
        Act::MeasureHereToo | Act::MeasuredElsewhere => heard::answer(c, act),
        Act::MayNotMeasure { person } => dog::may_not_measure(c, person),
        Act::AskCorrection { .. }
        | Act::ChooseCorrection { .. }
        | Act::CorrectionReason { .. }
        | Act::LeaveCorrection => correct::decide(c, act),
        Act::Unlock { person, pin } => once::unlock(c, person, pin),
        Act::LockPhone => once::lock(c),
        Act::StateList | Act::LeaveList => once::list(c, act),
        Act::Sign { person, pin } => sign::sign(c, person, pin),
        Act::SignOnPaper { person, paper } if c.session().and_then(once::open_list).is_some() => {
            once::sign_on_paper(c, person, paper)
        }
        Act::Confirm { .. } | Act::SignOnPaper { .. } | Act::Disagree { .. } => {
            sign::decide(c, act)
        }
        Act::ReviewClose | Act::BackToQueue | Act::CloseSession | Act::LeaveSession => {
            closing::decide(c, act)
        }
        _ => dog::decide(c, act),
    }
}
