//! The post that goes to the office in packets, beside the requests that carry the same.

use standsquare_sync::Attempt;
use standsquare_sync::packets::Flight;

/// One at a time; a killed app begins anew.
#[derive(Default)]
pub struct Flying(Option<(Attempt, Flight)>);

impl Flying {
    /// Takes a flight up; whether it can go in packets at all.
    pub fn begin(&mut self, attempt: Attempt, flight: Option<Flight>) -> bool {
        self.0 = flight.map(|flight| (attempt, flight));
        self.0.is_some()
    }

    /// The packets that are due, and when there are more; `Err` with the attempt that ended
    /// without an answer.
    pub fn wake(&mut self, now_ms: i64) -> (Vec<Vec<u8>>, Option<Result<i64, Attempt>>) {
        let Some((attempt, flight)) = &mut self.0 else {
            return (Vec::new(), None);
        };
        let packets = flight.wake(now_ms);
        let next = flight.next_ms().ok_or(*attempt);
        if next.is_err() {
            self.0 = None;
        }
        (packets, Some(next))
    }

    /// A packet came: which attempt it ends, the answer's status as in HTTP, and its body.
    pub fn heard(&mut self, packet: &[u8], now_ms: i64) -> Option<(Attempt, u16, Vec<u8>)> {
        let (attempt, flight) = self.0.as_mut()?;
        let (status, body) = flight.heard(packet, now_ms)?;
        Some((*attempt, status, body))
    }

    /// Nobody waits for this one any more; whether it was under way.
    pub fn end(&mut self, attempt: Attempt) -> bool {
        self.0.take_if(|(flown, _)| *flown == attempt).is_some()
    }
}
