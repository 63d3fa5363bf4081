//! Two tables of one league without a signal: two phones, each with its own session, that
//! swap lists of their dogs as codes.

use standsquare_session::Act;
use standsquare_session::view::{Effect, Screen};

use crate::Table;
use crate::demo::{chip_of, set_up_with, sign_and_tell, to_the_chip, to_the_hoop};
use crate::looking::read_code;

/// The demo's roster, in which these phones are known.
pub fn roster_of(phones: &[&Table]) -> String {
    roster_with(phones, "", "")
}

/// The same with something else in its rule pack.
///
/// # Panics
/// If the pack does not say `before`.
pub fn roster_with(phones: &[&Table], before: &str, after: &str) -> String {
    let mut roster = standsquare_office::demo::roster();
    assert!(roster.pack.contains(before), "the pack has no {before}");
    roster.pack = roster.pack.replace(before, after);
    let keys = phones.iter().map(|t| t.phone().journal().device_key());
    roster.office.phones = keys.map(hex::encode).collect();
    serde_json::to_string(&roster).expect("JSON")
}

/// The other table's phone, its session begun by this roster.
pub fn other_table(roster: &str) -> Table {
    let mut other = Table::with_secret("the other table", [8; 32]);
    set_up_with(&mut other, roster.to_owned());
    other
}

/// Another phone of which only the key is wanted.
pub fn other_phone() -> Table {
    Table::with_secret("the other table", [8; 32])
}

/// A routine dog, small at the first placing, from the call to the handler.
pub fn measured(t: &mut Table, dog: &str) {
    to_the_chip(t, dog);
    t.scan(&chip_of(dog));
    to_the_hoop(t);
    t.tap("base_flat");
    sign_and_tell(t);
}

/// The texts of the codes on the glass, in the order in which a camera sees them: each is
/// waited for.
///
/// # Panics
/// If no codes are shown, or a camera could not read them.
pub fn codes_shown(t: &mut Table) -> Vec<String> {
    let mut texts = Vec::new();
    loop {
        let Screen::Codes { codes } = &t.view().screen else {
            panic!("no codes: {}", t.title())
        };
        let text = read_code(codes.code.side as usize, &codes.code.modules);
        let count = codes.count as usize;
        if !texts.contains(&text) {
            texts.push(text);
        }
        if texts.len() == count {
            return texts;
        }
        t.act(Act::Tick);
    }
}

/// Shows the list of this table's dogs, and gives its texts.
pub fn list_of(t: &mut Table) -> Vec<String> {
    t.tap("dogs_list");
    let texts = codes_shown(t);
    t.tap("leave_look");
    texts
}

/// The same as it is carried in one text.
///
/// # Panics
/// If nothing is shared.
pub fn list_text(t: &mut Table) -> String {
    t.tap("dogs_list");
    t.tap("share_codes");
    let shared = t.effects().iter().find_map(|e| match e {
        Effect::Share { bytes, .. } => Some(bytes.clone()),
        _ => None,
    });
    t.tap("leave_look");
    String::from_utf8(shared.expect("a text")).expect("text")
}

/// Reads a text on the screen for codes.
pub fn read(t: &mut Table, text: &str) {
    t.tap("open_slip_check");
    t.act(Act::CheckSlip { text: text.into() });
    if t.view().offers.iter().any(|o| o.id == "leave_look") {
        t.tap("leave_look");
    }
}

/// A day at a table that hears of another one's dogs: Pip was measured there and is not
/// measured again; Moss is measured all the same; then this table shows its own list.
pub fn two_tables(t: &mut Table) {
    let other = other_phone();
    let roster = roster_of(&[&other, t]);
    drop(other);
    let mut other = other_table(&roster);
    for dog in ["pip", "moss", "juno", "rook"] {
        measured(&mut other, dog);
    }
    let list = list_of(&mut other);
    assert!(list.len() > 1, "it goes in several codes");

    t.act(Act::CheckSlip {
        text: list_text(&mut other),
    });
    set_up_with(t, roster);
    t.act(Act::OpenDogsList);
    t.tap("open_slip_check");
    for text in list.iter().rev() {
        t.act(Act::CheckSlip { text: text.clone() });
    }
    not_believed(t, &mut other);
    t.act(Act::CallDog { dog: "pip".into() });
    t.tap("measured_elsewhere");
    sign_and_tell(t);
    t.act(Act::CallDog { dog: "moss".into() });
    t.tap("measure_here_too");
    t.tap("book_agrees");
    t.tap("handler_all_clear");
    t.scan(&chip_of("moss"));
    to_the_hoop(t);
    t.tap("base_flat");
    sign_and_tell(t);
    let _ = list_of(t);
    let own = list_text(t);
    t.act(Act::BookCode { code: own });
    crate::demo::close_and_send(t);
}

/// Codes of which nothing is taken: each says what to do.
fn not_believed(t: &mut Table, other: &mut Table) {
    let list = list_text(other);
    let with = |name: &str| list.replacen("SSD1:", name, 1);
    let forged = |at: usize| {
        let mut altered = list.clone();
        let other = if &list[at..=at] == "7" { "8" } else { "7" };
        altered.replace_range(at..=at, other);
        altered
    };
    // The signature is the end of it.
    let forged = (1..40).map(|n| forged(list.len() - n));
    let texts = [with("SSD9:"), with("SSD1:%"), list.clone(), list.clone()];
    for text in texts.into_iter().chain(forged.take(3)) {
        t.act(Act::BookCode { code: text });
    }
    // Pieces of what no version of this app knows; and of nothing that fits together.
    let pieces = standsquare_journal::record::pieces::pieces_of(b"SSZ1:standsquare", 8);
    for text in pieces.expect("pieces") {
        t.act(Act::BookCode { code: text });
    }
    let wholes = [[1; 40], [2; 40]];
    let wholes = wholes.map(|w| standsquare_journal::record::pieces::pieces_of(&w, 20));
    let [one, two] = wholes.map(|pieces| pieces.expect("pieces"));
    for text in [&one[0], &mixed(&one[0], &two[1])] {
        t.act(Act::BookCode { code: text.clone() });
    }
    // Phones that are not known here, or of another league; a list of long ago.
    let mut stranger = Table::with_secret("a stranger", [9; 32]);
    let roster = roster_of(&[&stranger]);
    set_up_with(&mut stranger, roster);
    let mut foreign = other_phone();
    let mut roster = standsquare_office::demo::roster();
    roster.league.id = "overmere".into();
    set_up_with(&mut foreign, serde_json::to_string(&roster).expect("JSON"));
    for mut phone in [stranger, foreign] {
        measured(&mut phone, "pip");
        t.act(Act::BookCode {
            code: list_text(&mut phone),
        });
    }
    other.wait(30 * 24 * 60 * 60 * 1_000);
    other.act(Act::Tick);
    t.act(Act::BookCode {
        code: list_text(other),
    });
}

/// The second piece of one whole with the name of another whole on it.
fn mixed(first: &str, second: &str) -> String {
    let bytes = |text: &str| base45::decode(text.split_at(5).1).expect("base45");
    let (first, mut second) = (bytes(first), bytes(second));
    second[..18].copy_from_slice(&first[..18]);
    format!("SSC1:{}", base45::encode(second))
}

/// Joins the session of `first` on another phone: its code is read there, and the answer
/// here; both are set up.
pub fn pair(first: &mut Table, second: &mut Table) {
    first.tap("pair");
    let code = codes_shown(first).concat();
    first.tap("leave_look");
    read(second, &code);
    second.tap("pair");
    let answer = codes_shown(second).concat();
    second.tap("leave_look");
    read(first, &answer);
    for phone in [first, second] {
        crate::demo::from_the_surface(phone, Table::reader_connects, |_| {});
    }
}

/// Two phones that know each other, the first one's session begun and not yet set up.
pub fn two_phones() -> (Table, Table) {
    let first = Table::new("");
    let second = other_phone();
    let roster = roster_of(&[&first, &second]);
    let (mut first, mut second) = (first, second);
    begun(&mut first, &roster);
    second.act(Act::LoadRoster { text: roster });
    // They send to one office.
    second.office = first.office.clone();
    (first, second)
}

/// This roster taken in, the session begun, the venue said.
pub fn begun(t: &mut Table, roster: &str) {
    t.act(Act::LoadRoster {
        text: roster.to_owned(),
    });
    t.tap("start_session");
    t.tap("set_venue");
}

/// Over 35 in three placings and flat on 43: medium.
pub fn medium(t: &mut Table, dog: &str) {
    to_the_chip(t, dog);
    t.scan(&chip_of(dog));
    to_the_hoop(t);
    for _ in 0..3 {
        t.tap("base_not_flat");
        t.tap("stands_square");
    }
    t.tap("base_flat");
    sign_and_tell(t);
}

/// Everything that the phone wants of the office, carried there and back, until it wants no
/// more now.
///
/// # Panics
/// If the office does not answer.
pub fn sync(t: &mut Table) {
    // Longer than any pause between two questions.
    t.wait(11 * 60_000);
    t.act(Act::Tick);
    for _ in 0..12 {
        // What was asked in the same breath is not to be lost.
        let [beside, frames, log] = ["/v1/beside", "/v1/frames", "/v1/log"].map(|at| t.asked(at));
        if beside.is_none() && frames.is_none() && log.is_none() {
            t.act(Act::Tick);
        }
        let answer = |t: &mut Table, request, body| {
            t.act(Act::OfficeAnswer {
                request,
                status: 200,
                body,
            });
        };
        if let Some((request, body)) = beside {
            let told = t.office.answer_beside(&body, t.now_ms()).expect("told");
            answer(t, request, told);
        }
        if let Some((request, body)) = frames {
            let receipt = t.office.ingest(&body, t.now_ms()).expect("taken in");
            answer(t, request, receipt);
        }
        if let Some((request, body)) = log {
            t.log_answers_this(request, &body);
        }
    }
}

/// The page of a dog that is done.
///
/// # Panics
/// If the queue has no way to it.
pub fn open_dog(t: &mut Table, dog: &str) {
    let Screen::Queue { queue } = &t.view().screen else {
        panic!("no queue: {}", t.title())
    };
    let line = queue.done.iter().find(|l| l.id == dog).expect("the dog");
    let act = line.look.clone().expect("a way");
    t.act(act);
}

/// From where the venue is said to the open queue.
pub fn set_up_rest(t: &mut Table) {
    crate::demo::from_the_surface(t, Table::reader_connects, |_| {});
}

/// A code of a session that another phone begins by a roster that is changed, after a while.
fn code_of_another(
    change: impl FnOnce(&mut standsquare_sync::roster::Roster),
    wait: i64,
) -> String {
    let mut phone = other_phone();
    let mut roster = standsquare_office::demo::roster();
    change(&mut roster);
    phone.wait(wait);
    begun(&mut phone, &serde_json::to_string(&roster).expect("JSON"));
    phone.tap("pair");
    codes_shown(&mut phone).concat()
}

/// A phone that joins another one's session, with all that can be wrong about it; results that
/// are the same, and one that is not, which its measurers settle.
pub fn two_phones_of_one_session(t: &mut Table) {
    let (first, third) = (other_phone(), Table::with_secret("a third phone", [12; 32]));
    let roster = roster_of(&[&first, &third, t]);
    let (mut first, mut third) = (first, third);
    for phone in [&mut first, &mut third] {
        phone.office = t.office.clone();
    }
    begun(&mut first, &roster);
    first.tap("pair");
    let code = codes_shown(&mut first).concat();
    first.tap("leave_look");
    t.act(Act::LoadRoster {
        text: roster.clone(),
    });
    for text in [
        code_of_another(|r| r.pack = r.pack.replace("2026\"", "2026a\""), 0),
        code_of_another(|_| {}, 2 * 24 * 3_600_000),
    ] {
        t.act(Act::BookCode { code: text });
    }
    read(t, &code);
    third.act(Act::LoadRoster { text: roster });
    read(&mut third, &code);
    // Its own code, another session's, and those of this session's phones.
    t.tap("pair");
    let own = codes_shown(t).concat();
    t.tap("leave_look");
    third.tap("pair");
    let thirds = codes_shown(&mut third).concat();
    let other = code_of_another(|_| {}, 0);
    for text in [&own, &other, &thirds, &thirds] {
        t.act(Act::BookCode { code: text.clone() });
    }
    first.act(Act::BookCode { code: own });
    for phone in [&mut first, &mut *t] {
        set_up_rest(phone);
    }
    measured(&mut first, "pip");
    measured(&mut first, "juno");
    medium(&mut first, "moss");
    measured(t, "pip");
    measured(t, "moss");
    sync(&mut first);
    sync(t);
    open_dog(t, "moss");
    t.tap("settle_here");
    sign_and_tell(t);
    open_dog(t, "pip");
    t.tap("leave_look");
    crate::demo::close_and_send(t);
    t.tap("leave_session");
    t.act(Act::BookCode { code });
}

/// What another phone found differently is known only when the session is closed: its measurers
/// settle it, one of them later than the other, the session having been left meanwhile.
pub fn settled_late(t: &mut Table) {
    let mut first = other_phone();
    let roster = roster_of(&[&first, t]);
    first.office = t.office.clone();
    begun(&mut first, &roster);
    t.act(Act::LoadRoster { text: roster });
    pair(&mut first, t);
    medium(&mut first, "moss");
    measured(t, "moss");
    for phone in [&mut first, &mut *t] {
        phone.tap("review_close");
        phone.tap("close_session");
        sync(phone);
    }
    t.tap("differs");
    t.tap("settle_there");
    let (person, pin) = crate::demo::PINS[0];
    t.act(Act::Sign {
        person: person.into(),
        pin: pin.into(),
    });
    t.tap("sign_later");
    t.tap("leave_session");
    t.tap("differs");
    t.tap("settle_there");
    t.both_sign();
    sync(t);
    sync(&mut first);
    sync(t);
    t.tap("leave_session");
}
