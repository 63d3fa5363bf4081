//! A reader that runs, in a process of its own or inside the test's, and its
//! control socket: for tests.

use crate::server::{Server, Setup};
use std::io::{self, BufRead, BufReader, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, ChildStdin, Command, Stdio};

/// Where a reader runs.
enum Home {
    /// In a process of its own, which ends when its input is let go of, and is
    /// ended when dropped.
    Process { child: Child, _input: ChildStdin },
    /// In threads of this process, which end with it.
    Inside(Server),
}

/// A reader that runs.
pub struct Reader {
    home: Home,
    /// `127.0.0.1:PORT` of the data socket.
    pub data: String,
    /// The pseudo-terminal's path, if one was asked for.
    pub pty: Option<String>,
    control: BufReader<TcpStream>,
}

impl Reader {
    /// Starts the binary with these arguments and reads where it listens.
    ///
    /// # Errors
    /// What the system says, or that the binary printed no such line.
    pub fn start(binary: &Path, arguments: &[&str]) -> io::Result<Self> {
        let mut child = Command::new(binary)
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()?;
        let (Some(stdin), Some(stdout)) = (child.stdin.take(), child.stdout.take()) else {
            return Err(io::Error::other("no pipes to the reader"));
        };
        let mut line = String::new();
        BufReader::new(stdout).read_line(&mut line)?;
        let home = Home::Process {
            child,
            _input: stdin,
        };
        Self::at(home, &line)
    }

    /// Starts the reader in threads of this process: for a test that cannot
    /// name the binary. The bytes travel the same way.
    ///
    /// # Errors
    /// As [`Server::start`].
    pub fn inside(setup: &Setup) -> io::Result<Self> {
        let server = Server::start(setup, || ()).map_err(io::Error::other)?;
        let line = server.announcement();
        Self::at(Home::Inside(server), &line)
    }

    /// Connects to the control socket of a reader that announced itself so.
    fn at(home: Home, line: &str) -> io::Result<Self> {
        let told: serde_json::Value = serde_json::from_str(line)?;
        let text = |key: &str| told[key].as_str().map(str::to_owned);
        let (Some(data), Some(control)) = (text("data"), text("control")) else {
            return Err(io::Error::other(format!("the reader said {line:?}")));
        };
        Ok(Self {
            home,
            data,
            pty: text("pty"),
            control: BufReader::new(TcpStream::connect(control)?),
        })
    }

    /// Sends one line to the control socket and returns the answer's line.
    ///
    /// # Errors
    /// What the system says.
    pub fn command(&mut self, line: &str) -> io::Result<String> {
        let line = format!("{line}\n");
        self.control.get_mut().write_all(line.as_bytes())?;
        let mut answer = String::new();
        self.control.read_line(&mut answer)?;
        Ok(answer.trim_end().to_owned())
    }
}

impl Drop for Reader {
    fn drop(&mut self) {
        match &mut self.home {
            Home::Process { child, .. } => {
                let _ = child.kill();
                let _ = child.wait();
            }
            Home::Inside(server) => server.vanish(),
        }
    }
}
