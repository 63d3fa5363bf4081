//! What somebody hostile may send: refused, logged, and nothing changed.

mod support;

use std::io::{self, Read, Write};
use std::sync::{Arc, Mutex};

use axum::body::Body;
use axum::http::{Request, StatusCode};
use ed25519_dalek::{Signer, SigningKey};
use standsquare_journal::record::fact::Fact;
use standsquare_office::accounts::{Role, Worker};
use standsquare_office::{OfficeState, web};
use standsquare_sync::{EnrolAsk, EnrolCode, RosterAsk};
use standsquare_sync::{Frame, Limits, Receipt, frame_id, post_body};
use support::*;
use tower::ServiceExt;

/// Where this thread's log goes.
#[derive(Clone, Default)]
struct Log(Arc<Mutex<Vec<u8>>>);

impl Write for Log {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.lock().expect("the log").extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Log {
    fn text(&self) -> String {
        String::from_utf8_lossy(&self.0.lock().expect("the log")).into_owned()
    }
}

/// Everything that pages and phones can see of an office.
fn picture(office: &OfficeState) -> String {
    let checkpoint = office.checkpoint().expect("a checkpoint");
    let sessions = office.sessions(99).expect("sessions");
    let session = office.session(SESSION).expect("a session");
    let waiting = office.waiting().expect("a number");
    format!("{checkpoint:?} {sessions:?} {session:?} {waiting}")
}

/// Ingests on a thread whose log is kept; the receipt, or the words of the refusal.
fn ingest(office: &OfficeState, body: &[u8]) -> (Result<Receipt, String>, String) {
    let log = Log::default();
    let writer = log.clone();
    let subscriber = tracing_subscriber::fmt()
        .with_ansi(false)
        .with_writer(move || writer.clone())
        .finish();
    let done =
        apart(|| tracing::subscriber::with_default(subscriber, || office.ingest(body, BEGIN_MS)));
    let done = match done {
        Ok(bytes) => Ok(Receipt::verify(&bytes, &office.public_key()).expect("a receipt")),
        Err(fault) => Err(fault.to_string()),
    };
    (done, log.text())
}

/// Posts one frame that must be refused for this reason, which must be in the log; nothing
/// may change but, where `kept`, that it is set aside.
fn refused_as(office: &OfficeState, what: &str, frame: &[u8], reason: &str, kept: bool) {
    let before = apart(|| (picture(office), office.set_aside(99).expect("a list").len()));
    let (receipt, log) = ingest(office, &post_body(&[frame.to_vec()]));
    let receipt = receipt.expect("a receipt");
    assert_eq!(receipt.held, [] as [[u8; 32]; 0], "{what}");
    assert_eq!(
        receipt.refused,
        [(frame_id(frame), reason.to_owned())],
        "{what}"
    );
    assert!(
        log.contains("WARN") && log.contains(reason),
        "{what}: {log}"
    );
    let after = apart(|| (picture(office), office.set_aside(99).expect("a list").len()));
    assert_eq!(after.0, before.0, "{what} changed something");
    assert_eq!(after.1, before.1 + usize::from(kept), "{what}");
}

/// A frame like this one with one event replaced by whatever `with` makes of it.
fn altered(frame: &[u8], nth: usize, with: impl FnOnce(&[u8]) -> Vec<u8>) -> Vec<u8> {
    let mut frame = Frame::decode_strict(frame).expect("a frame");
    frame.events[nth] = with(&frame.events[nth]);
    frame.encode()
}

#[test]
fn hostile_frames_are_refused_logged_and_change_nothing() {
    let office = office();
    let mut pen = two_dogs(1);
    held(&office, &pen.frames);
    apart(|| office.extend_log()).expect("logged");

    // Signed by somebody else, in the name of this device.
    let mut forger = pen.clone();
    forger.write(Fact::CloseReviewed { open: true });
    let sealed = forger.seal_with(&SigningKey::from_bytes(&[0xee; 32]));
    refused_as(&office, "a forged seal", &sealed, "seal_forged", false);

    // A sign-off by another key.
    let mut forger = two_dogs(7);
    held(&office, &forger.frames);
    let rook = forger.statement(3, "Rook", "999000000300000");
    forger.state(&rook);
    forger.sign(&rook, "ottoline", &SigningKey::from_bytes(&[0xee; 32]));
    let frame = forger.seal();
    refused_as(
        &office,
        "a forged sign-off",
        &frame,
        "sign_off_forged",
        true,
    );

    // Another history, well signed by the device itself.
    let mut other = pen.clone();
    other.frames.pop();
    let mut rewritten = two_dogs(1);
    rewritten.frames.clear();
    let mut twin = Pen::new(1);
    twin.set_up();
    let biscuit = twin.statement(1, "Biscuit", "999000000112233");
    twin.dog(&biscuit);
    refused_as(
        &office,
        "a rewritten history",
        &twin.frames[0],
        "fork",
        true,
    );

    // Another body's session.
    let mut elsewhere = Pen::new(9);
    elsewhere.write(Fact::RosterTaken {
        roster: [1; 32].into(),
        pack: [2; 32].into(),
        league: "elsewhere".into(),
    });
    elsewhere.write(Fact::SessionBegun {
        session: [9; 16].into(),
        roster: [1; 32].into(),
        pack: [2; 32].into(),
        offset_min: 0,
        day: DAY,
    });
    let frame = elsewhere.seal();
    refused_as(
        &office,
        "another body's session",
        &frame,
        "other_body",
        false,
    );

    // Not the form, cut short, with bytes to spare, nothing at all.
    let good = pen.close();
    for (what, bytes) in [
        ("cut short", good[..good.len() - 1].to_vec()),
        ("bytes to spare", [&good[..], &[0]].concat()),
        ("nothing", Vec::new()),
        ("a map", vec![0xa0]),
        ("a deep nest", vec![0x81; 4_000]),
        (
            "claims to be endless",
            vec![0x9b, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff],
        ),
    ] {
        refused_as(&office, what, &bytes, "unreadable_frame", false);
    }
    let unsealed = altered(&good, 0, |_| {
        let event = standsquare_journal::record::Event {
            version: standsquare_journal::record::FORMAT,
            at_ms: 1,
            fact: Fact::QueueOpened {},
        };
        event.encode()
    });
    assert!(Frame::decode_strict(&unsealed).is_ok());
    let mut last = Frame::decode_strict(&unsealed).expect("a frame");
    last.events.truncate(1);
    refused_as(&office, "without a seal", &last.encode(), "unsealed", false);
    // The true one is still taken: nobody was locked out by what was sent in its name.
    held(&office, &[good]);
}

#[test]
fn a_replay_changes_nothing() {
    let office = office();
    let pen = two_dogs(1);
    held(&office, &pen.frames);
    apart(|| office.extend_log()).expect("logged");
    let before = apart(|| picture(&office));
    for frames in [
        pen.frames.clone(),
        pen.frames.iter().rev().cloned().collect(),
        [&pen.frames[..], &pen.frames[..]].concat(),
    ] {
        let (receipt, _) = ingest(&office, &post_body(&frames));
        assert_eq!(receipt.expect("a receipt").held.len(), 3);
    }
    apart(|| office.extend_log()).expect("logged");
    assert_eq!(apart(|| picture(&office)), before);
}

/// Bodies that are refused as a whole.
fn bad_bodies() -> Vec<(&'static str, Vec<u8>, StatusCode)> {
    let limits = Limits::default();
    let bomb = zstd::stream::encode_all(io::repeat(0).take(1 << 30), 3).expect("packed");
    let packed = |kind: u8, bytes: &[u8]| [b"SSQF\x01".as_slice(), &[kind], bytes].concat();
    let mut window = zstd::stream::Encoder::new(Vec::new(), 3).expect("an encoder");
    window.window_log(27).expect("a large window");
    io::copy(&mut io::repeat(0).take(1 << 24), &mut window).expect("packed");
    vec![
        ("nothing", Vec::new(), StatusCode::BAD_REQUEST),
        ("no batch", b"hello".to_vec(), StatusCode::BAD_REQUEST),
        (
            "a newer batch",
            b"SSQF\x09\x00".to_vec(),
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
        ),
        (
            "an unknown encoding",
            packed(9, &[]),
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
        ),
        ("no frame in it", packed(0, &[]), StatusCode::BAD_REQUEST),
        (
            "a length only claimed",
            packed(0, &[0xff; 4]),
            StatusCode::PAYLOAD_TOO_LARGE,
        ),
        (
            "a bomb of a gigabyte",
            packed(1, &bomb),
            StatusCode::PAYLOAD_TOO_LARGE,
        ),
        (
            "a lean bomb",
            packed(2, &bomb),
            StatusCode::PAYLOAD_TOO_LARGE,
        ),
        (
            "a window of 128 MiB",
            packed(1, &window.finish().expect("packed")),
            StatusCode::BAD_REQUEST,
        ),
        (
            "too many frames",
            post_body(&vec![vec![1]; limits.frames + 1]),
            StatusCode::PAYLOAD_TOO_LARGE,
        ),
        (
            "oversized",
            vec![0; limits.body_bytes + 1],
            StatusCode::PAYLOAD_TOO_LARGE,
        ),
    ]
}

#[tokio::test]
async fn hostile_bodies_are_refused_whole() {
    let office = office();
    held(&office, &two_dogs(1).frames);
    let before = apart(|| picture(&office));
    for (what, body, status) in bad_bodies() {
        let request = Request::post("/v1/frames")
            .body(Body::from(body))
            .expect("a request");
        let answer = web::router(office.clone())
            .oneshot(request)
            .await
            .expect("an answer");
        assert_eq!(answer.status(), status, "{what}");
        assert_eq!(
            apart(|| picture(&office)),
            before,
            "{what} changed something"
        );
    }
}

/// Everything that an office keeps of phones and keys.
fn picture_of_keys(office: &OfficeState) -> String {
    let phones = office.phones().expect("a list");
    let notices = office.notices(0).expect("a list");
    let edition = office.present_edition(BEGIN_MS).expect("a number");
    format!("{phones:?} {notices:?} {edition}")
}

/// Posts to a door of phones; the status, and what was logged meanwhile.
async fn knock(office: &OfficeState, door: &str, body: Vec<u8>) -> (StatusCode, String) {
    let log = Log::default();
    let writer = log.clone();
    let subscriber = tracing_subscriber::fmt()
        .with_ansi(false)
        .with_writer(move || writer.clone())
        .finish();
    let _guard = tracing::subscriber::set_default(subscriber);
    let request = Request::post(door).body(Body::from(body));
    let answer = web::router(office.clone())
        .oneshot(request.expect("a request"))
        .await
        .expect("an answer");
    (answer.status(), log.text())
}

/// The office's clock: the doors are asked over HTTP, where it is the real one.
fn now_ms() -> i64 {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
    since.expect("after 1970").as_millis() as i64
}

fn signed_by(key: &SigningKey) -> impl FnOnce(&[u8]) -> [u8; 64] + '_ {
    |bytes| key.sign(bytes).to_bytes()
}

#[tokio::test]
async fn hostile_enrolments_and_questions_are_refused_logged_and_change_nothing() {
    let office = office();
    let by = Worker {
        account: "idris".into(),
        name: "Idris Fell".into(),
        role: Role::Secretary,
    };
    let code = apart(|| {
        let made = office.make_enrol_code("bram", "Bram", "https://office", [7; 16], &by, now_ms());
        made.expect("a code")
    });
    let (device, thief) = (
        SigningKey::from_bytes(&[5; 32]),
        SigningKey::from_bytes(&[6; 32]),
    );
    let of = |code: &EnrolCode, key: &SigningKey| {
        EnrolAsk::of(code, key.verifying_key().to_bytes(), now_ms())
    };
    let good = of(&code, &device).sign(signed_by(&device));
    let roster = |key: &SigningKey, at_ms: i64, body: &str, office_key: [u8; 32]| RosterAsk {
        office_key,
        body: body.into(),
        device_key: key.verifying_key().to_bytes(),
        after: 0,
        at_ms,
    };
    let (key, now) = (office.public_key(), now_ms());

    let before = apart(|| picture_of_keys(&office));
    let guess = EnrolCode {
        code: [8; 16],
        ..code.clone()
    };
    let elsewhere = EnrolCode {
        body: "elsewhere".into(),
        ..code.clone()
    };
    let other = EnrolCode {
        office_key: [9; 32],
        ..code.clone()
    };
    let mut bent = good.clone();
    let at = bent.len() / 2;
    bent[at] ^= 1;
    for (what, door, body, status) in [
        ("nothing", "/v1/enrol", Vec::new(), 400),
        ("no ask", "/v1/enrol", b"hello".to_vec(), 400),
        ("a deep nest", "/v1/enrol", vec![0x81; 4_000], 400),
        ("an endless one", "/v1/enrol", vec![0x9b; 9], 400),
        ("an oversized one", "/v1/enrol", vec![0; 5_000], 413),
        ("a bit turned", "/v1/enrol", bent, 400),
        (
            "a guess",
            "/v1/enrol",
            of(&guess, &device).sign(signed_by(&device)),
            403,
        ),
        (
            "of another body",
            "/v1/enrol",
            of(&elsewhere, &device).sign(signed_by(&device)),
            400,
        ),
        (
            "for another office",
            "/v1/enrol",
            of(&other, &device).sign(signed_by(&device)),
            400,
        ),
        // Somebody who saw the code wants another's key enrolled.
        (
            "without the key",
            "/v1/enrol",
            of(&code, &device).sign(signed_by(&thief)),
            400,
        ),
        // An ask for the roster as one for enrolment.
        (
            "another kind",
            "/v1/enrol",
            roster(&device, now, "larkmere", key).sign(signed_by(&device)),
            400,
        ),
        ("no question", "/v1/roster", b"hello".to_vec(), 400),
        ("an oversized question", "/v1/roster", vec![0; 5_000], 413),
        (
            "a stranger",
            "/v1/roster",
            roster(&thief, now, "larkmere", key).sign(signed_by(&thief)),
            403,
        ),
        (
            "another body's phone",
            "/v1/roster",
            roster(&device, now, "elsewhere", key).sign(signed_by(&device)),
            400,
        ),
        (
            "for another office",
            "/v1/roster",
            roster(&device, now, "larkmere", [9; 32]).sign(signed_by(&device)),
            400,
        ),
        ("another kind", "/v1/roster", good.clone(), 400),
    ] {
        let (answered, log) = knock(&office, door, body).await;
        assert_eq!(answered.as_u16(), status, "{what} at {door}");
        // What is too large is not even read.
        assert!(
            status == 413 || log.contains("WARN"),
            "{what} at {door}: {log}"
        );
        assert_eq!(
            apart(|| picture_of_keys(&office)),
            before,
            "{what} changed something"
        );
    }

    // The true one is taken all the same, and then nobody else's under the same code.
    assert_eq!(
        knock(&office, "/v1/enrol", good.clone()).await.0,
        StatusCode::OK
    );
    let enrolled = apart(|| picture_of_keys(&office));
    let again = of(&code, &thief).sign(signed_by(&thief));
    assert_eq!(
        knock(&office, "/v1/enrol", again).await.0,
        StatusCode::FORBIDDEN
    );
    // A replay is answered, and changes nothing.
    assert_eq!(knock(&office, "/v1/enrol", good).await.0, StatusCode::OK);
    // A question signed yesterday, and another phone's name under one's own signature.
    let old = roster(&device, now - 86_400_000, "larkmere", key).sign(signed_by(&device));
    assert_eq!(
        knock(&office, "/v1/roster", old).await.0,
        StatusCode::UNAUTHORIZED
    );
    let stolen = roster(&device, now, "larkmere", key).sign(signed_by(&thief));
    assert_eq!(
        knock(&office, "/v1/roster", stolen).await.0,
        StatusCode::BAD_REQUEST
    );
    let fresh = roster(&device, now, "larkmere", key).sign(signed_by(&device));
    assert_eq!(knock(&office, "/v1/roster", fresh).await.0, StatusCode::OK);
    assert_eq!(apart(|| picture_of_keys(&office)), enrolled);
}

#[tokio::test]
async fn what_is_logged_names_no_dog_and_nobody() {
    let office = office();
    let log = Log::default();
    let writer = log.clone();
    let subscriber = tracing_subscriber::fmt()
        .with_ansi(false)
        .with_max_level(tracing::Level::TRACE)
        .with_writer(move || writer.clone())
        .finish();
    let _guard = tracing::subscriber::set_default(subscriber);
    let mut fork = Pen::new(1);
    fork.set_up();
    let odd = fork.statement(1, "Tansy", "999000000665544");
    fork.dog(&odd);
    for frames in [&two_dogs(1).frames, &fork.frames] {
        let request = Request::post("/v1/frames").body(Body::from(post_body(frames)));
        let answer = web::router(office.clone()).oneshot(request.expect("a request"));
        assert_eq!(answer.await.expect("an answer").status(), StatusCode::OK);
    }
    for path in [
        "/dogs/999000000112233",
        "/search?q=Moss",
        "/dogs/999000000112233/history.pdf",
    ] {
        let request = Request::get(path).body(Body::empty()).expect("a request");
        let answer = web::router(office.clone()).oneshot(request);
        assert_eq!(
            answer.await.expect("an answer").status(),
            StatusCode::OK,
            "{path}"
        );
    }
    let (_, warned) = ingest(&office, &post_body(&fork.frames));
    let text = log.text() + &warned;
    assert!(text.contains("WARN"), "something was logged: {text}");
    for name in [
        "Pip",
        "Moss",
        "Tansy",
        "999000000",
        "Ottoline",
        "ottoline",
        "Bram",
        "Hollin",
    ] {
        assert!(!text.contains(name), "{name} is in the log: {text}");
    }
}
