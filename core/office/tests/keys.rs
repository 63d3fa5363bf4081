//! What the office says of keys: signed, told to phones, and what it leaves in doubt.

mod support;

use ed25519_dalek::SigningKey;
use standsquare_journal::record::notice::{KeyRing, Notice, Says, Standing, Why};
use standsquare_office::OfficeState;
use standsquare_office::accounts::{Role, Worker};
use standsquare_office::keys::{NoticeFault, Owner};
use standsquare_sync::Edition;
use support::*;

const LATER: i64 = BEGIN_MS + 100 * 86_400_000;

fn worker(role: Role) -> Worker {
    Worker {
        account: "idris".into(),
        name: "Idris Fell".into(),
        role,
    }
}

fn key_of(person: &str) -> [u8; 32] {
    person_key(person).verifying_key().to_bytes()
}

fn speak(office: &OfficeState, person: &str, nth: i64, says: Says) -> Result<String, NoticeFault> {
    let owner = Owner::Person(person.into());
    let by = worker(Role::Secretary);
    let said =
        apart(|| office.speak_of_key(key_of(person), &owner, nth, says, "rang up", &by, LATER))?;
    Ok(said.text)
}

fn revoked(from_ms: i64, why: Why) -> Says {
    Says::Revoked { from_ms, why }
}

/// The points of the dogs of session 5e…, one list a dog.
fn points(office: &OfficeState) -> Vec<Vec<String>> {
    let (_, visits) = apart(|| office.session(SESSION)).expect("a session");
    let kinds = visits.iter().map(|v| v.points.iter());
    kinds
        .map(|points| points.map(|p| p.kind.clone()).collect())
        .collect()
}

/// When the first dog's last signature was made.
fn first_signed(office: &OfficeState) -> i64 {
    let (_, visits) = apart(|| office.session(SESSION)).expect("a session");
    visits[0]
        .signed
        .iter()
        .map(|s| s.signed_ms)
        .max()
        .expect("signed")
}

#[test]
fn what_was_signed_after_a_key_was_lost_needs_a_decision_and_the_rest_does_not() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    assert_eq!(points(&office), [vec![], vec!["near-limit".to_owned()]]);
    let from_ms = first_signed(&office) + 1;
    let text = speak(&office, "ottoline", 1, revoked(from_ms, Why::Replaced)).expect("said");
    assert_eq!(points(&office)[0], [] as [&str; 0]);
    assert_eq!(points(&office)[1], ["near-limit", "key-revoked"]);
    // Signed with the office's key, as phones read it.
    let notice = Notice::check(&text, &[office.public_key()]).expect("good");
    assert_eq!(*notice.key, key_of("ottoline"));
    assert_eq!(
        (notice.person.as_str(), notice.number.as_str()),
        ("ottoline", "LM-014")
    );
    let mut ring = KeyRing::default();
    ring.take(&notice);
    let stands = ring.standing("ottoline", &key_of("ottoline"), from_ms);
    assert!(
        matches!(
            stands,
            Standing::Revoked {
                why: Why::Replaced,
                ..
            }
        ),
        "{stands:?}"
    );
    // It is in the inbox, above the dog that is only near the limit.
    let inbox = apart(|| office.undecided(9)).expect("a list");
    assert_eq!(
        inbox[0]
            .points
            .last()
            .expect("a point")
            .detail
            .split(',')
            .next(),
        Some("LM-014")
    );
}

#[test]
fn the_order_of_return_and_notice_does_not_matter() {
    let (first, second) = (office(), office());
    held(&first, &two_dogs(1).frames);
    let from_ms = first_signed(&first);
    speak(&first, "bram", 1, revoked(from_ms, Why::Ended)).expect("said");
    // The second office hears of the key from another phone before the return comes.
    let mut other = Pen::new(2);
    other.session = [2; 16];
    other.set_up();
    other.close();
    held(&second, &other.frames);
    speak(&second, "bram", 1, revoked(from_ms, Why::Ended)).expect("said");
    held(&second, &two_dogs(1).frames);
    assert_eq!(points(&first), points(&second));
    assert!(points(&first)[1].contains(&"key-revoked".to_owned()));
}

#[test]
fn a_return_with_an_old_date_that_comes_after_the_loss_is_pointed_out() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    // It came in at BEGIN_MS by the office's clock, and was signed a little later by the
    // phone's. Lost since a moment after that: nothing to say.
    speak(
        &office,
        "ottoline",
        1,
        revoked(BEGIN_MS + 86_400_000, Why::Lost),
    )
    .expect("said");
    assert_eq!(points(&office)[0], [] as [&str; 0]);
    // Another phone's return, signed the same morning, comes in two days later.
    let mut late = Pen::new(3);
    late.session = [3; 16];
    late.set_up();
    let dog = late.statement(1, "Juno", "999000000445566");
    late.dog(&dog);
    late.close();
    let body = standsquare_sync::post_body(&late.frames);
    apart(|| office.ingest(&body, BEGIN_MS + 2 * 86_400_000)).expect("taken");
    let (_, visits) = apart(|| office.session([3; 16])).expect("a session");
    let kinds: Vec<_> = visits[0].points.iter().map(|p| p.kind.as_str()).collect();
    assert_eq!(kinds, ["key-lost-before-it-came"]);
}

#[test]
fn a_key_of_before_a_new_pin_is_still_known() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    let pip = pen.statement(1, "Pip", "999000000112233");
    pen.dog(&pip);
    held(&office, &pen.frames);
    let from_ms = BEGIN_MS;
    speak(&office, "ottoline", 1, revoked(from_ms, Why::Exposed)).expect("said");
    assert_eq!(points(&office)[0], ["key-revoked"]);
    // A new PIN makes a new key; what the old one signed stays in doubt, what the new one
    // signs is not.
    let fresh = ed25519_dalek::SigningKey::from_bytes(&[0x99; 32]);
    let frames = pen.frames.len();
    pen.write(standsquare_journal::record::fact::Fact::KeyMade {
        person: "ottoline".into(),
        key: fresh.verifying_key().to_bytes().into(),
        alg: standsquare_journal::record::fact::ALG_ED25519,
    });
    let moss = pen.statement(2, "Moss", "999000000204518");
    pen.state(&moss);
    pen.sign(&moss, "ottoline", &fresh);
    pen.sign(&moss, "bram", &person_key("bram"));
    pen.seal();
    held(&office, &pen.frames[frames..]);
    assert_eq!(points(&office), [vec!["key-revoked".to_owned()], vec![]]);
    // The old key is on the person's page for what was said of it, the new one as well.
    let keys = apart(|| office.keys_of("ottoline")).expect("keys");
    assert_eq!(keys.len(), 2);
}

#[test]
fn a_phone_that_was_reported_writes_nothing_that_needs_no_decision() {
    let office = office();
    let pen = two_dogs(1);
    held(&office, &pen.frames);
    let by = worker(Role::Secretary);
    let says = revoked(BEGIN_MS, Why::Lost);
    apart(|| {
        office.speak_of_key(
            pen.device_key(),
            &Owner::Phone,
            1,
            says,
            "left in a train",
            &by,
            LATER,
        )
    })
    .expect("said");
    for dog in points(&office) {
        assert!(dog.contains(&"phone-revoked".to_owned()), "{dog:?}");
    }
}

#[test]
fn a_key_that_is_theirs_from_later_on_or_no_longer_leaves_doubt() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    let at = first_signed(&office);
    let enrolled = |from_ms, until_ms| Says::Enrolled { from_ms, until_ms };
    speak(&office, "bram", 1, enrolled(at + 86_400_000, None)).expect("said");
    assert_eq!(points(&office)[0], ["key-not-yet"]);
    // Two notices are one time from the earliest to the latest.
    speak(&office, "bram", 2, enrolled(at - 86_400_000, Some(at - 1))).expect("said");
    assert_eq!(points(&office)[0], [] as [&str; 0]);
}

#[test]
fn what_cannot_be_said_is_refused_and_nothing_is_kept() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    let says = revoked(BEGIN_MS, Why::Lost);
    let by = worker(Role::Secretary);
    let try_it = |key, owner: Owner, nth, says, reason: &str, by: &Worker| {
        let fault = apart(|| office.speak_of_key(key, &owner, nth, says, reason, by, LATER));
        fault.expect_err("refused")
    };
    let (key, person) = (key_of("ottoline"), || Owner::Person("ottoline".into()));
    for role in [Role::Reader, Role::Measurer, Role::Trainer] {
        let fault = try_it(key, person(), 1, says, "rang up", &worker(role));
        assert!(matches!(fault, NoticeFault::NotAllowed), "{role:?}");
    }
    // Another's key, a key that nobody has, and a measurer's key as a phone's.
    for (key, owner) in [
        (key_of("bram"), person()),
        ([9; 32], person()),
        ([9; 32], Owner::Phone),
        (key, Owner::Phone),
    ] {
        let fault = try_it(key, owner, 1, says, "rang up", &by);
        assert!(matches!(fault, NoticeFault::Unknown), "{fault}");
    }
    assert!(matches!(
        try_it(key, person(), 1, says, " x ", &by),
        NoticeFault::Reason
    ));
    assert!(matches!(
        try_it(key, person(), 2, says, "rang up", &by),
        NoticeFault::Changed
    ));
    let to_come = revoked(LATER + 1, Why::Lost);
    assert!(matches!(
        try_it(key, person(), 1, to_come, "rang up", &by),
        NoticeFault::ToCome
    ));
    let over = Says::Enrolled {
        from_ms: 5,
        until_ms: Some(5),
    };
    assert!(matches!(
        try_it(key, person(), 1, over, "rang up", &by),
        NoticeFault::Order
    ));
    assert_eq!(apart(|| office.notices(0)).expect("a list"), []);
    // Somebody may end at a day to come.
    speak(&office, "ottoline", 1, revoked(LATER + 1, Why::Ended)).expect("said");
}

#[test]
fn notices_go_out_with_the_roster_and_only_what_is_new() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    let read = |after| {
        let bytes = apart(|| office.edition_after(after, LATER)).expect("an edition");
        Edition::verify(&bytes, &office.public_key(), "larkmere").expect("good")
    };
    let first = read(0);
    assert_eq!(first.notices, [] as [&str; 0]);
    let text = speak(&office, "ottoline", 1, revoked(BEGIN_MS, Why::Lost)).expect("said");
    let second = read(first.number);
    assert_eq!(second.notices, std::slice::from_ref(&text));
    assert!(second.number > first.number && second.after == first.number);
    assert_eq!(read(second.number).notices, [] as [&str; 0]);
    // Whoever has nothing is given all.
    assert_eq!(read(0).notices, [text]);
}

/// A journal in which Bram's signature came from a phone of his own, by this key.
fn signed_elsewhere(key: &SigningKey) -> Pen {
    let mut pen = Pen::new(1);
    pen.set_up();
    let pip = pen.statement(1, "Pip", "999000000112233");
    pen.state(&pip);
    pen.sign(&pip, "ottoline", &person_key("ottoline"));
    pen.sign_elsewhere(&pip, "bram", key);
    pen.seal();
    pen
}

#[test]
fn a_signature_from_another_phone_counts_by_what_the_office_said_of_its_key() {
    // A key that this office knows of nobody: whoever has the phone may have made it.
    let unknown = office();
    let stranger = SigningKey::from_bytes(&[77; 32]);
    held(&unknown, &signed_elsewhere(&stranger).frames);
    assert_eq!(points(&unknown), [["key-unknown"]]);
    // Bram's own, made in another phone's journal and said to be his.
    let known = office();
    let enrolled = Says::Enrolled {
        from_ms: 0,
        until_ms: None,
    };
    let mut other = Pen::new(2);
    other.session = [2; 16];
    other.set_up();
    other.seal();
    held(&known, &other.frames);
    held(&known, &signed_elsewhere(&person_key("bram")).frames);
    assert_eq!(
        points(&known),
        [["key-unknown"]],
        "nothing was said of it yet"
    );
    speak(&known, "bram", 1, enrolled).expect("said");
    assert_eq!(points(&known), [[] as [&str; 0]]);
    // Lost since: what it signed on other phones is looked at again.
    let from_ms = first_signed(&known);
    speak(&known, "bram", 2, revoked(from_ms, Why::Exposed)).expect("said");
    assert_eq!(points(&known), [["key-revoked"]]);
}
