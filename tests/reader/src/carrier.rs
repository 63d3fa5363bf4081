//! The reader's bytes over a real carrier, as a phone's radio layer would hand
//! them on: what comes is a link that comes up, bytes cut anywhere, and a link
//! that is lost. For end-to-end tests; nothing here understands a byte.

use crate::remote::Reader;
use crate::server::Setup;
use nix::fcntl::OFlag;
use std::fs::OpenOptions;
use std::io::{self, Read};
use std::net::{TcpListener, TcpStream};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

/// PyPI packages of the software Bluetooth stack.
pub const RADIO_PACKAGES: [&str; 1] = ["bumble==0.0.236"];

/// What the bytes travel on.
#[derive(Clone, Debug)]
pub enum Kind {
    /// A loopback socket.
    Socket,
    /// A pseudo-terminal.
    Pty,
    /// A BLE peripheral that notifies, and a central.
    Ble {
        /// The Python of [`crate::oracle::python`] with [`RADIO_PACKAGES`].
        python: PathBuf,
        /// The other of the two characteristics notifies.
        swapped: bool,
    },
    /// A classic serial port (RFCOMM) and its client.
    Rfcomm {
        /// As above.
        python: PathBuf,
    },
}

/// What the phone's radio layer tells.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Event {
    /// The link is up.
    Up,
    /// Bytes came.
    Bytes(Vec<u8>),
    /// The link is gone.
    Lost,
}

/// An event and the moment at which it came.
type Told = (Instant, Event);

/// A reader in a process of its own, and a phone's end of the link to it.
pub struct Carrier {
    kind: Kind,
    reader: Reader,
    radio: Option<Radio>,
    events: Receiver<Told>,
    sender: Sender<Told>,
}

/// The software Bluetooth stack in a process of its own.
struct Radio {
    child: Child,
    _stdin: ChildStdin,
}

impl Drop for Radio {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Carrier {
    /// Starts the reader's binary with this form and seed, and what carries it.
    /// On the radio the phone looks for the reader by itself; on the others
    /// [`Self::connect`] has to be called.
    ///
    /// # Errors
    /// What the system says.
    pub fn start(kind: Kind, binary: &Path, form: &str, seed: u64) -> io::Result<Self> {
        let seed = seed.to_string();
        let mut arguments = vec!["--form", form, "--seed", &seed];
        if matches!(kind, Kind::Pty) {
            arguments.push("--pty");
        }
        Self::carrying(kind, Reader::start(binary, &arguments)?)
    }

    /// As [`Self::start`], the reader in threads of this process.
    ///
    /// # Errors
    /// As there.
    pub fn inside(kind: Kind, form: &str, seed: u64) -> io::Result<Self> {
        let setup = Setup {
            pty: matches!(kind, Kind::Pty),
            form: form.to_owned(),
            seed,
            ..Setup::default()
        };
        Self::carrying(kind, Reader::inside(&setup)?)
    }

    fn carrying(kind: Kind, reader: Reader) -> io::Result<Self> {
        let (sender, events) = channel();
        let mut carrier = Self {
            kind,
            reader,
            radio: None,
            events,
            sender,
        };
        match carrier.kind.clone() {
            Kind::Socket | Kind::Pty => {}
            Kind::Ble { python, swapped } => {
                let mut flags = vec!["--carrier", "ble"];
                if swapped {
                    flags.push("--swapped");
                }
                carrier.radio = Some(carrier.start_radio(&python, &flags)?);
            }
            Kind::Rfcomm { python } => {
                let flags = ["--carrier", "rfcomm"];
                carrier.radio = Some(carrier.start_radio(&python, &flags)?);
            }
        }
        Ok(carrier)
    }

    fn start_radio(&self, python: &Path, flags: &[&str]) -> io::Result<Radio> {
        let core = TcpListener::bind("127.0.0.1:0")?;
        let address = core.local_addr()?.to_string();
        let mut child = Command::new(python)
            .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/radio/radio.py"))
            .args(["--reader", &self.reader.data, "--core", &address])
            .args(flags)
            .stdin(Stdio::piped())
            .spawn()?;
        let stdin = child.stdin.take().ok_or(io::ErrorKind::BrokenPipe)?;
        let sender = self.sender.clone();
        // Every connection is one radio link from its beginning to its end.
        thread::spawn(move || {
            for socket in core.incoming().flatten() {
                let _ = sender.send((Instant::now(), Event::Up));
                carry(socket, &sender);
            }
        });
        Ok(Radio {
            child,
            _stdin: stdin,
        })
    }

    /// Connects once. On the radio this waits for nothing: the link comes up by
    /// itself and is told as [`Event::Up`].
    ///
    /// # Errors
    /// What the system says: a reader that has vanished refuses.
    pub fn connect(&mut self) -> io::Result<()> {
        match self.kind {
            Kind::Socket => {
                let socket = TcpStream::connect(&self.reader.data)?;
                self.carry_from(socket);
            }
            Kind::Pty => {
                let path = self.reader.pty.clone().ok_or(io::ErrorKind::NotFound)?;
                let flags = OFlag::O_NOCTTY.bits();
                let end = OpenOptions::new()
                    .read(true)
                    .custom_flags(flags)
                    .open(path)?;
                self.carry_from(end);
            }
            Kind::Ble { .. } | Kind::Rfcomm { .. } => {}
        }
        Ok(())
    }

    fn carry_from(&self, source: impl Read + Send + 'static) {
        let sender = self.sender.clone();
        let _ = sender.send((Instant::now(), Event::Up));
        thread::spawn(move || carry(source, &sender));
    }

    /// Sends one line to the reader's control socket.
    ///
    /// # Errors
    /// The reader's own error, or what the system says.
    pub fn command(&mut self, line: &str) -> io::Result<()> {
        let answer = self.reader.command(line)?;
        match answer.split_once(' ') {
            None if answer == "ok" => Ok(()),
            // A pseudo-terminal that was closed comes back under a new path.
            Some(("ok", path)) => {
                self.reader.pty = Some(path.to_owned());
                Ok(())
            }
            _ => Err(io::Error::other(answer)),
        }
    }

    /// The next thing that the radio layer tells and when it came, or `None`
    /// after this long.
    ///
    /// # Errors
    /// The carrier is gone for good.
    pub fn next(&mut self, patience: Duration) -> io::Result<Option<(Instant, Event)>> {
        match self.events.recv_timeout(patience) {
            Ok(event) => Ok(Some(event)),
            Err(RecvTimeoutError::Timeout) => Ok(None),
            Err(RecvTimeoutError::Disconnected) => Err(io::ErrorKind::BrokenPipe.into()),
        }
    }
}

/// Tells of every piece as it comes, and of the end.
fn carry(mut source: impl Read, sender: &Sender<Told>) {
    let mut piece = [0; 64];
    loop {
        match source.read(&mut piece) {
            Ok(0) | Err(_) => {
                let _ = sender.send((Instant::now(), Event::Lost));
                return;
            }
            Ok(n) => {
                let bytes = Event::Bytes(piece[..n].to_vec());
                if sender.send((Instant::now(), bytes)).is_err() {
                    return;
                }
            }
        }
    }
}
