//! Editions of the roster: what changed, put into what a phone has, is the office's roster,
//! or the phone asks for the whole; never something else, and never a panic.

use ed25519_dalek::{Signer, SigningKey};
use proptest::prelude::*;
use standsquare_sync::edition::{
    Changes, Content, Listed, Put, TakeFault, roster_digest, roster_text,
};
use standsquare_sync::roster::{Dog, Hoop, League, OfficeCard, Person, ROSTER_FORMAT, Roster};
use standsquare_sync::{Edition, SignedFault};

fn office() -> SigningKey {
    SigningKey::from_bytes(&[3; 32])
}

fn key() -> [u8; 32] {
    office().verifying_key().to_bytes()
}

fn dog(id: &str, name: &str) -> Dog {
    Dog {
        id: id.into(),
        name: name.into(),
        handler: format!("the handler of {name}"),
        chip: "999000000112233".into(),
        born: "2023-05-01".into(),
        earlier: Vec::new(),
        household_of: Vec::new(),
    }
}

fn roster(dogs: Vec<Dog>) -> Roster {
    Roster {
        format: ROSTER_FORMAT,
        demo: true,
        league: League {
            id: "larkmere".into(),
            name: "Larkmere Agility League".into(),
        },
        office: OfficeCard {
            name: "Larkmere office".into(),
            key: "00".repeat(32),
            phones: Vec::new(),
        },
        pack: "a pack's text\n".repeat(200),
        venues: vec!["Hollin Field".into()],
        people: vec![Person {
            id: "ottoline".into(),
            name: "Ottoline Marsh".into(),
            number: "LM-014".into(),
            role: "measurer".into(),
        }],
        hoops: vec![Hoop {
            id: "h35".into(),
            gauge: "h35".into(),
            serial: "35-007".into(),
            checked: "2026-10-01".into(),
        }],
        dogs,
    }
}

fn many(count: usize) -> Vec<Dog> {
    (0..count)
        .map(|n| dog(&format!("d{n}"), &format!("Dog {n}")))
        .collect()
}

fn edition(after: u64, old: Option<&str>, new: &str) -> Edition {
    let content = Content::to_bring(old, new);
    Edition {
        office_key: key(),
        body: "larkmere".into(),
        number: 9,
        digest: roster_digest(new),
        after: match content {
            Content::Whole(_) => 0,
            Content::Changes(_) => after,
        },
        at_ms: 1_795_597_200_000,
        content,
        notices: vec!["SSK1:ABC".into()],
    }
}

fn sign(edition: &Edition) -> Vec<u8> {
    edition.sign(|bytes| office().sign(bytes).to_bytes())
}

#[test]
fn the_whole_and_then_what_changed() {
    let first = roster(many(500));
    let text = roster_text(&first);
    let whole = sign(&edition(0, None, &text));
    let read = Edition::verify(&whole, &key(), "larkmere").expect("whole");
    assert_eq!(read.take(None), Ok(text.clone()));
    assert_eq!(read.notices, ["SSK1:ABC"]);

    let mut second = first.clone();
    second.dogs.remove(3);
    second.dogs.insert(1, dog("rook", "Rook"));
    second.dogs[400].name = "Tansy".into();
    second.people[0].number = "LM-015".into();
    second.office.phones.push("11".repeat(32));
    let now = roster_text(&second);
    let some = sign(&edition(8, Some(&text), &now));
    let read = Edition::verify(&some, &key(), "larkmere").expect("changes");
    assert_eq!((read.after, read.number), (8, 9));
    assert_eq!(read.take(Some(&text)), Ok(now));
    // A dog, a name, a number and a phone: not the five hundred dogs.
    assert!(
        some.len() < 1_500 && whole.len() > 50_000,
        "{} {}",
        some.len(),
        whole.len()
    );
}

#[test]
fn nothing_new_is_next_to_nothing() {
    let text = roster_text(&roster(many(500)));
    let same = sign(&edition(9, Some(&text), &text));
    assert!(same.len() < 250, "{}", same.len());
    let read = Edition::verify(&same, &key(), "larkmere").expect("read");
    assert_eq!(read.take(Some(&text)), Ok(text));
}

#[test]
fn changes_to_something_else_are_refused_and_the_whole_is_asked_for() {
    let (first, mut second) = (roster(many(20)), roster(many(20)));
    second.dogs[7].name = "Moss".into();
    let (old, new) = (roster_text(&first), roster_text(&second));
    let read = edition(8, Some(&old), &new);
    assert_eq!(read.take(None), Err(TakeFault::NothingHeld));
    let mut other = first.clone();
    other.venues.push("somewhere".into());
    assert_eq!(
        read.take(Some(&roster_text(&other))),
        Err(TakeFault::OtherDigest)
    );
    assert!(matches!(
        read.take(Some("no roster")),
        Err(TakeFault::Misfit(_))
    ));
    // What an older phone does not know of is lost in its text, and found out.
    let newer = old.replacen("\"demo\"", "\"later\":1,\"demo\"", 1);
    let of_newer = Edition {
        digest: roster_digest(&newer.replace("Dog 7", "Moss")),
        ..read
    };
    assert_eq!(of_newer.take(Some(&newer)), Err(TakeFault::OtherDigest));
}

#[test]
fn a_list_in_another_order_or_an_id_twice_comes_whole() {
    let first = roster(many(20));
    let mut turned = first.clone();
    turned.dogs.reverse();
    assert_eq!(Changes::between(&first, &turned), None);
    let mut twice = first.clone();
    twice.dogs.push(dog("d3", "Juno"));
    assert_eq!(Changes::between(&first, &twice), None);
    let text = roster_text(&turned);
    assert_eq!(
        Content::to_bring(Some(&roster_text(&first)), &text),
        Content::Whole(text.clone())
    );
    assert_eq!(
        Content::to_bring(Some("no roster"), &text),
        Content::Whole(text)
    );
}

#[test]
fn places_that_cannot_be_are_refused() {
    let first = roster(many(3));
    let item = |n: u32| Put {
        at: n,
        item: serde_json::to_string(&dog("x", "X")).expect("JSON"),
    };
    let again = |n: u32| Put {
        at: n,
        item: serde_json::to_string(&dog("y", "Y")).expect("JSON"),
    };
    for put in [
        vec![item(4)],
        vec![item(u32::MAX)],
        vec![item(2), again(1)],
        vec![item(1), again(1)],
        vec![Put {
            at: 0,
            item: "{}".into(),
        }],
    ] {
        let changes = Changes {
            dogs: Listed {
                gone: Vec::new(),
                put,
            },
            ..Changes::default()
        };
        assert!(matches!(
            changes.put_into(&first),
            Err(TakeFault::Misfit(_))
        ));
    }
}

#[test]
fn another_office_another_body_and_every_changed_bit_are_noticed() {
    let text = roster_text(&roster(many(1)));
    let good = sign(&edition(0, None, &text));
    assert_eq!(
        Edition::verify(&good, &key(), "elsewhere"),
        Err(SignedFault::OtherOffice)
    );
    assert_eq!(
        Edition::verify(&good, &[9; 32], "larkmere"),
        Err(SignedFault::OtherOffice)
    );
    for at in 0..good.len() {
        assert!(
            Edition::verify(&good[..at], &key(), "larkmere").is_err(),
            "cut at {at}"
        );
        let mut bad = good.clone();
        bad[at] ^= 1 << (at % 8);
        assert!(
            Edition::verify(&bad, &key(), "larkmere").is_err(),
            "byte {at}"
        );
    }
}

#[test]
fn an_edition_that_contradicts_itself_is_refused() {
    let text = roster_text(&roster(many(1)));
    let whole = edition(0, None, &text);
    for (number, after, content) in [
        (9, 8, Content::Whole(text.clone())),
        (9, 0, Content::Changes(Box::default())),
        (7, 8, Content::Changes(Box::default())),
        (0, 0, Content::Whole(text.clone())),
    ] {
        let odd = Edition {
            number,
            after,
            content,
            ..whole.clone()
        };
        let read = Edition::verify(&sign(&odd), &key(), "larkmere");
        assert!(
            matches!(read, Err(SignedFault::Unreadable { .. })),
            "{read:?}"
        );
    }
}

/// A dog of a few that there may be, with a name of a few.
fn some_dogs() -> impl Strategy<Value = Vec<Dog>> {
    prop::collection::btree_map(0u8..12, 0u8..3, 0..12).prop_map(|dogs| {
        let named = |(id, name): (u8, u8)| dog(&format!("d{id}"), &format!("name {name}"));
        dogs.into_iter().map(named).collect()
    })
}

proptest! {
    #[test]
    fn what_changed_always_gives_the_new_one(old in some_dogs(), new in some_dogs()) {
        let (old, new) = (roster_text(&roster(old)), roster_text(&roster(new)));
        let made = edition(8, Some(&old), &new);
        // Lists in the order of their ids: changes can always say it.
        prop_assert!(matches!(made.content, Content::Changes(_)));
        let read = Edition::verify(&sign(&made), &key(), "larkmere").expect("read");
        prop_assert_eq!(read.take(Some(&old)), Ok(new));
    }

    #[test]
    fn changes_into_any_roster_give_the_offices_or_nothing(
        old in some_dogs(), new in some_dogs(), other in some_dogs(),
    ) {
        let (old, new) = (roster_text(&roster(old)), roster_text(&roster(new)));
        if let Ok(taken) = edition(8, Some(&old), &new).take(Some(&roster_text(&roster(other)))) {
            prop_assert_eq!(taken, new);
        }
    }

    #[test]
    fn any_bytes_are_refused(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        prop_assert!(Edition::verify(&bytes, &key(), "larkmere").is_err());
    }

    #[test]
    fn any_changes_are_put_in_or_refused(
        gone in prop::collection::vec("d[0-9]", 0..4),
        put in prop::collection::vec((0u32..9, 0u8..9), 0..5),
    ) {
        let put = put.into_iter().map(|(at, n)| Put {
            at,
            item: serde_json::to_string(&dog(&format!("d{n}"), "X")).expect("JSON"),
        }).collect();
        let changes = Changes { dogs: Listed { gone, put }, ..Changes::default() };
        let _ = changes.put_into(&roster(many(6)));
    }
}
