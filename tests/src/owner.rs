//! A measurer's own phone, whose key store is played: it keeps what it is given and gives it up
//! for the owner's finger.

use standsquare_session::Act;
use standsquare_session::view::{Effect, Screen, SignSeat};

use crate::Table;
use crate::demo::{PINS, choose, roster_with, set_up, written_and_told};
use crate::elsewhere::at_the_signature;

/// What happens at the system's dialogue.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Finger {
    /// It is the owner's.
    Right,
    /// They leave the dialogue, or the finger is not known.
    Left,
    /// Somebody enrolled another finger before: what was kept is thrown away.
    Changed,
}

/// The key store.
#[derive(Default)]
pub struct KeyStore {
    /// What it keeps.
    pub kept: Option<Vec<u8>>,
}

impl KeyStore {
    /// Answers what the last act asked of it, if it asked anything.
    pub fn answers(&mut self, t: &mut Table, finger: Finger) {
        let asked = t.effects().iter().find_map(|e| match e {
            Effect::AskOwner { keep, .. } => Some(keep.clone()),
            _ => None,
        });
        let Some(keep) = asked else {
            return;
        };
        match finger {
            Finger::Left => return,
            Finger::Changed => self.kept = None,
            Finger::Right if keep.is_empty() => {}
            Finger::Right => self.kept = Some(keep),
        }
        t.act(match self.kept.clone() {
            Some(secret) => Act::OwnerUnlock { secret },
            None => Act::OwnerGone,
        });
    }
}

/// Rules under which biometrics open nobody's key.
pub fn roster_forbids() -> String {
    roster_with(
        "sign = \"each-dog\"",
        "sign = \"each-dog\"\nbiometrics = false",
    )
}

/// The places at what is being signed.
///
/// # Panics
/// If nobody signs anything here.
pub fn seats(t: &Table) -> Vec<SignSeat> {
    match &t.view().screen {
        Screen::Sign { sign } => sign.seats.clone(),
        Screen::Unlock { unlock } => unlock.seats.clone(),
        Screen::SignList { sign_list } => sign_list.seats.clone(),
        Screen::Correct { correct } => correct.seats.clone(),
        Screen::Feedback { feedback } => feedback.seats.clone(),
        _ => panic!("nobody is asked on {}", t.title()),
    }
}

/// From the queue: Ottoline says that it is her phone, with these digits, and back.
pub fn set_up_hers(t: &mut Table, store: &mut KeyStore, pin: &str, finger: Finger) {
    t.act(Act::OpenSettings);
    t.tap("own_phone_ottoline");
    let person = "ottoline".to_owned();
    let pin = pin.to_owned();
    t.act(Act::Unlock { person, pin });
    store.answers(t, finger);
}

/// Leaves whatever is looked at.
pub fn leave(t: &mut Table) {
    while t.view().offers.iter().any(|o| o.id == "leave_look") {
        t.tap("leave_look");
    }
}

/// Ottoline answers by her finger where she is asked for her PIN.
///
/// # Panics
/// If it is not offered.
pub fn by_finger(t: &mut Table, store: &mut KeyStore, finger: Finger) {
    let act = seats(t).iter().find_map(|s| s.by_owner.clone());
    t.act(act.expect("offered"));
    store.answers(t, finger);
}

/// Bram signs by his PIN.
pub fn bram_signs(t: &mut Table) {
    let (person, pin) = PINS[1];
    let (person, pin) = (person.to_owned(), pin.to_owned());
    t.act(Act::Sign { person, pin });
}

/// It is Ottoline's own phone: set up with her PIN, used, put right by it, lost as a finger is
/// added, set up again and taken away; then rules that forbid it.
pub fn own_phone(t: &mut Table) {
    let mut store = KeyStore::default();
    t.act(Act::OwnerCan { can: true });
    set_up(t);
    set_up_hers(t, &mut store, "1111", Finger::Right);
    leave(t);
    set_up_hers(t, &mut store, PINS[0].1, Finger::Right);
    leave(t);
    at_the_signature(t, "pip");
    by_finger(t, &mut store, Finger::Left);
    by_finger(t, &mut store, Finger::Right);
    bram_signs(t);
    written_and_told(t);
    t.act(Act::AskCorrection { dog: "pip".into() });
    choose(t, "papers");
    choose(t, "misread");
    by_finger(t, &mut store, Finger::Right);
    bram_signs(t);
    t.tap("book_agrees");
    by_finger(t, &mut store, Finger::Right);
    bram_signs(t);
    written_and_told(t);
    at_the_signature(t, "rook");
    by_finger(t, &mut store, Finger::Changed);
    t.both_sign();
    written_and_told(t);
    // The key store keeps nothing the first time.
    set_up_hers(t, &mut store, PINS[0].1, Finger::Changed);
    leave(t);
    set_up_hers(t, &mut store, PINS[0].1, Finger::Right);
    leave(t);
    t.act(Act::OpenSettings);
    t.tap("not_own_phone");
    leave(t);
    for id in ["review_close", "close_session", "send_return"] {
        t.tap(id);
    }
    t.office_answers();
    t.tap("leave_session");
    t.act(Act::LoadRoster {
        text: roster_forbids(),
    });
    t.tap("open_settings");
    t.tap("leave_look");
}
