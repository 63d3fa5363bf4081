//! The office as others meet it: its pages in a real Chromium, held against axe-core, and
//! its document of what may be called, tried by schemathesis. `cargo xtask test --only
//! office` sets up what that needs and runs it; by itself the test is left out.

mod support;

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};

use standsquare_journal::record::fact::Outcome;
use standsquare_office::demo::DEMO_ONLY_ACCOUNT;
use standsquare_sync::post_body;
use support::*;

struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// A demo office as a process, over a folder; where it listens.
fn start(dir: &Path) -> (Running, String) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_standsquare-office"))
        .arg("--data")
        .arg(dir)
        .arg("--demo")
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the office starts");
    let mut line = String::new();
    let out = child.stdout.take().expect("its output");
    BufReader::new(out).read_line(&mut line).expect("a line");
    let said: serde_json::Value = serde_json::from_str(&line).expect("JSON");
    let at = said["listening"].as_str().expect("an address").to_owned();
    (Running(child), at)
}

/// Posts frames; the status.
fn post_to(at: &str, frames: &[Vec<u8>]) -> String {
    let body = post_body(frames);
    let mut stream = TcpStream::connect(at.replace("http://", "")).expect("connected");
    let head = format!(
        "POST /v1/frames HTTP/1.1\r\nHost: office\r\nConnection: close\r\n\
         Content-Length: {}\r\n\r\n",
        body.len()
    );
    stream.write_all(head.as_bytes()).expect("sent");
    stream.write_all(&body).expect("sent");
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).expect("an answer");
    String::from_utf8_lossy(&answer[9..12]).into_owned()
}

/// Something of everything: two phones that differ, a doubtful dog, a batch set aside.
fn fill(at: &str) {
    let first = two_dogs(1);
    let mut second = Pen::new(2);
    second.set_up();
    let mut pip = second.statement(1, "Pip", "999000000112233");
    pip.outcome = Outcome::Category {
        id: "medium".into(),
        label: "Medium".into(),
    };
    second.dog(&pip);
    let mut fork = Pen::new(1);
    fork.set_up();
    fork.seal();
    for frames in [&first.frames, &second.frames, &fork.frames] {
        assert_eq!(post_to(at, frames), "200");
    }
}

fn from_stage(name: &str) -> Option<String> {
    std::env::var(name).ok().filter(|value| !value.is_empty())
}

#[test]
#[ignore = "needs Chromium and axe-core: cargo xtask test --only office"]
fn the_pages_are_for_everybody_in_a_real_browser() {
    let chromium = from_stage("STANDSQUARE_CHROMIUM").expect("set by the stage");
    let dir = tempfile::tempdir().expect("a folder");
    let (_office, at) = start(dir.path());
    fill(&at);
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/browser/axe.mjs");
    let (account, password) = DEMO_ONLY_ACCOUNT;
    let done = Command::new("node")
        .args([script, &at, &chromium, account, password])
        .status()
        .expect("node runs");
    assert!(done.success(), "see above what was found");
}

#[test]
#[ignore = "needs schemathesis: cargo xtask test --only office"]
fn whatever_is_asked_is_answered_as_the_document_says() {
    let program = from_stage("STANDSQUARE_SCHEMATHESIS").expect("set by the stage");
    let dir = tempfile::tempdir().expect("a folder");
    let (_office, at) = start(dir.path());
    fill(&at);
    let done = Command::new(program)
        .args(["run", &format!("{at}/v1/openapi.json"), "--url", &at])
        // Random bytes are no frames: what is asked here is that they are refused properly.
        .args(["--checks", CHECKS, "--max-examples", "25", "--seed", "1"])
        .args(["--phases", "examples,coverage,fuzzing", "--no-color"])
        .args(["--generation-database", "none", "--max-redirects", "0"])
        .env(
            "SCHEMATHESIS_HOOKS",
            concat!(env!("CARGO_MANIFEST_DIR"), "/tests/browser/hooks.py"),
        )
        .current_dir(dir.path())
        .status()
        .expect("schemathesis runs");
    assert!(done.success(), "see above what was found");
}

/// What each answer is held against.
const CHECKS: &str = "not_a_server_error,status_code_conformance,content_type_conformance,\
                      response_headers_conformance,response_schema_conformance,\
                      unsupported_method";
