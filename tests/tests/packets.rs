//! A return that goes in packets: taken in and answered as one over a connection, and of no
//! harm where they are lost, foreign or another office's.

use standsquare_office::demo as office_demo;
use standsquare_session::Act;
use standsquare_session::view::Effect;
use standsquare_sync::packets::{Landing, Whole};
use standsquare_tests::{Table, demo};

type Door = Landing<()>;

fn door() -> Door {
    Landing::new(&office_demo::demo_only_key(), [5; 32])
}

/// A session in which Pip was measured and signed.
fn one_dog() -> Table {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    demo::pip(&mut t);
    t
}

fn packets(t: &Table) -> Vec<Vec<u8>> {
    let sent = t.effects().iter().filter_map(|e| match e {
        Effect::SendPackets { packets, .. } => Some(packets.clone()),
        _ => None,
    });
    sent.flatten().collect()
}

fn posts(t: &Table) -> usize {
    let asked = |e: &&Effect| matches!(e, Effect::AskOffice { path, .. } if path == "/v1/frames");
    t.effects().iter().filter(asked).count()
}

/// Carries packets to that office and its answers back, until neither says anything new; which
/// come through is for `comes` to say. How many were sent.
fn carry(t: &mut Table, door: &mut Door, mut comes: impl FnMut() -> bool) -> usize {
    let mut sent = 0;
    for _ in 0..40 {
        let under_way = packets(t);
        sent += under_way.len();
        for packet in under_way {
            if !comes() {
                continue;
            }
            if let Some(whole) = door.take(&packet, (), t.now_ms()) {
                let receipt = t.office.ingest(&whole.body, t.now_ms()).expect("taken in");
                door.answer(&whole.post, 200, &receipt, t.now_ms());
            }
        }
        let back = door.due(t.now_ms() + 100);
        if back.is_empty() && waiting(t) == 0 {
            break;
        }
        for ((), packet) in back {
            if comes() {
                t.act(Act::PacketCame { bytes: packet });
            }
        }
        t.act(Act::Tick);
    }
    sent
}

/// Every packet comes to that office.
fn lands(t: &Table, door: &mut Door) -> Whole {
    let take = |packet: &Vec<u8>| door.take(packet, (), t.now_ms());
    packets(t).iter().find_map(take).expect("a whole post")
}

fn waiting(t: &Table) -> u32 {
    t.view().outbox.waiting
}

#[test]
fn a_dog_is_at_the_office_by_packets_alone() {
    let mut t = one_dog();
    t.act(Act::SendReturn);
    assert!(!packets(&t).is_empty() && waiting(&t) == 1);
    let mut door = door();
    carry(&mut t, &mut door, || true);
    assert_eq!(waiting(&t), 0);
    assert_eq!(
        t.view().notice.as_ref().map(|n| n.text.key.as_str()),
        Some("notice.office_has_it")
    );
    // Where they came through, the next dog's go alone at first.
    demo::moss(&mut t, |t, chip| {
        t.scan(chip);
    });
    while packets(&t).is_empty() {
        assert_eq!(posts(&t), 0, "a connection was opened before any packet");
        t.act(Act::Tick);
    }
    assert_eq!(posts(&t), 0);
    carry(&mut t, &mut door, || true);
    assert_eq!(waiting(&t), 0);
}

#[test]
fn half_of_them_lost_there_and_back_and_it_is_there_all_the_same() {
    for seed in 0..20 {
        let mut t = one_dog();
        t.act(Act::SendReturn);
        let mut dice = fastrand::Rng::with_seed(seed);
        carry(&mut t, &mut door(), || dice.bool());
        assert_eq!(waiting(&t), 0, "seed {seed}");
    }
}

#[test]
fn another_office_cannot_read_them_nor_answer() {
    let mut t = one_dog();
    t.act(Act::SendReturn);
    let other = ed25519_dalek::SigningKey::from_bytes(&[1; 32]);
    let mut stranger: Door = Landing::new(&other, [5; 32]);
    for packet in packets(&t) {
        assert!(stranger.take(&packet, (), t.now_ms()).is_none());
    }
    // Nor does the right office's key help without the receipt's signature over these frames.
    let mut door = door();
    let whole = lands(&t, &mut door);
    door.answer(&whole.post, 200, b"held, believe me", t.now_ms());
    for ((), packet) in door.due(t.now_ms()) {
        t.act(Act::PacketCame { bytes: packet });
    }
    assert_eq!(waiting(&t), 1);
    assert_eq!(
        t.view().notice.as_ref().map(|n| n.text.key.as_str()),
        Some("refused.receipt")
    );
}

#[test]
fn an_office_that_cannot_read_this_packing_is_sent_it_plainly() {
    let mut t = one_dog();
    t.act(Act::SendReturn);
    let mut door = door();
    let whole = lands(&t, &mut door);
    door.answer(&whole.post, 415, b"not known here", t.now_ms());
    let ((), packet) = door.due(t.now_ms()).remove(0);
    t.act(Act::PacketCame { bytes: packet });
    let (_, body) = t.asked("/v1/frames").expect("sent again at once");
    assert_eq!(body, standsquare_sync::post_body(&frames(&body)));
    t.office_answers();
    assert_eq!(waiting(&t), 0);
}

fn frames(body: &[u8]) -> Vec<Vec<u8>> {
    let limits = standsquare_sync::Limits::default();
    standsquare_sync::frames_of(body, limits, Some(standsquare_journal::record::chain))
        .expect("a body")
}

#[test]
fn foreign_packets_say_nothing_and_write_nothing() {
    let mut t = one_dog();
    t.act(Act::SendReturn);
    let (shown, events) = (
        t.view().clone(),
        t.phone().journal().events().expect("reads").len(),
    );
    for bytes in [
        vec![],
        vec![0; 1_200],
        b"SSQB\x01".to_vec(),
        packets(&t).remove(0),
    ] {
        t.act(Act::PacketCame { bytes });
        assert_eq!(t.view().screen, shown.screen);
        assert_eq!(
            (
                waiting(&t),
                t.phone().journal().events().expect("reads").len()
            ),
            (1, events)
        );
    }
}
