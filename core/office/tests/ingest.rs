//! Frames in: what is held, what is refused, and that a refusal changes nothing.

mod support;

use standsquare_journal::record::Event;
use standsquare_journal::record::fact::{Fact, Outcome};
use standsquare_office::{IngestFault, OfficeState};
use standsquare_sync::{BodyFault, Frame, Limits, frame_id, post_body};
use support::*;

/// Everything that pages show, as text: equal before and after means unchanged.
fn picture(office: &OfficeState) -> String {
    let sessions = office.sessions(100).expect("sessions");
    let mut ids: Vec<_> = sessions.iter().map(|s| s.session).collect();
    ids.dedup();
    let dogs: Vec<_> = ids
        .iter()
        .map(|id| office.session(*id).expect("a session"))
        .collect();
    format!(
        "{sessions:?}{dogs:?}{:?}",
        office.waiting().expect("a number")
    )
}

/// What the pages show of sessions and dogs.
fn shown(office: &OfficeState) -> String {
    format!("{:?}", office.session(SESSION).expect("a session"))
}

#[test]
fn a_session_comes_in_and_can_be_read() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    let (lines, visits) = office.session(SESSION).expect("the session");
    assert_eq!(lines.len(), 1);
    assert_eq!(
        (lines[0].venue.as_str(), lines[0].day, lines[0].dogs),
        ("Hollin Field", DAY, 2)
    );
    assert!(lines[0].closed_ms.is_some());
    let dogs: Vec<_> = visits.iter().map(|v| v.statement.dog.as_str()).collect();
    assert_eq!(dogs, ["Pip", "Moss"]);
    for visit in &visits {
        let signed: Vec<_> = visit.signed.iter().map(|s| s.number.as_str()).collect();
        assert_eq!(signed, ["LM-014", "LM-022"]);
    }
    assert!(office.set_aside(9).expect("a list").is_empty());
}

#[test]
fn sending_again_changes_nothing() {
    let office = office();
    let pen = two_dogs(1);
    held(&office, &pen.frames);
    let before = picture(&office);
    held(&office, &pen.frames);
    held(&office, &pen.frames[1..2]);
    // Twice in one body is named once.
    let twice = [pen.frames[0].clone(), pen.frames[0].clone()];
    assert_eq!(post(&office, &twice).held, [frame_id(&pen.frames[0])]);
    assert_eq!(picture(&office), before);
}

#[test]
fn any_order_of_arrival_gives_the_same_picture() {
    let pen = two_dogs(1);
    let in_order = office();
    held(&in_order, &pen.frames);
    for order in [[0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]] {
        let office = office();
        for n in order {
            held(&office, &pen.frames[n..=n]);
        }
        assert_eq!(picture(&office), picture(&in_order), "{order:?}");
    }
}

#[test]
fn what_comes_before_its_time_is_held_but_not_shown() {
    let office = office();
    let pen = two_dogs(1);
    held(&office, &pen.frames[1..]);
    assert_eq!(office.waiting().expect("a number"), 2);
    assert!(office.sessions(9).expect("a list").is_empty());
    held(&office, &pen.frames[..1]);
    assert_eq!(office.waiting().expect("a number"), 0);
    assert_eq!(office.session(SESSION).expect("the session").1.len(), 2);
}

#[test]
fn a_forged_seal_is_refused_and_leaves_nothing() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let other = Pen::new(2);
    let frame = pen.seal_with(&other.device);
    let before = picture(&office);
    assert_eq!(refused(&office, &frame), "seal_forged");
    assert_eq!(picture(&office), before);
    assert!(office.set_aside(9).expect("a list").is_empty());
}

#[test]
fn a_forged_sign_off_is_set_aside_and_shown() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let pip = pen.statement(1, "Pip", "999000000112233");
    pen.state(&pip);
    pen.sign(&pip, "ottoline", &person_key("ottoline"));
    // The second signature is made with the first measurer's key.
    pen.sign(&pip, "bram", &person_key("ottoline"));
    let frame = pen.seal();
    let before = picture(&office);
    assert_eq!(refused(&office, &frame), "sign_off_forged");
    assert_eq!(picture(&office), before);
    let aside = office.set_aside(9).expect("a list");
    assert_eq!(
        (aside.len(), aside[0].reason.as_str()),
        (1, "sign_off_forged")
    );
    // Asked again, it says the same.
    assert_eq!(refused(&office, &frame), "sign_off_forged");
    assert_eq!(office.set_aside(9).expect("a list").len(), 1);
}

#[test]
fn a_sign_off_for_another_visit_is_noticed() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let pip = pen.statement(1, "Pip", "999000000112233");
    pen.state(&pip);
    pen.sign(&pip, "ottoline", &person_key("ottoline"));
    let last = pen.clone();
    // The same signature, but the event names visit 2.
    let signed = {
        let frame = pen.seal();
        let events = Frame::decode_strict(&frame).expect("a frame").events;
        let event = Event::decode_strict(&events[events.len() - 2]).expect("an event");
        let Fact::Signed {
            person,
            alg,
            head,
            signature,
            ..
        } = event.fact
        else {
            panic!()
        };
        Fact::Signed {
            visit: 2,
            person,
            alg,
            head,
            signature,
        }
    };
    let mut pen = last;
    pen.write(signed);
    assert_eq!(refused(&office, &pen.seal()), "sign_off_forged");
}

#[test]
fn every_changed_bit_of_a_frame_is_noticed() {
    let pen = two_dogs(1);
    let good = &pen.frames[1];
    let events = Frame::decode_strict(good).expect("a frame").events;
    let last = good.len() - events.last().expect("a seal").len();
    // A database of its own for each: on PostgreSQL only some of the bytes.
    let step = if on_postgres() { 41 } else { 1 };
    for at in (0..good.len()).step_by(step) {
        let office = office();
        held(&office, &pen.frames[..1]);
        let mut bad = good.clone();
        bad[at] ^= 1 << (at % 8);
        let before = shown(&office);
        let receipt = post(&office, &[bad]);
        // Nothing new is shown. (A changed number or journal id can make it look like a
        // frame that comes early; it is kept then, and joins nothing.)
        if at < last {
            assert_eq!(shown(&office), before, "byte {at}");
            assert!(receipt.refused.len() == 1 || office.waiting().expect("a number") == 1);
            // And the true one still comes in.
            held(&office, &pen.frames[1..]);
        }
        // The seal itself carries a moment and a reason that its signature does not
        // cover (core/journal's form); the next seal does. The dogs cannot differ.
        let (_, visits) = office.session(SESSION).expect("the session");
        let moss = visits.iter().filter(|v| v.statement.dog == "Moss");
        assert!(moss.clone().count() <= 1);
        assert!(moss.into_iter().all(|v| v.signed.len() == 2));
    }
}

#[test]
fn a_seal_between_statement_and_sign_offs_is_no_trouble() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let pip = pen.statement(1, "Pip", "999000000112233");
    pen.state(&pip);
    let head = pen.head;
    pen.seal();
    pen.sign_at(head, &pip, "ottoline", &person_key("ottoline"));
    pen.seal();
    pen.sign_at(head, &pip, "bram", &person_key("bram"));
    pen.close();
    held(&office, &pen.frames);
    let (_, visits) = office.session(SESSION).expect("the session");
    assert_eq!(visits[0].signed.len(), 2);
}

#[test]
fn an_altered_event_is_refused() {
    let office = office();
    let pen = two_dogs(1);
    held(&office, &pen.frames[..1]);
    let mut frame = Frame::decode_strict(&pen.frames[1]).expect("a frame");
    // Moss becomes small after everybody has signed.
    let event = Event::decode_strict(&frame.events[0]).expect("an event");
    let mut small = pen.statement(2, "Moss", "999000000204518");
    small.outcome = Outcome::Category {
        id: "small".into(),
        label: "Small".into(),
    };
    frame.events[0] = Event {
        fact: Fact::Stated {
            statement: small.encode(),
        },
        ..event
    }
    .encode();
    let before = picture(&office);
    assert_eq!(refused(&office, &frame.encode()), "fork");
    assert_eq!(picture(&office), before);
}

#[test]
fn two_histories_of_one_device_are_a_fork() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let pip = pen.statement(1, "Pip", "999000000112233");
    let first = pen.dog(&pip);
    let mut other = pen.clone();
    let moss = pen.statement(2, "Moss", "999000000204518");
    let juno = pen.statement(2, "Juno", "999000000337904");
    let then_moss = pen.dog(&moss);
    let then_juno = other.dog(&juno);
    let after_juno = other.close();
    held(&office, &[first, then_moss]);
    let before = picture(&office);
    assert_eq!(refused(&office, &then_juno), "fork");
    assert_eq!(refused(&office, &after_juno), "fork");
    assert_eq!(picture(&office), before, "the first history stands");
    let aside = office.set_aside(9).expect("a list");
    assert_eq!(aside.len(), 2, "both are kept for a person to look at");
    assert!(aside.iter().all(|line| line.device_key == pen.device_key()));
}

#[test]
fn of_many_histories_each_frame_is_known_again() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let pip = pen.statement(1, "Pip", "999000000112233");
    held(&office, &[pen.dog(&pip)]);
    let others: Vec<_> = ["Moss", "Juno", "Rook", "Tansy"]
        .map(|name| {
            let mut other = Pen::new(1);
            other.set_up();
            let dog = other.statement(1, name, "999000000204518");
            other.dog(&dog)
        })
        .into();
    let new = pen.statement(2, "Biscuit", "999000000337904");
    let new = pen.dog(&new);
    // More frames are of one place than are asked for: none is lost among the others.
    for _ in 0..2 {
        for other in &others {
            assert_eq!(refused(&office, other), "fork");
        }
    }
    assert_eq!(office.set_aside(9).expect("a list").len(), others.len());
    held(&office, std::slice::from_ref(&new));
    held(&office, &[new]);
    assert_eq!(office.session(SESSION).expect("the session").1.len(), 2);
}

#[test]
fn a_fork_that_waited_is_set_aside_when_its_turn_comes() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let mut other = pen.clone();
    let pip = pen.statement(1, "Pip", "999000000112233");
    let moss = pen.statement(2, "Moss", "999000000204518");
    let first = pen.dog(&pip);
    let second = pen.dog(&moss);
    let juno = other.statement(1, "Juno", "999000000337904");
    other.dog(&juno);
    let other_second = other.close();
    // Both second frames come before any first one.
    held(&office, &[other_second, second]);
    held(&office, &[first]);
    assert_eq!(office.session(SESSION).expect("the session").1.len(), 2);
    assert_eq!(office.waiting().expect("a number"), 0);
    assert_eq!(office.set_aside(9).expect("a list").len(), 1);
}

#[test]
fn two_phones_keep_two_records_of_one_session() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    held(&office, &two_dogs(2).frames);
    let (lines, visits) = office.session(SESSION).expect("the session");
    assert_eq!((lines.len(), visits.len()), (2, 4));
}

#[test]
fn a_session_that_was_left_is_taken_up_again_by_its_own_journal_only() {
    let office = office();
    let mut pen = two_dogs(1);
    held(&office, &pen.frames);
    let mut stranger = pen.clone();
    let settled = |pen: &mut Pen, session: [u8; 16], day: i32| {
        pen.write(Fact::SessionLeft {});
        pen.write(Fact::SessionTakenUp {
            session: session.into(),
            day,
        });
        let mut statement = pen.statement(2, "Moss", "999000000204518");
        statement.session = session.into();
        statement.flags = vec!["settled-here".into()];
        pen.dog(&statement)
    };
    let flags = || {
        let (_, visits) = office.session(SESSION).expect("the session");
        let moss = visits.into_iter().find(|v| v.statement.visit == 2);
        let moss = moss.expect("Moss");
        (moss.statement.flags, moss.signed.len())
    };
    let before = flags();
    // One that this journal never began, and its own by another year.
    let mut other = stranger.clone();
    for (pen, session, day) in [
        (&mut stranger, [0x77; 16], DAY),
        (&mut other, SESSION, DAY + 800),
    ] {
        let frame = settled(pen, session, day);
        let fresh = office_over(engine());
        held(&fresh, &two_dogs(1).frames);
        assert_eq!(refused(&fresh, &frame), "statement_out_of_place");
    }
    assert_eq!(flags(), before);
    held(&office, &[settled(&mut pen, SESSION, DAY)]);
    assert_eq!(flags(), (vec!["settled-here".to_owned()], 2));
}

#[test]
fn a_journal_that_is_not_the_frames_own_is_refused() {
    let office = office();
    let frame = Frame::decode_strict(&two_dogs(1).frames[0]).expect("a frame");
    let other = Frame {
        journal: [9; 16],
        ..frame
    };
    assert_eq!(refused(&office, &other.encode()), "other_journal");
}

#[test]
fn a_newer_event_is_kept_for_newer_software() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let mut newer = Event {
        version: 1,
        at_ms: 0,
        fact: Fact::QueueOpened {},
    }
    .encode();
    newer[1] = 2;
    pen.write_bytes(newer);
    let frame = pen.seal();
    assert_eq!(refused(&office, &frame), "too_new");
    assert_eq!(office.set_aside(9).expect("a list").len(), 1);
}

#[test]
fn a_body_beyond_the_limits_is_refused_whole() {
    let office = office();
    let limits = Limits::default();
    let too_large = |body: &[u8]| match office.ingest(body, 0) {
        Err(IngestFault::Body(fault)) => fault,
        other => panic!("{other:?}"),
    };
    let many = vec![vec![0]; limits.frames + 1];
    assert_eq!(
        too_large(&post_body(&many)),
        BodyFault::TooMany(limits.frames)
    );
    let long = vec![vec![0; limits.frame_bytes + 1]];
    assert!(matches!(
        too_large(&post_body(&long)),
        BodyFault::FrameTooLarge { .. }
    ));
    let body = vec![0; limits.body_bytes + 1];
    assert_eq!(too_large(&body), BodyFault::TooLarge(limits.body_bytes));
    assert_eq!(too_large(b""), BodyFault::NotABatch);
}

#[test]
fn only_so_many_frames_wait() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    pen.seal();
    for _ in 0..1_030 {
        pen.write(Fact::CloseReviewed { open: true });
        pen.seal();
    }
    let mut refusals = 0;
    for chunk in pen.frames[1..].chunks(64) {
        let receipt = post(&office, chunk);
        assert!(
            receipt
                .refused
                .iter()
                .all(|(_, why)| why == "too_many_waiting")
        );
        refusals += receipt.refused.len();
    }
    assert_eq!(refusals, 1_030 - 1_024);
    // Nothing is stuck: the missing one, and then what was refused, and all is there.
    held(&office, &pen.frames[..1]);
    assert_eq!(office.waiting().expect("a number"), 0);
    held(&office, &pen.frames[1_025..]);
    assert!(office.set_aside(9).expect("a list").is_empty());
}

#[test]
fn a_compressed_post_is_taken_like_a_plain_one() {
    let office = office();
    let pen = two_dogs(1);
    let body = standsquare_sync::compressed_body(&pen.frames);
    assert!(body.len() < post_body(&pen.frames).len());
    let bytes = apart(|| office.ingest(&body, BEGIN_MS)).expect("taken in");
    let receipt =
        standsquare_sync::Receipt::verify(&bytes, &office.public_key()).expect("a receipt");
    assert_eq!(receipt.held.len(), 3);
}

#[test]
fn a_lean_post_is_taken_like_a_plain_one() {
    let office = office();
    let pen = Pen::day(1, 5);
    let body = standsquare_sync::lean_body(&pen.frames, standsquare_journal::record::chain);
    assert_eq!(body[5], 2, "it is a lean one");
    let bytes = apart(|| office.ingest(&body, BEGIN_MS)).expect("taken in");
    let receipt =
        standsquare_sync::Receipt::verify(&bytes, &office.public_key()).expect("a receipt");
    assert_eq!((receipt.held.len(), receipt.refused.len()), (6, 0));
    // The rest of a day, whose beginning the office has.
    let mut pen = pen;
    let mut random = 3;
    pen.routine_dog(6, &mut random);
    pen.routine_dog(7, &mut random);
    let body = standsquare_sync::lean_body(&pen.frames[6..], standsquare_journal::record::chain);
    let bytes = apart(|| office.ingest(&body, BEGIN_MS)).expect("taken in");
    let receipt =
        standsquare_sync::Receipt::verify(&bytes, &office.public_key()).expect("a receipt");
    let ids: Vec<_> = pen.frames[6..].iter().map(|f| frame_id(f)).collect();
    assert_eq!(receipt.held, ids);
}
