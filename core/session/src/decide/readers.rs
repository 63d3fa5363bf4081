//! The chip readers: which is used, and which profile a known chip shows.

use super::{Context, Outcome, not_now};
use crate::act::Act;
use crate::state::{ChosenReader, Closing, State, Step};
use crate::view::{Cue, Text, Tone};

use standsquare_chip::{Proposal, parse_printed};
use standsquare_journal::record::fact::Fact;

/// Whether the readers can be opened now: between things, or up to the chip of a
/// dog. From the hoop on, nothing may come between.
pub(crate) fn may_open(state: &State) -> bool {
    if state.readers.open {
        return false;
    }
    let Some(session) = &state.session else {
        return true;
    };
    if session.closing != Closing::Open {
        return false;
    }
    match session.in_hand() {
        None => true,
        Some(visit) => matches!(visit.step(), Step::Papers | Step::Handler | Step::Chip),
    }
}

pub(super) fn decide(c: &mut Context, act: &Act) -> Outcome {
    let open = c.state.readers.open;
    match act {
        Act::ReaderSeen {
            reader,
            name,
            carrier,
            signal_dbm,
        } => {
            let is = ChosenReader {
                reader: reader.clone(),
                name: name.clone(),
                carrier: *carrier,
            };
            c.reader.seen(is, *signal_dbm, c.stamp.at_ms);
            Outcome::default()
        }
        Act::ReaderBattery { reader, percent } => {
            c.reader.battery_told(reader, *percent);
            Outcome::default()
        }
        Act::OpenReaders if may_open(c.state) => {
            begin(c);
            Outcome::fact(Fact::ReadersOpened { open: true })
        }
        Act::LeaveReaders if open => Outcome::fact(Fact::ReadersOpened { open: false }),
        Act::ChooseReader { reader } if open => choose(c, reader),
        Act::TryReaderAgain if open => {
            c.reader.trial.again();
            Outcome::default()
        }
        Act::KnownChip { number } if open => match parse_printed(number) {
            Ok(printed) => {
                c.reader.trial.know(printed.number);
                judged(c, true)
            }
            Err(_) => Outcome::refuse(Text::of("refused.known_chip")),
        },
        Act::KeepReader { profile, number } if open => match c.reader.trial.proposal() {
            Proposal::Fits {
                profile: fits,
                number: read,
            } if fits == *profile && read.to_string() == *number => keep(c, &fits, number),
            _ => Outcome::refuse(Text::of("refused.keep_reader")),
        },
        _ => not_now(),
    }
}

/// Begins a trial of the reader in use.
fn begin(c: &mut Context) {
    let carrier = c.state.readers.chosen.as_ref().map(|r| r.carrier);
    c.reader.trial.begin(carrier);
}

fn choose(c: &mut Context, reader: &str) -> Outcome {
    let told = c.reader.told(reader).map(|n| n.is.clone());
    let paired = c.state.readers.paired.get(reader).map(|p| p.is.clone());
    let Some(is) = told.or(paired) else {
        return Outcome::refuse(Text::of("refused.reader_unknown"));
    };
    c.reader.trial.begin(Some(is.carrier));
    if c.state.readers.chosen.as_ref() == Some(&is) {
        return Outcome::default();
    }
    Outcome::fact(Fact::ReaderChosen {
        reader: is.reader,
        name: is.name,
        carrier: is.carrier.number(),
    })
}

/// Bytes or time came while the readers are on the screen.
pub(super) fn tried(c: &mut Context) -> Outcome {
    let news = c.reader.trial.news();
    judged(c, news)
}

/// What the trial comes to. Where the known chip's number was said beforehand and
/// two reads gave just that, there is nothing left to ask.
fn judged(c: &mut Context, news: bool) -> Outcome {
    match c.reader.trial.proposal() {
        Proposal::Fits { profile, number } if c.reader.trial.known().is_some() => {
            let (_, reader) = c.reader.current();
            if c.state.readers.profile(reader) == Some(profile.as_str()) {
                return heard(news, Cue::ChipMatches);
            }
            keep(c, &profile, &number.to_string())
        }
        Proposal::Fits { .. } | Proposal::ReadAgain { .. } => heard(news, Cue::ChipMatches),
        Proposal::Unclear { .. } | Proposal::NotTheKnownChip { .. } => {
            heard(news, Cue::ChipDiffers)
        }
        Proposal::Nothing { .. } => Outcome::default(),
    }
}

/// A sound, once for each read.
fn heard(news: bool, cue: Cue) -> Outcome {
    if news {
        Outcome::default().play(cue)
    } else {
        Outcome::default()
    }
}

fn keep(c: &mut Context, profile: &str, number: &str) -> Outcome {
    let (_, reader) = c.reader.current();
    let chosen = c.state.readers.chosen.as_ref();
    let carrier = match chosen {
        Some(chosen) if chosen.reader == reader => chosen.carrier,
        _ => c
            .reader
            .told(reader)
            .map_or(crate::act::ReaderCarrier::Ble, |n| n.is.carrier),
    };
    let paired = Fact::ReaderPaired {
        reader: reader.to_owned(),
        name: c.reader.name().to_owned(),
        carrier: carrier.number(),
        profile: profile.to_owned(),
        number: number.to_owned(),
    };
    c.reader.trial.again();
    Outcome::fact(paired)
        .say(Tone::Good, Text::of("notice.reader_kept"))
        .play(Cue::Done)
}
