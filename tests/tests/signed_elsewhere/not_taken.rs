//! What is not taken where a correction or the list is to be signed.

use standsquare_journal::record::elsewhere::{Answer, Ask, Shown};
use standsquare_journal::record::list_bytes;
use standsquare_journal::record::notice::{Says, Why};
use standsquare_session::Act;
use standsquare_tests::elsewhere::*;
use standsquare_tests::{Table, demo, once};

use super::others::{
    at_a_correction, at_the_list, by_codes, by_rules, lines, offers_it, ottoline_signs,
};
use super::{refused, whole};

/// Whatever is asked: codes of something else are refused, and nothing is written.
fn nothing_else_is_taken(t: &mut Table, own: &mut Table, again: fn(&mut Table)) {
    let ask = asked(t);
    let ask_text = whole(&ask);
    refused(t, &ask_text, "refused.sign_own_phone");
    let (good, shown) = Ask::read(&ask_text).expect("reads");
    let mut altered = good.clone();
    let mut bytes = altered.statement.to_vec();
    let at = bytes.windows(3).position(|w| w == b"Pip").expect("named");
    bytes[at] = b'T';
    altered.statement = bytes.into();
    refused(own, &altered.code(), "refused.code_forged");
    // Cut short, and named as it is: no form that can be signed.
    let cut = &good.statement[..good.statement.len() - 1];
    let cut = Ask::of("bram", *good.device_key, *good.head, cut).code();
    refused(own, &cut, "refused.code_damaged");
    let mut of_wren = good.clone();
    of_wren.person = "wren".into();
    refused(own, &of_wren.code(), "refused.sign_no_key");
    if let Shown::List(mut list) = shown {
        for dog in &mut list.dogs {
            dog.by.retain(|p| p != "bram");
        }
        let others = Ask::of("bram", *good.device_key, *good.head, &list.encode()).code();
        refused(own, &others, "refused.sign_not_seated");
    }

    let answer = whole(&signs(own, &ask));
    let read = Answer::read(&answer).expect("reads");
    let with = |change: &dyn Fn(&mut Answer)| {
        let mut other = read.clone();
        change(&mut other);
        other.code()
    };
    for (text, why) in [
        (with(&|a| a.digest[0] ^= 1), "refused.sign_other_text"),
        (with(&|a| a.signature[0] ^= 1), "refused.sign_forged"),
        (
            with(&|a| a.key = [3; 32].into()),
            "refused.sign_key_unknown",
        ),
        (
            with(&|a| a.person = "ottoline".into()),
            "refused.sign_key_no_more",
        ),
        (
            with(&|a| a.person = "wren".into()),
            "refused.sign_not_seated",
        ),
        (answer.replacen("SSA1", "SSA2", 1), "refused.code_too_new"),
    ] {
        refused(t, &text, why);
    }
    // Left meanwhile: nothing takes it; put up again, it is another text.
    t.tap("leave_look");
    let screen = t.screen();
    t.tap(match screen.as_str() {
        "correct" => "leave_correction",
        _ => "leave_list",
    });
    let why = match screen.as_str() {
        // Under it lies the dog's own statement.
        "correct" => "refused.sign_other_text",
        _ => "refused.sign_nothing_open",
    };
    refused(t, &answer, why);
    again(t);
    refused(t, &answer, "refused.sign_other_text");
    // The true one, and once more.
    let ask = asked(t);
    let answer = whole(&signs(own, &ask));
    t.act(Act::CheckSlip {
        text: answer.clone(),
    });
    assert_eq!(t.notice(), "notice.signed_elsewhere");
    refused(t, &answer, "refused.signed_already");
    ottoline_signs(t);
    let why = match t.screen().as_str() {
        "stance" => "refused.sign_nothing_open",
        "close" => "refused.sign_nothing_open",
        other => panic!("{other}"),
    };
    refused(t, &answer, why);
    t.whole();
    own.whole();
}

#[test]
fn at_a_correction_nothing_else_is_taken() {
    let (mut t, mut own) = at_a_correction();
    nothing_else_is_taken(&mut t, &mut own, put_up);
    // Nor is its signature one under the dog.
    let (mut t, mut own) = at_a_correction();
    let ask = asked(&mut t);
    let answer = whole(&signs(&mut own, &ask));
    let mut other = Table::with_secret("", [11; 32]);
    demo::set_up(&mut other);
    at_the_signature(&mut other, "pip");
    refused(&mut other, &answer, "refused.sign_other_text");
}

#[test]
fn at_the_list_nothing_else_is_taken() {
    let (mut t, mut own) = at_the_list();
    nothing_else_is_taken(&mut t, &mut own, |t| {
        t.tap("sign_list");
    });
}

#[test]
fn a_list_that_was_changed_meanwhile_is_signed_anew() {
    let (mut t, mut own) = at_the_list();
    let ask = asked(&mut t);
    let answer = whole(&signs(&mut own, &ask));
    t.tap("leave_look");
    t.tap("leave_list");
    t.tap("back_to_queue");
    once::dog_once(&mut t, "moss");
    refused(&mut t, &answer, "refused.sign_nothing_open");
    t.tap("review_close");
    t.tap("sign_list");
    refused(&mut t, &answer, "refused.sign_other_text");
    let before = lines(&t).len();
    ottoline_signs(&mut t);
    by_codes(&mut t, &mut own, list_bytes);
    assert_eq!((t.title(), before), ("title.close", 4));
}

#[test]
fn a_key_that_was_revoked_meanwhile_signs_neither_a_correction_nor_the_list() {
    for (mut t, mut own) in [at_a_correction(), at_the_list()] {
        let ask = asked(&mut t);
        let answer = whole(&signs(&mut own, &ask));
        let says = Says::Revoked {
            from_ms: 0,
            why: Why::Lost,
        };
        let text = said_of_it(&t, &own, 2, says);
        t.act(Act::LoadRoster { text: text.clone() });
        refused(&mut t, &answer, "refused.sign_key_no_more");
        own.act(Act::LoadRoster { text });
        refused(&mut own, &whole(&ask), "refused.key_revoked");
        t.tap("leave_look");
        assert!(!offers_it(&t));
        // The key on this phone still signs.
        t.both_sign();
        assert!(matches!(t.screen().as_str(), "stance" | "close"));
    }
}

#[test]
fn without_the_offices_word_of_a_key_neither_is_offered() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    at_the_signature(&mut t, "pip");
    put_up(&mut t);
    let mut list = Table::new("");
    once::set_up_once(&mut list);
    once::dog_once(&mut list, "pip");
    list.tap("review_close");
    list.tap("sign_list");
    for mut t in [t, list] {
        assert!(!offers_it(&t));
        t.act(Act::SignElsewhere {
            person: "bram".into(),
        });
        assert_eq!(t.notice(), "refused.not_now");
    }
}

#[test]
fn a_tap_that_confirms_a_dog_is_given_here() {
    let (mut t, _own) = by_rules(once::roster_signed_once());
    once::unlock(&mut t);
    at_the_signature(&mut t, "pip");
    assert!(!offers_it(&t));
}
