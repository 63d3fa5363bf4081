//! A measurer's key is reported lost while they sit at the table. The office is the real one.

use standsquare_journal::record::notice::{Says, Why};
use standsquare_office::keys::Owner;
use standsquare_session::Act;

use crate::Table;
use crate::demo::{chip_of, pip, set_up, to_the_chip, to_the_hoop, written_and_told};
use crate::enrolled::secretary;

fn sign(t: &mut Table, person: &str, pin: &str) {
    t.act(Act::Sign {
        person: person.into(),
        pin: pin.into(),
    });
}

/// One dog as it should be; then the office's word comes between the two signatures.
pub fn lost_at_the_table(t: &mut Table) {
    set_up(t);
    pip(t);
    // The office hears of their keys; its answer is lost on the way.
    t.act(Act::Tick);
    let (_, body) = t.asked("/v1/frames").expect("it is sent");
    t.office.ingest(&body, t.now_ms()).expect("taken in");
    to_the_chip(t, "rook");
    t.scan(&chip_of("rook"));
    to_the_hoop(t);
    t.tap("base_flat");
    sign(t, "ottoline", "4711");
    let key = t.phone().state().keys[&"bram".to_owned()];
    let says = Says::Revoked {
        from_ms: t.now_ms() - 60_000,
        why: Why::Lost,
    };
    let owner = Owner::Person("bram".into());
    let said = t
        .office
        .speak_of_key(key, &owner, 1, says, "rang up", &secretary(), t.now_ms())
        .expect("said");
    t.act(Act::LoadRoster { text: said.text });
    sign(t, "bram", "2580");
    t.act(Act::SignOnPaper {
        person: "bram".into(),
        paper: "21".into(),
    });
    written_and_told(t);
    // Taken up again, it still takes no signature of his.
    t.act(Act::Resume { dog: "rook".into() });
    sign(t, "bram", "2580");
    t.tap("sign_later");
    for id in ["review_close", "close_session", "send_return"] {
        t.tap(id);
    }
    t.office_answers();
}
