//! The baseline: everything in one POST, given 30 s, then tried again with back-off.

use std::sync::mpsc;
use std::time::{Duration, Instant};

use crate::post::{Handle, Place, post};

const TIME_OUT: Duration = Duration::from_secs(30);
const FIRST_PAUSE_S: f64 = 1.0;
const LONGEST_PAUSE_S: f64 = 60.0;

/// How long it took; nothing if it was not done in time.
pub fn send(at: &Place, body: &[u8], give_up: Duration) -> Option<Duration> {
    let began = Instant::now();
    let mut pause_s = FIRST_PAUSE_S;
    while began.elapsed() < give_up {
        let handle = Handle::default();
        let (say, heard) = mpsc::channel();
        let (there, with, whole) = (at.clone(), handle.clone(), body.to_vec());
        std::thread::spawn(move || {
            let done = post(&there, "/json", "application/json", &whole, &with);
            // Nobody hears it after the time-out.
            let _ = say.send(done);
        });
        match heard.recv_timeout(TIME_OUT) {
            Ok(Ok((200, _))) => return Some(began.elapsed()),
            Ok(_) => {}
            Err(_) => handle.give_up(),
        }
        // Full jitter's upper half: as ordinary clients spread their tries.
        std::thread::sleep(Duration::from_secs_f64(
            pause_s * (0.5 + fastrand::f64() / 2.0),
        ));
        pause_s = (pause_s * 2.0).min(LONGEST_PAUSE_S);
    }
    None
}
