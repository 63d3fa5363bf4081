//! A phone at the table with the world around it: an office in the same process,
//! a reader's bytes, a clock that only moves when something happens.

use std::path::Path;

use standsquare_journal::record::ChainCheck;
use standsquare_journal::record::fact::Fact;
use standsquare_journal::store::{Journal, Opening};
use standsquare_office::OfficeState;
use standsquare_reader::encode::frame30;
use standsquare_session::act::{ReaderCarrier, ReaderLink};
use standsquare_session::view::{Effect, Offer, Screen};
use standsquare_session::{Act, Answer, JOURNAL_FILE, Phone, RecordedStep, Recording, Stamp, View};
use standsquare_sync::log::Ask;
use tempfile::TempDir;

/// 2026-11-25T09:00:00Z, a Wednesday: when every scripted session begins.
const BEGIN_MS: i64 = 1_795_597_200_000;

/// A phone, driven as a screen drives it, recording what is done.
pub struct Table {
    dir: TempDir,
    phone: Option<Phone>,
    /// The office it sends to.
    pub office: OfficeState,
    view: View,
    effects: Vec<Effect>,
    at_ms: i64,
    count: u64,
    secret: [u8; 32],
    recording: Recording,
    kill_each: bool,
}

impl Table {
    /// A new phone in a folder of its own.
    pub fn new(about: &str) -> Self {
        Table::with_secret(about, [7; 32])
    }

    /// A new phone with this secret: another one than [`Table::new`]'s.
    pub fn with_secret(about: &str, secret: [u8; 32]) -> Self {
        let dir = TempDir::new().expect("a temporary folder");
        Table::in_folder(about, dir, secret)
    }

    /// A phone with this secret, in a folder that may hold a journal already.
    pub fn in_folder(about: &str, dir: TempDir, secret: [u8; 32]) -> Self {
        let office = standsquare_office::demo::in_memory();
        let mut table = Table {
            dir,
            phone: None,
            office,
            view: empty_view(),
            effects: Vec::new(),
            at_ms: BEGIN_MS,
            // Another phone rolls other dice.
            count: u64::from(secret[0].wrapping_sub(7)) << 32,
            secret,
            recording: Recording {
                about: about.into(),
                device_secret: secret.to_vec(),
                opened: Stamp {
                    at_ms: BEGIN_MS,
                    offset_min: 60,
                    entropy: Vec::new(),
                },
                steps: Vec::new(),
            },
            kill_each: false,
        };
        let stamp = table.stamp();
        table.recording.opened = stamp.clone();
        table.open(&stamp);
        table
    }

    fn stamp(&mut self) -> Stamp {
        self.count += 1;
        self.at_ms += 1_500;
        let mut entropy = vec![0; 32];
        entropy[..8].copy_from_slice(&self.count.to_be_bytes());
        Stamp {
            at_ms: self.at_ms,
            offset_min: 60,
            entropy,
        }
    }

    fn open(&mut self, stamp: &Stamp) {
        let phone = Phone::open(self.dir.path(), self.secret, stamp).expect("the phone opens");
        self.view = phone.view();
        self.phone = Some(phone);
    }

    /// The folder of the phone.
    pub fn dir(&self) -> &Path {
        self.dir.path()
    }

    /// From now on the phone is dropped and opened again after every act, and the
    /// view must come back the same but for what only the moment knew.
    pub fn kill_after_every_act(&mut self) {
        self.kill_each = true;
    }

    fn kill_and_compare(&mut self) {
        let before = lasting(&self.view);
        let reader = self.view.reader.clone();
        self.kill_and_reopen();
        assert_eq!(
            lasting(&self.view),
            before,
            "the view is another one after a kill"
        );
        // The radio comes back by itself, as it does on a phone.
        let stamp = Stamp {
            at_ms: self.at_ms,
            offset_min: 60,
            entropy: vec![8; 32],
        };
        let act = Act::ReaderLink {
            link: reader.link,
            name: reader.name,
            reader: String::new(),
        };
        let seen = self.view.revision;
        let phone = self.phone.as_mut().expect("the phone is open");
        self.view = phone
            .apply(&act, seen, &stamp)
            .expect("the record holds")
            .view;
    }

    /// Drops the phone without any goodbye and opens it again: what is on the disk
    /// is all there is.
    pub fn kill_and_reopen(&mut self) {
        self.phone = None;
        let stamp = Stamp {
            at_ms: self.at_ms,
            offset_min: 60,
            entropy: vec![9; 32],
        };
        self.open(&stamp);
    }

    /// Lets the phone go, writes into its journal, and opens the phone again.
    pub fn with_journal(&mut self, write: impl FnOnce(&mut Journal, i64)) {
        self.phone = None;
        let opening = Opening {
            device_secret: self.secret,
            at_ms: self.at_ms,
            entropy: [9; 32],
            software: "standsquare test",
        };
        let path = self.dir.path().join(JOURNAL_FILE);
        let mut journal = Journal::open(&path, opening).expect("opens");
        write(&mut journal, self.at_ms);
        drop(journal);
        self.kill_and_reopen();
    }

    /// The phone.
    pub fn phone(&self) -> &Phone {
        self.phone.as_ref().expect("the phone is open")
    }

    /// What is on the glass.
    pub fn view(&self) -> &View {
        &self.view
    }

    /// What the last act asked the platform to do.
    pub fn effects(&self) -> &[Effect] {
        &self.effects
    }

    /// The phone's clock at the last act, Unix milliseconds.
    pub fn now_ms(&self) -> i64 {
        self.at_ms
    }

    /// Lets time pass, milliseconds.
    pub fn wait(&mut self, ms: i64) {
        self.at_ms += ms;
    }

    /// Does an act on the view that is on the glass.
    pub fn act(&mut self, act: Act) -> &View {
        let seen = self.view.revision;
        self.act_seen(act, seen)
    }

    /// Does an act on an older view, as a second tap does.
    pub fn act_seen(&mut self, act: Act, seen: i64) -> &View {
        let stamp = self.stamp();
        self.recording.steps.push(RecordedStep {
            act: act.clone(),
            stamp: stamp.clone(),
        });
        let phone = self.phone.as_mut().expect("the phone is open");
        let Answer { view, effects } = phone.apply(&act, seen, &stamp).expect("the record holds");
        self.view = view;
        self.effects = effects;
        if self.kill_each {
            self.kill_and_compare();
        }
        &self.view
    }

    /// The offer of this id.
    ///
    /// # Panics
    /// If the screen does not offer it.
    pub fn offer(&self, id: &str) -> Offer {
        self.view
            .offers
            .iter()
            .find(|o| o.id == id)
            .cloned()
            .unwrap_or_else(|| {
                let there: Vec<_> = self.view.offers.iter().map(|o| o.id.as_str()).collect();
                panic!(
                    "'{id}' is not offered on {:?}; there are {there:?}",
                    self.view.title.key
                )
            })
    }

    /// Taps the button of this id.
    pub fn tap(&mut self, id: &str) -> &View {
        let act = self.offer(id).act;
        self.act(act)
    }

    /// The key of the last notice; empty without one.
    pub fn notice(&self) -> &str {
        self.view
            .notice
            .as_ref()
            .map_or("", |n| n.text.key.as_str())
    }

    /// The key of the title.
    pub fn title(&self) -> &str {
        &self.view.title.key
    }

    /// The reader is there.
    pub fn reader_connects(&mut self) {
        self.act(Act::ReaderLink {
            link: ReaderLink::Connected,
            name: "Table reader".into(),
            reader: String::new(),
        });
    }

    /// The reader sends this number, cut into pieces with noise before it.
    pub fn scan(&mut self, chip: &str) -> &View {
        self.wait(3_000);
        let frame = frame30(chip).expect("a chip number");
        self.act(Act::ReaderBytes {
            bytes: b"\r\n#\x00".to_vec(),
        });
        for piece in frame.chunks(7) {
            self.act(Act::ReaderBytes {
                bytes: piece.to_vec(),
            });
        }
        &self.view
    }

    /// The reader sends this number in this form, in one piece, and time passes
    /// until a reader without a terminator is understood.
    pub fn scan_in(&mut self, form: &str, chip: &str) -> &View {
        self.wait(3_000);
        let bytes = standsquare_reader::encode::encode(form, chip).expect("a frame");
        self.act(Act::ReaderBytes { bytes });
        self.act(Act::Tick)
    }

    /// The radio hears this reader.
    pub fn hears(&mut self, reader: &str, name: &str, carrier: ReaderCarrier, dbm: Option<i32>) {
        self.act(Act::ReaderSeen {
            reader: reader.into(),
            name: name.into(),
            carrier,
            signal_dbm: dbm,
        });
    }

    /// The link to this reader stands, or not.
    pub fn link_to(&mut self, reader: &str, link: ReaderLink) {
        self.act(Act::ReaderLink {
            link,
            name: String::new(),
            reader: reader.into(),
        });
    }

    /// The reader sends this number in one piece.
    pub fn scan_at_once(&mut self, chip: &str) -> &View {
        self.wait(3_000);
        let bytes = frame30(chip).expect("a chip number");
        self.act(Act::ReaderBytes { bytes })
    }

    /// The reader breaks off in the middle of a number.
    pub fn scan_half(&mut self, chip: &str) -> &View {
        let frame = frame30(chip).expect("a chip number");
        self.act(Act::ReaderBytes {
            bytes: frame[..17].to_vec(),
        });
        self.act(Act::ReaderLink {
            link: ReaderLink::Lost,
            name: String::new(),
            reader: String::new(),
        })
    }

    /// What the last act asked of the office at this path: the request's name and body.
    pub fn asked(&self, at: &str) -> Option<(String, Vec<u8>)> {
        self.effects.iter().find_map(|effect| match effect {
            Effect::AskOffice {
                request,
                path,
                body,
                ..
            } if path == at => Some((request.clone(), body.clone())),
            _ => None,
        })
    }

    /// Time passes until the office's log is asked, and it answers.
    pub fn log_answers(&mut self) -> &View {
        assert!(self.log_answers_if_asked(), "nothing was asked of the log");
        &self.view
    }

    /// The same, where there is anything to ask; whether there was.
    pub fn log_answers_if_asked(&mut self) -> bool {
        self.wait(2_000);
        self.act(Act::Tick);
        let Some((request, body)) = self.asked("/v1/log") else {
            return false;
        };
        self.log_answers_this(request, &body);
        true
    }

    /// Answers this question to the office's log.
    pub fn log_answers_this(&mut self, request: String, body: &[u8]) {
        self.office.extend_log().expect("the log grows");
        let ask = Ask::decode_strict(body).expect("a question");
        let body = self.office.ask_log(&ask).expect("an answer").encode();
        self.act(Act::OfficeAnswer {
            request,
            status: 200,
            body,
        });
    }

    /// Carries the last request to the office and its answer back.
    pub fn office_answers(&mut self) -> &View {
        let Some((request, body)) = self.asked("/v1/frames") else {
            panic!("nothing was asked of the office: {:?}", self.effects)
        };
        let receipt = self
            .office
            .ingest(&body, self.at_ms)
            .expect("the office takes it in");
        self.act(Act::OfficeAnswer {
            request,
            status: 200,
            body: receipt,
        })
    }

    /// Both measurers sign what is on the glass.
    pub fn both_sign(&mut self) {
        for (person, pin) in crate::demo::PINS {
            self.act(Act::Sign {
                person: person.into(),
                pin: pin.into(),
            });
        }
    }

    /// `session.json` as it stands.
    ///
    /// # Panics
    /// It is no JSON.
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.phone().session_json()).expect("JSON")
    }

    /// Every fact of the journal.
    ///
    /// # Panics
    /// An event does not follow the one before it, or a signature does not hold.
    pub fn whole(&self) -> Vec<Fact> {
        let mut check = ChainCheck::new();
        let events = self.phone().journal().events().expect("reads");
        let facts = events.into_iter().map(|event| {
            check.feed(&event.bytes).expect("holds");
            event.fact
        });
        facts.collect()
    }

    /// Which screen is on the glass, by its JSON name.
    pub fn screen(&self) -> String {
        screen_name(&self.view.screen)
    }

    /// Everything done so far.
    pub fn recording(&self) -> &Recording {
        &self.recording
    }
}

/// A screen's JSON name.
pub fn screen_name(screen: &Screen) -> String {
    serde_json::to_value(screen)
        .ok()
        .and_then(|v| v["screen"].as_str().map(str::to_owned))
        .unwrap_or_default()
}

/// A view without what is not kept over a restart: the passing notice, how the
/// radio stands, and what the chip screen says of the radio.
pub fn lasting(view: &View) -> serde_json::Value {
    let mut json = serde_json::to_value(view).expect("a view is JSON");
    json["notice"] = serde_json::Value::Null;
    json["reader"] = serde_json::Value::Null;
    if let Some(chip) = json.pointer_mut("/screen/chip/state") {
        *chip = serde_json::Value::Null;
    }
    // Whether a reader is at hand decides how much weight the way to the readers has.
    for offer in json["offers"].as_array_mut().into_iter().flatten() {
        if offer["id"] == "open_readers" {
            offer["role"] = serde_json::Value::Null;
        }
    }
    // On the readers' screen itself all but the screen is of the moment.
    if let Some(readers) = json.pointer_mut("/screen/readers") {
        *readers = serde_json::Value::Null;
        json["offers"] = serde_json::Value::Null;
    }
    json
}

fn empty_view() -> View {
    serde_json::from_str(
        r#"{"revision":0,"demo":false,"league":"","title":{"key":"","args":[]},"dog":null,
        "screen":{"screen":"home","home":{"roster":false,"sessions":[]}},"offers":[],"notice":null,
        "cautions":[],"reader":{"link":"none","name":"","battery":null,"wanted":null,"look":false},
        "outbox":{"waiting":0,"text":{"key":"","args":[]}}}"#,
    )
    .expect("an empty view")
}
