//! The sender: what it does when nothing answers, and that it always comes to rest.

use proptest::prelude::*;
use standsquare_sync::{Command, Limits, Outbox, Receipt, Timers, frame_id, frames_of};

fn receipt(held: &[[u8; 32]], refused: &[([u8; 32], String)]) -> Receipt {
    Receipt {
        office_key: [0; 32],
        at_ms: 0,
        held: held.to_vec(),
        refused: refused.to_vec(),
    }
}

fn frame(n: u8) -> Vec<u8> {
    vec![n; 5]
}

fn outbox(frames: u8) -> Outbox {
    let mut outbox = Outbox::new(Timers::default());
    for n in 0..frames {
        let bytes = frame(n);
        outbox.add(frame_id(&bytes), bytes);
    }
    outbox
}

fn posts(commands: &[Command]) -> Vec<u64> {
    let posted = |c: &Command| match c {
        Command::Post { attempt, .. } => Some(*attempt),
        _ => None,
    };
    commands.iter().filter_map(posted).collect()
}

fn next_wake(commands: &[Command]) -> i64 {
    let at = |c: &Command| match c {
        Command::WakeAt { at_ms } => Some(*at_ms),
        _ => None,
    };
    commands.iter().find_map(at).expect("a time to wake")
}

#[test]
fn rivals_follow_when_nothing_is_acknowledged_and_only_a_few_live() {
    let timers = Timers::default();
    let mut outbox = outbox(2);
    let mut now = 1_000;
    let mut live: Vec<(u64, i64)> = Vec::new();
    for n in 0..30 {
        let commands = outbox.wake(now, n * 911);
        let posted = posts(&commands);
        assert_eq!(posted.len(), 1, "one connection at a time");
        for command in &commands {
            if let Command::Drop { attempt } = command {
                let (oldest, since) = live.remove(0);
                assert_eq!(oldest, *attempt, "the oldest goes");
                assert!(now - since >= timers.patience_ms, "after its time");
            }
        }
        live.extend(posted.into_iter().map(|attempt| (attempt, now)));
        assert!(live.len() <= timers.live);
        let wake = next_wake(&commands);
        if n < timers.live as u64 - 1 {
            let wait = match n + 1 < timers.quick as u64 {
                true => timers.rival_from_ms..=timers.rival_to_ms,
                false => timers.later_from_ms..=timers.later_to_ms,
            };
            assert!(wait.contains(&(wake - now)), "{}", wake - now);
        }
        assert!(
            posts(&outbox.wake(wake - 1, 3)).is_empty(),
            "not before its time"
        );
        now = wake;
    }
}

#[test]
fn where_the_last_answer_came_soon_the_next_post_is_given_that_time() {
    let mut outbox = outbox(1);
    outbox.wake(0, 0);
    outbox.answered(1, &receipt(&[frame_id(&[0; 5])], &[]));
    assert_eq!(outbox.wake(300, 0), []);
    outbox.add(frame_id(b"next"), b"next".to_vec());
    let wake = next_wake(&outbox.wake(1_000, 0));
    assert!(wake - 1_000 > 600, "{wake}: twice the 300 ms of the last");
    // Once it is late, rivals follow quickly; what they bring says nothing of the link.
    let commands = outbox.wake(wake, 0);
    assert!(next_wake(&commands) - wake < 100);
    outbox.answered(3, &receipt(&[frame_id(b"next")], &[]));
    outbox.wake(wake + 50, 0);
    outbox.add(frame_id(b"third"), b"third".to_vec());
    let wake = next_wake(&outbox.wake(5_000, 0));
    assert!(wake - 5_000 < 100, "{wake}");
}

#[test]
fn long_bodies_are_under_way_at_most_twice_and_get_their_time() {
    let mut outbox = Outbox::new(Timers::default());
    let bytes = vec![1; 400_000];
    outbox.add(frame_id(&bytes), bytes);
    let wake = next_wake(&outbox.wake(0, 0));
    assert!(wake >= 375_000 / 512, "{wake}");
    let wake = next_wake(&outbox.wake(wake, 0));
    assert!(wake >= 400_000 / 8, "eight kilobytes a second are enough");
    let commands = outbox.wake(wake, 0);
    assert_eq!(commands[0], Command::Drop { attempt: 1 });
    assert_eq!(posts(&commands), [3]);
}

#[test]
fn an_office_that_fails_is_not_rushed_at_by_rivals() {
    let mut outbox = outbox(1);
    let (mut now, mut posted) = (0, 0);
    while now < 60_000 {
        let commands = outbox.wake(now, 7);
        posted += posts(&commands).len();
        let wake = next_wake(&commands);
        for attempt in posts(&commands) {
            // Sooner than any rival is due.
            outbox.failed(attempt, now + 20, 7);
        }
        now = wake.max(now + 20);
    }
    assert!(posted < 15, "{posted} in a minute");
}

#[test]
fn an_answer_by_any_connection_ends_the_others() {
    let mut outbox = outbox(1);
    let id = frame_id(&[0; 5]);
    outbox.wake(0, 0);
    outbox.wake(3_500, 0);
    let commands = outbox.answered(2, &receipt(&[id], &[]));
    assert_eq!(commands, [Command::Drop { attempt: 1 }]);
    assert_eq!(outbox.waiting(), 0);
    assert_eq!(outbox.wake(9_999, 0), []);
}

#[test]
fn what_is_refused_waits_for_a_person_and_holds_nothing_up() {
    let mut outbox = outbox(2);
    let (first, second) = (frame_id(&[0; 5]), frame_id(&[1; 5]));
    outbox.wake(0, 0);
    outbox.answered(1, &receipt(&[], &[(first, "fork".into())]));
    assert_eq!(
        outbox.refused().get(&first).map(String::as_str),
        Some("fork")
    );
    let commands = outbox.wake(1, 0);
    let Some(Command::Post { body, .. }) = commands.first() else {
        panic!("{commands:?}")
    };
    assert_eq!(
        frames_of(body, Limits::default(), None).expect("a body"),
        [vec![1; 5]]
    );
    outbox.answered(2, &receipt(&[second], &[]));
    assert_eq!(outbox.waiting(), 0);
}

#[test]
fn pauses_grow_and_the_network_coming_back_ends_them() {
    let mut outbox = outbox(1);
    let mut now = 0;
    let mut pauses = Vec::new();
    for n in 1..=9 {
        outbox.wake(now, 7);
        outbox.failed(n, now, u64::MAX);
        let wake = next_wake(&outbox.wake(now, 7));
        pauses.push(wake - now);
        now = wake;
    }
    assert!(
        pauses.iter().all(|p| (500..=60_000).contains(p)),
        "{pauses:?}"
    );
    assert!(pauses.windows(2).take(5).all(|p| p[1] > p[0]), "{pauses:?}");
    outbox.wake(now, 7);
    outbox.failed(10, now, 0);
    assert!(posts(&outbox.wake(now, 0)).is_empty());
    outbox.network_changed();
    assert_eq!(posts(&outbox.wake(now, 0)), [11]);
}

#[test]
fn an_answer_that_settles_nothing_does_not_lead_to_a_rush() {
    let mut outbox = outbox(1);
    let (mut now, mut posted) = (0, 0);
    while now < 60_000 {
        let commands = outbox.wake(now, 7);
        for attempt in posts(&commands) {
            posted += 1;
            for answer in [receipt(&[], &[]), receipt(&[[77; 32]], &[])] {
                outbox.answered(attempt, &answer);
            }
            assert!(posts(&outbox.wake(now + 1, 7)).is_empty());
        }
        now = next_wake(&outbox.wake(now + 2, 7));
    }
    assert!(posted < 15, "{posted} in a minute");
}

proptest! {
    /// Whatever fails, arrives late or twice: in the end everything is there, and
    /// nothing that was acknowledged is posted again.
    #[test]
    fn everything_arrives_in_the_end(
        frames in 1u8..100,
        flies: bool,
        fates in prop::collection::vec((0u8..4, any::<u64>()), 0..60),
    ) {
        let mut outbox = outbox(frames);
        if flies {
            outbox = outbox.flying();
        }
        let mut held = std::collections::BTreeSet::new();
        let mut now = 0;
        let quiet = std::iter::repeat((3u8, 0u64));
        for (fate, entropy) in fates.into_iter().chain(quiet).take(200) {
            let told = held.clone();
            for command in outbox.wake(now, entropy) {
                match command {
                    // Packets may come to nothing, be answered first, or after the connection.
                    Command::Post { attempt, body } | Command::Fly { attempt, body } => {
                        let ids: Vec<_> = frames_of(&body, Limits::default(), None)
                            .expect("a body that the office takes")
                            .iter()
                            .map(|f| frame_id(f))
                            .collect();
                        prop_assert!(ids.iter().all(|id| !told.contains(id)));
                        match fate {
                            0 => {}
                            1 => outbox.failed(attempt, now, entropy),
                            2 => {
                                let half = receipt(&ids[..ids.len() / 2], &[]);
                                held.extend(half.held.iter().copied());
                                outbox.answered(attempt, &half);
                            }
                            _ => {
                                held.extend(ids.iter().copied());
                                outbox.answered(attempt, &receipt(&ids, &[]));
                            }
                        }
                    }
                    Command::WakeAt { at_ms } => now = now.max(at_ms),
                    Command::Drop { .. } => {}
                }
            }
        }
        prop_assert_eq!(outbox.waiting(), 0);
        prop_assert_eq!(held.len(), usize::from(frames));
        prop_assert_eq!(outbox.wake(now, 0), vec![]);
    }
}

#[test]
fn a_phone_that_nobody_hears_all_day_does_not_post_without_end() {
    let mut outbox = outbox(1);
    let (mut now, mut posted) = (0, 0);
    while now < 10 * 3_600_000 {
        let commands = outbox.wake(now, 7);
        posted += posts(&commands).len();
        now = next_wake(&commands);
    }
    assert!((500..750).contains(&posted), "{posted} in ten hours");
    // And it is there at once when something changes.
    outbox.network_changed();
    assert_eq!(posts(&outbox.wake(now, 7)).len(), 1);
    let wake = next_wake(&outbox.wake(now, 7));
    assert!(wake - now <= 100, "rivals come quickly again");
}

fn flies(commands: &[Command]) -> Vec<u64> {
    let flown = commands.iter().filter_map(|c| match c {
        Command::Fly { attempt, .. } => Some(*attempt),
        _ => None,
    });
    flown.collect()
}

#[test]
fn packets_go_first_and_connections_wait_for_them_where_they_came_through_before() {
    let mut outbox = outbox(1).flying();
    let commands = outbox.wake(0, 0);
    // Not yet known whether they come through: a connection is opened at once.
    let flown = flies(&commands);
    assert_eq!((flown.len(), posts(&commands).len()), (1, 1));
    let ids = vec![frame_id(&frame(0))];
    let drops = outbox.answered(flown[0], &receipt(&ids, &[]));
    assert!(matches!(drops[..], [Command::Drop { .. }]));
    outbox.wake(300, 0);
    // The next dog: packets alone, as long as they may need.
    outbox.add(frame_id(&frame(1)), frame(1));
    let commands = outbox.wake(10_000, 0);
    assert_eq!((flies(&commands).len(), posts(&commands).len()), (1, 0));
    assert!(posts(&outbox.wake(10_900, 0)).is_empty());
    let commands = outbox.wake(11_200, 0);
    assert_eq!((flies(&commands).len(), posts(&commands).len()), (0, 1));
}

#[test]
fn packets_that_connections_outrun_twice_are_left_off_until_the_network_changes() {
    let mut outbox = outbox(0).flying();
    for n in 0..4 {
        outbox.add(frame_id(&frame(n)), frame(n));
        let now = i64::from(n) * 10_000;
        let commands = outbox.wake(now, 0);
        assert_eq!(flies(&commands).len(), usize::from(n < 2), "post {n}");
        let first = outbox.answered(posts(&commands)[0], &receipt(&[frame_id(&frame(n))], &[]));
        // The packets are given up.
        assert_eq!(first.len(), usize::from(n < 2));
        outbox.wake(now + 500, 0);
    }
    outbox.network_changed();
    outbox.add(frame_id(&frame(9)), frame(9));
    assert_eq!(flies(&outbox.wake(50_000, 0)).len(), 1);
}

#[test]
fn when_the_network_comes_back_packets_go_at_once_again() {
    let mut outbox = outbox(1).flying();
    assert_eq!(flies(&outbox.wake(0, 0)).len(), 1);
    // Nobody hears them; the ones under way would come again some time.
    outbox.wake(3_000, 0);
    outbox.network_changed();
    assert_eq!(flies(&outbox.wake(3_100, 0)).len(), 1);
}
