//! The demo session over every carrier that the emulated reader has: a loopback
//! socket, a pseudo-terminal, BLE and a classic serial port in a software radio.
//! The bytes come as the carrier cut them, with its noise and repetitions; a
//! number is presented again where the reader vanished half way through one.

use standsquare_reader::carrier::{Carrier, Event, Kind, RADIO_PACKAGES};
use standsquare_reader::encode::DEFAULT_FORM;
use standsquare_reader::oracle;
use standsquare_session::Act;
use standsquare_session::act::ReaderLink;
use standsquare_tests::{Table, demo};
use std::cell::RefCell;
use std::time::{Duration, Instant};

/// How long to wait for something that must come. Not a measure of speed.
const PATIENCE: Duration = Duration::from_secs(60);

thread_local! {
    /// The carrier of the test that runs on this thread: a scan is a plain
    /// function, as the recorded sessions want it.
    static CARRIER: RefCell<Option<Carrier>> = const { RefCell::new(None) };
}

/// Hands everything that the radio layer tells to the session until `done`.
fn listen(t: &mut Table, carrier: &mut Carrier, done: impl Fn(&Table, &Event) -> bool) {
    let begun = Instant::now();
    loop {
        assert!(begun.elapsed() < PATIENCE, "nothing more came");
        let told = carrier
            .next(Duration::from_millis(50))
            .expect("the carrier lives");
        let Some((_, event)) = told else { continue };
        let link = |link| Act::ReaderLink {
            link,
            name: "Table reader".into(),
            reader: String::new(),
        };
        t.act(match &event {
            Event::Up => link(ReaderLink::Connected),
            Event::Bytes(bytes) => Act::ReaderBytes {
                bytes: bytes.clone(),
            },
            Event::Lost => link(ReaderLink::Lost),
        });
        if done(t, &event) {
            return;
        }
    }
}

fn matched(t: &Table) -> bool {
    t.view()
        .offers
        .iter()
        .any(|o| o.id == "settled" && o.allowed)
        || t.view()
            .offers
            .iter()
            .any(|o| o.id == "not_today" && t.notice() == "notice.chip_matches")
}

/// Half a number and a lost link; then the whole number; then the reader is away.
fn scan(t: &mut Table, chip: &str) {
    CARRIER.with_borrow_mut(|slot| {
        let carrier = slot.as_mut().expect("a carrier");
        t.wait(10_000);
        carrier.command(&format!("half {chip}")).expect("half");
        listen(t, carrier, |_, e| *e == Event::Lost);
        assert!(!matched(t), "half a number was taken");
        carrier.connect().expect("it takes connections");
        listen(t, carrier, |_, e| *e == Event::Up);
        t.wait(10_000);
        carrier
            .command(&format!("present {chip}"))
            .expect("present");
        listen(t, carrier, |t, _| matched(t));
        // The reader sleeps until the next dog: what it repeated of this number
        // has come by then.
        carrier.command("vanish").expect("vanish");
        listen(t, carrier, |_, e| *e == Event::Lost);
        carrier.command("return").expect("return");
        carrier.connect().expect("it takes connections");
        listen(t, carrier, |_, e| *e == Event::Up);
    });
}

fn the_demo_over(kind: Kind, seed: u64) {
    let mut carrier = Carrier::inside(kind, DEFAULT_FORM, seed).expect("the reader starts");
    carrier.connect().expect("it takes connections");
    let begun = Instant::now();
    while !matches!(
        carrier.next(Duration::from_millis(50)),
        Ok(Some((_, Event::Up)))
    ) {
        assert!(begun.elapsed() < PATIENCE, "no link");
    }
    CARRIER.set(Some(carrier));
    let mut t = Table::new("");
    demo::whole_with(&mut t, scan);
    CARRIER.set(None);
    let mut plain = Table::new("");
    demo::whole(&mut plain);
    let told = |t: &Table| -> serde_json::Value {
        let json: serde_json::Value =
            serde_json::from_str(&t.phone().session_json()).expect("JSON");
        let dogs = json["dogs"].as_array().expect("dogs");
        dogs.iter()
            .map(|d| serde_json::json!([d["name"], d["chip"], d["category"], d["not_today"]]))
            .collect()
    };
    assert_eq!(told(&t), told(&plain));
    assert_eq!(t.view().outbox.waiting, 0);
}

#[test]
fn over_a_socket() {
    the_demo_over(Kind::Socket, 1);
}

#[test]
fn over_a_pseudo_terminal() {
    the_demo_over(Kind::Pty, 2);
}

#[test]
fn over_the_radio() {
    let made = oracle::python(env!("CARGO_TARGET_TMPDIR"), "radio", &RADIO_PACKAGES);
    let Some(python) = made.unwrap_or_else(|help| panic!("{help}")) else {
        return;
    };
    the_demo_over(
        Kind::Ble {
            python: python.clone(),
            swapped: true,
        },
        3,
    );
    the_demo_over(Kind::Rfcomm { python }, 4);
}
