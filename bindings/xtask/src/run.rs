//! Running other programs so that none outlives the command.
//!
//! Each program is the head of a process group of its own, and the group is ended when
//! its handle is dropped, when the command is interrupted (Ctrl-C, or a request to end)
//! and, for those that serve in the background on Linux, when the command is killed.

use std::ffi::{OsStr, OsString};
use std::fmt::Write as _;
use std::fs::File;
use std::io::{BufRead, BufReader, Read};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::mpsc;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail};
use nix::sys::signal::{Signal, killpg};
use nix::unistd::Pid;

/// How long a program may take to end by itself once asked to.
const GRACE: Duration = Duration::from_secs(5);

/// The most characters of one argument that a message shows.
const LONG: usize = 100;

/// The heads of the groups that are running.
static RUNNING: Mutex<Vec<i32>> = Mutex::new(Vec::new());

fn running() -> MutexGuard<'static, Vec<i32>> {
    RUNNING.lock().unwrap_or_else(PoisonError::into_inner)
}

/// From now on an interrupt ends every program that was started, then this one.
pub fn end_children_on_interrupt() -> Result<()> {
    ctrlc::set_handler(|| {
        let groups = running().clone();
        for group in &groups {
            // A group that has just ended is no fault.
            let _ = killpg(Pid::from_raw(*group), Signal::SIGTERM);
        }
        let until = Instant::now() + GRACE;
        while Instant::now() < until
            && groups
                .iter()
                .any(|g| killpg(Pid::from_raw(*g), None).is_ok())
        {
            thread::sleep(Duration::from_millis(50));
        }
        for group in &groups {
            let _ = killpg(Pid::from_raw(*group), Signal::SIGKILL);
        }
        eprintln!("\nInterrupted: what was running has been ended.");
        std::process::exit(130);
    })
    .context("the handler for interrupts cannot be set")
}

/// A program with its arguments, not yet running.
#[derive(Debug)]
pub struct Program {
    name: OsString,
    args: Vec<OsString>,
    env: Vec<(OsString, OsString)>,
    dir: Option<PathBuf>,
}

impl Program {
    /// The program `name`, looked for where the shell would look.
    pub fn new(name: impl AsRef<OsStr>) -> Self {
        Self {
            name: name.as_ref().into(),
            args: Vec::new(),
            env: Vec::new(),
            dir: None,
        }
    }

    /// One more argument.
    pub fn arg(mut self, arg: impl AsRef<OsStr>) -> Self {
        self.args.push(arg.as_ref().into());
        self
    }

    /// More arguments.
    pub fn args<S: AsRef<OsStr>>(mut self, args: impl IntoIterator<Item = S>) -> Self {
        self.args
            .extend(args.into_iter().map(|a| a.as_ref().into()));
        self
    }

    /// A variable of its environment.
    pub fn env(mut self, name: impl AsRef<OsStr>, value: impl AsRef<OsStr>) -> Self {
        self.env.push((name.as_ref().into(), value.as_ref().into()));
        self
    }

    /// The folder it runs in.
    pub fn dir(mut self, dir: &Path) -> Self {
        self.dir = Some(dir.into());
        self
    }

    /// How it would be typed, for messages; a long argument (a class path) is cut.
    fn typed(&self) -> String {
        let mut text = self.name.to_string_lossy().into_owned();
        for arg in &self.args {
            let arg = arg.to_string_lossy();
            let shown: String = arg.chars().take(LONG).collect();
            let cut = if shown.len() < arg.len() { "…" } else { "" };
            let _ = write!(text, " {shown}{cut}");
        }
        text
    }

    fn command(&self, dies_with_us: bool) -> Command {
        let mut command = if dies_with_us && cfg!(target_os = "linux") && on_path("setpriv") {
            // util-linux: the kernel ends the program when this command is gone, however it went.
            let mut command = Command::new("setpriv");
            command.args(["--pdeathsig", "TERM", "--"]).arg(&self.name);
            command
        } else {
            Command::new(&self.name)
        };
        // `cargo run` puts its own folders into the library path; no program should find
        // a library there by accident.
        command.args(&self.args).env_remove("LD_LIBRARY_PATH");
        command
            .envs(self.env.iter().map(|(k, v)| (k, v)))
            .process_group(0);
        if let Some(dir) = &self.dir {
            command.current_dir(dir);
        }
        command
    }

    fn start(&self, mut command: Command) -> Result<Running> {
        let child = command.spawn().with_context(|| {
            format!(
                "{} cannot be started: is it installed?",
                self.name.to_string_lossy()
            )
        })?;
        if let Ok(group) = i32::try_from(child.id()) {
            running().push(group);
        }
        Ok(Running {
            child,
            typed: self.typed(),
        })
    }

    /// Runs it with its output shown, and waits. An end with another status than 0 is an error.
    pub fn run(&self) -> Result<()> {
        let mut command = self.command(false);
        command.stdin(Stdio::null());
        self.start(command)?.success()
    }

    /// Runs it with its output shown, and gives how it ended.
    pub fn status(&self) -> Result<ExitStatus> {
        let mut command = self.command(false);
        command.stdin(Stdio::null());
        self.start(command)?.wait()
    }

    /// Runs it and waits; says only whether it ended with status 0.
    pub fn succeeds(&self) -> bool {
        let mut command = self.command(false);
        command
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null());
        self.start(command)
            .is_ok_and(|running| running.success().is_ok())
    }

    /// Runs it and gives what it printed; what it said on stderr is shown.
    pub fn output(&self) -> Result<String> {
        let mut command = self.command(false);
        command.stdin(Stdio::null()).stdout(Stdio::piped());
        let mut running = self.start(command)?;
        let mut text = String::new();
        if let Some(mut out) = running.child.stdout.take() {
            out.read_to_string(&mut text)
                .with_context(|| format!("what `{}` prints cannot be read", running.typed))?;
        }
        running.success()?;
        Ok(text)
    }

    /// Runs it with all its output going into the file `log`, and gives how it ended.
    pub fn logged(&self, log: &Path) -> Result<ExitStatus> {
        let file =
            File::create(log).with_context(|| format!("{} cannot be written", log.display()))?;
        let mut command = self.command(false);
        command
            .stdin(Stdio::null())
            .stdout(file.try_clone()?)
            .stderr(file);
        self.start(command)?.wait()
    }

    /// Starts it with all its output going into the file `log`. It ends when its handle is dropped.
    pub fn background(&self, log: &Path) -> Result<Running> {
        let file =
            File::create(log).with_context(|| format!("{} cannot be written", log.display()))?;
        let mut command = self.command(true);
        command
            .stdin(Stdio::null())
            .stdout(file.try_clone()?)
            .stderr(file);
        self.start(command)
    }

    /// Starts a program that serves in the background and prints one line of JSON once it
    /// is ready. It ends when its handle is dropped.
    pub fn serve(&self, patience: Duration) -> Result<(Running, serde_json::Value)> {
        let mut command = self.command(true);
        command.stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut running = self.start(command)?;
        let out = running
            .child
            .stdout
            .take()
            .context("no pipe from the program")?;
        let (send, receive) = mpsc::channel();
        // The thread also drains what comes later, so that the program never blocks on a full pipe.
        thread::spawn(move || {
            for line in BufReader::new(out).lines() {
                let Ok(line) = line else { break };
                // Nobody waits for the later lines.
                let _ = send.send(line);
            }
        });
        let line = match receive.recv_timeout(patience) {
            Ok(line) => line,
            Err(mpsc::RecvTimeoutError::Timeout) => bail!(
                "`{}` did not say where it listens within {} s",
                running.typed,
                patience.as_secs()
            ),
            Err(mpsc::RecvTimeoutError::Disconnected) => {
                let typed = running.typed.clone();
                let status = running.wait()?;
                bail!("`{typed}` ended before it was ready ({status})");
            }
        };
        let value = serde_json::from_str(&line).with_context(|| {
            format!(
                "`{}` should print one line of JSON first, not: {line}",
                running.typed
            )
        })?;
        Ok((running, value))
    }
}

/// A running program. Dropped, it is ended with all that it started.
#[derive(Debug)]
pub struct Running {
    child: Child,
    typed: String,
}

impl Running {
    /// Waits for its end and gives the status.
    pub fn wait(mut self) -> Result<ExitStatus> {
        self.child
            .wait()
            .with_context(|| format!("`{}` cannot be waited for", self.typed))
    }

    /// Whether it is still running.
    pub fn is_running(&mut self) -> bool {
        matches!(self.child.try_wait(), Ok(None))
    }

    /// Ends it at once, without giving it a moment for anything (kill -9).
    pub fn kill(mut self) -> Result<()> {
        self.child
            .kill()
            .with_context(|| format!("`{}` cannot be killed", self.typed))?;
        self.child.wait()?;
        Ok(())
    }

    fn success(mut self) -> Result<()> {
        let status = self
            .child
            .wait()
            .with_context(|| format!("`{}` cannot be waited for", self.typed))?;
        if status.success() {
            return Ok(());
        }
        bail!("`{}` failed ({status})", self.typed);
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let Ok(id) = i32::try_from(self.child.id()) else {
            return;
        };
        let group = Pid::from_raw(id);
        // Closing its input is the politest way to end a program that waits on it.
        drop(self.child.stdin.take());
        if self.is_running() {
            let _ = killpg(group, Signal::SIGTERM);
            let until = Instant::now() + GRACE;
            while self.is_running() && Instant::now() < until {
                thread::sleep(Duration::from_millis(20));
            }
        }
        // Whatever is left of the group: a helper of the program that ignored the request.
        let _ = killpg(group, Signal::SIGKILL);
        let _ = self.child.wait();
        running().retain(|g| *g != id);
    }
}

/// Whether the shell would find the program `name`.
pub fn on_path(name: &str) -> bool {
    std::env::var_os("PATH")
        .is_some_and(|paths| std::env::split_paths(&paths).any(|dir| dir.join(name).is_file()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether the process runs; one that has ended and waits to be noticed does not.
    fn lives(id: &str) -> bool {
        // Not every Linux has ps, and not every other system has /proc.
        let state = if cfg!(target_os = "linux") {
            let stat = std::fs::read_to_string(format!("/proc/{id}/stat")).unwrap_or_default();
            stat.rsplit(')')
                .next()
                .unwrap_or_default()
                .trim()
                .to_owned()
        } else {
            Program::new("ps")
                .args(["-o", "stat=", "-p", id])
                .output()
                .unwrap_or_default()
        };
        !state.trim().is_empty() && !state.trim_start().starts_with('Z')
    }

    /// Whether the process still runs after a moment: a signal arrives when the machine finds
    /// the time.
    fn lives_on(id: &str) -> bool {
        let until = Instant::now() + GRACE;
        while lives(id) && Instant::now() < until {
            thread::sleep(Duration::from_millis(20));
        }
        lives(id)
    }

    #[test]
    fn a_failed_program_is_named_in_the_error() {
        let error = Program::new("sh")
            .args(["-c", "exit 3"])
            .run()
            .expect_err("status 3");
        assert!(error.to_string().contains("sh -c exit 3"), "{error}");
        let error = Program::new("false")
            .arg("é".repeat(500))
            .run()
            .expect_err("status 1");
        assert!(
            error
                .to_string()
                .contains(&format!("false {}…", "é".repeat(LONG))),
            "{error}"
        );
    }

    #[test]
    fn a_program_that_is_not_there_is_named() {
        let error = Program::new("no-such-program-here")
            .run()
            .expect_err("not there");
        assert!(error.to_string().contains("is it installed?"), "{error}");
    }

    #[test]
    fn dropping_a_server_ends_it_with_what_it_started() {
        let script = r#"sleep 600 & echo "{\"own\":\"$$\",\"helper\":\"$!\"}"; wait"#;
        let (server, line) = Program::new("sh")
            .args(["-c", script])
            .serve(Duration::from_secs(30))
            .expect("the line");
        let ids = ["own", "helper"].map(|name| line[name].as_str().expect("an id").to_owned());
        assert!(ids.iter().all(|id| lives(id)));
        drop(server);
        assert!(
            !ids.iter().any(|id| lives_on(id)),
            "the server or its helper is still running"
        );
    }

    #[test]
    fn a_server_that_ends_at_once_or_prints_no_json_is_an_error() {
        let ended = Program::new("sh")
            .args(["-c", "exit 4"])
            .serve(Duration::from_secs(30));
        assert!(
            ended
                .expect_err("ended")
                .to_string()
                .contains("before it was ready")
        );
        let talks = Program::new("sh")
            .args(["-c", "echo ready; cat"])
            .serve(Duration::from_secs(30));
        assert!(
            talks
                .expect_err("no JSON")
                .to_string()
                .contains("one line of JSON")
        );
    }

    #[test]
    fn arguments_with_spaces_and_quotes_arrive_as_they_are() {
        let args = ["a b", "c'd", "\"", "$HOME", ""];
        let out = Program::new("printf")
            .arg("%s\\n")
            .args(args)
            .output()
            .expect("printf");
        assert_eq!(out, args.map(|a| format!("{a}\n")).concat());
    }

    /// Where the test below, run as a process of its own, is to write its server's ids.
    const IDS: &str = "STANDSQUARE_TEST_IDS";

    /// Starts this very test as a process of its own that has a server running, sends it
    /// `signal`, and gives which of the server and its helper live on.
    fn after(signal: Signal) -> [bool; 2] {
        let dir = tempfile::tempdir().expect("a folder");
        let ids = dir.path().join("ids");
        let own = std::env::current_exe().expect("this program");
        let name = "run::tests::an_interrupted_command_leaves_nothing_running";
        let mut command = Command::new(own)
            .args([name, "--exact", "--nocapture"])
            .env(IDS, &ids)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("starts");
        let until = Instant::now() + Duration::from_secs(60);
        let ids = loop {
            let text = std::fs::read_to_string(&ids).unwrap_or_default();
            if let Some((server, helper)) = text.trim_end_matches('.').split_once(' ')
                && text.ends_with('.')
            {
                break [server.to_owned(), helper.to_owned()];
            }
            assert!(Instant::now() < until, "the command wrote no ids");
            thread::sleep(Duration::from_millis(20));
        };
        assert!(ids.iter().all(|id| lives(id)), "both run before the signal");
        let command_id = i32::try_from(command.id()).expect("an id");
        nix::sys::signal::kill(Pid::from_raw(command_id), signal).expect("sent");
        command.wait().expect("ended");
        // Nobody ends the helper of a killed command's server: only the server is waited for.
        let left = if signal == Signal::SIGKILL {
            [lives_on(&ids[0]), lives(&ids[1])]
        } else {
            [lives_on(&ids[0]), lives_on(&ids[1])]
        };
        for id in &ids {
            let _ = Program::new("kill").args(["-KILL", id]).succeeds();
        }
        left
    }

    #[test]
    fn an_interrupted_command_leaves_nothing_running() {
        if let Some(ids) = std::env::var_os(IDS) {
            end_children_on_interrupt().expect("a handler");
            let script = r#"sleep 600 & echo "\"$$ $!.\""; wait"#;
            let (server, line) = Program::new("sh")
                .args(["-c", script])
                .serve(Duration::from_secs(60))
                .expect("the line");
            std::fs::write(ids, line.as_str().expect("ids")).expect("written");
            let _ = server.wait();
            return;
        }
        assert_eq!(after(Signal::SIGINT), [false, false]);
        assert_eq!(after(Signal::SIGTERM), [false, false]);
        // A killed command can end nothing itself; the kernel ends the server, where the
        // machine has the means to ask it to.
        if cfg!(target_os = "linux") && on_path("setpriv") {
            assert!(!after(Signal::SIGKILL)[0]);
        }
    }
}
