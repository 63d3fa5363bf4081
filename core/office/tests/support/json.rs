//! A return as an ordinary service would take it: JSON, gzip'd. What our own form is
//! measured against.

use base64::Engine as _;
use base64::prelude::BASE64_STANDARD;
use flate2::Compression;
use flate2::write::GzEncoder;
use serde_json::{Value, json};
use standsquare_journal::record::fact::{Fact, Outcome, Statement};
use standsquare_journal::record::{Event, chain, genesis};
use standsquare_sync::Frame;
use std::io::Write;

/// What stands in it beside the facts.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Every fact, the signatures of both measurers and of the device, and one head a dog:
    /// nothing that the office could work out itself.
    Lean,
    /// As a log of chained events goes out elsewhere: each with its hash and the one before.
    Chained,
}

fn bytes(bytes: &[u8]) -> String {
    BASE64_STANDARD.encode(bytes)
}

/// All frames but the first `skipped`, gzip'd at the highest level.
pub fn gzipped(frames: &[Vec<u8>], skipped: usize, form: Form) -> Vec<u8> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder
        .write_all(&text(frames, skipped, form))
        .expect("in memory");
    encoder.finish().expect("in memory")
}

/// The JSON text.
fn text(frames: &[Vec<u8>], skipped: usize, form: Form) -> Vec<u8> {
    let mut head = genesis();
    let mut runs = Vec::new();
    let mut named = Value::Null;
    for (n, frame) in frames.iter().enumerate() {
        let frame = Frame::decode_strict(frame).expect("a frame");
        let mut events = Vec::new();
        for event in &frame.events {
            let before = head;
            head = chain(&head, event);
            let event = Event::decode_strict(event).expect("an event");
            let mut said = content(&event.fact);
            said["at"] = event.at_ms.into();
            if form == Form::Chained {
                said["before"] = bytes(&before).into();
                said["hash"] = bytes(&head).into();
            } else if let Fact::Sealed { head, .. } = &event.fact {
                said["head"] = bytes(&head[..]).into();
            }
            events.push(said);
        }
        if n >= skipped {
            runs.push(json!({ "from": frame.from_seq, "events": events }));
        }
        named = json!({ "device": bytes(&frame.device_key), "journal": bytes(&frame.journal) });
    }
    named["runs"] = runs.into();
    serde_json::to_vec(&named).expect("JSON")
}

fn content(fact: &Fact) -> Value {
    match fact {
        Fact::DogCalled {
            visit,
            dog,
            subject,
            commitment,
        } => json!({
            "is": "dog_called", "visit": visit, "dog": dog,
            "subject": bytes(&subject[..]), "commitment": bytes(&commitment[..]),
        }),
        Fact::BookAccepted { visit, measure } => {
            json!({ "is": "book_accepted", "visit": visit, "measure": measure })
        }
        Fact::HandlerAccepted { visit } => json!({ "is": "handler_accepted", "visit": visit }),
        Fact::ChipAccepted { visit, proof } => {
            json!({ "is": "chip_accepted", "visit": visit, "proof": format!("{proof:?}") })
        }
        Fact::Settled { visit } => json!({ "is": "settled", "visit": visit }),
        Fact::StoodSquare { visit } => json!({ "is": "stood_square", "visit": visit }),
        Fact::Placed { visit, hoop, seen } => {
            json!({ "is": "placed", "visit": visit, "hoop": hoop, "seen": format!("{seen:?}") })
        }
        Fact::Stated { statement } => {
            let s = Statement::decode_strict(statement).expect("a statement");
            json!({ "is": "stated", "statement": stated(&s) })
        }
        Fact::Signed {
            visit,
            person,
            alg,
            signature,
            ..
        } => json!({
            "is": "signed", "visit": visit, "person": person, "alg": alg,
            "signature": bytes(&signature[..]),
        }),
        Fact::BookWritten { visit } => json!({ "is": "book_written", "visit": visit }),
        Fact::HandlerTold { visit } => json!({ "is": "handler_told", "visit": visit }),
        Fact::Sealed {
            why,
            alg,
            signature,
            ..
        } => json!({
            "is": "sealed", "why": why, "alg": alg, "signature": bytes(&signature[..]),
        }),
        // Of the set-up, which is in no figure of a dog.
        other => json!({ "is": format!("{other:?}") }),
    }
}

fn stated(s: &Statement) -> Value {
    let outcome = match &s.outcome {
        Outcome::Category { id, label } => json!({ "category": id, "label": label }),
        Outcome::NotToday { reason } => json!({ "not_today": reason }),
        Outcome::Referred { reason } => json!({ "referred": reason }),
    };
    let placings = s.placings.iter();
    let placings = placings.map(|p| json!({ "hoop": p.hoop, "seen": format!("{:?}", p.seen) }));
    json!({
        "session": bytes(&s.session[..]), "visit": s.visit, "dog": s.dog, "chip": s.chip,
        "proof": format!("{:?}", s.proof), "chip_read": s.chip_read, "pack": s.pack,
        "edition": s.edition, "day": s.day, "outcome": outcome, "over_um": s.over_um,
        "within_um": s.within_um, "measure": s.measure, "status": s.status, "flags": s.flags,
        "placings": placings.collect::<Vec<_>>(), "window_from": s.window_from,
        "window_to": s.window_to, "measurers": s.measurers, "status_until": s.status_until,
        "demo": s.demo,
    })
}
