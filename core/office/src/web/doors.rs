//! How often one address may knock at the doors that need no sign-in.

use std::net::{IpAddr, SocketAddr};
use std::num::NonZeroU32;
use std::sync::Arc;

use axum::extract::connect_info::{ConnectInfo, Connected};
use axum::extract::{Request, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use axum::serve::IncomingStream;
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};
use tokio::net::TcpListener;

use super::tls::TlsListener;

/// Posts a minute from one address, and as many at once. Own choice, no source: a phone on a
/// bad link opens a rival connection every second or two, and a hall's ten phones may share
/// one address.
const A_MINUTE: NonZeroU32 = NonZeroU32::new(600).unwrap();

/// Addresses remembered before those that have rested are forgotten. Own choice, no source.
const REMEMBERED: usize = 10_000;

/// After how many seconds to come again, as it is told.
const COME_AGAIN_S: &str = "10";

/// The doors, with who knocked lately.
#[derive(Clone)]
pub struct Doors {
    knocks: Arc<DefaultKeyedRateLimiter<IpAddr>>,
    behind_proxy: bool,
}

impl Doors {
    /// `behind_proxy`: a proxy of one's own stands before the office and adds the caller's
    /// address to `X-Forwarded-For`. Without one, that header is anybody's word.
    pub fn new(behind_proxy: bool) -> Self {
        Doors {
            knocks: Arc::new(RateLimiter::keyed(Quota::per_minute(A_MINUTE))),
            behind_proxy,
        }
    }

    /// Doors for packets, where knocks are counted apart: anybody can write another's address on
    /// a packet, and must not shut these to whoever is really there.
    pub(super) fn for_packets() -> Self {
        Doors::new(false)
    }

    /// Whether somebody at this address may come in now.
    pub(super) fn opens_to(&self, address: IpAddr) -> bool {
        if self.knocks.len() > REMEMBERED {
            self.knocks.retain_recent();
        }
        self.knocks.check_key(&network(address)).is_ok()
    }

    /// Where a request comes from: what the proxy says, the last entry being its own.
    fn address(&self, peer: Peer, headers: &HeaderMap) -> IpAddr {
        let told = headers.get_all("x-forwarded-for").iter().next_back();
        let last = told.and_then(|v| v.to_str().ok()?.rsplit(',').next()?.trim().parse().ok());
        match last {
            Some(address) if self.behind_proxy => address,
            _ => peer.0.ip(),
        }
    }
}

/// Whoever has an IPv6 address has 2^64 of them.
fn network(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(v6) => {
            let [a, b, c, d, ..] = v6.segments();
            std::net::Ipv6Addr::new(a, b, c, d, 0, 0, 0, 0).into()
        }
        v4 => v4,
    }
}

/// Who is at the other end of the connection.
#[derive(Clone, Copy, Debug)]
pub struct Peer(pub SocketAddr);

impl Connected<IncomingStream<'_, TcpListener>> for Peer {
    fn connect_info(stream: IncomingStream<'_, TcpListener>) -> Self {
        Peer(*stream.remote_addr())
    }
}

impl Connected<IncomingStream<'_, TlsListener>> for Peer {
    fn connect_info(stream: IncomingStream<'_, TlsListener>) -> Self {
        Peer(*stream.remote_addr())
    }
}

/// Lets a request in, or asks to come again later. What has no address (a test's) comes in.
pub(super) async fn knock(State(doors): State<Doors>, request: Request, next: Next) -> Response {
    let peer = request.extensions().get::<ConnectInfo<Peer>>();
    let address = peer.map(|ConnectInfo(peer)| doors.address(*peer, request.headers()));
    if address.is_some_and(|address| !doors.opens_to(address)) {
        tracing::warn!("an address knocks too often");
        let why = "Too many requests from one address; wait a few seconds and send again. \
                   Nothing is lost.\n";
        let later = [(header::RETRY_AFTER, COME_AGAIN_S)];
        return (StatusCode::TOO_MANY_REQUESTS, later, why).into_response();
    }
    next.run(request).await
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ip(text: &str) -> IpAddr {
        text.parse().expect("an address")
    }

    #[test]
    fn one_address_is_slowed_and_no_other() {
        let doors = Doors::new(false);
        let let_in = (0..2_000)
            .filter(|_| doors.opens_to(ip("192.0.2.1")))
            .count();
        assert!((600..700).contains(&let_in), "{let_in}");
        assert!(doors.opens_to(ip("192.0.2.2")));
        // Another address of the same IPv6 network is the same caller.
        let many = (0..2_000).filter(|n| doors.opens_to(ip(&format!("2001:db8::{n:x}"))));
        assert!(many.count() < 700);
        assert!(doors.opens_to(ip("2001:db8:0:1::1")));
    }

    #[test]
    fn only_a_proxys_word_counts_and_only_its_own() {
        let peer = Peer(([10, 0, 0, 1], 443).into());
        let mut headers = HeaderMap::new();
        headers.append(
            "x-forwarded-for",
            "203.0.113.9, 192.0.2.7".parse().expect("a value"),
        );
        let of = |proxy: bool| Doors::new(proxy).address(peer, &headers);
        assert_eq!(of(true), ip("192.0.2.7"));
        assert_eq!(of(false), ip("10.0.0.1"));
        headers.insert("x-forwarded-for", "nonsense".parse().expect("a value"));
        assert_eq!(Doors::new(true).address(peer, &headers), ip("10.0.0.1"));
    }
}
