//! Copies after each dog, by codes: this phone's goes to the other one, the other one's is kept
//! here and handed to the office.

use standsquare_session::Act;

use crate::Table;
use crate::demo;
use crate::elsewhere::read;
use crate::tables::{codes_shown, measured};

/// Another phone on which Moss was measured.
pub fn other_phone() -> Table {
    let mut other = Table::with_secret("the other phone", [9; 32]);
    demo::set_up(&mut other);
    measured(&mut other, "moss");
    other
}

/// The texts of this phone's copy.
pub fn copy_of(t: &mut Table) -> Vec<String> {
    t.tap("show_copy");
    codes_shown(t)
}

/// The texts by which a phone that has just read a copy says so.
pub fn answer_of(t: &mut Table) -> Vec<String> {
    let answer = codes_shown(t);
    t.tap("leave_look");
    answer
}

/// Both ways, with what can go wrong.
pub fn both_ways(t: &mut Table) {
    let mut other = other_phone();
    demo::set_up(t);
    measured(t, "pip");
    let codes = copy_of(t);
    // Its own codes, read back by mistake.
    read(t, &codes);
    t.tap("leave_look");
    let codes = copy_of(t);
    read(&mut other, &codes);
    let answer = answer_of(&mut other);
    t.tap("read_answer");
    read(t, &answer);
    t.tap("show_copy");
    // The next dog: only what is new, and all of it if wished. The battery is low by then.
    measured(t, "rook");
    let left = |t: &mut Table, percent, charging| {
        t.act(Act::Battery { percent, charging });
    };
    left(t, 14, false);
    let codes = copy_of(t);
    read(&mut other, &codes);
    let answer = answer_of(&mut other);
    t.tap("copy_whole");
    t.tap("leave_look");
    read(t, &answer);
    left(t, 14, true);
    // The other phone's copy: first what follows one that this phone does not have.
    let first = copy_of(&mut other);
    other.tap("leave_look");
    read(t, &first);
    let own = answer_of(t);
    read(&mut other, &own);
    measured(&mut other, "juno");
    let second = copy_of(&mut other);
    read(t, &second);
    let own = codes_shown(t);
    // An answer that is about another phone's record.
    read(t, &own);
    t.tap("leave_look");
    t.tap("open_settings");
    t.tap("carry_copies");
    t.tap("leave_look");
    t.act(Act::ShowCopy { whole: true });
    t.tap("leave_look");
    demo::close_and_send(t);
}
