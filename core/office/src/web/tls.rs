//! HTTPS: the office's own, where no proxy stands before it.

use std::io;
use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use axum::serve::Listener;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::mpsc;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio_rustls::server::TlsStream;

/// How long somebody may take to agree on keys. Own choice, no source: on the project's
/// bad link it took under 20 s.
const HANDSHAKE: Duration = Duration::from_secs(30);

/// Connections that are agreed on and not yet served.
const READY: usize = 64;

/// Why there is no HTTPS.
#[derive(Debug, thiserror::Error)]
pub enum TlsFault {
    /// A file cannot be read, or holds something else.
    #[error("{file} is not a PEM file of what is needed here: {reason}")]
    File {
        /// Which.
        file: String,
        /// Why.
        reason: String,
    },
    /// The certificate and the key do not belong together, or are of no use.
    #[error("the certificate and the key cannot be used: {0}")]
    Unusable(String),
}

/// The settings from a chain of certificates and its key, both PEM. TLS 1.2 and 1.3, with
/// tickets, so that a phone's next connection need not agree on keys anew.
///
/// # Errors
/// [`TlsFault`].
pub fn settings(chain: &Path, key: &Path) -> Result<ServerConfig, TlsFault> {
    let fault = |file: &Path, reason: String| TlsFault::File {
        file: file.display().to_string(),
        reason,
    };
    let certificates = CertificateDer::pem_file_iter(chain)
        .and_then(Iterator::collect::<Result<Vec<_>, _>>)
        .map_err(|e| fault(chain, e.to_string()))?;
    let private = PrivateKeyDer::from_pem_file(key).map_err(|e| fault(key, e.to_string()))?;
    let unusable = |e: tokio_rustls::rustls::Error| TlsFault::Unusable(e.to_string());
    let mut settings = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(unusable)?
        .with_no_client_auth()
        .with_single_cert(certificates, private)
        .map_err(unusable)?;
    settings.alpn_protocols = vec![b"http/1.1".to_vec()];
    settings.ticketer = ring::Ticketer::new().map_err(unusable)?;
    Ok(settings)
}

/// Gives connections once they are agreed on; nobody waits for somebody else's agreeing.
pub struct TlsListener {
    address: SocketAddr,
    ready: mpsc::Receiver<(TlsStream<TcpStream>, SocketAddr)>,
}

impl TlsListener {
    /// Listens on; must be called inside a runtime.
    ///
    /// # Errors
    /// If the socket does not say where it listens.
    pub fn new(listener: TcpListener, settings: ServerConfig) -> io::Result<Self> {
        let address = listener.local_addr()?;
        let (send, ready) = mpsc::channel(READY);
        tokio::spawn(take_calls(
            listener,
            TlsAcceptor::from(Arc::new(settings)),
            send,
        ));
        Ok(TlsListener { address, ready })
    }
}

async fn take_calls(
    listener: TcpListener,
    acceptor: TlsAcceptor,
    ready: mpsc::Sender<(TlsStream<TcpStream>, SocketAddr)>,
) {
    while !ready.is_closed() {
        let (stream, from) = match listener.accept().await {
            Ok(call) => call,
            Err(fault) => {
                // Too many files open, most likely: it passes as others hang up.
                tracing::warn!("a call could not be taken: {fault}");
                tokio::time::sleep(Duration::from_secs(1)).await;
                continue;
            }
        };
        let (acceptor, ready) = (acceptor.clone(), ready.clone());
        tokio::spawn(async move {
            let _ = stream.set_nodelay(true);
            match tokio::time::timeout(HANDSHAKE, acceptor.accept(stream)).await {
                Ok(Ok(stream)) => {
                    // Closed meanwhile: then nobody serves it.
                    let _ = ready.send((stream, from)).await;
                }
                Ok(Err(fault)) => tracing::debug!("no agreement: {fault}"),
                Err(_) => tracing::debug!("no agreement in time"),
            }
        });
    }
}

impl Listener for TlsListener {
    type Io = TlsStream<TcpStream>;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Self::Io, Self::Addr) {
        match self.ready.recv().await {
            Some(call) => call,
            // The task above never ends while this is here.
            None => std::future::pending().await,
        }
    }

    fn local_addr(&self) -> io::Result<Self::Addr> {
        Ok(self.address)
    }
}
