//! The office as a process: killed, out of disk, its database restarted. Whatever it
//! acknowledged is there.

mod support;

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Mutex;
use std::time::Duration;

use standsquare_journal::record::fact::Fact;
use standsquare_office::db::SqliteDb;
use standsquare_office::{FrameState, OfficeState, demo};
use standsquare_sync::{Receipt, frame_id, post_body};
use support::*;

/// One at a time: restarting PostgreSQL would disturb the others.
static ALONE: Mutex<()> = Mutex::new(());

fn alone() -> std::sync::MutexGuard<'static, ()> {
    ALONE
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner)
}

/// A running office, ended when dropped.
struct Running {
    child: Child,
    at: String,
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Has a command work over the database under test: one schema for a folder.
fn over(command: &mut Command, dir: &Path) {
    if let (true, Ok(setting)) = (on_postgres(), std::env::var("STANDSQUARE_TEST_POSTGRES")) {
        let schema = dir.join("schema");
        let name = std::fs::read_to_string(&schema).unwrap_or_else(|_| {
            let name = fresh_schema(&setting);
            std::fs::write(&schema, &name).expect("written");
            name
        });
        let setting = format!("{setting} options='-c search_path={name}'");
        command.env("STANDSQUARE_DATABASE", setting);
    }
}

/// Starts the office over `dir`; `before` goes before it on the shell's line.
fn start(dir: &Path, before: &str) -> Running {
    let line = format!(
        "{before} exec '{}' --data '{}' --demo --listen 127.0.0.1:0",
        env!("CARGO_BIN_EXE_standsquare-office"),
        dir.display()
    );
    let mut command = Command::new("sh");
    command
        .args(["-c", &line])
        .stdout(Stdio::piped())
        .stderr(Stdio::null());
    over(&mut command, dir);
    let mut child = command.spawn().expect("the office starts");
    let mut line = String::new();
    let out = child.stdout.take().expect("its output");
    BufReader::new(out).read_line(&mut line).expect("a line");
    let said: serde_json::Value = serde_json::from_str(&line).expect("JSON");
    let at = said["listening"]
        .as_str()
        .expect("an address")
        .replace("http://", "");
    Running { child, at }
}

/// Posts frames; the ids that are held, or nothing if the office did not answer so.
fn post_over_http(at: &str, frames: &[Vec<u8>]) -> Option<(u16, Vec<[u8; 32]>)> {
    let body = post_body(frames);
    let mut stream = TcpStream::connect(at).ok()?;
    stream
        .set_read_timeout(Some(Duration::from_secs(20)))
        .ok()?;
    let head = format!(
        "POST /v1/frames HTTP/1.1\r\nHost: office\r\nConnection: close\r\n\
         Content-Length: {}\r\n\r\n",
        body.len()
    );
    stream.write_all(head.as_bytes()).ok()?;
    stream.write_all(&body).ok()?;
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).ok()?;
    let end = answer.windows(4).position(|w| w == b"\r\n\r\n")?;
    let status = std::str::from_utf8(answer.get(9..12)?).ok()?.parse().ok()?;
    if status != 200 {
        return Some((status, Vec::new()));
    }
    let key = demo::demo_only_key().verifying_key().to_bytes();
    let receipt = Receipt::verify(&answer[end + 4..], &key).ok()?;
    Some((status, receipt.held))
}

/// The office's data, looked at without the process.
fn look(dir: &Path) -> OfficeState {
    match std::env::var("STANDSQUARE_TEST_POSTGRES") {
        Ok(setting) => {
            let schema = std::fs::read_to_string(dir.join("schema")).expect("its schema");
            office_over(Box::new(postgres_at(&setting, &schema)))
        }
        Err(_) => office_over(Box::new(
            SqliteDb::open(&dir.join("office.sqlite")).expect("the database opens"),
        )),
    }
}

fn all_there(office: &OfficeState, acknowledged: &[[u8; 32]]) {
    for id in acknowledged {
        let state = office.frame_state(*id).expect("asked");
        assert_eq!(state, Some(FrameState::Accepted), "{}", hex::encode(id));
    }
}

/// A journal of many small frames.
fn long_journal(n: u8, frames: usize) -> Pen {
    let mut pen = Pen::new(n);
    pen.set_up();
    pen.seal();
    while pen.frames.len() < frames {
        let visit = u32::try_from(pen.frames.len()).expect("a small number");
        let statement = pen.statement(visit, "Pip", &format!("999000{n:03}{visit:06}"));
        pen.dog(&statement);
    }
    pen
}

/// Four phones post their journals over and over until `stop` says so; what was
/// acknowledged.
fn phones_post(at: &Mutex<String>, pens: &[Pen], until_done: Duration) -> Vec<[u8; 32]> {
    let acknowledged = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for pen in pens {
            let acknowledged = &acknowledged;
            scope.spawn(move || {
                let deadline = std::time::Instant::now() + until_done;
                let mut next = 0;
                while next < pen.frames.len() && std::time::Instant::now() < deadline {
                    let here = at.lock().expect("an address").clone();
                    let end = (next + 3).min(pen.frames.len());
                    match post_over_http(&here, &pen.frames[next..end]) {
                        Some((200, held)) if held.len() == end - next => {
                            acknowledged.lock().expect("a list").extend(held);
                            next = end;
                        }
                        Some((200, held)) => acknowledged.lock().expect("a list").extend(held),
                        _ => std::thread::sleep(Duration::from_millis(20)),
                    }
                }
            });
        }
    });
    // A post of which a part was held is sent again whole: its frames are named twice.
    let mut acknowledged = acknowledged.into_inner().expect("a list");
    acknowledged.sort_unstable();
    acknowledged.dedup();
    acknowledged
}

#[test]
fn killed_in_the_middle_everything_acknowledged_is_there() {
    let _alone = alone();
    let dir = tempfile::tempdir().expect("a folder");
    let pens: Vec<_> = (1..=4).map(|n| long_journal(n, 40)).collect();
    let at = Mutex::new(String::new());
    let mut running = start(dir.path(), "");
    *at.lock().expect("an address") = running.at.clone();
    let acknowledged = std::thread::scope(|scope| {
        let posting = scope.spawn(|| phones_post(&at, &pens, Duration::from_secs(60)));
        for n in 0..4 {
            std::thread::sleep(Duration::from_millis(120 + 70 * n));
            running.child.kill().expect("killed");
            running.child.wait().expect("dead");
            running = start(dir.path(), "");
            *at.lock().expect("an address") = running.at.clone();
        }
        posting.join().expect("posted")
    });
    drop(running);
    assert_eq!(
        acknowledged.len(),
        160,
        "in the end everything is acknowledged"
    );
    let office = look(dir.path());
    all_there(&office, &acknowledged);
    assert_eq!(office.waiting().expect("a number"), 0);
    assert!(office.set_aside(9).expect("a list").is_empty());
}

#[test]
fn with_a_full_disk_nothing_is_acknowledged_that_is_not_there() {
    let _alone = alone();
    if on_postgres() {
        // Its server's disk is not ours to fill.
        return;
    }
    let dir = tempfile::tempdir().expect("a folder");
    let pen = long_journal(1, 400);
    // No file may grow beyond 1,500 blocks of 512 bytes; the signal for it is ignored, so
    // that writing fails as on a full disk.
    let running = start(dir.path(), "trap '' XFSZ; ulimit -f 1500;");
    let mut acknowledged = Vec::new();
    let mut full = false;
    for chunk in pen.frames.chunks(5) {
        match post_over_http(&running.at, chunk) {
            Some((200, held)) if held.len() == chunk.len() => acknowledged.extend(held),
            // There was room for some of them.
            Some((200, held)) => {
                acknowledged.extend(held);
                full = true;
                break;
            }
            Some((status, _)) => {
                assert_eq!(status, 503);
                full = true;
                break;
            }
            None => panic!("the office must answer"),
        }
    }
    assert!(full, "the disk was meant to be full");
    assert!(!acknowledged.is_empty(), "it was not full from the start");
    drop(running);
    all_there(&look(dir.path()), &acknowledged);
    // With room again everything comes in.
    let running = start(dir.path(), "");
    for chunk in pen.frames.chunks(64) {
        let (_, held) = post_over_http(&running.at, chunk).expect("an answer");
        assert_eq!(held.len(), chunk.len());
    }
}

#[test]
fn postgres_restarted_under_load_loses_nothing() {
    let Ok(control) = std::env::var("STANDSQUARE_TEST_POSTGRES_CTL") else {
        return;
    };
    let _alone = alone();
    let data = std::env::var("STANDSQUARE_TEST_POSTGRES_DATA").expect("its folder");
    let dir = tempfile::tempdir().expect("a folder");
    let pens: Vec<_> = (1..=4).map(|n| long_journal(n, 60)).collect();
    let running = start(dir.path(), "");
    let at = Mutex::new(running.at.clone());
    let acknowledged = std::thread::scope(|scope| {
        let posting = scope.spawn(|| phones_post(&at, &pens, Duration::from_secs(400)));
        for _ in 0..3 {
            std::thread::sleep(Duration::from_millis(400));
            let line = format!("{control} -D '{data}' -m immediate -w restart");
            let done = Command::new("sh")
                .args(["-c", &line])
                .stdout(Stdio::null())
                .status();
            assert!(done.expect("asked").success(), "PostgreSQL starts again");
        }
        posting.join().expect("posted")
    });
    drop(running);
    assert_eq!(
        acknowledged.len(),
        240,
        "in the end everything is acknowledged"
    );
    all_there(&look(dir.path()), &acknowledged);
}

#[test]
fn a_running_office_logs_by_itself() {
    let _alone = alone();
    let dir = tempfile::tempdir().expect("a folder");
    let pen = long_journal(1, 5);
    let running = start(dir.path(), "");
    let (_, held) = post_over_http(&running.at, &pen.frames).expect("an answer");
    assert_eq!(held.len(), 5);
    let office = look(dir.path());
    let logged = (0..200).any(|_| {
        std::thread::sleep(Duration::from_millis(50));
        office.checkpoint().expect("a checkpoint").size == 5
    });
    assert!(logged, "the log never came to five frames");
}

#[test]
fn an_event_that_says_nothing_new_is_an_event_too() {
    let _alone = alone();
    // A frame of a seal alone, as before a sync.
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    pen.seal();
    pen.write(Fact::CloseReviewed { open: true });
    pen.seal();
    held(&office, &pen.frames);
    assert_eq!(
        office.frame_state(frame_id(&pen.frames[1])).expect("asked"),
        Some(FrameState::Accepted)
    );
}

#[test]
fn carried_files_are_taken_in_telling_how_far_and_a_second_time_changes_nothing() {
    let _alone = alone();
    let dir = tempfile::tempdir().expect("a folder");
    let pen = long_journal(1, 150);
    let file = dir.path().join("day.sync");
    std::fs::write(&file, post_body(&pen.frames)).expect("written");
    let broken = dir.path().join("broken.sync");
    std::fs::write(&broken, "no frames at all").expect("written");
    let import = |files: &[&Path]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_standsquare-office"));
        command
            .arg("--data")
            .arg(dir.path())
            .args(["--demo", "import"]);
        command.args(files);
        over(&mut command, dir.path());
        let done = command.output().expect("it runs");
        let text = |bytes| String::from_utf8(bytes).expect("text");
        (done.status.success(), text(done.stdout), text(done.stderr))
    };
    for _ in 0..2 {
        let (well, out, told) = import(&[&file]);
        assert!(well, "{told}");
        assert!(
            out.ends_with("150 frames are at the office, 0 refused\n"),
            "{out}"
        );
        let steps = told.split('\r').filter_map(|line| line.split(": ").nth(1));
        let steps: Vec<_> = steps.filter_map(|line| line.split(',').next()).collect();
        assert_eq!(
            steps,
            ["64 of 150 frames", "128 of 150 frames", "150 of 150 frames"],
            "{told}"
        );
    }
    // It names the file that is none; what came before it is there.
    let (well, out, told) = import(&[&file, &broken]);
    assert!(!well && out.contains("150 frames"), "{out}");
    assert!(
        told.contains("broken.sync") && told.contains("not a batch of frames"),
        "{told}"
    );
    let office = look(dir.path());
    let ids: Vec<_> = pen.frames.iter().map(|f| frame_id(f)).collect();
    all_there(&office, &ids);
    assert_eq!(office.checkpoint().expect("a checkpoint").size, 150);
}
