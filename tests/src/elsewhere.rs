//! The second measurer signs on their own phone, which the office has enrolled with a key of
//! its own. No signal: the two phones read each other's codes.

use standsquare_journal::record::notice::Says;
use standsquare_office::keys::Owner;
use standsquare_session::Act;

use crate::demo::{self, PINS};
use crate::enrolled::secretary;
use crate::tables::codes_shown;
use crate::{Table, once};

/// Bram's own phone: he has measured with it, so that the office knows his key on it.
///
/// # Panics
/// If the office does not take its day in.
pub fn brams_phone(t: &Table) -> Table {
    let mut own = Table::with_secret("Bram's own phone", [9; 32]);
    own.office = t.office.clone();
    demo::set_up(&mut own);
    demo::pip(&mut own);
    own.act(Act::Tick);
    let (_, body) = own.asked("/v1/frames").expect("it is sent");
    own.office.ingest(&body, own.now_ms()).expect("taken in");
    own
}

/// What the office says of Bram's key on his own phone, as one text.
///
/// # Panics
/// If the office does not say it.
pub fn said_of_it(t: &Table, own: &Table, nth: i64, says: Says) -> String {
    let key = own.phone().state().keys[&"bram".to_owned()];
    let owner = Owner::Person("bram".into());
    let said = t.office.speak_of_key(
        key,
        &owner,
        nth,
        says,
        "his own phone",
        &secretary(),
        own.now_ms(),
    );
    said.expect("said").text
}

/// Enrolled for good.
pub const ENROLLED: Says = Says::Enrolled {
    from_ms: 0,
    until_ms: None,
};

/// A dog at the signature, which nobody has signed.
pub fn at_the_signature(t: &mut Table, dog: &str) {
    demo::to_the_chip(t, dog);
    t.scan(&demo::chip_of(dog));
    demo::to_the_hoop(t);
    t.tap("base_flat");
}

/// The texts by which this phone asks Bram to sign.
pub fn asked(t: &mut Table) -> Vec<String> {
    t.tap("sign_elsewhere_bram");
    codes_shown(t)
}

/// Reads codes, one after another.
pub fn read(t: &mut Table, texts: &[String]) {
    for text in texts {
        t.act(Act::CheckSlip { text: text.clone() });
    }
}

/// Bram signs on his own phone what these codes ask; the texts of its answer.
pub fn signs(own: &mut Table, texts: &[String]) -> Vec<String> {
    read(own, texts);
    let (person, pin) = ("bram".into(), PINS[1].1.into());
    own.act(Act::Sign { person, pin });
    let answer = codes_shown(own);
    own.tap("leave_look");
    answer
}

fn sign_here(t: &mut Table) {
    let (person, pin) = PINS[0];
    let (person, pin) = (person.into(), pin.into());
    t.act(Act::Sign { person, pin });
}

/// At the table: Pip is signed by both phones; codes of something else are refused.
pub fn on_their_own_phone(t: &mut Table) {
    let mut own = brams_phone(t);
    let notice = said_of_it(t, &own, 1, ENROLLED);
    own.act(Act::LoadRoster {
        text: notice.clone(),
    });
    own.tap("review_close");
    own.tap("close_session");
    own.tap("leave_session");
    demo::set_up(t);
    t.act(Act::LoadRoster { text: notice });
    at_the_signature(t, "pip");
    sign_here(t);
    let ask = asked(t);
    // Its own codes, read back by mistake.
    read(t, &ask);
    let answer = signs(&mut own, &ask);
    // A signature nobody waits for, an altered one, and then the true one.
    t.tap("read_answer");
    read(t, &[answer.join("").replacen("SSA1", "SSA7", 1)]);
    read(t, &answer);
    demo::written_and_told(t);
    read(t, &answer);
    at_the_signature(t, "rook");
    read(t, &answer);
    // Its placing is put right first, with his signature under that from his own phone as well.
    put_up(t);
    sign_here(t);
    let ask = asked(t);
    let answer = signs(&mut own, &ask);
    read(t, &answer);
    t.tap("stands_square");
    t.tap("base_flat");
    let ask = asked(t);
    let answer = signs(&mut own, &ask);
    read(t, &answer);
    read(t, &answer);
    sign_here(t);
    demo::written_and_told(t);
    demo::close_and_send(t);
}

/// From a statement or a book line: a base flat is to be made void, and all sign that.
pub fn put_up(t: &mut Table) {
    t.tap("put_right");
    demo::choose(t, "void_1");
    demo::choose(t, "stance");
}

/// At the table, where a session is signed once: Bram signs the list on his own phone, by
/// codes; a list that was left is another one's text.
pub fn the_list_on_their_own_phone(t: &mut Table) {
    let mut own = brams_phone(t);
    let notice = said_of_it(t, &own, 1, ENROLLED);
    demo::set_up_with(t, once::roster_signed_once());
    t.act(Act::LoadRoster { text: notice });
    once::unlock(t);
    once::dog_once(t, "pip");
    t.tap("review_close");
    t.tap("sign_list");
    let ask = asked(t);
    let of_one = signs(&mut own, &ask);
    t.tap("leave_look");
    t.tap("leave_list");
    // Nothing waits for it here.
    read(t, &of_one);
    t.tap("back_to_queue");
    once::dog_once(t, "moss");
    t.tap("review_close");
    t.tap("sign_list");
    sign_here(t);
    let ask = asked(t);
    t.tap("read_answer");
    read(t, &of_one);
    let answer = signs(&mut own, &ask);
    read(t, &answer);
    t.tap("close_session");
    t.tap("send_return");
    t.office_answers();
}

/// On his own phone: a code is read, what it says is shown, and signed; a dog's statement, a
/// correction of it, and another table's list.
pub fn for_another_phone(t: &mut Table) {
    let mut table = Table::with_secret("the table's phone", [8; 32]);
    demo::set_up(t);
    demo::pip(t);
    t.act(Act::Tick);
    let (_, body) = t.asked("/v1/frames").expect("it is sent");
    t.office.ingest(&body, t.now_ms()).expect("taken in");
    table.office = t.office.clone();
    let notice = said_of_it(&table, t, 1, ENROLLED);
    demo::set_up(&mut table);
    table.act(Act::LoadRoster {
        text: notice.clone(),
    });
    at_the_signature(&mut table, "rook");
    let ask = asked(&mut table);
    t.act(Act::LoadRoster {
        text: notice.clone(),
    });
    read(t, &ask);
    let (person, pin) = ("bram".into(), PINS[1].1.into());
    t.act(Act::Sign { person, pin });
    let answer = codes_shown(t);
    // Its own answer, read back by mistake.
    read(t, &answer);
    t.tap("leave_look");
    table.tap("leave_look");
    put_up(&mut table);
    let ask = asked(&mut table);
    signs(t, &ask);
    let mut third = Table::with_secret("a third phone", [10; 32]);
    third.office = t.office.clone();
    demo::set_up_with(&mut third, once::roster_signed_once());
    third.act(Act::LoadRoster { text: notice });
    once::unlock(&mut third);
    once::dog_once(&mut third, "pip");
    once::dog_once(&mut third, "moss");
    third.tap("review_close");
    third.tap("sign_list");
    let ask = asked(&mut third);
    signs(t, &ask);
    for id in ["review_close", "close_session", "send_return"] {
        t.tap(id);
    }
    t.office_answers();
}
