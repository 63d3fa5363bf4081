//! The chip readers on the screen.

use super::{Drawn, Glass, grouped};
use crate::act::{Act, ReaderCarrier, ReaderLink};
use crate::reader::Near;
use crate::state::ChosenReader;
use crate::view::*;

use standsquare_chip::{Form, Profile, Proposal};

/// From this strength on a reader is close, dBm. Own choice, no source: on a
/// table a phone hears a reader's radio above it, across a hall below.
const CLOSE_DBM: i32 = -70;

/// What a reader sends, in words.
fn form_text(profile: &str) -> Text {
    let form = Profile::builtin(profile).map(|p| p.form);
    Text::of(match form {
        Some(Form::Decimal15) => "form.decimal-15",
        Some(Form::HexDotted) => "form.hex-dotted",
        Some(Form::Hex16) => "form.hex-16",
        Some(Form::Hex16Left) => "form.hex-16-left",
        Some(Form::Hex16Right) => "form.hex-16-right",
        Some(Form::Hex4x10) => "form.hex-4-10",
        Some(Form::A7x15) => "form.a-7-15",
        Some(Form::One6x15) => "form.1-6-15",
        Some(Form::Frame30) => "form.frame-30",
        Some(Form::Legacy9) => "form.legacy-9",
        Some(Form::Legacy10) => "form.legacy-10",
        Some(Form::FdxB | Form::Hdx | Form::IdCrc) | None => "form.other",
    })
}

fn carrier_text(carrier: ReaderCarrier) -> Text {
    Text::of(match carrier {
        ReaderCarrier::Ble => "carrier.ble",
        ReaderCarrier::Serial => "carrier.serial",
        ReaderCarrier::Keys => "carrier.keys",
    })
}

impl Glass<'_> {
    pub(super) fn readers(&self) -> Drawn {
        let kept = &self.state.readers;
        let near: Vec<&Near> = self.reader.near(self.now_ms).collect();
        let mut all: Vec<ChosenReader> = kept.chosen.iter().cloned().collect();
        let others = near.iter().map(|n| &n.is);
        for is in others.chain(kept.paired.values().map(|p| &p.is)) {
            if !all.iter().any(|a| a.reader == is.reader) {
                all.push(is.clone());
            }
        }
        let lines = all.iter().map(|is| self.reader_line(is, &near)).collect();
        let (link, current) = self.reader.current();
        let linked = link == ReaderLink::Connected;
        let trial = linked.then(|| self.trial());
        let paired = kept.profile(current).is_some();
        let drawn = Drawn::new(
            "title.readers",
            Screen::Readers {
                readers: ReadersScreen {
                    readers: lines,
                    trial,
                    may_type: linked,
                },
            },
        );
        self.reader_offers(drawn, linked, paired)
    }

    fn reader_offers(&self, mut drawn: Drawn, linked: bool, paired: bool) -> Drawn {
        let proposal = self.reader.trial.proposal();
        let (_, current) = self.reader.current();
        let kept = self.state.readers.profile(current);
        let mut may_leave = if paired { Role::Main } else { Role::Other };
        if linked && !matches!(proposal, Proposal::Nothing { .. }) {
            drawn = drawn.offer("try_reader_again", Act::TryReaderAgain, Role::Other);
        }
        if let Proposal::Fits { profile, number } = proposal
            && linked
            && kept != Some(profile.as_str())
        {
            let number = number.to_string();
            let act = Act::KeepReader { profile, number };
            drawn = drawn.offer("keep_reader", act, Role::Main);
            may_leave = Role::Other;
        }
        drawn.offer("leave_readers", Act::LeaveReaders, may_leave)
    }

    fn reader_line(&self, is: &ChosenReader, near: &[&Near]) -> ReaderLine {
        let kept = &self.state.readers;
        let wanted = kept.chosen.as_ref().is_some_and(|c| c.reader == is.reader);
        let heard = near.iter().find(|n| n.is.reader == is.reader);
        let (link, current) = self.reader.current();
        let link = if current == is.reader {
            link
        } else {
            ReaderLink::None
        };
        let state = match (link, heard, is.carrier) {
            (ReaderLink::Connected, ..) => "reader.connected",
            (ReaderLink::Looking, ..) => "reader.looking",
            (ReaderLink::Lost, ..) => "reader.lost",
            (_, Some(_), ReaderCarrier::Serial) => "reader.known_to_phone",
            (_, Some(_), ReaderCarrier::Keys) => "reader.attached",
            (_, Some(_), ReaderCarrier::Ble) => "reader.near",
            _ => "reader.not_near",
        };
        let mut notes = Vec::new();
        if wanted {
            notes.push(Text::of("reader.used_last"));
        }
        notes.push(match kept.profile(&is.reader) {
            Some(profile) => Text::of("reader.sends").word("form", &form_text(profile).key),
            None => Text::of("reader.not_tried"),
        });
        if let Some(dbm) = heard.and_then(|n| n.signal_dbm) {
            notes.push(Text::of(if dbm >= CLOSE_DBM {
                "reader.close"
            } else {
                "reader.further_off"
            }));
        }
        let battery = self.reader.battery(&is.reader);
        if let Some(percent) = battery {
            notes.push(Text::of("reader.battery").count("percent", percent));
        }
        let shown = heard.map_or(&is.name, |n| &n.is.name);
        ReaderLine {
            id: is.reader.clone(),
            name: if shown.is_empty() {
                Text::of("reader.nameless")
            } else {
                Text::of("plain").plain("text", shown.clone())
            },
            carrier: carrier_text(is.carrier),
            state: Text::of(state),
            notes,
            wanted,
            link,
            battery,
            choose: (!wanted).then(|| Act::ChooseReader {
                reader: is.reader.clone(),
            }),
        }
    }

    fn trial(&self) -> ReaderTrial {
        let trial = &self.reader.trial;
        let (_, current) = self.reader.current();
        let kept = self.state.readers.profile(current);
        let known = trial.known();
        let mut drawn = ReaderTrial {
            state: Text::of("trial.read_known"),
            tone: Tone::Care,
            number: None,
            form: None,
            known: known.map(|n| grouped(&n.to_string())),
            choices: Vec::new(),
        };
        match trial.proposal() {
            Proposal::Nothing { refused: 0 } if kept.is_some() => {
                drawn.state = Text::of("trial.ready");
                drawn.tone = Tone::Good;
            }
            Proposal::Nothing { refused: 0 } => {}
            Proposal::Nothing { .. } => {
                drawn.state = Text::of("trial.no_form");
                drawn.tone = Tone::Bad;
            }
            Proposal::ReadAgain { profile, number } => {
                drawn.state = Text::of("trial.read_again");
                drawn.number = Some(grouped(&number.to_string()));
                drawn.form = Some(form_text(&profile));
            }
            Proposal::Fits { profile, number } => {
                let same = kept == Some(profile.as_str());
                drawn.state = Text::of(if same { "trial.works" } else { "trial.fits" });
                drawn.tone = Tone::Good;
                drawn.number = Some(grouped(&number.to_string()));
                drawn.form = Some(form_text(&profile));
            }
            Proposal::Unclear { choices } => {
                drawn.state = Text::of("trial.unclear");
                drawn.choices = self.choices(choices);
            }
            Proposal::NotTheKnownChip { choices } => {
                drawn.state = Text::of("trial.not_known");
                drawn.tone = Tone::Bad;
                drawn.choices = self.choices(choices);
            }
        }
        drawn
    }

    /// Each number once, by the first profile that gave it.
    fn choices(&self, all: Vec<(String, standsquare_chip::ChipNumber)>) -> Vec<TrialChoice> {
        let mut choices: Vec<TrialChoice> = Vec::new();
        for (profile, number) in all {
            let number = number.to_string();
            let shown = grouped(&number);
            if !choices.iter().any(|c| c.number == shown) {
                choices.push(TrialChoice {
                    number: shown,
                    form: form_text(&profile),
                    act: Act::KnownChip { number },
                });
            }
        }
        choices
    }

    /// The way to the readers, where they can be opened: at hand where one is
    /// needed and is not there, else among what is seldom needed.
    pub(super) fn way_to_readers(&self, drawn: Drawn, at_chip: bool) -> Drawn {
        if !crate::decide::may_open_readers(self.state) {
            return drawn;
        }
        let role = if at_chip && self.reader.needs_care() {
            Role::Other
        } else {
            Role::Quiet
        };
        drawn.offer("open_readers", Act::OpenReaders, role)
    }
}
