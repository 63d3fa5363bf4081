//! A phone is enrolled by the office's one-time code, with everything that can be wrong about
//! it on the way. The office is the real one; what a hall's bad signal brings is played.

use standsquare_office::accounts::{Role, Worker};
use standsquare_session::Act;
use standsquare_sync::EnrolCode;

use crate::Table;

const ADDRESS: &str = "https://office.larkmere.example";

/// The demo office's secretary.
pub fn secretary() -> Worker {
    Worker {
        account: "idris".into(),
        name: "Idris Fell".into(),
        role: Role::Secretary,
    }
}

/// A one-time code of the table's office. The secret is always the same, so that a recording
/// is.
pub fn code(t: &Table) -> EnrolCode {
    let made = t.office.make_enrol_code(
        "ottoline",
        "Ottoline's phone",
        ADDRESS,
        [7; 16],
        &secretary(),
        t.now_ms(),
    );
    made.expect("a code")
}

/// A code of an office that this phone does not work for.
pub fn of_another_office() -> EnrolCode {
    EnrolCode {
        address: "https://office.overmere.example".into(),
        body: "overmere".into(),
        office_key: [3; 32],
        code: [8; 16],
        until_ms: i64::MAX,
    }
}

/// Reads the code, and gives the request's name and body.
fn read(t: &mut Table, text: &str) -> (String, Vec<u8>) {
    t.act(Act::LoadRoster { text: text.into() });
    t.asked("/v1/enrol").expect("the office is asked")
}

fn answered(t: &mut Table, request: String, status: u16, body: Vec<u8>) {
    t.act(Act::OfficeAnswer {
        request,
        status,
        body,
    });
}

/// From the code to the roster.
pub fn enrol(t: &mut Table) {
    let text = code(t).text();
    by(t, &text);
}

fn by(t: &mut Table, text: &str) {
    let (request, body) = read(t, text);
    let said = t.office.enrol(&body, t.now_ms()).expect("enrolled");
    answered(t, request, 200, said);
    told(t);
}

/// The office answers to the question for its roster; what it said.
pub fn told(t: &mut Table) -> Vec<u8> {
    let (request, body) = t.asked("/v1/roster").expect("the roster is asked for");
    let said = t.office.answer_roster(&body, t.now_ms()).expect("told");
    answered(t, request, 200, said.clone());
    said
}

/// Every way in which it goes wrong, then as it should.
pub(crate) fn with_trouble(t: &mut Table) {
    let good = code(t).text();
    for bad in [&good[..good.len() - 4], &good.replacen("SSE1:", "SSE2:", 1)] {
        t.act(Act::LoadRoster { text: bad.into() });
    }
    for (status, body) in [(403, &b""[..]), (429, b""), (200, b"welcome")] {
        let (request, _) = read(t, &good);
        answered(t, request, status, body.to_vec());
    }
    let (request, _) = read(t, &good);
    t.act(Act::OfficeUnreachable {
        request,
        reason: "no signal".into(),
    });
    by(t, &good);
    for status in [401, 403] {
        t.wait(31 * 60_000);
        t.act(Act::Tick);
        let (request, _) = t.asked("/v1/roster").expect("asked again");
        answered(t, request, status, Vec::new());
    }
    t.wait(31 * 60_000);
    t.act(Act::Tick);
    told(t);
}
