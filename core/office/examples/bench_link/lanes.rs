//! Lanes of the bad link, and the runs spread over them.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Mutex;
use std::time::Duration;

use crate::serving;

/// Who sends, and how.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scheme {
    /// This project's outbox.
    Ours,
    /// One POST of gzip'd JSON without hashes.
    Lean,
    /// One POST of gzip'd JSON with them.
    Chained,
}

impl Scheme {
    /// All, in the order of a round.
    pub const ALL: [Scheme; 3] = [Scheme::Ours, Scheme::Lean, Scheme::Chained];

    fn word(self) -> &'static str {
        match self {
            Scheme::Ours => "ours",
            Scheme::Lean => "json",
            Scheme::Chained => "json-with-hashes",
        }
    }

    /// The scheme of a word.
    pub fn read(word: &str) -> Scheme {
        let found = Scheme::ALL.into_iter().find(|s| s.word() == word);
        found.expect("a scheme")
    }
}

/// Seconds of every run of one scheme, in figures.
pub struct Figures {
    runs: usize,
    pub median: f64,
    pub tail: f64,
    worst: f64,
}

impl Figures {
    /// Of these runs. The percentile is the nearest rank.
    pub fn of(taken: &[(Scheme, f64)], scheme: Scheme) -> Figures {
        let mut seconds: Vec<f64> = taken
            .iter()
            .filter(|(s, _)| *s == scheme)
            .map(|(_, t)| *t)
            .collect();
        seconds.sort_by(f64::total_cmp);
        let runs = seconds.len();
        let rank = |p: usize| seconds[(runs * p).div_ceil(100).max(1) - 1];
        Figures {
            runs,
            median: rank(50),
            tail: rank(90),
            worst: rank(100),
        }
    }

    /// In words.
    pub fn told(&self, scheme: Scheme) -> String {
        format!(
            "{}: {} runs, median {:.1} s, 90th percentile {:.1} s, longest {:.1} s",
            scheme.word(),
            self.runs,
            self.median,
            self.tail,
            self.worst
        )
    }
}

/// The forwarder; without its input it takes everything away and ends.
struct Forwarder(Child);

impl Drop for Forwarder {
    fn drop(&mut self) {
        drop(self.0.stdin.take());
        let _ = self.0.wait();
    }
}

struct Server(Child);

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// The first line that a program prints.
fn first_line(child: &mut Child) -> String {
    let mut line = String::new();
    let out = child.stdout.take().expect("its output");
    BufReader::new(out).read_line(&mut line).expect("a line");
    line.trim().to_owned()
}

/// This program again, inside a namespace.
fn inside(space: &str) -> Command {
    let mut command = Command::new("ip");
    command
        .args(["netns", "exec", space])
        .arg(std::env::current_exe().expect("this program"))
        .stdin(Stdio::null())
        .stdout(Stdio::piped());
    command
}

/// Runs each scheme `runs` times over `lanes` lanes; seconds of each run.
pub fn run(forwarder: &Path, runs: usize, lanes: usize) -> Vec<(Scheme, f64)> {
    let mut child = Command::new("python3")
        .arg(forwarder)
        .args([lanes.to_string(), "1".into()])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("python3 is there");
    let ready = first_line(&mut child);
    let _forwarder = Forwarder(child);
    assert_eq!(
        ready, "ready",
        "the link cannot be made: this needs root, ip(8) and /dev/net/tun"
    );
    // A scheme's runs are spread over the whole sitting and over all lanes.
    let mut jobs: Vec<(Scheme, usize)> = (0..runs)
        .flat_map(|n| Scheme::ALL.map(|scheme| (scheme, n)))
        .collect();
    jobs.reverse();
    let (jobs, taken) = (Mutex::new(jobs), Mutex::new(Vec::new()));
    std::thread::scope(|scope| {
        for lane in 0..lanes {
            let (jobs, taken) = (&jobs, &taken);
            scope.spawn(move || {
                let dir = tempfile::tempdir().expect("a folder");
                serving::certificate(dir.path());
                let address = format!("10.77.{lane}.2:443");
                let mut server = inside(&format!("ssq-b-{lane}"))
                    .arg("serve")
                    .arg(dir.path())
                    .arg(&address)
                    .spawn()
                    .expect("the office starts");
                let said = first_line(&mut server);
                let _server = Server(server);
                assert_eq!(said, "ready");
                loop {
                    let Some((scheme, n)) = jobs.lock().expect("the list").pop() else {
                        break;
                    };
                    // Links are met at any moment of their ups and downs.
                    std::thread::sleep(Duration::from_millis(fastrand::u64(0..8_000)));
                    // Nor do they know of earlier runs: the kernel remembers what it met.
                    for side in ["a", "b"] {
                        let space = format!("ssq-{side}-{lane}");
                        let forgot = Command::new("ip")
                            .args(["-n", &space, "tcp_metrics", "flush"])
                            .status()
                            .expect("ip runs");
                        assert!(forgot.success(), "the kernel forgets what it met");
                    }
                    let out = inside(&format!("ssq-a-{lane}"))
                        .args(["phone", scheme.word()])
                        .arg(dir.path())
                        .arg(&address)
                        .arg((n % 250 + 1).to_string())
                        .output()
                        .expect("the phone runs");
                    let text = String::from_utf8_lossy(&out.stdout);
                    let seconds: f64 = text.trim().parse().expect("seconds");
                    eprintln!("{} {seconds:.1} s", scheme.word());
                    taken.lock().expect("the list").push((scheme, seconds));
                }
            });
        }
    });
    taken.into_inner().expect("the list")
}
