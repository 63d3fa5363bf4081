//! The whole way: a reader in a process of its own, its bytes over a real
//! carrier, into the core. Over a loopback socket, a pseudo-terminal, a BLE
//! peripheral that notifies and a classic serial port, the latter two in a
//! Bluetooth stack that is all software.
//!
//! The time that the core is told is the test's own: a new read every ten
//! seconds, however fast or slow the machine is. Only where silence itself ends
//! a frame, real silence counts.

use standsquare_chip::{
    ChipNumber, Comparison, Frame, Framer, Framing, Identity, Profile, ReadLog, Refusal, compare,
};
use standsquare_reader::carrier::{Carrier, Event, Kind, RADIO_PACKAGES};
use standsquare_reader::encode::forms;
use standsquare_reader::oracle;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// How long to wait for something that must come. Not a measure of speed.
const PATIENCE: Duration = Duration::from_secs(60);
/// Moments at which the core is asked whether silence has ended a frame.
const MOMENT: Duration = Duration::from_millis(50);

const PIP: &str = "999000000112233";
const MOSS: &str = "999000000445566";
const JUNO: &str = "999000000778899";

fn older(form: &str, name: &str) -> String {
    match form {
        f if f.starts_with("line-legacy-9") => name[6..].to_owned(),
        f if f.starts_with("line-legacy-10") => name[5..].to_owned(),
        _ => name.to_owned(),
    }
}

struct Phone {
    carrier: Carrier,
    framer: Framer,
    /// Everything that one framer gave since the dog was called.
    frames: Vec<Frame>,
    log: ReadLog,
    step: i64,
    since: Instant,
    up: bool,
}

impl Phone {
    fn new(kind: Kind, form: &str, seed: u64) -> Self {
        let binary = Path::new(env!("CARGO_BIN_EXE_standsquare-reader"));
        Self {
            carrier: Carrier::start(kind, binary, form, seed).expect("the reader starts"),
            framer: Framer::new(Profile::builtin(form).expect("a profile")),
            frames: Vec::new(),
            log: ReadLog::new(),
            step: 0,
            since: Instant::now(),
            up: false,
        }
    }

    fn silent_form(&self) -> bool {
        matches!(self.framer.profile().framing, Framing::IdleGap { .. })
    }

    fn moment(&self, at: Instant) -> i64 {
        let real = at.saturating_duration_since(self.since).as_millis() as i64;
        self.step * 10_000 + if self.silent_form() { real } else { 0 }
    }

    fn call_next_dog(&mut self) {
        self.log = ReadLog::new();
        self.frames.clear();
    }

    fn command(&mut self, line: &str) {
        self.step += 1;
        self.since = Instant::now();
        self.carrier.command(line).expect(line);
    }

    /// Takes one event, or a moment of silence.
    fn listen(&mut self) {
        let told = self.carrier.next(MOMENT).expect("the carrier lives");
        let Some((at, event)) = told else {
            let frames = self.framer.tick(self.moment(Instant::now()));
            return self.take(frames);
        };
        let at_ms = self.moment(at);
        let frames = match event {
            Event::Up => {
                self.up = true;
                Vec::new()
            }
            Event::Bytes(bytes) => self.framer.feed(&bytes, at_ms),
            Event::Lost => {
                self.up = false;
                let half = self.framer.link_lost();
                half.map(Frame::Refused).into_iter().collect()
            }
        };
        self.take(frames);
    }

    fn take(&mut self, frames: Vec<Frame>) {
        for frame in frames {
            self.frames.push(frame.clone());
            self.log.take(frame);
        }
    }

    fn until(&mut self, what: &str, done: impl Fn(&Self) -> bool) {
        let begun = Instant::now();
        while !done(self) {
            assert!(begun.elapsed() < PATIENCE, "waiting for: {what}");
            self.listen();
        }
    }

    fn connect(&mut self) {
        self.carrier
            .connect()
            .expect("the reader takes connections");
        self.until("the link", |p| p.up);
    }

    /// Holds a chip to the reader until it is read, as a person would.
    fn read(&mut self, number: &str) {
        let wanted: ChipNumber = number.parse().expect("a number");
        let heard = |p: &Self| {
            let entry = p.log.heard().iter().find(|h| h.number == wanted);
            entry.map_or(0, |h| h.separate)
        };
        let before = heard(self);
        for _ in 0..5 {
            self.command(&format!("present {number}"));
            let begun = Instant::now();
            // A loaded machine may fall silent in the middle of a frame that
            // ends by silence; then a person scans again.
            let patience = if self.silent_form() {
                Duration::from_secs(5)
            } else {
                PATIENCE
            };
            while heard(self) == before && begun.elapsed() < patience {
                self.listen();
            }
            if heard(self) > before {
                return;
            }
        }
        panic!("{number} was never read; frames: {:?}", self.frames);
    }

    /// Reads until the number counts: once with a check, twice without.
    fn identify(&mut self, number: &str) {
        let known = |p: &Self| match p.log.identity() {
            Identity::Known { number, .. } => Some(number.to_string()),
            Identity::NeedsSecondRead { .. } => None,
            other => panic!("{other:?} from {:?}", p.frames),
        };
        self.read(number);
        if known(self).is_none() {
            self.read(number);
        }
        assert_eq!(known(self).as_deref(), Some(number));
        let outcome = self.log.outcome().expect("a number that counts");
        assert_eq!(compare(number, &outcome), Comparison::Equal);
    }
}

/// Three dogs: one read; one whose reader drops the link half way through; one
/// before which the reader vanishes and comes back.
fn three_dogs(kind: Kind, form: &str, seed: u64) {
    let refuses = matches!(kind, Kind::Socket);
    let (pip, moss, juno) = (older(form, PIP), older(form, MOSS), older(form, JUNO));
    let mut phone = Phone::new(kind, form, seed);
    phone.connect();

    phone.identify(&pip);
    for _ in 0..3 {
        phone.command("noise");
    }

    phone.command(&format!("half {moss}"));
    phone.until("the link's end", |p| !p.up);
    let last = phone.frames.last();
    let refused = matches!(last, Some(Frame::Refused(r)) if r.reason == Refusal::Truncated);
    assert!(refused || phone.silent_form(), "{form}: {last:?}");
    let heard: Vec<String> = phone
        .log
        .heard()
        .iter()
        .map(|h| h.number.to_string())
        .collect();
    assert_eq!(heard, [pip.as_str()], "{form}: half a number is none");
    phone.call_next_dog();
    phone.connect();
    phone.identify(&moss);

    phone.command("vanish");
    phone.until("the link's end", |p| !p.up);
    phone.call_next_dog();
    if refuses {
        assert!(phone.carrier.connect().is_err(), "it has vanished");
    }
    phone.command("return");
    phone.connect();
    phone.identify(&juno);
    // The wrong dog's chip on top: both numbers are kept, and it is asked.
    phone.read(&pip);
    assert!(matches!(phone.log.identity(), Identity::TwoNumbers { .. }));
}

#[test]
fn over_a_socket_in_every_form() {
    for (i, form) in forms().iter().enumerate() {
        three_dogs(Kind::Socket, form, i as u64);
    }
}

#[test]
fn over_a_pseudo_terminal() {
    for (i, form) in ["stx-etx-wl30", "line-15", "stx-etx-hex14", "line-hex16"]
        .iter()
        .enumerate()
    {
        three_dogs(Kind::Pty, form, 100 + i as u64);
    }
}

fn radio_python() -> Option<PathBuf> {
    oracle::python(env!("CARGO_TARGET_TMPDIR"), "radio", &RADIO_PACKAGES)
        .unwrap_or_else(|help| panic!("{help}"))
}

#[test]
fn over_the_radio() {
    let Some(python) = radio_python() else { return };
    for (i, form) in ["stx-etx-wl30", "line-15"].iter().enumerate() {
        let seed = 200 + i as u64;
        let ble = |swapped| Kind::Ble {
            python: python.clone(),
            swapped,
        };
        // Either characteristic may be the one that notifies.
        three_dogs(ble(false), form, seed);
        three_dogs(ble(true), form, seed);
        let rfcomm = Kind::Rfcomm {
            python: python.clone(),
        };
        three_dogs(rfcomm, form, seed);
    }
}
