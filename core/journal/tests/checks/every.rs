//! One of every fact, so that no check forgets one.

use standsquare_journal::record::fact::{
    ChipProof, Correction, Fact, Found, Harm, List, Listed, Outcome, Putting, Seen, StatedPlacing,
    Statement, Whom,
};
use standsquare_journal::record::{Event, statement_hash};

use crate::common::{BEGIN_MS, statement};

/// The number of the last fact there is.
pub const LAST: u32 = 97;

fn visits(make: &dyn Fn(u32) -> Fact) -> Vec<Fact> {
    [0, 1, 23, 24, 255, 256, 65_536, u32::MAX]
        .into_iter()
        .map(make)
        .collect()
}

/// The number of a fact, from a match without a wildcard: a new fact does not compile
/// until it is here, and is then missed in [`facts`].
pub fn number(fact: &Fact) -> u32 {
    match fact {
        Fact::JournalBegun { .. } => 1,
        Fact::RosterTaken { .. } => 2,
        Fact::SessionBegun { .. } => 3,
        Fact::VenueSet { .. } => 4,
        Fact::LevelRead { .. } => 5,
        Fact::LevelDropped {} => 6,
        Fact::SurfaceAccepted {} => 7,
        Fact::HoopLooked { .. } => 8,
        Fact::HoopsAccepted {} => 9,
        Fact::Seated { .. } => 10,
        Fact::Unseated { .. } => 11,
        Fact::KeyMade { .. } => 12,
        Fact::QueueOpened {} => 13,
        Fact::DogCalled { .. } => 14,
        Fact::BookLooked { .. } => 15,
        Fact::BookAccepted { .. } => 16,
        Fact::HandlerAnswered { .. } => 17,
        Fact::HandlerAccepted { .. } => 18,
        Fact::ChipRead { .. } => 19,
        Fact::ChipTyped { .. } => 20,
        Fact::ChipAccepted { .. } => 21,
        Fact::ChipAgain { .. } => 22,
        Fact::Settled { .. } => 23,
        Fact::StoodSquare { .. } => 24,
        Fact::HoopChosen { .. } => 25,
        Fact::Placed { .. } => 26,
        Fact::PlacingTakenBack { .. } => 27,
        Fact::StopAsked { .. } => 28,
        Fact::StopLeft { .. } => 29,
        Fact::Stopped { .. } => 30,
        Fact::Stated { .. } => 31,
        Fact::Signed { .. } => 32,
        Fact::Disagreed { .. } => 33,
        Fact::PinRefused { .. } => 34,
        Fact::BookWritten { .. } => 35,
        Fact::HandlerTold { .. } => 36,
        Fact::CloseReviewed { .. } => 37,
        Fact::SessionClosed { .. } => 38,
        Fact::SessionLeft {} => 39,
        Fact::Sealed { .. } => 40,
        Fact::Acknowledged { .. } => 41,
        Fact::ScanPassed { .. } => 42,
        Fact::Salvaged { .. } => 43,
        Fact::ReadersOpened { .. } => 44,
        Fact::ReaderChosen { .. } => 45,
        Fact::ReaderPaired { .. } => 46,
        Fact::Parked { .. } => 47,
        Fact::Resumed { .. } => 48,
        Fact::CorrectionAsked { .. } => 49,
        Fact::CorrectionChosen { .. } => 50,
        Fact::CorrectionLeft { .. } => 51,
        Fact::CorrectionStated { .. } => 52,
        Fact::CorrectionSigned { .. } => 53,
        Fact::SignedOnPaper { .. } => 54,
        Fact::SteppedAway { .. } => 55,
        Fact::Recused { .. } => 56,
        Fact::HandOver { .. } => 57,
        Fact::TakenOver { .. } => 58,
        Fact::Newcomer { .. } => 59,
        Fact::NewcomerDescribed { .. } => 60,
        Fact::Incident { .. } => 61,
        Fact::Logged { .. } => 62,
        Fact::ClockDiffers { .. } => 63,
        Fact::Enrolled { .. } => 64,
        Fact::EditionTaken { .. } => 65,
        Fact::Paired { .. } => 66,
        Fact::DogsHeard { .. } => 67,
        Fact::Unlocked { .. } => 68,
        Fact::Confirmed { .. } => 69,
        Fact::Locked {} => 70,
        Fact::ListStated { .. } => 71,
        Fact::ListSigned { .. } => 72,
        Fact::ListOnPaper { .. } => 73,
        Fact::ListLeft {} => 74,
        Fact::KeyNoticed { .. } => 75,
        Fact::PersonalErased { .. } => 76,
        Fact::CopyGiven { .. } => 77,
        Fact::TraineeWatches { .. } => 78,
        Fact::Shadowed { .. } => 79,
        Fact::DrillBegun { .. } => 80,
        Fact::DrillAnswered { .. } => 81,
        Fact::DrillLeft {} => 82,
        Fact::PracticeSigned { .. } => 83,
        Fact::PageOpened { .. } => 84,
        Fact::MoveAsked { .. } => 85,
        Fact::MoveRead { .. } => 86,
        Fact::PlacingsMoved { .. } => 87,
        Fact::Objected { .. } => 88,
        Fact::SignedElsewhere { .. } => 89,
        Fact::SignedForOther { .. } => 90,
        Fact::HeardAnswered { .. } => 91,
        Fact::PairingShown { .. } => 92,
        Fact::BesideTold { .. } => 93,
        Fact::SettleAsked { .. } => 94,
        Fact::PhoneOwner { .. } => 95,
        Fact::OpenedByOwner { .. } => 96,
        Fact::SessionTakenUp { .. } => 97,
    }
}

/// Statements in which what may be absent is there and is not, every outcome among them.
pub fn statements() -> Vec<Statement> {
    let whole = statement(1, 1);
    let empty = Statement {
        chip: String::new(),
        chip_read: Some("999000000999999".into()),
        proof: ChipProof::Different,
        over_um: Some(i64::MIN),
        within_um: None,
        flags: Vec::new(),
        placings: Vec::new(),
        window_from: None,
        window_to: None,
        measurers: Vec::new(),
        demo: false,
        status_until: Some(-1),
        ..whole.clone()
    };
    let outcomes = [
        Outcome::NotToday {
            reason: "nervous".into(),
        },
        Outcome::Referred {
            reason: "measurers_disagree".into(),
        },
        Outcome::Category {
            id: "intermediate".into(),
            label: "Größer — 高い".into(),
        },
    ];
    let with = outcomes.into_iter().map(|outcome| Statement {
        outcome,
        ..whole.clone()
    });
    let with: Vec<Statement> = with.collect();
    [vec![whole, empty], with].concat()
}

/// Corrections of either kind.
pub fn corrections() -> Vec<Correction> {
    let void = Correction {
        session: [7; 16].into(),
        visit: 1,
        dog: "Pip".into(),
        chip: "999000000112233".into(),
        what: Putting::VoidPlacing { number: 1 },
        placing: Some(StatedPlacing {
            hoop: "h35".into(),
            seen: Seen::Flat,
        }),
        reason: "mis_tapped".into(),
        after_sign_off: true,
        measurers: vec!["LM-014".into(), "LM-022".into()],
        demo: true,
    };
    let papers = Correction {
        what: Putting::PapersAgain {},
        placing: None,
        chip: String::new(),
        measurers: Vec::new(),
        ..void.clone()
    };
    let moved = Correction {
        what: Putting::MovePlacings {
            visit: 2,
            dog: "Moss".into(),
            chip: "999000000204518".into(),
            placings: [Seen::Moved, Seen::NotFlatVoid, Seen::Flat]
                .map(|seen| StatedPlacing {
                    hoop: "h35".into(),
                    seen,
                })
                .to_vec(),
        },
        placing: None,
        ..void.clone()
    };
    vec![void, papers, moved]
}

/// Lists of none, one and many dogs.
pub fn lists() -> Vec<List> {
    let dog = |statement: Statement, by: &[&str]| Listed {
        visit: statement.visit,
        statement: statement_hash(&statement.encode()).into(),
        dog: statement.dog,
        chip: statement.chip,
        outcome: statement.outcome,
        by: by.iter().map(|p| (*p).to_owned()).collect(),
    };
    let of = |dogs| List {
        session: [7; 16].into(),
        dogs,
        demo: true,
    };
    let many = statements().into_iter();
    vec![
        of(Vec::new()),
        of(vec![dog(statement(1, 1), &[])]),
        of(many.map(|s| dog(s, &["ottoline", "bram"])).collect()),
    ]
}

/// One of every fact at least, with values at the edges.
pub fn facts() -> Vec<Fact> {
    let b = |n: u8| [n; 32].into();
    let person = || "ottoline".to_owned();
    let mut all = vec![
        Fact::JournalBegun {
            device_key: b(1),
            alg: 1,
            journal: [2; 16].into(),
            software: "standsquare 0.1.0".into(),
            hash_alg: 1,
        },
        Fact::RosterTaken {
            roster: b(3),
            pack: b(4),
            league: "larkmere".into(),
        },
        Fact::SessionBegun {
            session: [7; 16].into(),
            roster: b(3),
            pack: b(4),
            offset_min: -720,
            day: i32::MAX,
        },
        Fact::VenueSet {
            name: "Hollin Field".into(),
        },
        Fact::LevelRead {
            x_mdeg: i32::MIN,
            y_mdeg: 0,
        },
        Fact::LevelDropped {},
        Fact::SurfaceAccepted {},
        Fact::HoopsAccepted {},
        Fact::Seated {
            person: person(),
            number: "LM-014".into(),
        },
        Fact::Unseated { person: person() },
        Fact::KeyMade {
            person: person(),
            key: b(5),
            alg: 1,
        },
        Fact::QueueOpened {},
        Fact::DogCalled {
            visit: 1,
            dog: "pip".into(),
            subject: [8; 16].into(),
            commitment: b(9),
        },
        Fact::ChipRead {
            visit: 1,
            raw: (0..=255).collect(),
            form: String::new(),
            number: "9".repeat(70_000),
            verified: false,
        },
        Fact::ChipTyped {
            visit: 1,
            number: "999000000112233".into(),
        },
        Fact::HoopChosen {
            visit: 1,
            hoop: "h43".into(),
        },
        Fact::Stopped {
            visit: 1,
            reason: "nervous".into(),
        },
        Fact::Signed {
            visit: 1,
            person: person(),
            alg: 1,
            head: b(10),
            signature: [11; 64].into(),
        },
        Fact::Disagreed {
            visit: 1,
            person: person(),
        },
        Fact::PinRefused { person: person() },
        Fact::SessionLeft {},
        Fact::Sealed {
            why: 3,
            alg: 1,
            head: b(10),
            signature: [11; 64].into(),
        },
        Fact::Salvaged {
            set_aside: "journal.sqlite.damaged-7".into(),
            file: b(12),
            reason: "event 14 is missing".into(),
        },
        Fact::ReadersOpened { open: true },
        Fact::ReaderChosen {
            reader: "C0:11:22:33:44:55".into(),
            name: "Table reader".into(),
            carrier: 1,
        },
        Fact::ReaderPaired {
            reader: "keys".into(),
            name: String::new(),
            carrier: 255,
            profile: "wedge-15".into(),
            number: "999000000112233".into(),
        },
    ];
    for (measure, yes) in [(0, true), (1, false), (255, true)] {
        all.push(Fact::BookAccepted { visit: 1, measure });
        all.push(Fact::HandlerAnswered {
            visit: 1,
            question: "has_bitten".into(),
            yes,
        });
        all.push(Fact::HoopLooked {
            hoop: "h35".into(),
            good: yes,
        });
        all.push(Fact::CloseReviewed { open: yes });
    }
    for found in [Found::Agrees, Found::Differs, Found::Missing] {
        all.push(Fact::BookLooked {
            visit: 1,
            item: "name".into(),
            found,
        });
    }
    for proof in [
        ChipProof::Equal,
        ChipProof::MisKeyed,
        ChipProof::Typed,
        ChipProof::NotFound,
        ChipProof::Different,
        ChipProof::NotScanned,
        ChipProof::OtherForm,
        ChipProof::TwoChips,
    ] {
        all.push(Fact::ChipAccepted { visit: 1, proof });
    }
    for seen in [
        Seen::Flat,
        Seen::NotFlat,
        Seen::Moved,
        Seen::FlatVoid,
        Seen::NotFlatVoid,
    ] {
        all.push(Fact::Placed {
            visit: 1,
            hoop: "h35".into(),
            seen,
        });
    }
    for correction in corrections() {
        all.push(Fact::CorrectionChosen {
            visit: 1,
            what: correction.what.clone(),
        });
        all.push(Fact::CorrectionStated {
            correction: correction.encode(),
        });
    }
    all.push(Fact::CorrectionSigned {
        visit: 1,
        person: person(),
        alg: 1,
        head: b(10),
        signature: [11; 64].into(),
    });
    for list in lists() {
        all.push(Fact::ListStated {
            list: list.encode(),
        });
    }
    all.push(Fact::Unlocked {
        person: person(),
        alg: 1,
        head: b(10),
        signature: [11; 64].into(),
    });
    all.push(Fact::Locked {});
    for verified in [true, false] {
        all.push(Fact::MoveRead {
            visit: 1,
            dog: "moss".into(),
            raw: vec![2, 3],
            form: "frame30".into(),
            number: "999000000204518".into(),
            verified,
        });
    }
    all.push(Fact::PlacingsMoved {
        from: 1,
        to: u32::MAX,
    });
    all.push(Fact::SignedElsewhere {
        visit: 1,
        person: person(),
        alg: 1,
        head: b(10),
        signature: [11; 64].into(),
        key: b(12),
        device_key: b(13),
    });
    all.push(Fact::SignedForOther {
        device_key: b(13),
        person: person(),
        statement: statement(1, 1).encode(),
        alg: 1,
        head: b(10),
        signature: [11; 64].into(),
    });
    all.push(Fact::Objected {
        visit: 1,
        words: [5; 16].into(),
        commitment: b(6),
    });
    all.push(Fact::ListSigned {
        person: person(),
        alg: 1,
        head: b(10),
        signature: [11; 64].into(),
    });
    all.push(Fact::ListOnPaper {
        person: person(),
        paper: "0017".into(),
    });
    all.push(Fact::ListLeft {});
    all.push(Fact::Newcomer {
        visit: 1,
        dog: "new-1".into(),
        chip: "999000000112233".into(),
    });
    for (born, category, measured) in [
        (None, None, None),
        (Some(19_000), None, None),
        (Some(-1), Some("small".to_owned()), Some(20_000)),
        (None, Some(String::new()), Some(0)),
    ] {
        all.push(Fact::NewcomerDescribed {
            visit: 1,
            name: "Sorrel".into(),
            born,
            category,
            measured,
        });
    }
    for (what, whom, words) in [
        (Harm::Bite, Whom::Measurer, ""),
        (Harm::Bite, Whom::Other, "on the hand"),
        (Harm::Fall, Whom::Handler, ""),
        (Harm::Fall, Whom::Dog, "slipped off the table"),
    ] {
        all.push(Fact::Incident {
            visit: words.len() as u32,
            what,
            whom,
            words: words.into(),
        });
    }
    all.push(Fact::Recused {
        visit: 1,
        person: person(),
    });
    all.push(Fact::HandOver {
        visit: 1,
        to: person(),
    });
    all.push(Fact::TakenOver {
        visit: 1,
        person: person(),
    });
    for away in [true, false] {
        all.push(Fact::SteppedAway {
            person: person(),
            away,
        });
        all.push(Fact::SignedOnPaper {
            visit: 1,
            person: person(),
            paper: if away { "0017" } else { "" }.into(),
        });
    }
    all.push(Fact::Shadowed {
        visit: 1,
        person: "wren".into(),
        category: "medium".into(),
    });
    for (here, seed) in [(true, 0), (false, u64::MAX)] {
        all.push(Fact::TraineeWatches {
            person: "wren".into(),
            here,
        });
        all.push(Fact::DrillBegun {
            person: "wren".into(),
            gauge: "hoop-35".into(),
            placings: 30,
            reach_um: i64::MAX,
            step_um: -1,
            seed,
        });
        all.push(Fact::PageOpened {
            page: if here { "practice" } else { "" }.into(),
            person: if here { "wren" } else { "" }.into(),
        });
    }
    for seen in [Seen::Flat, Seen::NotFlat, Seen::Moved] {
        all.push(Fact::DrillAnswered { seen });
    }
    all.push(Fact::DrillLeft {});
    all.push(Fact::PracticeSigned {
        person: person(),
        record: b"{}".to_vec(),
        alg: 1,
        signature: [11; 64].into(),
    });
    for n in [0, 1, 24, 300] {
        all.push(Fact::SessionClosed {
            not_seen: vec!["tansy".into(); n],
        });
        all.push(Fact::Acknowledged {
            frames: vec![b(13); n],
            receipt: vec![0xa5; n],
        });
        all.push(Fact::Logged {
            frames: vec![b(14); n],
            checkpoint: "larkmere\n".repeat(n),
        });
        all.push(Fact::DogsHeard {
            device_key: b(15),
            journal: [16; 16].into(),
            list: vec![0x5a; n],
        });
        all.push(Fact::KeyNoticed {
            notice: "SSK1:".repeat(n),
        });
        all.push(Fact::PersonalErased {
            subjects: vec![[20; 16].into(); n],
            kept_days: n as u32,
        });
        all.push(Fact::CopyGiven {
            to_seq: n as u64,
            in_codes: n > 1,
        });
    }
    for ms in [0, 1, -1, i64::MIN, i64::MAX] {
        all.push(Fact::ClockDiffers {
            office_ms: ms,
            ahead_ms: ms,
        });
        all.push(Fact::EditionTaken {
            number: ms as u64,
            digest: b(17),
        });
    }
    all.push(Fact::Enrolled {
        body: "larkmere".into(),
        address: "https://office.example".into(),
        office_key: b(18),
    });
    all.push(Fact::Paired {
        device_key: b(15),
        journal: [16; 16].into(),
        session: [19; 16].into(),
    });
    for n in [0, 1, 24, 300] {
        all.push(Fact::BesideTold {
            session: [1; 16].into(),
            answer: vec![0x84; n],
        });
    }
    all.push(Fact::PairingShown {
        session: [1; 16].into(),
    });
    for stands_here in [true, false] {
        all.push(Fact::SettleAsked {
            visit: 3,
            device_key: b(15),
            journal: [16; 16].into(),
            theirs: b(16),
            ours: b(17),
            stands_here,
            came: "category:small".into(),
        });
    }
    for on in [true, false] {
        all.push(Fact::PhoneOwner {
            person: person(),
            on,
        });
    }
    all.push(Fact::OpenedByOwner { person: person() });
    for day in [20_782, 0, -1, i32::MIN, i32::MAX] {
        all.push(Fact::SessionTakenUp {
            session: [1; 16].into(),
            day,
        });
    }
    for goes_on in [true, false] {
        all.push(Fact::HeardAnswered {
            visit: 3,
            journal: [16; 16].into(),
            goes_on,
        });
    }
    for statement in statements() {
        all.push(Fact::Stated {
            statement: statement.encode(),
        });
    }
    let of_visits: [&dyn Fn(u32) -> Fact; 16] = [
        &|visit| Fact::MoveAsked { visit },
        &|visit| Fact::Confirmed {
            visit,
            person: "ottoline".into(),
            head: [10; 32].into(),
        },
        &|visit| Fact::Parked { visit },
        &|visit| Fact::Resumed { visit },
        &|visit| Fact::CorrectionAsked { visit },
        &|visit| Fact::CorrectionLeft { visit },
        &|visit| Fact::HandlerAccepted { visit },
        &|visit| Fact::ChipAgain { visit },
        &|visit| Fact::Settled { visit },
        &|visit| Fact::StoodSquare { visit },
        &|visit| Fact::PlacingTakenBack { visit },
        &|visit| Fact::StopAsked { visit },
        &|visit| Fact::StopLeft { visit },
        &|visit| Fact::BookWritten { visit },
        &|visit| Fact::HandlerTold { visit },
        &|visit| Fact::ScanPassed { visit },
    ];
    all.extend(of_visits.into_iter().flat_map(visits));
    all
}

/// [`facts`] as events, at moments at the edges.
pub fn events() -> Vec<Event> {
    let moments = [BEGIN_MS, 0, -1, i64::MIN, i64::MAX];
    facts()
        .into_iter()
        .enumerate()
        .map(|(n, fact)| Event {
            version: 1,
            at_ms: moments[n % moments.len()],
            fact,
        })
        .collect()
}
