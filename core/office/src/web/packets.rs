//! The door for posts in packets, at the same port as HTTP's: see `standsquare_sync::packets`.
//! What is taken in, counted and answered is the same as for a post over a connection.

use std::io;
use std::net::SocketAddr;
use std::time::Duration;

use standsquare_sync::packets::{LONGEST, Landing, Whole};
use tokio::net::UdpSocket;
use tokio::sync::mpsc;

use super::doors::Doors;
use super::now_ms;
use super::phones::{take_in, told};
use crate::state::OfficeState;

/// Answers on their way from where posts are taken in. Own choice, no source.
const ANSWERS: usize = 64;

/// Waits of this many milliseconds where nothing is under way.
const IDLE_MS: i64 = 60_000;

/// A post's name, and what it is answered.
type Answer = ([u8; 32], u16, Vec<u8>);

/// Listens at this address.
///
/// # Errors
/// What the system says: another program may have the port.
pub async fn listen(at: SocketAddr) -> io::Result<UdpSocket> {
    UdpSocket::bind(at).await
}

/// Takes packets in until it is dropped. A packet that cannot be sent or received is a lost one.
pub async fn run(socket: UdpSocket, office: OfficeState) {
    let doors = Doors::for_packets();
    let mut seed = [0; 32];
    if let Err(fault) = getrandom::fill(&mut seed) {
        tracing::error!("no posts in packets: the system gives no random bytes: {fault}");
        return;
    }
    let mut landing = Landing::new(office.key(), seed);
    let (say, mut answers) = mpsc::channel::<Answer>(ANSWERS);
    // One more than a packet may have: a longer one is none.
    let mut bytes = [0; LONGEST + 1];
    loop {
        let next_ms = landing.next_ms().map_or(IDLE_MS, |at| at - now_ms());
        let wait = Duration::from_millis(u64::try_from(next_ms).unwrap_or(0));
        tokio::select! {
            came = socket.recv_from(&mut bytes) => {
                if let Ok((length, from)) = came {
                    let packet = &bytes[..length];
                    // Each post knocks once, as one over a connection does.
                    if (landing.knows(packet) || doors.opens_to(from.ip()))
                        && let Some(whole) = landing.take(packet, from, now_ms())
                    {
                        judge(whole, &office, &say);
                    }
                }
            }
            Some((post, status, body)) = answers.recv() => {
                landing.answer(&post, status, &body, now_ms());
            }
            () = tokio::time::sleep(wait) => {}
        }
        for (to, packet) in landing.due(now_ms()) {
            let _ = socket.send_to(&packet, to).await;
        }
    }
}

/// Takes a post in beside the listening.
fn judge(whole: Whole, office: &OfficeState, say: &mpsc::Sender<Answer>) {
    let (office, say) = (office.clone(), say.clone());
    tokio::spawn(async move {
        let done = take_in(&office, whole.body).await;
        office.counts().posts_in_packets.count(1);
        let (status, body) = told(&office, done);
        // Nobody hears it where the office is closing: the phone asks again.
        let _ = say.send((whole.post, status.as_u16(), body)).await;
    });
}
