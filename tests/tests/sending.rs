//! How the phone sends: by itself, several requests at a time, never in the way of a
//! finger; where each dog's record is; and what a wrong clock and a lying office come to.

use standsquare_journal::record::fact::Fact;
use standsquare_session::Act;
use standsquare_session::view::{ArgValue, Effect, Screen, Whereabouts};
use standsquare_sync::Timers;
use standsquare_tests::{Table, demo};

/// A session in which Pip was measured and signed.
fn one_dog() -> Table {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    demo::pip(&mut t);
    t
}

fn requests(t: &Table) -> Vec<&str> {
    let asked = |e: &'_ Effect| matches!(e, Effect::AskOffice { path, .. } if path == "/v1/frames");
    t.effects()
        .iter()
        .filter(|e| asked(e))
        .filter_map(|e| match e {
            Effect::AskOffice { request, .. } => Some(request.as_str()),
            _ => None,
        })
        .collect()
}

fn wakes(t: &Table) -> Vec<i64> {
    let at = |e: &Effect| match e {
        Effect::WakeAt { at_ms } => Some(*at_ms),
        _ => None,
    };
    t.effects().iter().filter_map(at).collect()
}

fn facts(t: &Table) -> Vec<Fact> {
    let events = t.phone().journal().events().expect("reads");
    events.into_iter().map(|e| e.fact).collect()
}

fn clocks(t: &Table) -> Vec<i64> {
    let ahead = |fact: &Fact| match fact {
        Fact::ClockDiffers { ahead_ms, .. } => Some(*ahead_ms),
        _ => None,
    };
    facts(t).iter().filter_map(ahead).collect()
}

fn pip_is(t: &Table) -> Option<Whereabouts> {
    let Screen::Queue { queue } = &t.view().screen else {
        panic!("{}", t.title())
    };
    let pip = queue.done.iter().find(|d| d.id == "pip").expect("Pip");
    pip.whereabouts.clone()
}

/// The office's answer to what was asked last, with its clock so far off.
fn answered(t: &mut Table, office_ahead_ms: i64) {
    let (request, body) = t.asked("/v1/frames").expect("asked");
    let at_ms = t.now_ms() + office_ahead_ms;
    let body = t.office.ingest(&body, at_ms).expect("taken in");
    t.act(Act::OfficeAnswer {
        request,
        status: 200,
        body,
    });
}

#[test]
fn a_signed_dog_is_sent_without_anybody_asking_and_no_finger_waits_for_it() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    demo::to_the_chip(&mut t, "pip");
    t.scan(&demo::chip_of("pip"));
    demo::to_the_hoop(&mut t);
    t.tap("base_flat");
    t.both_sign();
    // The act of a finger packs nothing; the platform is asked to come back at once.
    assert!(requests(&t).is_empty(), "{:?}", t.effects());
    assert_eq!(wakes(&t).len(), 1);
    t.act(Act::Tick);
    assert_eq!(requests(&t).len(), 1);
    let seen = t.view().revision;
    let shown = t.title().to_owned();
    let (request, body) = t.asked("/v1/frames").expect("asked");
    let receipt = t.office.ingest(&body, t.now_ms()).expect("taken in");
    let act = t.offer("book_written").act;
    t.act(Act::OfficeAnswer {
        request,
        status: 200,
        body: receipt,
    });
    // Nothing on the glass moved, and a tap on what was there before still counts.
    assert_eq!((t.title(), t.notice()), (shown.as_str(), ""));
    assert_eq!(t.view().outbox.waiting, 0);
    t.act_seen(act, seen);
    assert_ne!(t.title(), shown);
}

#[test]
fn three_states_are_told_apart_in_words_and_outlast_a_kill() {
    let mut t = one_dog();
    assert_eq!(pip_is(&t), Some(Whereabouts::OnPhone));
    assert_eq!(t.view().outbox.text.key, "outbox.waiting");
    t.act(Act::Tick);
    t.office_answers();
    assert_eq!(pip_is(&t), Some(Whereabouts::AtOffice));
    assert_eq!(t.view().outbox.text.key, "outbox.at_office");
    t.log_answers();
    assert_eq!(pip_is(&t), Some(Whereabouts::InLog));
    assert_eq!(t.view().outbox.text.key, "outbox.none");
    t.kill_and_reopen();
    assert_eq!(pip_is(&t), Some(Whereabouts::InLog));
    t.tap("review_close");
    t.tap("close_session");
    let state = |t: &Table| match &t.view().screen {
        Screen::Return { sent } => sent.state.key.clone(),
        _ => panic!("{}", t.title()),
    };
    assert_eq!(state(&t), "return.not_closed_at_office");
    t.tap("send_return");
    t.office_answers();
    assert_eq!(state(&t), "return.in_log", "its one dog is");
}

#[test]
fn a_rival_follows_each_silence_and_the_oldest_is_given_up() {
    let mut t = one_dog();
    let mut live = Vec::new();
    for _ in 0..Timers::default().live + 4 {
        t.wait(500);
        t.act(Act::Tick);
        let new: Vec<String> = requests(&t).iter().map(|r| r.to_string()).collect();
        assert_eq!(new.len(), 1, "one rival each time");
        assert!(!live.contains(&new[0]));
        for effect in t.effects() {
            if let Effect::DropRequest { request } = effect {
                assert_eq!(live.remove(0), *request);
            }
        }
        live.extend(new);
        assert!(live.len() <= Timers::default().live);
    }
    // The answer of any of them ends the others.
    answered(&mut t, 0);
    let dropped = t
        .effects()
        .iter()
        .filter(|e| matches!(e, Effect::DropRequest { .. }));
    assert_eq!(dropped.count(), Timers::default().live - 1);
    assert_eq!(t.view().outbox.waiting, 0);
    t.wait(500);
    t.act(Act::Tick);
    assert!(requests(&t).is_empty());
}

#[test]
fn what_fails_is_tried_again_after_a_pause_or_when_the_network_changes() {
    let mut t = one_dog();
    t.act(Act::Tick);
    for _ in 0..6 {
        let request = requests(&t)[0].to_owned();
        let reason = "no route".to_owned();
        t.act(Act::OfficeUnreachable { request, reason });
        assert_eq!(t.notice(), "", "nobody pressed anything");
        // Packets go on meanwhile.
        let from = t.now_ms();
        while requests(&t).is_empty() {
            assert!(t.now_ms() - from < 60_000, "it comes back in time");
            t.act(Act::Tick);
        }
    }
    let request = requests(&t)[0].to_owned();
    let reason = "no route".to_owned();
    t.act(Act::OfficeUnreachable { request, reason });
    assert!(requests(&t).is_empty(), "the pause is long by now");
    t.act(Act::NetworkChanged);
    assert_eq!(requests(&t).len(), 1, "and over at once");
    let (request, _) = t.asked("/v1/frames").expect("asked");
    // An office that does not know this way of packing gets it plain.
    t.act(Act::OfficeAnswer {
        request,
        status: 415,
        body: Vec::new(),
    });
    let (_, body) = t.asked("/v1/frames").expect("asked again");
    assert_eq!(&body[..6], b"SSQF\x01\x00");
    t.office_answers();
    assert_eq!(t.view().outbox.waiting, 0);
}

#[test]
fn a_wrong_clock_is_noticed_recorded_once_and_nothing_is_repaired() {
    let mut t = one_dog();
    let before = facts(&t);
    t.act(Act::Tick);
    answered(&mut t, 47 * 60_000);
    let noted = clocks(&t);
    assert!(
        matches!(noted[..], [ahead] if (-47 * 60_000..-46 * 60_000).contains(&ahead)),
        "{noted:?}"
    );
    assert_eq!(facts(&t)[..before.len()], before, "what was recorded stays");
    let caution = t
        .view()
        .cautions
        .iter()
        .find(|c| c.key == "caution.clock_behind");
    let minutes = &caution.expect("it is said").args[0].value;
    assert!(matches!(minutes, ArgValue::Count { n: 46 }), "{minutes:?}");
    t.kill_and_reopen();
    assert!(
        t.view()
            .cautions
            .iter()
            .any(|c| c.key == "caution.clock_behind")
    );
    // As wrong as before: nothing new. Right again: that is new.
    t.reader_connects();
    demo::moss(&mut t, |t, chip| {
        t.scan(chip);
    });
    t.act(Act::Tick);
    answered(&mut t, 47 * 60_000);
    assert_eq!(clocks(&t), noted);
    t.tap("review_close");
    t.tap("close_session");
    t.act(Act::Tick);
    answered(&mut t, 0);
    assert_eq!(clocks(&t), [noted[0], 0]);
    assert!(
        t.view()
            .cautions
            .iter()
            .all(|c| c.key != "caution.clock_behind")
    );
}

#[test]
fn an_answer_that_took_an_hour_says_nothing_of_the_clock() {
    let mut t = one_dog();
    t.act(Act::Tick);
    let (request, body) = t.asked("/v1/frames").expect("asked");
    let body = t.office.ingest(&body, t.now_ms()).expect("taken in");
    t.wait(3_600_000);
    t.act(Act::OfficeAnswer {
        request,
        status: 200,
        body,
    });
    assert_eq!(t.view().outbox.waiting, 0);
    assert!(clocks(&t).is_empty());
}

#[test]
fn a_log_that_was_changed_or_forged_proves_nothing() {
    let mut t = one_dog();
    t.act(Act::Tick);
    t.office_answers();
    t.wait(2_000);
    t.act(Act::Tick);
    let (request, body) = t.asked("/v1/log").expect("asked");
    t.office.extend_log().expect("the log grows");
    let ask = standsquare_sync::log::Ask::decode_strict(&body).expect("a question");
    let mut body = t.office.ask_log(&ask).expect("an answer").encode();
    let last = body.len() - 1;
    body[last] ^= 1;
    t.act(Act::OfficeAnswer {
        request,
        status: 200,
        body,
    });
    assert_eq!(pip_is(&t), Some(Whereabouts::AtOffice));
    t.wait(20_000);
    t.log_answers();
    assert_eq!(pip_is(&t), Some(Whereabouts::InLog));

    // Another log by the same key: the phone holds the first one against it.
    demo::moss(&mut t, |t, chip| {
        t.scan(chip);
    });
    t.act(Act::Tick);
    t.office_answers();
    t.wait(2_000);
    t.act(Act::Tick);
    let (request, body) = t.asked("/v1/log").expect("asked");
    let other = standsquare_office::demo::in_memory();
    let mut ask = standsquare_sync::log::Ask::decode_strict(&body).expect("a question");
    ask.seen = 0;
    let body = other.ask_log(&ask).expect("an answer").encode();
    t.act(Act::OfficeAnswer {
        request,
        status: 200,
        body,
    });
    assert_eq!(t.notice(), "refused.log_changed");
}

#[test]
fn what_is_carried_by_hand_is_what_would_be_sent() {
    let mut t = one_dog();
    t.tap("review_close");
    t.tap("close_session");
    t.tap("carry_return");
    let Some(Effect::Share { name, bytes, .. }) = t.effects().first().cloned() else {
        panic!("{:?}", t.effects())
    };
    assert!(name.ends_with(".ssq"), "{name}");
    // Carrying proves nothing: only the office's answer does.
    assert_eq!(t.view().outbox.waiting, 1);
    let (held, refused) = t
        .office
        .import(&bytes, 0, &mut |_, _| {})
        .expect("taken in");
    assert_eq!((held, refused.len()), (2, 0));
    t.tap("send_return");
    t.office_answers();
    assert_eq!(t.view().outbox.waiting, 0);
}

#[test]
fn after_each_dog_a_copy_is_offered_and_it_brings_the_day_of_a_lost_phone_to_the_office() {
    let mut t = one_dog();
    let offered = |t: &Table| {
        let offer = t.view().offers.iter().find(|o| o.id == "give_copy");
        offer.map(|o| o.label.clone())
    };
    assert_eq!(offered(&t).expect("a dog").key, "offer.give_copy");
    t.tap("give_copy");
    assert_eq!(t.notice(), "notice.copy_given");
    // A copy that was put away by mistake can be made again, whether the app was killed or not.
    for kill in [false, true] {
        if kill {
            t.kill_and_reopen();
        }
        assert_eq!(offered(&t).expect("again").key, "offer.give_copy_again");
    }
    demo::moss(&mut t, |t, chip| {
        t.scan(chip);
    });
    assert_eq!(offered(&t).expect("two").key, "offer.give_copy");
    t.tap("give_copy");
    let share = t.effects().iter().find_map(|e| match e {
        Effect::Share { bytes, .. } => Some(bytes.clone()),
        _ => None,
    });
    // This phone is lost now, and never sends anything: the newest copy has both dogs.
    let copy = share.expect("a file");
    let (held, refused) = t.office.import(&copy, 0, &mut |_, _| {}).expect("taken in");
    assert!(held >= 2, "{held}");
    assert_eq!(refused.len(), 0);
    for dog in ["pip", "moss"] {
        let chip = demo::chip_of(dog);
        assert_eq!(t.office.dog(&chip).expect("reads").len(), 1);
    }
    // What the office has needs no copy.
    t.act(Act::NetworkChanged);
    t.office_answers();
    assert!(offered(&t).is_none());
}
