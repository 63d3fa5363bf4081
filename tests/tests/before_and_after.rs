//! Before the first dog and after the last: what is refused at set-up, and an office
//! that does not answer as it must.

use standsquare_session::Act;
use standsquare_session::view::Effect;
use standsquare_tests::{Table, demo};

#[test]
fn a_tilted_table_is_not_accepted_and_the_phone_must_be_turned() {
    let mut t = Table::new("");
    t.act(Act::LoadRoster {
        text: standsquare_office::demo::roster_json(),
    });
    t.tap("start_session");
    t.tap("set_venue");
    t.act(Act::LevelReading {
        x_mdeg: 2_600,
        y_mdeg: 0,
    });
    t.act(Act::LevelReading {
        x_mdeg: 2_600,
        y_mdeg: 0,
    });
    assert_eq!(t.notice(), "refused.level_not_turned");
    t.act(Act::LevelReading {
        x_mdeg: -2_500,
        y_mdeg: 0,
    });
    t.act(Act::SurfaceDone);
    assert_eq!(
        (t.screen().as_str(), t.notice()),
        ("surface", "refused.surface_tilted")
    );
}

#[test]
fn a_bent_hoop_is_not_used() {
    let mut t = Table::new("");
    t.act(Act::LoadRoster {
        text: standsquare_office::demo::roster_json(),
    });
    t.tap("start_session");
    t.tap("set_venue");
    t.act(Act::LevelReading {
        x_mdeg: 100,
        y_mdeg: 0,
    });
    t.act(Act::LevelReading {
        x_mdeg: -100,
        y_mdeg: 10,
    });
    t.tap("surface_done");
    t.act(Act::HoopLooked {
        hoop: "h35".into(),
        good: false,
    });
    t.act(Act::HoopLooked {
        hoop: "h43".into(),
        good: true,
    });
    let offer = t.offer("hoops_done");
    assert_eq!(offer.why_not.expect("refused").key, "refused.hoop_lacking");
}

#[test]
fn a_roster_that_cannot_be_used_says_why_and_changes_nothing() {
    let mut t = Table::new("");
    for text in ["", "{}", "[1,2", "{\"format\":99}"] {
        t.act(Act::LoadRoster { text: text.into() });
        assert!(
            t.notice().starts_with("refused.roster"),
            "{text}: {}",
            t.notice()
        );
    }
    assert!(!t.offer("start_session").allowed);
}

#[test]
fn a_pack_that_these_screens_cannot_measure_by_is_refused_when_it_is_loaded() {
    let mut roster = standsquare_office::demo::roster();
    for (from, to, what) in [
        (
            "sign = \"each-dog\"",
            "sign = \"each-dog\"\nrecorder = true",
            "unsupported.recorder",
        ),
        (
            "order = [\"papers\", \"handler\", \"chip\", \"settle\", \"stance\"]\nmay_swap = [[\"handler\", \"chip\"]]",
            "order = [\"papers\", \"chip\", \"handler\", \"settle\", \"stance\"]",
            "unsupported.step_order",
        ),
    ] {
        let pack = roster.pack.clone();
        roster.pack = pack.replace(from, to);
        assert_ne!(roster.pack, pack, "{from} is not in the pack");
        let mut t = Table::new("");
        t.act(Act::LoadRoster {
            text: serde_json::to_string(&roster).expect("JSON"),
        });
        assert_eq!(
            t.notice(),
            "refused.pack_unsupported",
            "{:?}",
            t.view().notice
        );
        let json = serde_json::to_string(&t.view().notice).expect("JSON");
        assert!(json.contains(what), "{json}");
        roster.pack = pack;
    }
}

#[test]
fn an_answer_that_the_office_did_not_sign_counts_for_nothing() {
    let mut t = Table::new("");
    demo::set_up(&mut t);
    demo::pip(&mut t);
    t.tap("review_close");
    t.tap("close_session");
    t.tap("send_return");
    let Some(Effect::AskOffice { request, body, .. }) = t.effects().first().cloned() else {
        panic!("nothing asked")
    };
    let mut receipt = t.office.ingest(&body, 0).expect("taken in");
    let last = receipt.len() - 1;
    receipt[last] ^= 1;
    t.act(Act::OfficeAnswer {
        request: request.clone(),
        status: 200,
        body: receipt,
    });
    assert_eq!(t.notice(), "refused.receipt");
    assert_eq!(t.view().outbox.waiting, 1);
    // Sent again, the office knows it already and says so.
    t.act(Act::OfficeUnreachable {
        request,
        reason: "no route".into(),
    });
    assert_eq!(t.notice(), "notice.office_out_of_reach");
    t.tap("send_return");
    t.office_answers();
    assert_eq!(t.view().outbox.waiting, 0);
}
