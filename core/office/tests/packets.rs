//! Posts in packets, over real sockets to the real office: taken in, answered and refused as
//! over a connection; and what strangers send leaves nothing behind.

mod support;

use std::io::{Read, Write};
use std::net::{TcpStream, UdpSocket};
use std::time::{Duration, Instant};

use standsquare_office::OfficeState;
use standsquare_office::web::{self, Doors, packets};
use standsquare_sync::packets::Flight;
use standsquare_sync::{Receipt, frame_id, post_body, stretch_body};
use support::*;
use tokio::net::TcpListener;
use tokio::runtime::Runtime;

/// An office that is open, to packets too.
struct Open {
    office: OfficeState,
    at: std::net::SocketAddr,
    _runtime: Runtime,
}

fn open() -> Open {
    let office = office();
    let runtime = Runtime::new().expect("a runtime");
    let at = runtime.block_on(async {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let at = listener.local_addr().expect("an address");
        let socket = packets::listen(at).await.expect("the same port");
        let (doors, never) = (Doors::new(false), std::future::pending());
        let running = web::run(listener, Some(socket), office.clone(), doors, never);
        tokio::spawn(running);
        at
    });
    Open {
        office,
        at,
        _runtime: runtime,
    }
}

/// Sends a body in packets of which only every `comes`th is sent at first; the answer.
fn fly(open: &Open, body: &[u8], secret: u8, comes: usize) -> (u16, Vec<u8>) {
    let socket = UdpSocket::bind("127.0.0.1:0").expect("a socket");
    socket.connect(open.at).expect("an address");
    let began = Instant::now();
    let now = || i64::try_from(began.elapsed().as_millis()).expect("soon");
    let key = open.office.public_key();
    let mut flight = Flight::new(body, &key, [secret; 32], 0).expect("short enough");
    let mut sent = 0;
    let mut room = [0; 2_048];
    loop {
        for packet in flight.wake(now()) {
            sent += 1;
            if sent > 100 || sent % comes == 0 {
                socket.send(&packet).expect("sent");
            }
        }
        let next = flight.next_ms().expect("not given up") - now();
        let wait = Duration::from_millis(u64::try_from(next).unwrap_or(0).max(1));
        socket.set_read_timeout(Some(wait)).expect("a time-out");
        if let Ok(length) = socket.recv(&mut room)
            && let Some(answer) = flight.heard(&room[..length], now())
        {
            return answer;
        }
    }
}

#[test]
fn a_day_comes_in_packets_and_is_receipted_as_over_a_connection() {
    let open = open();
    let pen = Pen::day(1, 30);
    let body = stretch_body(&pen.frames, 0, standsquare_journal::record::chain);
    let (status, answer) = fly(&open, &body, 1, 1);
    assert_eq!(status, 200);
    let receipt = Receipt::verify(&answer, &open.office.public_key()).expect("a receipt");
    let ids: Vec<_> = pen.frames.iter().map(|f| frame_id(f)).collect();
    assert_eq!(receipt.held, ids);
    assert!(receipt.refused.is_empty());
    // Again, with two of three lost: nothing twice.
    let before = format!("{:?}", open.office.sessions(99).expect("sessions"));
    let (status, answer) = fly(&open, &body, 2, 3);
    assert_eq!(status, 200);
    assert_eq!(
        Receipt::verify(&answer, &open.office.public_key())
            .expect("a receipt")
            .held,
        ids
    );
    let now = format!("{:?}", open.office.sessions(99).expect("sessions"));
    assert_eq!(now, before);
}

#[test]
fn what_is_refused_is_told_in_the_same_words() {
    let open = open();
    assert_eq!(fly(&open, b"no batch", 1, 1).0, 400);
    assert_eq!(fly(&open, b"SSQF\x01\x09", 2, 1).0, 415);
    let mut forged = Pen::day(1, 1).frames;
    let at = forged[0].len() - 1;
    forged[0][at] ^= 1;
    let (status, answer) = fly(&open, &post_body(&forged), 3, 1);
    assert_eq!(status, 200);
    let receipt = Receipt::verify(&answer, &open.office.public_key()).expect("a receipt");
    assert_eq!(
        (receipt.held.len(), receipt.refused.len()),
        (forged.len() - 1, 1)
    );
}

#[test]
fn what_strangers_send_is_not_answered_and_the_next_post_is() {
    let open = open();
    let socket = UdpSocket::bind("127.0.0.1:0").expect("a socket");
    let other = ed25519_dalek::SigningKey::from_bytes(&[1; 32]).verifying_key();
    let mut foreign = Flight::new(&[7; 3_000], other.as_bytes(), [5; 32], 0).expect("short");
    let mut sent = foreign.wake(0);
    sent.extend([vec![], vec![0; 1_200], vec![7; 9_000], b"SSQP\x01".to_vec()]);
    sent.push([&b"SSQP\x01"[..], &[0; 1_000]].concat());
    for packet in &sent {
        let _ = socket.send_to(packet, open.at);
    }
    // Whoever is answered is answered before the next post is.
    let pen = Pen::day(1, 1);
    assert_eq!(fly(&open, &post_body(&pen.frames), 1, 1).0, 200);
    socket.set_nonblocking(true).expect("a setting");
    assert!(
        socket.recv(&mut [0; 2_048]).is_err(),
        "a stranger was answered"
    );
}

#[test]
fn one_address_is_slowed_as_over_connections() {
    let open = open();
    let socket = UdpSocket::bind("127.0.0.1:0").expect("a socket");
    // Only the one that is refused waits so long.
    let wait = Some(Duration::from_secs(10));
    socket.set_read_timeout(wait).expect("a time-out");
    let is_answered = |n: u32| {
        let mut secret = [9; 32];
        secret[..4].copy_from_slice(&n.to_be_bytes());
        let mut flight = Flight::new(&[1], &open.office.public_key(), secret, 0).expect("short");
        let packet = flight.wake(0).remove(0);
        socket.send_to(&packet, open.at).expect("sent");
        let mut room = [0; 2_048];
        while let Ok(length) = socket.recv(&mut room) {
            // Answers to those before may still come.
            if flight.heard(&room[..length], 0).is_some() {
                return true;
            }
        }
        false
    };
    let refused = (0..20_000).find(|n| !is_answered(*n));
    assert!(refused.is_some_and(|n| n >= 600), "{refused:?}");
    // Anybody could have written this address on them: over a connection it comes in.
    let mut there = TcpStream::connect(open.at).expect("a connection");
    let ask = b"GET /v1/log/checkpoint HTTP/1.1\r\nHost: office\r\nConnection: close\r\n\r\n";
    there.write_all(ask).expect("asked");
    let mut answer = String::new();
    there.read_to_string(&mut answer).expect("answered");
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
}
