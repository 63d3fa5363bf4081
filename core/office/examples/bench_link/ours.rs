//! The phone's side as the core has it: an [`Outbox`] that says when to open which
//! connection, driven over real ones.

use std::collections::BTreeMap;
use std::sync::mpsc;
use std::time::{Duration, Instant};

use standsquare_journal::record::chain;
use standsquare_office::demo;
use standsquare_sync::{Attempt, Command, Outbox, Receipt, Timers, frame_id, stretch_body};

use crate::post::{Handle, Place, post};
use crate::support::Pen;

/// What a connection came to.
type Ended = (Attempt, std::io::Result<(u16, Vec<u8>)>);

/// How long it took; nothing if it was not done in time.
pub fn send(at: &Place, pen: &Pen, give_up: Duration) -> Option<Duration> {
    let office = demo::demo_only_key().verifying_key().to_bytes();
    let mut outbox =
        Outbox::new(Timers::default()).packing(|frames, turn| stretch_body(frames, turn, chain));
    for frame in &pen.frames {
        outbox.add(frame_id(frame), frame.clone());
    }
    let at = at.clone().writing(standsquare_sync::WRITE_AT_ONCE);
    let (say, heard) = mpsc::channel::<Ended>();
    let mut live: BTreeMap<Attempt, Handle> = BTreeMap::new();
    let began = Instant::now();
    let now_ms = || i64::try_from(began.elapsed().as_millis()).unwrap_or(i64::MAX);
    let mut wake_at = 0;
    let mut obey = |commands: Vec<Command>, wake_at: &mut i64| {
        for command in commands {
            match command {
                Command::Post { attempt, body } => {
                    let handle = Handle::default();
                    live.insert(attempt, handle.clone());
                    let (there, say) = (at.clone(), say.clone());
                    std::thread::spawn(move || {
                        let kind = standsquare_office::web::FRAMES_TYPE;
                        let done = post(&there, "/v1/frames", kind, &body, &handle);
                        // Nobody hears it once everything is there.
                        let _ = say.send((attempt, done));
                    });
                }
                Command::Drop { attempt } => {
                    if let Some(handle) = live.remove(&attempt) {
                        handle.give_up();
                    }
                }
                Command::WakeAt { at_ms } => *wake_at = at_ms,
            }
        }
    };
    obey(outbox.wake(now_ms(), fastrand::u64(..)), &mut wake_at);
    while began.elapsed() < give_up {
        let wait = u64::try_from(wake_at - now_ms()).unwrap_or(0);
        match heard.recv_timeout(Duration::from_millis(wait)) {
            Ok((attempt, Ok((200, body)))) => match Receipt::verify(&body, &office) {
                Ok(receipt) => {
                    assert!(receipt.refused.is_empty(), "{:?}", receipt.refused);
                    let commands = outbox.answered(attempt, &receipt);
                    obey(commands, &mut wake_at);
                }
                Err(_) => outbox.failed(attempt, now_ms(), fastrand::u64(..)),
            },
            Ok((attempt, other)) => {
                outbox.failed(attempt, now_ms(), fastrand::u64(..));
                if matches!(other, Ok((415, _))) {
                    outbox.plainly();
                }
            }
            Err(_) => {}
        }
        if outbox.waiting() == 0 {
            return Some(began.elapsed());
        }
        obey(outbox.wake(now_ms(), fastrand::u64(..)), &mut wake_at);
    }
    None
}
