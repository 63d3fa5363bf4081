//! What the reader's bytes go out on: loopback sockets and a pseudo-terminal.

use nix::fcntl::{FcntlArg, FdFlag, OFlag, fcntl};
use nix::pty::{OpenptyResult, openpty};
use nix::sys::termios::{SetArg, cfmakeraw, tcgetattr, tcsetattr};
use nix::unistd::ttyname;
use std::fs::File;
use std::io::{self, Write};
use std::net::{Shutdown, SocketAddr, TcpListener, TcpStream};
use std::path::PathBuf;
use std::time::Duration;

/// A pseudo-terminal in raw mode. The far end is kept open, so that bytes
/// written before anyone opens it are not an error.
pub struct Pty {
    near: File,
    _far: File,
    path: PathBuf,
}

impl Pty {
    /// Opens one.
    ///
    /// # Errors
    /// What the system says.
    pub fn open() -> io::Result<Self> {
        let OpenptyResult { master, slave } = openpty(None, None)?;
        let mut raw = tcgetattr(&slave)?;
        cfmakeraw(&mut raw);
        tcsetattr(&slave, SetArg::TCSANOW, &raw)?;
        // A program started meanwhile must not keep the terminal open.
        for end in [&master, &slave] {
            fcntl(end, FcntlArg::F_SETFD(FdFlag::FD_CLOEXEC))?;
        }
        // Nobody reads: the bytes are lost, as on a radio, and nothing waits.
        fcntl(&master, FcntlArg::F_SETFL(OFlag::O_NONBLOCK))?;
        Ok(Self {
            path: ttyname(&slave)?,
            near: File::from(master),
            _far: File::from(slave),
        })
    }

    /// What the other side opens.
    pub fn path(&self) -> &std::path::Path {
        &self.path
    }
}

/// Everything that listens to the reader now.
pub struct Link {
    data: SocketAddr,
    listener: Option<TcpListener>,
    sockets: Vec<TcpStream>,
    with_pty: bool,
    pty: Option<Pty>,
}

impl Link {
    /// Listens on a loopback address, port 0 for any; with a pseudo-terminal
    /// beside it if wanted.
    ///
    /// # Errors
    /// What the system says.
    pub fn open(data: SocketAddr, with_pty: bool) -> io::Result<Self> {
        let listener = TcpListener::bind(data)?;
        listener.set_nonblocking(true)?;
        Ok(Self {
            data: listener.local_addr()?,
            listener: Some(listener),
            sockets: Vec::new(),
            with_pty,
            pty: if with_pty { Some(Pty::open()?) } else { None },
        })
    }

    /// Where the data socket listens.
    pub fn data(&self) -> SocketAddr {
        self.data
    }

    /// The pseudo-terminal's path, where there is one now.
    pub fn pty(&self) -> Option<String> {
        self.pty.as_ref().map(|p| p.path.display().to_string())
    }

    /// Takes whoever has connected since.
    pub fn accept(&mut self) {
        while let Some(Ok((socket, _))) = self.listener.as_ref().map(TcpListener::accept) {
            // A listener that does not read is dropped, not waited for.
            let _ = socket.set_nonblocking(false);
            let _ = socket.set_nodelay(true);
            let _ = socket.set_write_timeout(Some(Duration::from_millis(500)));
            self.sockets.push(socket);
        }
    }

    /// Whether anybody could hear now. A pseudo-terminal always may.
    pub fn up(&self) -> bool {
        !self.sockets.is_empty() || self.pty.is_some()
    }

    /// Whether it takes connections.
    pub fn present(&self) -> bool {
        self.listener.is_some()
    }

    /// Sends one piece to everyone; who is gone is forgotten.
    pub fn send(&mut self, bytes: &[u8]) {
        self.sockets.retain_mut(|s| s.write_all(bytes).is_ok());
        if let Some(pty) = &mut self.pty {
            // A full buffer means that nobody reads.
            let _ = pty.near.write_all(bytes);
        }
    }

    /// Drops every link; who comes back is taken again. A new pseudo-terminal
    /// has a new path.
    ///
    /// # Errors
    /// What the system says on opening the new pseudo-terminal.
    pub fn drop_links(&mut self) -> io::Result<()> {
        for socket in self.sockets.drain(..) {
            let _ = socket.shutdown(Shutdown::Both);
        }
        self.pty = None;
        if self.with_pty && self.present() {
            self.pty = Some(Pty::open()?);
        }
        Ok(())
    }

    /// Drops every link and refuses new ones.
    ///
    /// # Errors
    /// None at present; as [`Self::drop_links`].
    pub fn vanish(&mut self) -> io::Result<()> {
        self.listener = None;
        self.drop_links()
    }

    /// Takes connections again, on the same port.
    ///
    /// # Errors
    /// What the system says on binding.
    pub fn come_back(&mut self) -> io::Result<()> {
        if self.listener.is_none() {
            let listener = TcpListener::bind(self.data)?;
            listener.set_nonblocking(true)?;
            self.listener = Some(listener);
            if self.with_pty {
                self.pty = Some(Pty::open()?);
            }
        }
        Ok(())
    }
}
