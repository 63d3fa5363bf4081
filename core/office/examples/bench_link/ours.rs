//! The phone's side as the core has it: an [`Outbox`] that says when to open which
//! connection or to send in packets, driven over real ones.

use std::collections::BTreeMap;
use std::net::UdpSocket;
use std::sync::mpsc;
use std::time::{Duration, Instant};

use standsquare_journal::record::chain;
use standsquare_office::demo;
use standsquare_sync::packets::Flight;
use standsquare_sync::{Attempt, Command, Outbox, Receipt, Timers, frame_id, stretch_body};

use crate::post::{Handle, Place, post};
use crate::support::Pen;

/// What the network brings.
enum Came {
    /// A connection came to this.
    Ended(Attempt, std::io::Result<(u16, Vec<u8>)>),
    /// A packet.
    Packet(Vec<u8>),
}

/// How long it took; nothing if it was not done in time.
pub fn send(at: &Place, pen: &Pen, give_up: Duration) -> Option<Duration> {
    let mut outbox = Outbox::new(Timers::default())
        .packing(|frames, turn| stretch_body(frames, turn, chain))
        .flying();
    for frame in &pen.frames {
        outbox.add(frame_id(frame), frame.clone());
    }
    let (say, heard) = mpsc::channel();
    let mut phone = Phone {
        office: demo::demo_only_key().verifying_key().to_bytes(),
        outbox,
        at: at.clone().writing(standsquare_sync::WRITE_AT_ONCE),
        socket: hearing(at, say.clone()),
        say,
        live: BTreeMap::new(),
        flight: None,
        began: Instant::now(),
        wake_at: 0,
    };
    phone.go_on();
    while phone.began.elapsed() < give_up {
        let flight = phone.flight.as_ref().and_then(|(_, f)| f.next_ms());
        let next = flight.map_or(phone.wake_at, |at| at.min(phone.wake_at));
        let wait = u64::try_from(next - phone.now_ms()).unwrap_or(0);
        match heard.recv_timeout(Duration::from_millis(wait)) {
            Ok(Came::Ended(attempt, done)) => phone.answered(attempt, done),
            Ok(Came::Packet(packet)) => {
                let now = phone.now_ms();
                if let Some((attempt, flight)) = &mut phone.flight
                    && let Some(answer) = flight.heard(&packet, now)
                {
                    let attempt = *attempt;
                    phone.answered(attempt, Ok(answer));
                }
            }
            Err(_) => {}
        }
        if phone.outbox.waiting() == 0 {
            return Some(phone.began.elapsed());
        }
        phone.go_on();
    }
    None
}

/// A socket for packets, with somebody who listens to it.
fn hearing(at: &Place, say: mpsc::Sender<Came>) -> UdpSocket {
    let socket = UdpSocket::bind("0.0.0.0:0").expect("a socket");
    socket.connect(at.address()).expect("an address");
    let ear = socket.try_clone().expect("the same socket");
    std::thread::spawn(move || {
        let mut bytes = [0; 2_048];
        // Nobody hears it once everything is there.
        while let Ok(length) = ear.recv(&mut bytes) {
            let _ = say.send(Came::Packet(bytes[..length].to_vec()));
        }
    });
    socket
}

struct Phone {
    office: [u8; 32],
    outbox: Outbox,
    at: Place,
    socket: UdpSocket,
    say: mpsc::Sender<Came>,
    live: BTreeMap<Attempt, Handle>,
    flight: Option<(Attempt, Flight)>,
    began: Instant,
    wake_at: i64,
}

impl Phone {
    fn now_ms(&self) -> i64 {
        i64::try_from(self.began.elapsed().as_millis()).unwrap_or(i64::MAX)
    }

    fn go_on(&mut self) {
        let commands = self.outbox.wake(self.now_ms(), fastrand::u64(..));
        self.obey(commands);
        let now = self.now_ms();
        let packets = self.flight.as_mut().map(|(_, flight)| flight.wake(now));
        for packet in packets.unwrap_or_default() {
            // One that the system does not take is a lost one.
            let _ = self.socket.send(&packet);
        }
    }

    fn obey(&mut self, commands: Vec<Command>) {
        for command in commands {
            match command {
                Command::Post { attempt, body } => {
                    let handle = Handle::default();
                    self.live.insert(attempt, handle.clone());
                    let (there, say) = (self.at.clone(), self.say.clone());
                    std::thread::spawn(move || {
                        let kind = standsquare_office::web::FRAMES_TYPE;
                        let done = post(&there, "/v1/frames", kind, &body, &handle);
                        // Nobody hears it once everything is there.
                        let _ = say.send(Came::Ended(attempt, done));
                    });
                }
                Command::Fly { attempt, body } => {
                    let mut secret = [0; 32];
                    getrandom::fill(&mut secret).expect("random bytes");
                    let flight = Flight::new(&body, &self.office, secret, self.now_ms());
                    self.flight = flight.map(|flight| (attempt, flight));
                }
                Command::Drop { attempt } => {
                    self.flight.take_if(|(flown, _)| *flown == attempt);
                    if let Some(handle) = self.live.remove(&attempt) {
                        handle.give_up();
                    }
                }
                Command::WakeAt { at_ms } => self.wake_at = at_ms,
            }
        }
    }

    fn answered(&mut self, attempt: Attempt, done: std::io::Result<(u16, Vec<u8>)>) {
        let now = self.now_ms();
        match done {
            Ok((200, body)) => match Receipt::verify(&body, &self.office) {
                Ok(receipt) => {
                    assert!(receipt.refused.is_empty(), "{:?}", receipt.refused);
                    let commands = self.outbox.answered(attempt, &receipt);
                    self.obey(commands);
                }
                Err(_) => self.outbox.failed(attempt, now, fastrand::u64(..)),
            },
            other => {
                self.outbox.failed(attempt, now, fastrand::u64(..));
                if matches!(other, Ok((415, _))) {
                    self.outbox.plainly();
                }
            }
        }
    }
}
