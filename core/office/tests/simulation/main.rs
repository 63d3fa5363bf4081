//! Phones, a bad link and two offices before one database, all driven by one seed: partitions,
//! cuts in the middle of a post, losses, duplicates, reordering, a database that fails before or
//! after its commit, crashes of either side. Phones post as the app does: through their outbox,
//! in stretches of which rivals begin at different dogs, and by most seeds in packets as well
//! (`air.rs`), unless their network lets none through. In the end everything is there once, in
//! the same state as without any trouble. A seed that fails is named, and fails again in the same
//! way: `STANDSQUARE_SEED=17 cargo test -p standsquare-office --test simulation`.
//! `STANDSQUARE_SEEDS=100000` runs that many.

mod air;
mod failing;
mod phone;
#[path = "../support/mod.rs"]
mod support;
mod world;

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicU64, Ordering};

use standsquare_journal::record::fact::Outcome;
use standsquare_office::{FrameState, OfficeState};
use standsquare_sync::frame_id;
use standsquare_sync::log::Ask;
use support::*;
use world::World;

/// All that the office shows.
fn picture(office: &OfficeState) -> String {
    let sessions = office.sessions(99).expect("sessions");
    let mut ids: Vec<_> = sessions.iter().map(|s| s.session).collect();
    ids.sort_unstable();
    ids.dedup();
    ids.iter()
        .map(|id| format!("{:?}", office.session(*id).expect("a session")))
        .collect()
}

/// So many dogs of a phone make its post a stretch, if most of them wait together.
const MANY: u32 = 10;

/// Two phones of one session that see one dog differently, and a third elsewhere. Either the
/// two have a long day, or the third has.
fn pens(long: bool) -> Vec<Pen> {
    let day = |n: u8, session: [u8; 16], dogs: u32| {
        let mut pen = Pen::new(n);
        pen.session = session;
        pen.set_up();
        for visit in 1..=dogs {
            let mut statement = pen.statement(visit, "Tansy", &format!("9990000000001{visit:02}"));
            if visit == 3 || (n == 2 && visit == 1) {
                statement.chip = "999000000112233".into();
                statement.outcome = Outcome::Category {
                    id: "medium".into(),
                    label: "Medium".into(),
                };
            }
            pen.dog(&statement);
        }
        pen.close();
        pen
    };
    if long {
        vec![
            day(1, SESSION, MANY),
            day(2, SESSION, MANY),
            day(3, [3; 16], 3),
        ]
    } else {
        vec![two_dogs(1), two_dogs(2), day(3, [3; 16], MANY)]
    }
}

fn run(seed: u64, pens: &[Pen], expected: &str) -> BTreeMap<&'static str, u32> {
    let mut world = World::new(seed, pens);
    world.run();
    let mut logged = Vec::new();
    for phone in &world.phones {
        assert_eq!(
            phone.written,
            phone.pen.frames.len(),
            "everything was written"
        );
        assert_eq!(phone.outbox.waiting(), 0, "and nothing waits any more");
        for bytes in &phone.pen.frames {
            let id = frame_id(bytes);
            assert!(
                phone.acknowledged.contains(&id),
                "an acknowledgement is missing"
            );
            for office in &world.offices {
                let state = office.frame_state(id).expect("asked");
                assert_eq!(state, Some(FrameState::Accepted));
            }
            logged.push(id);
        }
    }
    for office in &world.offices {
        assert_eq!(
            picture(office),
            expected,
            "the same picture as without trouble"
        );
        assert_eq!(office.waiting().expect("a number"), 0);
        assert!(office.set_aside(9).expect("a list").is_empty());
    }
    // Every frame is in the log, once.
    world.look_at_the_log();
    let now = world.seen.expect("a checkpoint");
    assert_eq!(now.size, logged.len() as u64);
    let ask = Ask {
        seen: 0,
        frames: logged.clone(),
    };
    let answer = world.offices[1].ask_log(&ask).expect("answered");
    let places: BTreeSet<_> = answer.frames.iter().map(|f| Reverse(f.index)).collect();
    assert_eq!(places.len(), logged.len());
    world.happened
}

#[test]
fn whatever_happens_everything_arrives_once() {
    if on_postgres() {
        // The troubles are of the engine's own making here; `process.rs` has real ones.
        return;
    }
    // What each kind of day comes to without any trouble.
    let days = [false, true].map(|long| {
        let pens = pens(long);
        let calm = office();
        for pen in &pens {
            held(&calm, &pen.frames);
        }
        (pens, picture(&calm))
    });
    let setting = |name: &str| std::env::var(name).ok().and_then(|v| v.parse::<u64>().ok());
    let seeds = match setting("STANDSQUARE_SEED") {
        Some(seed) => seed..seed + 1,
        None => 0..setting("STANDSQUARE_SEEDS").unwrap_or(60),
    };
    let many = seeds.end - seeds.start >= 20;
    let next = AtomicU64::new(seeds.start);
    // Each thread takes the next seed: what comes of one depends on nothing else.
    let some = || {
        let mut happened = BTreeMap::new();
        loop {
            let seed = next.fetch_add(1, Ordering::Relaxed);
            if seed >= seeds.end {
                return happened;
            }
            let (pens, expected) = &days[(seed % 2) as usize];
            let outcome = catch_unwind(AssertUnwindSafe(|| run(seed, pens, expected)));
            let Ok(of_seed) = outcome else {
                panic!("STANDSQUARE_SEED={seed} fails")
            };
            for (what, times) in of_seed {
                *happened.entry(what).or_insert(0) += times;
            }
        }
    };
    let threads = std::thread::available_parallelism().map_or(1, |n| n.get());
    let mut happened: BTreeMap<&str, u32> = BTreeMap::new();
    std::thread::scope(|scope| {
        let all: Vec<_> = (0..threads).map(|_| scope.spawn(some)).collect();
        for one in all {
            match one.join() {
                Ok(of_thread) => {
                    for (what, times) in of_thread {
                        *happened.entry(what).or_default() += times;
                    }
                }
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
    });
    println!("{happened:?}");
    // Otherwise nothing was shown.
    for what in [
        "lost",
        "doubled",
        "killed",
        "failed",
        "cut",
        "in parts",
        "early",
        "office killed",
    ]
    .into_iter()
    .chain(air::TO_HAPPEN)
    {
        let times = happened.get(what).copied().unwrap_or(0);
        assert!(!many || times > 0, "never: {what}");
    }
}

#[test]
fn a_seed_gives_the_same_run_again() {
    let pens = pens(true);
    let end = |seed| {
        let mut world = World::new(seed, &pens);
        world.run();
        (world.now_ms, world.order, world.random.0)
    };
    assert_eq!(end(5), end(5));
    assert_ne!(end(5), end(6));
}
