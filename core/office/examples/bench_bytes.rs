//! `sync.bytes`: a compressed post of 60 dogs with two sign-offs each, against the same
//! content as JSON, gzip'd: hashes and a signature with every event, as a service that
//! posts signed events one by one in JSON would have it. At most 0.8; the bytes a dog
//! go to standard error (goal: 400).

#[path = "../tests/support/mod.rs"]
mod support;

use flate2::Compression;
use flate2::write::GzEncoder;
use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::{Event, chain, genesis};
use standsquare_sync::{Frame, compressed_body, post_body};
use std::io::Write;
use support::Pen;

fn main() {
    let mut pen = Pen::new(1);
    pen.set_up();
    pen.seal();
    let mut random = 7;
    for visit in 1..=60 {
        pen.routine_dog(visit, &mut random);
    }
    let dogs = &pen.frames[1..];
    let ours = compressed_body(dogs).len();
    let plain = post_body(dogs).len();
    let json = gzip(&as_json(&pen));
    let ratio = ours as f64 / json as f64;
    eprintln!(
        "a dog: {} bytes compressed, {} plain, {} as gzip'd JSON",
        ours / 60,
        plain / 60,
        json / 60
    );
    let verdict = if ratio <= 0.8 { "ok" } else { "short" };
    println!("sync.bytes {ratio:.2} <=0.8 {verdict}");
}

/// Each event with its hash, the hash before it, and its content spelled out.
fn as_json(pen: &Pen) -> Vec<u8> {
    let mut head = genesis();
    let mut lines = Vec::new();
    for bytes in &pen.frames {
        let frame = Frame::decode_strict(bytes).expect("a frame");
        for event in &frame.events {
            let before = head;
            head = chain(&head, event);
            if frame.from_seq == 1 {
                continue; // the set-up is in neither figure
            }
            let event = Event::decode_strict(event).expect("an event");
            let signature = match &event.fact {
                Fact::Signed { signature, .. } | Fact::Sealed { signature, .. } => {
                    hex::encode(&signature[..])
                }
                _ => String::new(),
            };
            lines.push(serde_json::json!({
                "prev": hex::encode(before),
                "hash": hex::encode(head),
                "at_ms": event.at_ms,
                "signature": signature,
                "fact": content(&event.fact),
            }));
        }
    }
    serde_json::to_vec(&lines).expect("JSON")
}

/// The fact's own content, without its hashes and signatures (they stand beside it).
fn content(fact: &Fact) -> serde_json::Value {
    match fact {
        Fact::Signed { visit, person, .. } => {
            serde_json::json!({ "kind": "signed", "visit": visit, "person": person })
        }
        Fact::Sealed { why, .. } => serde_json::json!({ "kind": "sealed", "why": why }),
        Fact::DogCalled {
            visit,
            dog,
            subject,
            commitment,
        } => serde_json::json!({
            "kind": "dog_called", "visit": visit, "dog": dog,
            "subject": hex::encode(&subject[..]), "commitment": hex::encode(&commitment[..]),
        }),
        Fact::Stated { statement } => {
            let s = standsquare_journal::record::fact::Statement::decode_strict(statement)
                .expect("a statement");
            serde_json::json!({
                "kind": "stated", "visit": s.visit, "dog": s.dog, "chip": s.chip,
                "pack": s.pack, "edition": s.edition, "day": s.day, "measure": s.measure,
                "status": s.status, "flags": s.flags, "measurers": s.measurers,
                "within_um": s.within_um, "over_um": s.over_um,
                "window_from": s.window_from, "window_to": s.window_to,
                "session": hex::encode(&s.session[..]),
            })
        }
        other => serde_json::json!({ "kind": format!("{other:?}") }),
    }
}

fn gzip(bytes: &[u8]) -> usize {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(bytes).expect("in memory");
    encoder.finish().expect("in memory").len()
}
