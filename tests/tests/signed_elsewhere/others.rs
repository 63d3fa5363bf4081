//! A correction, and the list at the close of a session that is signed once.

use standsquare_journal::cli::{Office, verify_file_with};
use standsquare_journal::record::elsewhere::{Answer, Ask, signed_bytes};
use standsquare_journal::record::fact::{Fact, List, Listed, Outcome};
use standsquare_journal::record::notice::{Says, Why};
use standsquare_journal::record::{
    correction_bytes, list_bytes, pieces, sign_off_bytes, verify_signature,
};
use standsquare_office::dossier::{Proven, verify_dossier};
use standsquare_session::view::{Screen, StatementLine};
use standsquare_session::{Act, JOURNAL_FILE};
use standsquare_tests::elsewhere::*;
use standsquare_tests::owner::{Finger, KeyStore, by_finger, leave};
use standsquare_tests::tables::codes_shown;
use standsquare_tests::{Table, demo, once};

use super::whole;

/// The table's phone by these rules, with an open queue, and Bram's own, enrolled on both.
pub(super) fn by_rules(roster: String) -> (Table, Table) {
    let mut t = Table::new("");
    let mut own = brams_phone(&t);
    let notice = said_of_it(&t, &own, 1, ENROLLED);
    own.act(Act::LoadRoster {
        text: notice.clone(),
    });
    demo::set_up_with(&mut t, roster);
    t.act(Act::LoadRoster { text: notice });
    (t, own)
}

/// Pip's base flat is to be made void.
pub(super) fn at_a_correction() -> (Table, Table) {
    let (mut t, own) = by_rules(standsquare_office::demo::roster_json());
    at_the_signature(&mut t, "pip");
    put_up(&mut t);
    (t, own)
}

/// Pip and Rook are confirmed, and the list is on the glass.
pub(super) fn at_the_list() -> (Table, Table) {
    let (mut t, own) = by_rules(once::roster_signed_once());
    once::unlock(&mut t);
    once::dog_once(&mut t, "pip");
    once::dog_once(&mut t, "rook");
    t.tap("review_close");
    t.tap("sign_list");
    (t, own)
}

pub(super) fn lines(t: &Table) -> Vec<StatementLine> {
    match &t.view().screen {
        Screen::Correct { correct } => correct.statement.clone(),
        Screen::SignList { sign_list } => sign_list.statement.clone(),
        other => panic!("{other:?}"),
    }
}

pub(super) fn ottoline_signs(t: &mut Table) {
    let (person, pin) = demo::PINS[0];
    let (person, pin) = (person.into(), pin.into());
    t.act(Act::Sign { person, pin });
}

pub(super) fn offers_it(t: &Table) -> bool {
    let mut offers = t.view().offers.iter();
    offers.any(|o| o.id.starts_with("sign_elsewhere"))
}

/// The last bytes of that kind in the record, and the head after them.
fn last_put_up(t: &Table) -> (Vec<u8>, [u8; 32]) {
    let events = t.phone().journal().events().expect("reads");
    let found = events.into_iter().rev().find_map(|e| match e.fact {
        Fact::CorrectionStated { correction } => Some((correction, e.hash)),
        Fact::ListStated { list } => Some((list, e.hash)),
        _ => None,
    });
    found.expect("put up")
}

/// Asked, shown on the other phone with the same lines, signed there, and read here.
pub(super) fn by_codes(
    t: &mut Table,
    own: &mut Table,
    over: fn(&[u8; 32], &[u8]) -> Vec<u8>,
) -> String {
    let here = lines(t);
    let (bytes, head) = last_put_up(t);
    let ask = asked(t);
    let Screen::Codes { codes } = &t.view().screen else {
        panic!("{}", t.title())
    };
    assert_eq!(codes.says, here, "the same in words beside the codes");
    // A killed app: what is to be signed stands as it stood, and so does what it asks.
    t.kill_and_reopen();
    assert_eq!(lines(t), here);
    assert_eq!(asked(t), ask);
    // Read in any order.
    let turned: Vec<String> = ask.iter().rev().cloned().collect();
    read(own, &turned);
    assert_eq!(own.title(), "title.sign_for");
    let mut cautions = own.view().cautions.iter();
    assert!(cautions.any(|c| c.key == "caution.sign_for"));
    assert_eq!(lines(own), here);
    let (person, pin) = ("bram".into(), "0000".into());
    own.act(Act::Sign { person, pin });
    assert_eq!(
        (own.notice(), own.title()),
        ("refused.pin_wrong", "title.sign_for")
    );
    own.tap("leave_look");
    let answer = signs(own, &ask);
    // The answer was lost with the app: it is asked again, and is the same signature.
    own.kill_and_reopen();
    assert_eq!(signs(own, &ask), answer);
    let text = whole(&answer);
    let given = Answer::read(&text).expect("an answer");
    // Byte for byte what would be signed here, and nothing else.
    assert_eq!(signed_bytes(&head, &bytes), over(&head, &bytes));
    let key = own.phone().state().keys[&"bram".to_owned()];
    let holds = |over: &[u8]| verify_signature(1, &key, over, &given.signature).is_ok();
    assert!(holds(&over(&head, &bytes)));
    for other in [sign_off_bytes, correction_bytes, list_bytes] {
        let other = other(&head, &bytes);
        assert_eq!(holds(&other), other == over(&head, &bytes));
    }
    read(t, &answer);
    text
}

/// Both files verify with the office's word, and say these.
fn both_verify(t: &mut Table, own: &mut Table, here: &str, there: &str) {
    let office = Office {
        keys: vec![t.office.public_key()],
        notices: Vec::new(),
    };
    for (phone, says) in [(t, here), (own, there)] {
        phone.kill_and_reopen();
        let (report, _) = verify_file_with(&phone.dir().join(JOURNAL_FILE), &office);
        assert!(!report.contains("NOT WHOLE"), "{report}");
        let mut lines = report.lines();
        let line = lines.find(|line| line.contains(says) && line.contains("phone ("));
        let line = line.unwrap_or_else(|| panic!("no '{says}' in {report}"));
        assert!(!line.contains("DOES NOT COUNT"), "{line}");
    }
}

fn points(t: &Table) -> Vec<Vec<String>> {
    let session = t.phone().state().latest().expect("there").id;
    let (_, visits) = t.office.session(session).expect("there");
    let kinds = visits.iter();
    let kinds = kinds.map(|v| v.points.iter().map(|p| p.kind.clone()).collect());
    kinds.collect()
}

fn dossier(t: &Table, dog: &str) -> Proven {
    let dossier = t.office.dossier(&demo::chip_of(dog), t.now_ms());
    let dossier = dossier.expect("made").expect("there");
    verify_dossier(&dossier, &t.office.public_key()).expect("it verifies")
}

#[test]
fn a_correction_is_the_same_lines_and_bytes_and_holds_with_the_last_signature() {
    let (mut t, mut own) = at_a_correction();
    ottoline_signs(&mut t);
    by_codes(&mut t, &mut own, correction_bytes);
    // It was the last one: the placing is void, and the dog is to be placed again.
    assert_eq!(
        (t.notice(), t.title()),
        ("notice.put_right", "title.stance_again")
    );
    t.kill_and_reopen();
    t.tap("stands_square");
    t.tap("base_flat");
    // The sign-off that follows wants both again: what was signed of the correction is none.
    assert!(offers_it(&t));
    t.both_sign();
    demo::written_and_told(&mut t);
    let placings = t.json()["dogs"][0]["placings"].clone();
    assert_eq!(placings[0]["seen"], "base flat, made void");
    demo::close_and_send(&mut t);
    let marks: Vec<String> = points(&t).concat();
    assert!(
        !marks
            .iter()
            .any(|p| p.starts_with("key") || p == "unsigned"),
        "{marks:?}"
    );
    let proven = dossier(&t, "pip");
    assert!(proven.measures.iter().all(|(_, signed)| signed.len() == 2));
    assert!(proven.doubtful.is_empty());
    let (here, there) = ("signed a correction of dog 1", "a correction of dog 1");
    both_verify(&mut t, &mut own, here, there);
}

#[test]
fn the_first_of_two_may_sign_a_correction_on_their_own_phone_as_well() {
    let (mut t, mut own) = at_a_correction();
    by_codes(&mut t, &mut own, correction_bytes);
    assert_eq!(
        (t.notice(), t.title()),
        ("notice.signed_elsewhere", "title.correct_sign")
    );
    // Nobody takes it back alone now, and it is not asked of him again.
    t.kill_and_reopen();
    assert!(!t.view().offers.iter().any(|o| o.id == "leave_correction") && !offers_it(&t));
    ottoline_signs(&mut t);
    assert_eq!(t.title(), "title.stance_again");
}

#[test]
fn placings_go_to_the_other_dog_with_a_signature_from_another_phone() {
    let (mut t, mut own) = by_rules(standsquare_office::demo::roster_json());
    at_the_signature(&mut t, "rook");
    t.tap("put_right");
    demo::choose(&mut t, "move");
    t.scan(&demo::chip_of("moss"));
    demo::choose(&mut t, "changed_places");
    ottoline_signs(&mut t);
    by_codes(&mut t, &mut own, correction_bytes);
    assert_eq!(t.notice(), "notice.placings_moved");
    assert_eq!(t.view().dog.as_ref().map(|d| d.id.as_str()), Some("moss"));
    t.whole();
}

#[test]
fn the_list_is_the_same_lines_and_bytes_and_counts_under_every_dog_on_it() {
    let (mut t, mut own) = at_the_list();
    by_codes(&mut t, &mut own, list_bytes);
    assert_eq!(
        (t.notice(), t.title()),
        ("notice.signed_elsewhere", "title.sign_list")
    );
    t.kill_and_reopen();
    assert!(!offers_it(&t));
    ottoline_signs(&mut t);
    assert_eq!(t.title(), "title.close");
    for dog in t.json()["dogs"].as_array().expect("dogs") {
        assert_eq!(dog["signed_by"].as_array().map(Vec::len), Some(2));
        assert!(!dog["flags"].to_string().contains("list-not-signed"));
    }
    t.tap("close_session");
    t.tap("send_return");
    t.office_answers();
    assert_eq!(t.view().outbox.waiting, 0);
    t.office.extend_log().expect("logged");
    let marks: Vec<String> = points(&t).concat();
    assert!(
        !marks
            .iter()
            .any(|p| p.starts_with("key") || p == "unsigned"),
        "{marks:?}"
    );
    let session = t.phone().state().latest().expect("there").id;
    let csv = t.office.return_csv(session).expect("asked");
    assert_eq!(csv, Some(t.phone().return_csv()));
    for dog in ["pip", "rook"] {
        let proven = dossier(&t, dog);
        assert!(proven.measures.iter().all(|(_, signed)| signed.len() == 2));
        assert!(proven.doubtful.is_empty());
    }
    let says = "the list: dogs 1, 2";
    both_verify(&mut t, &mut own, says, says);
    // Lost since: what it signed with the list is looked at again, under every dog.
    let says = Says::Revoked {
        from_ms: 0,
        why: Why::Lost,
    };
    said_of_it(&t, &own, 2, says);
    let mut marks = points(&t).into_iter();
    assert!(marks.all(|kinds| kinds.contains(&"key-revoked".to_owned())));
    assert_eq!(dossier(&t, "rook").doubtful.len(), 1);
}

#[test]
fn who_is_out_of_tries_here_signs_on_their_own_phone() {
    for (mut t, mut own) in [at_a_correction(), at_the_list()] {
        for _ in 0..5 {
            let (person, pin) = ("bram".into(), "1111".into());
            t.act(Act::Sign { person, pin });
        }
        let ask = asked(&mut t);
        let answer = signs(&mut own, &ask);
        read(&mut t, &answer);
        assert_eq!(t.notice(), "notice.signed_elsewhere");
        ottoline_signs(&mut t);
        assert!(matches!(t.screen().as_str(), "stance" | "close"));
    }
}

#[test]
fn biometrics_open_the_owners_key_for_another_phones_correction_and_list() {
    for (mut t, mut own) in [at_a_correction(), at_the_list()] {
        let mut store = KeyStore::default();
        own.act(Act::OwnerCan { can: true });
        own.act(Act::OpenSettings);
        own.tap("own_phone_bram");
        let (person, pin) = ("bram".to_owned(), "2580".to_owned());
        own.act(Act::Unlock { person, pin });
        store.answers(&mut own, Finger::Right);
        leave(&mut own);
        let ask = asked(&mut t);
        read(&mut own, &ask);
        by_finger(&mut own, &mut store, Finger::Right);
        let facts = own.whole();
        assert!(matches!(
            &facts[facts.len() - 3..],
            [Fact::SignedForOther { .. }, Fact::OpenedByOwner { person }, Fact::Sealed { .. }]
                if person == "bram"
        ));
        let answer = codes_shown(&mut own);
        read(&mut t, &answer);
        assert_eq!(t.notice(), "notice.signed_elsewhere");
    }
}

#[test]
fn a_copy_counts_no_dog_for_a_signature_under_a_correction() {
    let (mut t, mut own) = at_a_correction();
    let ask = asked(&mut t);
    let answer = signs(&mut own, &ask);
    read(&mut t, &answer);
    ottoline_signs(&mut t);
    t.tap("stands_square");
    t.tap("base_flat");
    t.both_sign();
    demo::written_and_told(&mut t);
    let mut kept = Table::with_secret("", [12; 32]);
    demo::set_up(&mut kept);
    t.act(Act::ShowCopy { whole: true });
    let codes = codes_shown(&mut t);
    read(&mut kept, &codes);
    assert_eq!(kept.notice(), "notice.copy_kept");
    let notice = kept.view().notice.as_ref().expect("said");
    let one = standsquare_session::view::ArgValue::Count { n: 1 };
    assert_eq!(notice.text.args[0].value, one);
}

/// A day of this many dogs, as the list at its close names them.
fn a_long_list(dogs: u32) -> List {
    List {
        session: [7; 16].into(),
        dogs: (1..=dogs)
            .map(|visit| Listed {
                visit,
                dog: format!("Dog {visit}"),
                chip: format!("999000000{visit:06}"),
                outcome: Outcome::Category {
                    id: "small".into(),
                    label: "Small".into(),
                },
                statement: [visit as u8; 32].into(),
                by: vec!["ottoline".into(), "bram".into()],
            })
            .collect(),
        demo: true,
    }
}

#[test]
fn a_long_days_list_goes_in_codes_in_any_order() {
    let t = Table::new("");
    let mut own = brams_phone(&t);
    let list = a_long_list(60).encode();
    let ask = Ask::of("bram", [5; 32], [6; 32], &list);
    let texts = pieces::texts(&ask.code(), 311, 176).expect("cut");
    // 60 dogs: about half a minute of codes.
    assert!((20..60).contains(&texts.len()), "{}", texts.len());
    let turned: Vec<String> = texts.into_iter().rev().collect();
    read(&mut own, &turned);
    let lines = lines(&own);
    assert_eq!(lines.len(), 61);
    let (person, pin) = ("bram".into(), "2580".into());
    own.act(Act::Sign { person, pin });
    let answer = Answer::read(&whole(&codes_shown(&mut own))).expect("an answer");
    let over = list_bytes(&[6; 32], &list);
    let holds = verify_signature(1, &answer.key, &over, &answer.signature);
    assert_eq!(holds, Ok(()));
    own.whole();
}

#[test]
fn a_list_that_not_all_sign_whole_says_who_signs_which_dog_on_both_phones() {
    let (mut t, mut own) = by_rules(once::roster_signed_once());
    once::unlock(&mut t);
    once::dog_once(&mut t, "pip");
    // Rook is confirmed by one, and signed on paper by the other.
    at_the_signature(&mut t, "rook");
    t.tap("lock_phone");
    for _ in 0..5 {
        let (person, pin) = ("ottoline".into(), "1111".into());
        t.act(Act::Unlock { person, pin });
    }
    let (person, paper) = ("ottoline".into(), "17".into());
    t.act(Act::SignOnPaper { person, paper });
    let (person, pin) = ("bram".into(), "2580".into());
    t.act(Act::Unlock { person, pin });
    let person = "bram".into();
    t.act(Act::Confirm { person });
    demo::written_and_told(&mut t);
    t.tap("review_close");
    t.tap("sign_list");
    let only = |l: &StatementLine| l.label.key == "list.only";
    assert_eq!(lines(&t).iter().filter(|l| only(l)).count(), 1);
    by_codes(&mut t, &mut own, list_bytes);
}
