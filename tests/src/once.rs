//! Sessions of which each measurer signs one list at the close, as a person would tap them.

use crate::Table;
use crate::demo::*;
use standsquare_session::Act;

/// The demo's roster with a pack that has a session signed once.
pub fn roster_signed_once() -> String {
    roster_with("sign = \"each-dog\"", "sign = \"session\"")
}

/// From nothing to an open queue, every key open.
pub fn set_up_once(t: &mut Table) {
    set_up_with(t, roster_signed_once());
    unlock(t);
}

/// Both measurers open their keys.
pub fn unlock(t: &mut Table) {
    for (person, pin) in PINS {
        t.act(Act::Unlock {
            person: person.into(),
            pin: pin.into(),
        });
    }
}

/// Both measurers confirm what is on the glass.
pub fn both_confirm(t: &mut Table) {
    for (person, _) in PINS {
        t.act(Act::Confirm {
            person: person.into(),
        });
    }
}

/// A routine dog where a session is signed once, to told.
pub fn dog_once(t: &mut Table, dog: &str) {
    to_the_chip(t, dog);
    t.scan(&chip_of(dog));
    to_the_hoop(t);
    t.tap("base_flat");
    both_confirm(t);
    written_and_told(t);
}

/// By rules that have a session signed once: keys opened, dogs confirmed, one of them put
/// right before the list; the phone handed on; one list at the close.
pub fn signed_once(t: &mut Table) {
    set_up_once(t);
    dog_once(t, "pip");
    t.tap("lock_phone");
    unlock(t);
    to_the_chip(t, "juno");
    t.scan(&chip_of("juno"));
    stopped_as_nervous(t);
    // Long enough at the side of the table for the keys to close.
    t.wait(5 * 60 * 1000);
    unlock(t);
    both_confirm(t);
    written_and_told(t);
    // Pip's placing is made void; what it comes to then is confirmed anew.
    t.act(Act::AskCorrection { dog: "pip".into() });
    choose(t, "void_1");
    choose(t, "stance");
    t.both_sign();
    t.tap("stands_square");
    t.tap("base_flat");
    both_confirm(t);
    written_and_told(t);
    list_signed_and_sent(t);
}

/// By the same rules: a dog called with the keys closed; placings entered under the wrong
/// dog, which go to the one that is scanned; a list that is not signed, and signed on paper.
pub fn another_dogs(t: &mut Table) {
    set_up_with(t, roster_signed_once());
    t.act(Act::CallDog { dog: "pip".into() });
    unlock(t);
    dog_once(t, "pip");
    to_the_chip(t, "rook");
    t.scan(&chip_of("rook"));
    to_the_hoop(t);
    t.tap("base_flat");
    t.tap("put_right");
    choose(t, "move");
    // Its own chip, a dog that is answered for, one on no list; then the one that it was.
    for chip in [
        chip_of("rook"),
        chip_of("pip"),
        "999000000918273".to_owned(),
        chip_of("moss"),
    ] {
        t.scan(&chip);
    }
    choose(t, "changed_places");
    t.both_sign();
    t.tap("book_agrees");
    t.tap("handler_all_clear");
    both_confirm(t);
    written_and_told(t);
    t.act(Act::Resume { dog: "rook".into() });
    stopped_as_nervous(t);
    both_confirm(t);
    written_and_told(t);
    t.tap("review_close");
    t.act(Act::CloseSession);
    t.tap("sign_list");
    the_second_on_paper(t, "18");
    t.tap("close_session");
    t.tap("send_return");
    t.office_answers();
}

/// The one list signed by both, the session closed, and the return with the office.
pub fn list_signed_and_sent(t: &mut Table) {
    t.tap("review_close");
    t.tap("sign_list");
    t.both_sign();
    t.tap("close_session");
    t.tap("send_return");
    t.office_answers();
}
