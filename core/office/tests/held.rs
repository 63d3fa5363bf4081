//! Every form that ever landed between a phone and an office, read with today's code; see
//! `core/sync/tests/held/README.md`.

mod support;

use std::collections::BTreeSet;
use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Stdio};

use standsquare_journal::record::chain;
use standsquare_measuring::RulePack;
use standsquare_office::demo;
use standsquare_sync::log::{Ask, Bundle, Checkpoint, origin};
use standsquare_sync::packets::{Flight, Landing};
use standsquare_sync::roster::Roster;
use standsquare_sync::{
    Limits, Receipt, compressed_body, frame_id, frames_of, lean_body, post_body, stretch_body,
};
use support::*;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../sync/tests/held")
}

fn read(name: &str) -> Vec<u8> {
    let path = folder().join(name);
    std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

fn ids_in(name: &str) -> Vec<[u8; 32]> {
    let text = String::from_utf8(read(name)).expect("text");
    let id = |line: &str| {
        let mut id = [0; 32];
        hex::decode_to_slice(line, &mut id).expect("an id");
        id
    };
    text.lines().map(id).collect()
}

/// What the phone of the held packets drew, and the office that they went to: neither is of use.
const PHONE: [u8; 32] = [7; 32];
const SEED: [u8; 32] = [9; 32];

fn flight(body: &[u8]) -> Flight {
    let key = demo::demo_only_key().verifying_key().to_bytes();
    Flight::new(body, &key, PHONE, 0).expect("short enough")
}

/// A post in packets, and what the office sends back.
fn in_packets(body: &[u8]) -> (Vec<Vec<u8>>, Vec<Vec<u8>>) {
    let mut flight = flight(body);
    let there: Vec<_> = [0, 15].iter().flat_map(|at| flight.wake(*at)).collect();
    (there.clone(), landed(&there).1)
}

/// These packets at the office: the post, and what is said of it and answered.
fn landed(there: &[Vec<u8>]) -> (Vec<u8>, Vec<Vec<u8>>) {
    let mut landing = Landing::new(&demo::demo_only_key(), SEED);
    let (last, before) = there.split_last().expect("packets");
    assert!(before.iter().all(|p| landing.take(p, (), 0).is_none()));
    let mut back = landing.due(10);
    let whole = landing.take(last, (), 11).expect("all of it");
    let receipt = office().ingest(&whole.body, BEGIN_MS).expect("taken in");
    landing.answer(&whole.post, 200, &receipt, 12);
    back.extend(landing.due(12));
    (whole.body, back.into_iter().map(|((), p)| p).collect())
}

fn of_packets(packets: &[Vec<u8>]) -> Vec<u8> {
    let lines: String = packets.iter().map(|p| hex::encode(p) + "\n").collect();
    lines.into_bytes()
}

fn packets_in(name: &str) -> Vec<Vec<u8>> {
    let text = String::from_utf8(read(name)).expect("text");
    text.lines().map(|l| hex::decode(l).expect("hex")).collect()
}

/// Another language (`core/sync/tests/oracles/packets.py`), reading only what is published, finds
/// the same post and the same answer in them.
#[test]
fn held_packets_say_the_same_to_a_second_language() {
    if on_postgres() {
        return;
    }
    let scratch = env!("CARGO_TARGET_TMPDIR");
    let python = standsquare_reader::oracle::python(scratch, "packets", &["cryptography==50.0.2"]);
    let Some(python) = python.unwrap_or_else(|help| panic!("{help}")) else {
        return;
    };
    let lines = [read("packets-1-there.txt"), read("packets-1-back.txt")].concat();
    let mut child = Command::new(python)
        .arg(folder().join("../oracles/packets.py"))
        .arg(hex::encode(demo::demo_only_key().to_bytes()))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("it starts");
    let mut stdin = child.stdin.take().expect("a pipe");
    stdin.write_all(&lines).expect("read");
    drop(stdin);
    let out = child.wait_with_output().expect("it ends");
    let said = String::from_utf8(out.stdout).expect("text");
    let (post, back) = landed(&packets_in("packets-1-there.txt"));
    let mut flight = flight(&post);
    flight.wake(0);
    flight.wake(15);
    let answer = back
        .iter()
        .find_map(|p| flight.heard(p, 20))
        .expect("an answer");
    let ours = format!(
        "{}\n{} {}\n",
        hex::encode(post),
        answer.0,
        hex::encode(answer.1)
    );
    assert_eq!(said, ours);
}

/// Today's forms, by name.
fn made() -> Vec<(&'static str, Vec<u8>)> {
    let office = office();
    let frames = two_dogs(1).frames;
    let ids: Vec<[u8; 32]> = frames.iter().map(|f| frame_id(f)).collect();
    let post = post_body(&frames);
    let receipt = office.ingest(&post, BEGIN_MS).expect("taken in");
    office.extend_log().expect("logged");
    let ask = Ask {
        seen: 0,
        frames: ids.clone(),
    };
    let answer = office.ask_log(&ask).expect("answered");
    let lines =
        |ids: &[[u8; 32]]| -> String { ids.iter().map(|id| hex::encode(id) + "\n").collect() };
    let day = Pen::day(1, 12).frames;
    let of_day: Vec<_> = day.iter().map(|f| frame_id(f)).collect();
    let (there, back) = in_packets(&stretch_body(&day, 5, chain));
    vec![
        ("packets-1-there.txt", of_packets(&there)),
        ("packets-1-back.txt", of_packets(&back)),
        ("frames-1.txt", lines(&ids).into_bytes()),
        ("frames-1-stretch.txt", lines(&of_day).into_bytes()),
        ("post-1-stretch.bin", stretch_body(&day, 5, chain)),
        ("post-1-plain.bin", post),
        ("post-1-zstd.bin", compressed_body(&frames)),
        ("post-1-lean.bin", lean_body(&frames, chain)),
        ("receipt-1.cbor", receipt),
        ("ask-1.cbor", ask.encode()),
        ("checkpoint-1.txt", answer.checkpoint.clone().into_bytes()),
        ("log-answer-1.cbor", answer.encode()),
        ("roster-1.json", demo::roster_json().into_bytes()),
    ]
}

#[test]
fn every_held_form_reads() {
    if on_postgres() {
        return;
    }
    let made = made();
    if std::env::var("STANDSQUARE_HOLD").is_ok() {
        for (name, bytes) in &made {
            let path = folder().join(name);
            if !path.exists() {
                std::fs::write(path, bytes).expect("written");
            }
        }
    }
    let there: BTreeSet<String> = std::fs::read_dir(folder())
        .expect("the folder")
        .map(|e| {
            e.expect("a file")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .filter(|name| name != "README.md")
        .collect();
    let known: BTreeSet<String> = made.iter().map(|(name, _)| (*name).to_owned()).collect();
    assert_eq!(there, known, "a held form that nobody reads, or none held");

    let ids = ids_in("frames-1.txt");
    // A stretch that was turned round: the same frames, beginning with another one.
    let body = read("post-1-stretch.bin");
    let frames = frames_of(&body, Limits::default(), Some(chain)).expect("a post");
    let mut turned: Vec<_> = frames.iter().map(|f| frame_id(f)).collect();
    turned.rotate_right(5);
    assert_eq!(turned, ids_in("frames-1-stretch.txt"));
    let receipt = office().ingest(&body, BEGIN_MS).expect("taken in");
    let receipt = Receipt::verify(&receipt, &office().public_key()).expect("a receipt");
    assert_eq!(receipt.held.len(), turned.len());
    // The same in packets, there and back.
    let (post, _) = landed(&packets_in("packets-1-there.txt"));
    assert_eq!(post, body);
    let mut flight = flight(&post);
    // The phone sends before anything comes back.
    flight.wake(0);
    flight.wake(15);
    let back = packets_in("packets-1-back.txt");
    let (status, answer) = back
        .iter()
        .find_map(|p| flight.heard(p, 20))
        .expect("an answer");
    assert_eq!(status, 200);
    let answer = Receipt::verify(&answer, &office().public_key()).expect("a receipt");
    assert_eq!(answer.held, receipt.held);
    for encoding in ["plain", "zstd", "lean"] {
        let body = read(&format!("post-1-{encoding}.bin"));
        let frames = frames_of(&body, Limits::default(), Some(chain)).expect("a post");
        let read: Vec<_> = frames.iter().map(|f| frame_id(f)).collect();
        assert_eq!(read, ids, "{encoding}");
        // And an office takes them in.
        let receipt = office().ingest(&body, BEGIN_MS).expect("taken in");
        let receipt = Receipt::verify(&receipt, &office().public_key()).expect("a receipt");
        assert_eq!(receipt.held, ids, "{encoding}");
    }
    let key = demo::demo_only_key().verifying_key().to_bytes();
    let receipt = Receipt::verify(&read("receipt-1.cbor"), &key).expect("a receipt");
    assert_eq!((receipt.held, receipt.at_ms), (ids.clone(), BEGIN_MS));
    let ask = Ask::decode_strict(&read("ask-1.cbor")).expect("a question");
    assert_eq!((ask.seen, &ask.frames), (0, &ids));
    let name = origin("larkmere");
    let note = String::from_utf8(read("checkpoint-1.txt")).expect("text");
    let seen = Checkpoint::open(&note, &name, &key).expect("a checkpoint");
    let answer = read("log-answer-1.cbor");
    let (now, proved) = Bundle::verify(&answer, &name, &key, Some(&seen)).expect("an answer");
    assert_eq!((now.size, proved), (seen.size, ids));
    let roster: Roster = serde_json::from_slice(&read("roster-1.json")).expect("a roster");
    RulePack::parse(&roster.pack).expect("its rule pack");
}

/// What has one form only is still written as it was: an office or phone of that day reads
/// what is sent to it today.
#[test]
fn what_has_one_form_is_written_as_it_was() {
    if on_postgres() {
        return;
    }
    for (name, bytes) in made() {
        // How well zstd packs, and what the demo league is, may change.
        if !name.contains("zstd") && !name.contains("lean") && !name.contains("roster") {
            assert_eq!(bytes, read(name), "{name}");
        }
    }
}
