//! One POST over one TLS connection of its own, which can be given up at any moment.

use std::io::{self, Read, Write};
use std::net::{Shutdown, SocketAddr, TcpStream};
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use tokio_rustls::rustls::client::Resumption;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, ClientConnection, RootCertStore, StreamOwned};

/// Where to post to, and what is remembered for resuming.
#[derive(Clone)]
pub struct Place {
    address: SocketAddr,
    settings: Arc<ClientConfig>,
    once: usize,
}

impl Place {
    /// The office at `address`, whose certificate lies in `dir`.
    pub fn new(dir: &Path, address: &str) -> Place {
        let mut roots = RootCertStore::empty();
        let pem = dir.join("chain.pem");
        roots
            .add(CertificateDer::from_pem_file(pem).expect("a certificate"))
            .expect("usable");
        let provider = Arc::new(ring::default_provider());
        let mut settings = ClientConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .expect("versions")
            .with_root_certificates(roots)
            .with_no_client_auth();
        settings.resumption = Resumption::in_memory_sessions(32);
        Place {
            address: address.parse().expect("an address"),
            settings: Arc::new(settings),
            once: usize::MAX,
        }
    }

    /// Where it is.
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// The same, writing so many bytes at once: the other end can read what is in a TLS record
    /// only when all of it is there.
    pub fn writing(self, once: usize) -> Place {
        Place { once, ..self }
    }
}

/// A connection's handle: with it the connection can be given up.
#[derive(Clone, Default)]
pub struct Handle(Arc<Mutex<State>>);

#[derive(Default)]
struct State {
    given_up: bool,
    socket: Option<TcpStream>,
}

impl Handle {
    /// Gives it up.
    pub fn give_up(&self) {
        let mut state = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        state.given_up = true;
        if let Some(socket) = state.socket.take() {
            let _ = socket.shutdown(Shutdown::Both);
        }
    }

    fn is(&self, socket: &TcpStream) -> io::Result<()> {
        let mut state = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if state.given_up {
            return Err(io::Error::other("given up"));
        }
        state.socket = Some(socket.try_clone()?);
        Ok(())
    }
}

/// Posts and waits for the answer: its status and body.
pub fn post(
    at: &Place,
    path: &str,
    kind: &str,
    body: &[u8],
    handle: &Handle,
) -> io::Result<(u16, Vec<u8>)> {
    let socket = TcpStream::connect_timeout(&at.address, Duration::from_secs(120))?;
    socket.set_nodelay(true)?;
    handle.is(&socket)?;
    let name = ServerName::try_from("office.example").map_err(io::Error::other)?;
    let session = ClientConnection::new(at.settings.clone(), name).map_err(io::Error::other)?;
    let mut stream = StreamOwned::new(session, socket);
    let head = format!(
        "POST {path} HTTP/1.1\r\nHost: office.example\r\nContent-Type: {kind}\r\n\
         Content-Length: {}\r\nConnection: close\r\n\r\n",
        body.len()
    );
    for part in [head.as_bytes(), body].concat().chunks(at.once) {
        stream.write_all(part)?;
        stream.flush()?;
    }
    answer(&mut stream)
}

fn answer(stream: &mut impl Read) -> io::Result<(u16, Vec<u8>)> {
    let mut got = Vec::new();
    let mut part = [0; 4096];
    loop {
        let broken = || io::Error::other("not an answer");
        if let Some(end) = got.windows(4).position(|w| w == b"\r\n\r\n") {
            let head = std::str::from_utf8(&got[..end]).map_err(io::Error::other)?;
            let status = head.get(9..12).and_then(|s| s.parse().ok());
            let length = head.lines().find_map(|line| {
                let (name, value) = line.split_once(':')?;
                let ours = name.eq_ignore_ascii_case("content-length");
                ours.then(|| value.trim().parse::<usize>().ok())?
            });
            let (status, length) = (status.ok_or_else(broken)?, length.ok_or_else(broken)?);
            if let Some(body) = got.get(end + 4..end + 4 + length) {
                return Ok((status, body.to_vec()));
            }
        }
        match stream.read(&mut part)? {
            0 => return Err(io::ErrorKind::UnexpectedEof.into()),
            n => got.extend_from_slice(&part[..n]),
        }
    }
}
