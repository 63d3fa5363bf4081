//! The signed log: what phones are proved, checked with another implementation.

mod support;

use standsquare_office::OfficeState;
use standsquare_sync::frame_id;
use standsquare_sync::log::{Ask, Bundle, Checkpoint, LogFault, origin};
use support::*;

fn extend_all(office: &OfficeState) -> usize {
    let mut all = 0;
    loop {
        match office.extend_log().expect("logged") {
            0 => return all,
            some => all += some,
        }
    }
}

fn ask(
    office: &OfficeState,
    seen: Option<&Checkpoint>,
    frames: &[[u8; 32]],
) -> Result<(Checkpoint, Vec<[u8; 32]>), LogFault> {
    let ask = Ask {
        seen: seen.map_or(0, |s| s.size),
        frames: frames.to_vec(),
    };
    let answer = office.ask_log(&ask).expect("answered").encode();
    Bundle::verify(&answer, &origin("larkmere"), &office.public_key(), seen)
}

/// Thirteen frames, one dog each.
fn thirteen(n: u8) -> Pen {
    let mut pen = Pen::new(n);
    pen.set_up();
    for visit in 1..=13 {
        let statement = pen.statement(visit, "Pip", &format!("999000{n:03}{visit:06}"));
        pen.dog(&statement);
    }
    pen
}

#[test]
fn every_size_is_proved_to_continue_every_smaller_one() {
    let office = office();
    let pen = thirteen(1);
    let (empty, _) = ask(&office, None, &[]).expect("an empty log");
    assert_eq!(empty.size, 0);
    let mut seen = vec![empty];
    let ids: Vec<_> = pen.frames.iter().map(|f| frame_id(f)).collect();
    for n in 0..pen.frames.len() {
        held(&office, &pen.frames[n..=n]);
        assert_eq!(extend_all(&office), 1);
        for before in &seen {
            let (now, proved) = ask(&office, Some(before), &ids).expect("honest");
            assert_eq!((now.size, proved.len()), (n as u64 + 1, n + 1));
        }
        seen.push(office.checkpoint().expect("a checkpoint"));
    }
}

#[test]
fn only_what_is_in_the_record_is_in_the_log() {
    let office = office();
    let pen = thirteen(1);
    held(&office, &pen.frames[1..3]);
    assert_eq!(extend_all(&office), 0, "they wait for the first one");
    let id = frame_id(&pen.frames[1]);
    assert_eq!(
        ask(&office, None, &[id, [9; 32]]).expect("honest").1,
        [] as [[u8; 32]; 0]
    );
    held(&office, &pen.frames[..1]);
    assert_eq!(extend_all(&office), 3);
    assert_eq!(extend_all(&office), 0, "once is enough");
    assert_eq!(ask(&office, None, &[id, [9; 32]]).expect("honest").1, [id]);
}

#[test]
fn who_has_seen_another_log_is_not_told_that_it_continues() {
    let (one, other) = (office(), office());
    held(&one, &thirteen(1).frames);
    held(&other, &thirteen(2).frames[..7]);
    extend_all(&one);
    extend_all(&other);
    let seen = other.checkpoint().expect("a checkpoint");
    assert_eq!(ask(&one, Some(&seen), &[]), Err(LogFault::HistoryChanged));
    let larger = one.checkpoint().expect("a checkpoint");
    assert_eq!(
        ask(&other, Some(&larger), &[]),
        Err(LogFault::HistoryChanged)
    );
}

#[test]
fn several_that_extend_it_at_once_make_one_log() {
    let office = office();
    let pens: Vec<_> = (1..=3).map(thirteen).collect();
    std::thread::scope(|scope| {
        for pen in &pens {
            let office = &office;
            scope.spawn(move || {
                for frame in &pen.frames {
                    held(office, std::slice::from_ref(frame));
                    office.extend_log().expect("logged");
                }
            });
        }
    });
    extend_all(&office);
    let ids: Vec<_> = pens
        .iter()
        .flat_map(|p| &p.frames)
        .map(|f| frame_id(f))
        .collect();
    let (now, proved) = ask(&office, None, &ids).expect("honest");
    assert_eq!((now.size, proved.len()), (39, 39));
}
