//! Hoop checks: the decision rule at its borders, due dates, and what a bad hoop throws into doubt.

use standsquare_measuring::Length;
use standsquare_measuring::gauge::hoop::{
    Finding, HoopCheck, HoopFault, Standing, UsedIn, affected, check_hoop, standing,
};

use super::support::{larkmere_with, pack};

fn day(text: &str) -> chrono::NaiveDate {
    text.parse().expect("a day")
}

fn check(on: &str, heights_um: [i64; 3], uncertainty_um: i64) -> HoopCheck {
    HoopCheck {
        gauge: "hoop-35".into(),
        serial: "LAL-35-02".into(),
        on: day(on),
        heights: heights_um.map(Length::from_micrometres),
        uncertainty: Length::from_micrometres(uncertainty_um),
        instrument: "gauge block set, certificate 999".into(),
    }
}

/// The pack's tolerance is 1 mm. ISO 14253-1: pass up to tolerance less uncertainty, fail above
/// tolerance plus uncertainty, ends belonging to the doubt.
#[test]
fn pass_fail_and_doubt_meet_at_the_right_micrometre() {
    let pack = pack("larkmere");
    let finding = |heights| {
        check_hoop(&pack, &check("2026-05-01", heights, 200))
            .expect("a result")
            .finding
    };
    for (off, says) in [
        (0, Finding::Pass),
        (800, Finding::Pass),
        (801, Finding::Doubtful),
        (1_200, Finding::Doubtful),
        (1_201, Finding::Fail),
    ] {
        for sign in [1, -1] {
            // One point out of three is enough, wherever it is.
            for at in 0..3 {
                let mut heights = [350_000; 3];
                heights[at] += sign * off;
                assert_eq!(finding(heights), says, "{heights:?}");
            }
        }
    }
}

#[test]
fn an_instrument_too_coarse_never_proves_a_pass() {
    let pack = pack("larkmere");
    let result = check_hoop(&pack, &check("2026-05-01", [350_000; 3], 1_001)).expect("a result");
    assert!(result.too_coarse && result.finding == Finding::Doubtful);
    let result = check_hoop(&pack, &check("2026-05-01", [350_000; 3], 1_000)).expect("a result");
    assert!(!result.too_coarse && result.finding == Finding::Pass);
}

#[test]
fn when_the_next_check_is_due() {
    let pack = pack("larkmere");
    let good = check("2026-05-31", [350_100, 350_000, 349_950], 100);
    let result = check_hoop(&pack, &good).expect("a result");
    assert_eq!(result.due, Some(day("2027-05-31")));
    assert_eq!(
        (result.highest.micrometres(), result.lowest.micrometres()),
        (100, -50)
    );
    let at = |checks: &[HoopCheck], on| standing(&pack, checks, day(on)).expect("a standing");
    assert_eq!(at(&[], "2026-06-01"), Standing::Unchecked);
    assert_eq!(
        at(std::slice::from_ref(&good), "2026-05-30"),
        Standing::Unchecked
    );
    assert_eq!(
        at(std::slice::from_ref(&good), "2027-05-31"),
        Standing::Good
    );
    assert_eq!(
        at(std::slice::from_ref(&good), "2027-06-01"),
        Standing::Overdue
    );
    let bad = check("2026-08-01", [352_000, 350_000, 350_000], 100);
    assert_eq!(
        at(&[bad.clone(), good.clone()], "2026-08-02"),
        Standing::Bad
    );
    let doubtful = check("2026-09-01", [351_000, 350_000, 350_000], 100);
    assert_eq!(at(&[bad, good, doubtful], "2026-09-02"), Standing::Doubtful);
}

#[test]
fn a_bent_hoop_lists_what_was_measured_since_its_last_good_check() {
    let pack = pack("larkmere");
    let checks = [
        check("2026-01-10", [350_000; 3], 100),
        check("2026-05-01", [350_100; 3], 100),
        check("2026-06-01", [351_000; 3], 100), // doubtful: not a good one
    ];
    let used = |on, measure, within| UsedIn {
        on: day(on),
        measure,
        within,
    };
    let uses = [
        used("2026-04-30", "before", Some(true)),
        used("2026-05-01", "same day", Some(true)),
        used("2026-06-14", "small", Some(true)),
        used("2026-06-14", "large", Some(false)),
        used("2026-06-14", "void only", None),
        used("2026-09-30", "after", Some(true)),
    ];
    let names = |all: &[&UsedIn<&'static str>]| all.iter().map(|u| u.measure).collect::<Vec<_>>();
    // Too high: those found within may be bigger than the limit.
    let high = check("2026-09-01", [352_000, 350_000, 350_000], 100);
    let found = affected(&pack, &high, &checks, &uses).expect("a list");
    assert_eq!(found.since, Some(day("2026-05-01")));
    assert_eq!(
        names(&found.all),
        ["same day", "small", "large", "void only"]
    );
    assert_eq!(names(&found.could_turn), ["same day", "small"]);
    // Too low: those found over may be within.
    let low = check("2026-09-01", [350_000, 350_000, 348_000], 100);
    let found = affected(&pack, &low, &checks, &uses).expect("a list");
    assert_eq!(names(&found.could_turn), ["large"]);
    // Bent both ways: all that it settled.
    let both = check("2026-09-01", [352_000, 350_000, 348_000], 100);
    let found = affected(&pack, &both, &checks, &uses).expect("a list");
    assert_eq!(names(&found.could_turn), ["same day", "small", "large"]);
    // Never good: everything up to now.
    let found = affected(&pack, &high, &[], &uses).expect("a list");
    assert_eq!((found.since, found.all.len()), (None, 5));
    // A pass leaves none.
    let found = affected(
        &pack,
        &check("2026-09-01", [350_000; 3], 100),
        &checks,
        &uses,
    )
    .expect("a list");
    assert!(found.all.is_empty() && found.could_turn.is_empty());
}

#[test]
fn what_the_rules_do_not_say_is_asked_for() {
    let pack = pack("larkmere");
    let mut unknown = check("2026-05-01", [350_000; 3], 100);
    unknown.gauge = "hoop-99".into();
    assert_eq!(
        check_hoop(&pack, &unknown),
        Err(HoopFault::Unknown("hoop-99".into()))
    );
    let without = larkmere_with("tolerance = \"1 mm\"\n", "");
    let fault =
        check_hoop(&without, &check("2026-05-01", [350_000; 3], 100)).expect_err("no tolerance");
    assert!(
        fault.to_string().contains("gauge[hoop-35].tolerance"),
        "{fault}"
    );
}

#[test]
fn a_check_is_written_and_read_again() {
    let one = check("2026-05-01", [350_001, 350_000, 349_999], 50);
    let text = serde_json::to_string(&one).expect("JSON");
    assert_eq!(
        serde_json::from_str::<HoopCheck>(&text).expect("a check"),
        one
    );
}
