//! The second measurer signs on their own phone: what is signed there is byte for byte what
//! would have been signed here, and nothing else is taken. A dog's sign-off here, a correction
//! and the list at the close in `others`
//! and `not_taken`.

mod not_taken;
mod others;

use standsquare_journal::cli::{Office, verify_file_with};
use standsquare_journal::record::elsewhere::{Answer, Ask};
use standsquare_journal::record::fact::Fact;
use standsquare_journal::record::notice::{Says, Why};
use standsquare_journal::record::{sign_off_bytes, verify_signature};
use standsquare_session::view::Screen;
use standsquare_session::{Act, JOURNAL_FILE};
use standsquare_tests::elsewhere::*;
use standsquare_tests::{Table, demo};

/// The table's phone with Pip at the signature, and Bram's own phone, enrolled on both.
fn two() -> (Table, Table) {
    let mut t = Table::new("");
    let mut own = brams_phone(&t);
    let notice = said_of_it(&t, &own, 1, ENROLLED);
    own.act(Act::LoadRoster {
        text: notice.clone(),
    });
    demo::set_up(&mut t);
    t.act(Act::LoadRoster { text: notice });
    at_the_signature(&mut t, "pip");
    (t, own)
}

/// A text put together again from its codes.
fn whole(texts: &[String]) -> String {
    use standsquare_journal::record::pieces::{Gathering, is_piece, text_of};
    if !is_piece(&texts[0]) {
        return texts[0].clone();
    }
    let mut gathering = Gathering::default();
    let whole = texts
        .iter()
        .find_map(|t| gathering.take(t).expect("a piece"));
    text_of(&whole.expect("whole")).expect("a text")
}

/// The statement at the signature, and the head to sign.
fn stated(t: &Table) -> (Vec<u8>, [u8; 32]) {
    let visit = t.phone().state().session.as_ref().and_then(|s| s.in_hand());
    let (_, bytes, head) = visit.and_then(|v| v.stated.as_ref()).expect("stated");
    (bytes.clone(), *head)
}

fn lines(t: &Table) -> String {
    match &t.view().screen {
        Screen::Sign { sign } => format!("{:?} {:?}", sign.outcome, sign.statement),
        other => panic!("{other:?}"),
    }
}

fn refused(t: &mut Table, text: &str, why: &str) {
    let before = t.whole().len();
    t.act(Act::CheckSlip { text: text.into() });
    assert_eq!(t.notice(), why, "{text}");
    assert_eq!(t.whole().len(), before);
}

#[test]
fn it_is_the_same_lines_the_same_bytes_and_counts_as_a_sign_off() {
    let (mut t, mut own) = two();
    let here = lines(&t);
    let (bytes, head) = stated(&t);
    let ask = asked(&mut t);
    let text = whole(&ask);
    let (read_back, _) = Ask::read(&text).expect("an ask");
    assert_eq!(read_back.bytes(), sign_off_bytes(&head, &bytes));
    read(&mut own, &ask);
    assert_eq!(own.title(), "title.sign_for");
    assert_eq!(lines(&own), here);
    let (person, pin) = ("bram".into(), "0000".into());
    own.act(Act::Sign { person, pin });
    assert_eq!(
        (own.notice(), own.title()),
        ("refused.pin_wrong", "title.sign_for")
    );
    own.tap("leave_look");
    let answer = signs(&mut own, &ask);
    let signature = Answer::read(&whole(&answer)).expect("an answer");
    let over = sign_off_bytes(&head, &bytes);
    assert_eq!(
        verify_signature(1, &signature.key, &over, &signature.signature),
        Ok(())
    );
    read(&mut t, &answer);
    assert_eq!(
        (t.notice(), t.title()),
        ("notice.signed_elsewhere", "title.sign")
    );
    t.kill_and_reopen();
    let (person, pin) = ("ottoline".into(), "4711".into());
    t.act(Act::Sign { person, pin });
    assert_eq!(t.title(), "title.book_line");
    // It says where it was made, on either phone.
    let there = own.phone().journal().device_key();
    let elsewhere = t.whole().into_iter().find_map(|f| match f {
        Fact::SignedElsewhere {
            device_key, key, ..
        } => Some((*device_key, *key)),
        _ => None,
    });
    let key = own.phone().state().keys[&"bram".to_owned()];
    assert_eq!(elsewhere, Some((there, key)));
    let here = t.phone().journal().device_key();
    let signed_for = |f: &Fact| {
        matches!(f, Fact::SignedForOther { device_key, statement, .. }
        if **device_key == here && *statement == bytes)
    };
    assert!(own.whole().iter().any(signed_for));
    // The office takes it as a sign-off, and both files verify.
    demo::written_and_told(&mut t);
    demo::close_and_send(&mut t);
    let session = t.phone().state().session.as_ref().expect("there").id;
    let (_, visits) = t.office.session(session).expect("there");
    assert_eq!(visits[0].signed.len(), 2);
    let points: Vec<_> = visits[0].points.iter().map(|p| p.kind.as_str()).collect();
    assert!(
        !points
            .iter()
            .any(|p| p.starts_with("key") || *p == "unsigned"),
        "{points:?}"
    );
    assert_eq!(
        t.office.return_csv(session).expect("asked"),
        Some(t.phone().return_csv())
    );
    let dossier = t
        .office
        .dossier("999000000112233", t.now_ms())
        .expect("made")
        .expect("there");
    let proven = standsquare_office::dossier::verify_dossier(&dossier, &t.office.public_key());
    let proven = proven.expect("it verifies");
    let (_, signers) = proven.measures.last().expect("this one");
    let elsewhere: Vec<_> = signers.iter().map(|s| s.how.own_phone).collect();
    assert_eq!(elsewhere, [true, false], "{signers:?}");
    let office = Office {
        keys: vec![t.office.public_key()],
        notices: Vec::new(),
    };
    for phone in [&mut t, &mut own] {
        phone.kill_and_reopen();
        let (report, _) = verify_file_with(&phone.dir().join(JOURNAL_FILE), &office);
        assert!(!report.contains("NOT WHOLE"), "{report}");
        assert!(report.contains("phone ("), "{report}");
    }
}

#[test]
fn codes_of_something_else_are_refused_and_nothing_is_written() {
    let (mut t, mut own) = two();
    let ask = asked(&mut t);
    let ask_text = whole(&ask);
    // Its own code; and on the other phone one that was altered on the way.
    refused(&mut t, &ask_text, "refused.sign_own_phone");
    let (mut altered, _) = Ask::read(&ask_text).expect("reads");
    let mut bytes = altered.statement.to_vec();
    let at = bytes.windows(3).position(|w| w == b"Pip").expect("named");
    bytes[at] = b'T';
    altered.statement = bytes.into();
    refused(&mut own, &altered.code(), "refused.code_forged");
    refused(
        &mut own,
        &ask_text.replacen("SSO1", "SSO2", 1),
        "refused.code_too_new",
    );
    refused(
        &mut own,
        &ask_text[..ask_text.len() - 3],
        "refused.code_damaged",
    );
    let mut of_wren = Ask::read(&ask_text).expect("reads").0;
    of_wren.person = "wren".into();
    refused(&mut own, &of_wren.code(), "refused.sign_no_key");

    let answer = whole(&signs(&mut own, &ask));
    let read = Answer::read(&answer).expect("reads");
    let with = |change: &dyn Fn(&mut Answer)| {
        let mut other = read.clone();
        change(&mut other);
        other.code()
    };
    let local = t.phone().state().keys[&"bram".to_owned()];
    for (text, why) in [
        (with(&|a| a.digest[0] ^= 1), "refused.sign_other_text"),
        (with(&|a| a.signature[0] ^= 1), "refused.sign_forged"),
        (
            with(&|a| a.key = [3; 32].into()),
            "refused.sign_key_unknown",
        ),
        (with(&|a| a.key = local.into()), "refused.sign_key_unknown"),
        // Another's name over Bram's signature.
        (
            with(&|a| a.person = "ottoline".into()),
            "refused.sign_key_no_more",
        ),
        (
            with(&|a| a.person = "wren".into()),
            "refused.sign_not_seated",
        ),
        (answer.replacen("SSA1", "SSA2", 1), "refused.code_too_new"),
        (
            answer[..answer.len() - 3].to_owned(),
            "refused.code_damaged",
        ),
    ] {
        refused(&mut t, &text, why);
    }
    t.act(Act::CheckSlip {
        text: answer.clone(),
    });
    assert_eq!(t.notice(), "notice.signed_elsewhere");
    // Played again: here, after the dog, at another dog, in another session.
    refused(&mut t, &answer, "refused.signed_already");
    let (person, pin) = ("ottoline".into(), "4711".into());
    t.act(Act::Sign { person, pin });
    refused(&mut t, &answer, "refused.sign_nothing_open");
    demo::written_and_told(&mut t);
    at_the_signature(&mut t, "rook");
    refused(&mut t, &answer, "refused.sign_other_text");
    let mut third = Table::with_secret("", [11; 32]);
    demo::set_up(&mut third);
    at_the_signature(&mut third, "pip");
    refused(&mut third, &answer, "refused.sign_other_text");
}

#[test]
fn a_signature_under_what_stood_there_before_is_refused() {
    let (mut t, mut own) = two();
    let ask = asked(&mut t);
    let answer = whole(&signs(&mut own, &ask));
    t.tap("leave_look");
    // A bite is recorded: the statement is put up anew.
    standsquare_tests::looking::record(&mut t, "bite", "handler", "");
    refused(&mut t, &answer, "refused.sign_other_text");
}

#[test]
fn a_key_that_was_revoked_meanwhile_signs_on_neither_phone() {
    let (mut t, mut own) = two();
    let ask = asked(&mut t);
    let answer = whole(&signs(&mut own, &ask));
    let says = Says::Revoked {
        from_ms: 0,
        why: Why::Lost,
    };
    let notice = said_of_it(&t, &own, 2, says);
    t.act(Act::LoadRoster {
        text: notice.clone(),
    });
    refused(&mut t, &answer, "refused.sign_key_no_more");
    own.act(Act::LoadRoster { text: notice });
    refused(&mut own, &whole(&ask), "refused.key_revoked");
    // It is not offered any more either; the key on this phone still signs.
    t.tap("leave_look");
    assert!(
        !t.view()
            .offers
            .iter()
            .any(|o| o.id.starts_with("sign_elsewhere"))
    );
    t.both_sign();
    assert_eq!(t.title(), "title.book_line");
}

#[test]
fn it_is_offered_only_for_a_key_that_the_office_has_spoken_of() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    at_the_signature(&mut t, "pip");
    assert!(
        !t.view()
            .offers
            .iter()
            .any(|o| o.id.starts_with("sign_elsewhere"))
    );
    t.act(Act::SignElsewhere {
        person: "bram".into(),
    });
    assert_eq!(t.notice(), "refused.not_now");
}
