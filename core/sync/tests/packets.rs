//! Posts in packets: whatever a network does to them, what lands is what was sent, or nothing.

use ed25519_dalek::SigningKey;
use proptest::prelude::*;
use standsquare_sync::packets::{Flight, LONGEST, Landing};

fn office() -> SigningKey {
    SigningKey::from_bytes(&[3; 32])
}

fn office_key() -> [u8; 32] {
    office().verifying_key().to_bytes()
}

fn flight(body: &[u8]) -> Flight {
    Flight::new(body, &office_key(), [7; 32], 0).expect("a post for packets")
}

fn body(length: usize) -> Vec<u8> {
    (0..length).map(|i| (i * 7 + i / 251) as u8).collect()
}

/// What a network does with packets: the fate of each is drawn from a list that begins anew.
struct Network {
    fates: Vec<Fate>,
    next: usize,
    under_way: Vec<(i64, bool, Vec<u8>)>,
}

#[derive(Clone, Copy, Debug)]
enum Fate {
    Lost,
    Comes(i64),
    Twice(i64, i64),
    Altered(i64, usize),
}

impl Network {
    fn carry(&mut self, now_ms: i64, to_office: bool, packet: Vec<u8>) {
        let fate = self.fates[self.next % self.fates.len()];
        self.next += 1;
        let mut put = |after: i64, packet: Vec<u8>| {
            self.under_way.push((now_ms + after, to_office, packet));
        };
        match fate {
            Fate::Lost => {}
            Fate::Comes(after) => put(after, packet),
            Fate::Twice(first, second) => {
                put(first, packet.clone());
                put(second, packet);
            }
            Fate::Altered(after, bit) => {
                let mut packet = packet;
                let at = bit % (packet.len() * 8);
                packet[at / 8] ^= 1 << (at % 8);
                put(after, packet);
            }
        }
    }

    fn arrived(&mut self, now_ms: i64) -> Vec<(bool, Vec<u8>)> {
        let (here, still) = self
            .under_way
            .drain(..)
            .partition(|(at, _, _)| *at <= now_ms);
        self.under_way = still;
        let mut here: Vec<(i64, bool, Vec<u8>)> = here;
        here.sort_by_key(|(at, _, _)| *at);
        here.into_iter()
            .map(|(_, to_office, p)| (to_office, p))
            .collect()
    }
}

/// What the office answers: anything that hangs on all of the post.
fn answer_to(post: &[u8]) -> Vec<u8> {
    post.iter().rev().step_by(3).copied().collect()
}

struct Flown {
    answer: Option<(u16, Vec<u8>)>,
    at_ms: i64,
    sent: usize,
    back: usize,
}

/// Flies a post over that network, millisecond by millisecond, until it is answered or ends.
fn fly(body: &[u8], fates: Vec<Fate>) -> Flown {
    let mut flight = flight(body);
    let mut landing = Landing::new(&office(), [9; 32]);
    let mut network = Network {
        fates,
        next: 0,
        under_way: Vec::new(),
    };
    let (mut sent, mut back) = (0, 0);
    let mut now = 0;
    while now < 120_000 {
        if flight.next_ms().is_none_or(|at| at <= now) {
            for packet in flight.wake(now) {
                assert!(packet.len() <= LONGEST);
                sent += 1;
                network.carry(now, true, packet);
            }
        }
        for (to_office, packet) in network.arrived(now) {
            match to_office {
                true => {
                    if let Some(whole) = landing.take(&packet, "here", now) {
                        assert_eq!(whole.body, body, "what landed is not what was sent");
                        landing.answer(&whole.post, 200, &answer_to(&whole.body), now);
                    }
                }
                false => {
                    if let Some((status, answer)) = flight.heard(&packet, now) {
                        assert_eq!((status, &answer), (200, &answer_to(body)));
                        return Flown {
                            answer: Some((status, answer)),
                            at_ms: now,
                            sent,
                            back,
                        };
                    }
                }
            }
        }
        for (_, packet) in landing.due(now) {
            assert!(packet.len() <= LONGEST);
            back += 1;
            network.carry(now, false, packet);
        }
        let arrives = network.under_way.iter().map(|(at, _, _)| *at).min();
        let next = [flight.next_ms(), landing.next_ms(), arrives]
            .into_iter()
            .flatten()
            .min();
        now = next.unwrap_or(i64::MAX).max(now + 1);
    }
    Flown {
        answer: None,
        at_ms: 120_000,
        sent,
        back,
    }
}

#[test]
fn a_good_link_needs_one_way_there_and_back_and_sends_nothing_twice() {
    let flown = fly(&body(22_000), vec![Fate::Comes(20)]);
    assert!(flown.answer.is_some());
    // Twenty packets in two batches, 15 ms apart, and 20 ms each way.
    assert_eq!((flown.at_ms, flown.sent), (55, 20));
}

#[test]
fn one_dog_is_one_packet() {
    let flown = fly(&body(420), vec![Fate::Comes(20)]);
    assert_eq!((flown.at_ms, flown.sent), (40, 1));
}

#[test]
fn a_bad_link_needs_little_longer() {
    // One in five is lost, there and back; 150 ms each way. Seeds are drawn once and for all.
    let mut random = fastrand::Rng::with_seed(1);
    let mut flown: Vec<_> = (0..200)
        .map(|_| {
            let fate = |_| match random.u8(0..5) {
                0 => Fate::Lost,
                _ => Fate::Comes(150),
            };
            let flown = fly(&body(22_000), (0..997).map(fate).collect());
            assert!(flown.answer.is_some());
            (flown.at_ms, flown.sent)
        })
        .collect();
    flown.sort_unstable();
    let (median, tenth) = (flown[100].0, flown[180].0);
    assert!(median < 500 && tenth < 900, "{median} and {tenth} ms");
    flown.sort_by_key(|(_, sent)| *sent);
    assert!(flown[100].1 <= 64, "{} packets", flown[100].1);
}

#[test]
fn where_nothing_comes_back_little_is_sent_and_it_ends() {
    let mut flight = flight(&body(22_000));
    let mut sent = Vec::new();
    let mut now = 0;
    while let Some(next) = flight.next_ms() {
        now = now.max(next);
        let packets = flight.wake(now).len();
        sent.push((now, packets));
        assert!(now < 600_000, "it never ends");
    }
    let by = |ms: i64| -> usize {
        sent.iter()
            .filter(|(at, _)| *at <= ms)
            .map(|(_, n)| n)
            .sum()
    };
    // All of it three times, then three at a time.
    assert_eq!(by(200), 60);
    assert!(by(5_000) <= 84, "{}", by(5_000));
    assert!(by(i64::MAX) <= 20 * 6 + 64 + 10);
    assert!(flight.wake(now + 1_000_000).is_empty());
}

/// Takes what the phone sends at once and says what it has; what was in the air is lost where it
/// stops.
fn tell(flight: &mut Flight, landing: &mut Landing<()>, now: i64, body: &[u8]) -> Option<u16> {
    if flight.next_ms().is_some_and(|at| at <= now) {
        for packet in flight.wake(now) {
            if let Some(whole) = landing.take(&packet, (), now) {
                assert_eq!(whole.body, body);
                landing.answer(&whole.post, 200, b"held", now);
            }
        }
    }
    let back = landing.due(now);
    let heard = back.iter().filter_map(|(_, p)| flight.heard(p, now));
    heard.map(|(status, _)| status).last()
}

#[test]
fn an_office_that_has_forgotten_a_post_is_sent_all_of_it_again() {
    let body = body(22_000);
    // Half of the post is there, or all but its last piece, and it is said that it is.
    for pieces in [10, 19] {
        let mut flight = flight(&body);
        let mut before = Landing::new(&office(), [9; 32]);
        let first: Vec<_> = [0, 15].into_iter().flat_map(|at| flight.wake(at)).collect();
        for packet in &first[..pieces] {
            assert_eq!(before.take(packet, (), 15), None);
        }
        for (_, packet) in before.due(40) {
            assert_eq!(flight.heard(&packet, 40), None);
        }
        // It starts anew, or another one stands at its address.
        let mut after = Landing::new(&office(), [8; 32]);
        let answered = (41..3_000).find_map(|now| tell(&mut flight, &mut after, now, &body));
        assert_eq!(answered, Some(200), "{pieces} pieces were there");
    }
}

#[test]
fn what_is_not_for_this_office_leaves_nothing_behind() {
    let mut other = Landing::new(&SigningKey::from_bytes(&[4; 32]), [9; 32]);
    let packets = flight(&body(5_000)).wake(0);
    for packet in &packets {
        assert!(!other.knows(packet));
        assert_eq!(other.take(packet, (), 0), None);
    }
    assert_eq!((other.posts(), other.next_ms()), (0, None));
    assert!(other.due(1_000).is_empty());
}

#[test]
fn an_address_on_a_copied_packet_gets_at_most_three_packets_for_each() {
    let mut landing = Landing::new(&office(), [9; 32]);
    // A tiny post with a long answer, copied by somebody on the way.
    let packet = flight(&[1]).wake(0).remove(0);
    let whole = landing.take(&packet, "victim", 0).expect("one piece");
    landing.answer(&whole.post, 200, &vec![0; 40_000], 0);
    let mut back = 0;
    for now in 0..5_000 {
        back += landing.due(now).len();
    }
    assert!((1..=3).contains(&back), "{back}");
}

#[test]
fn an_answer_goes_where_the_newest_packet_came_from() {
    let mut landing = Landing::new(&office(), [9; 32]);
    let mut flight = flight(&body(3_000));
    let packets = flight.wake(0);
    landing.take(&packets[0], "hall", 0);
    landing.take(&packets[2], "car park", 1);
    // One that was held up, or copied, changes nothing.
    let whole = landing.take(&packets[1], "hall", 2).expect("all three");
    landing.answer(&whole.post, 200, b"held", 3);
    let there: Vec<_> = landing.due(20).into_iter().map(|(to, _)| to).collect();
    assert!(
        !there.is_empty() && there.iter().all(|to| *to == "car park"),
        "{there:?}"
    );
}

#[test]
fn a_thousand_posts_that_never_end_make_room_for_one_that_does() {
    let mut landing = Landing::new(&office(), [9; 32]);
    for n in 0..1_000_u32 {
        let mut secret = [0; 32];
        secret[..4].copy_from_slice(&n.to_be_bytes());
        let mut flight = Flight::new(&body(5_000), &office_key(), secret, 0).expect("a post");
        landing.take(&flight.wake(0)[0], n, i64::from(n));
    }
    assert!(landing.posts() <= 256);
    let packets = flight(&body(3_000)).wake(0);
    let whole: Vec<_> = packets
        .iter()
        .filter_map(|p| landing.take(p, 0, 2_000))
        .collect();
    assert_eq!(whole.len(), 1);
    landing.due(100_000);
    assert_eq!(landing.posts(), 0, "silent ones are forgotten");
}

#[test]
fn too_long_for_packets_is_said_at_once() {
    assert!(Flight::new(&body(64 * 1_138 + 1), &office_key(), [7; 32], 0).is_none());
    assert!(Flight::new(&[], &office_key(), [7; 32], 0).is_none());
    let no_key = (0..=255).find(|b| ed25519_dalek::VerifyingKey::from_bytes(&[*b; 32]).is_err());
    let no_key = [no_key.expect("half of all bytes are none"); 32];
    assert!(Flight::new(&[1], &no_key, [7; 32], 0).is_none());
}

fn fates() -> impl Strategy<Value = Vec<Fate>> {
    let fate = prop_oneof![
        3 => (0..400_i64).prop_map(Fate::Comes),
        1 => Just(Fate::Lost),
        1 => (0..400_i64, 0..800_i64).prop_map(|(a, b)| Fate::Twice(a, b)),
        1 => (0..400_i64, any::<usize>()).prop_map(|(a, bit)| Fate::Altered(a, bit)),
    ];
    // A length that packets and batches do not divide, so that no packet meets one fate for ever.
    proptest::collection::vec(fate, 31..=37)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn whatever_the_network_does_what_lands_is_what_was_sent(
        length in 1..60_000_usize,
        fates in fates(),
    ) {
        let flown = fly(&body(length), fates);
        prop_assert!(flown.back <= 3 * flown.sent);
    }

    #[test]
    fn foreign_bytes_do_nothing(packet in proptest::collection::vec(any::<u8>(), 0..1_300)) {
        let mut landing = Landing::new(&office(), [9; 32]);
        for mark in [&b""[..], b"SSQP\x01", b"SSQB\x01"] {
            let packet = [mark, &packet].concat();
            prop_assert_eq!(landing.take(&packet, (), 0), None);
            prop_assert_eq!(flight(&[1]).heard(&packet, 0), None);
        }
        prop_assert_eq!(landing.posts(), 0);
    }

    /// A phone, or whoever has the office's public key, may seal anything.
    #[test]
    fn packets_of_two_lengths_under_one_key_do_nothing_wrong(
        first in 1..70_000_usize, second in 1..70_000_usize,
    ) {
        let mut landing = Landing::new(&office(), [9; 32]);
        let mut longer = flight(&body(first));
        let mut shorter = flight(&body(second));
        let mut now = 0;
        while now < 500 {
            for packet in longer.wake(now).iter().chain(&shorter.wake(now)) {
                if let Some(whole) = landing.take(packet, (), now) {
                    landing.answer(&whole.post, 200, &whole.body, now);
                }
            }
            landing.due(now);
            now += 10;
        }
        prop_assert!(landing.posts() <= 1);
    }
}
