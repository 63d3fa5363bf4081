//! 1,000,000 random streams, cut anywhere, of good frames with noise between.
//!
//! No stream ever yields a number that was not sent, or one out of order, or
//! one from a frame that was cut short; and at least 99 % of the whole frames
//! are read when the profile is right, in every profile.
//!
//! `STANDSQUARE_STREAMS` sets the count for a quick run. The same seeds give
//! the same streams on any machine.

use standsquare_chip::{Frame, Framer, Profile, Refusal};
use standsquare_reader::encode::{encode, forms};
use standsquare_reader::noise::noise;
use std::thread;

const STREAMS: u64 = 1_000_000;
/// Longer than any profile's gap and pause.
const SILENCE_MS: i64 = 10_000;

fn streams() -> u64 {
    match std::env::var("STANDSQUARE_STREAMS") {
        Ok(text) => text.parse().expect("STANDSQUARE_STREAMS is a count"),
        Err(_) => STREAMS,
    }
}

fn random_number(form: &str, rng: &mut fastrand::Rng) -> String {
    if form.starts_with("line-legacy-9") {
        format!("{:09}", rng.u32(..1_000_000_000))
    } else if form.starts_with("line-legacy-10") {
        format!("{:010X}", rng.u64(1 << 36..1 << 40) & !0xF | 1)
    } else {
        format!("{:03}{:012}", rng.u16(1..1000), rng.u64(..1 << 38))
    }
}

/// A stream as it goes through one framer: what was sent whole, what was read.
struct Stream {
    framer: Framer,
    at_ms: i64,
    /// Numbers of the frames sent whole with nothing cut short before them.
    whole: Vec<String>,
    /// The same and, besides, those sent right behind a frame cut short, which
    /// no receiver can always tell apart.
    sent: Vec<String>,
    read: Vec<String>,
}

impl Stream {
    fn feed(&mut self, bytes: &[u8], rng: &mut fastrand::Rng) {
        let mut rest = bytes;
        while !rest.is_empty() {
            let (piece, after) = rest.split_at(rng.usize(1..=20).min(rest.len()));
            let frames = self.framer.feed(piece, self.at_ms);
            self.collect(frames);
            rest = after;
            self.at_ms += rng.i64(0..30);
        }
    }

    fn silence(&mut self) {
        self.at_ms += SILENCE_MS;
        let frames = self.framer.tick(self.at_ms);
        self.collect(frames);
    }

    fn collect(&mut self, frames: Vec<Frame>) {
        for frame in frames {
            match frame {
                Frame::Read(read) => self.read.push(read.number.to_string()),
                Frame::Refused(_) => {}
            }
        }
    }
}

/// Makes and reads one stream; gives how many whole frames were sent and read.
fn one(profile: &Profile, seed: u64) -> (u64, u64) {
    let rng = &mut fastrand::Rng::with_seed(seed);
    let form = profile.name.as_str();
    let silent = form == "idle-15";
    let mut s = Stream {
        framer: Framer::new(profile.clone()),
        at_ms: 1_000_000,
        whole: Vec::new(),
        sent: Vec::new(),
        read: Vec::new(),
    };
    for _ in 0..rng.usize(1..=6) {
        let number = random_number(form, rng);
        let frame = encode(form, &number).expect("a frame");
        if rng.bool() {
            s.feed(&noise(form, rng), rng);
            if silent {
                s.silence();
            }
        }
        // Never the whole frame: without its last byte at most.
        let short = &frame[..rng.usize(..frame.len())];
        match rng.u8(..10) {
            // Half a frame and the link drops.
            0 => {
                s.feed(short, rng);
                if let Some(refused) = s.framer.link_lost() {
                    assert_eq!(refused.reason, Refusal::Truncated);
                }
            }
            // Half a frame and the reader falls silent. (Where only silence
            // ends a frame, a whole number less nothing is whole.)
            1 => {
                s.feed(short, rng);
                s.silence();
            }
            // Half a frame and a whole one right behind it.
            2 if !silent => {
                s.feed(short, rng);
                s.feed(&frame, rng);
                s.sent.push(number);
                s.silence();
            }
            _ => {
                s.feed(&frame, rng);
                if silent {
                    s.silence();
                }
                s.sent.push(number.clone());
                s.whole.push(number);
            }
        }
    }
    s.silence();
    let at = |text: &str| format!("{form}, seed {seed}: {text}");
    // What was read is what was sent, in order, and nothing else.
    let mut sent = s.sent.iter();
    for number in &s.read {
        assert!(
            sent.any(|n| n == number),
            "{}",
            at(&format!("read {number}, sent {:?}", s.sent))
        );
    }
    let mut read = s.read.iter();
    let found = s.whole.iter().filter(|n| read.any(|r| r == *n)).count();
    (s.whole.len() as u64, found as u64)
}

#[test]
fn no_wrong_number_and_at_least_99_percent_read() {
    let total = streams();
    let workers = thread::available_parallelism().map_or(1, |n| n.get() as u64);
    let profiles = Profile::all();
    assert_eq!(profiles.len(), forms().len());
    let run = |worker: u64| {
        let mut counts = vec![(0, 0); profiles.len()];
        for seed in (worker..total).step_by(workers as usize) {
            let i = (seed % profiles.len() as u64) as usize;
            let (whole, read) = one(&profiles[i], seed);
            counts[i] = (counts[i].0 + whole, counts[i].1 + read);
        }
        counts
    };
    let per_worker: Vec<Vec<(u64, u64)>> = thread::scope(|scope| {
        let run = &run;
        let running: Vec<_> = (0..workers).map(|w| scope.spawn(move || run(w))).collect();
        running
            .into_iter()
            .map(|h| h.join().expect("a worker found no fault"))
            .collect()
    });
    for (i, profile) in profiles.iter().enumerate() {
        let (whole, read) = per_worker
            .iter()
            .fold((0, 0), |sum, c| (sum.0 + c[i].0, sum.1 + c[i].1));
        println!("{}: {read} of {whole} whole frames read", profile.name);
        assert!(whole > 0, "{}: too few streams to tell", profile.name);
        assert!(
            read * 100 >= whole * 99,
            "{}: only {read} of {whole} whole frames read",
            profile.name
        );
    }
}
