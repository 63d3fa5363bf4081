//! Each kind of difference is made, and must be noticed: a test that cannot fail shows nothing.

use std::path::Path;
use std::sync::LazyLock;

use standsquare_parity::{Sources, faults};

/// The sources as they are, and what is noticed in them.
static AS_IS: LazyLock<(Sources, Vec<String>)> = LazyLock::new(|| {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let sources = Sources::read(&root).expect("the sources");
    let found = faults(&sources).expect("readable");
    (sources, found)
});

/// Changes the one text among `files` that holds `from`; a test that changes nothing would
/// show nothing.
fn change<'a>(files: impl IntoIterator<Item = &'a mut String>, from: &str, to: &str) {
    let mut changed = 0;
    for text in files {
        if text.contains(from) {
            *text = text.replace(from, to);
            changed += 1;
        }
    }
    assert!(changed > 0, "'{from}' is nowhere: have the sources moved?");
}

/// What is noticed once `break_it` was done, and was not there before.
fn noticed(break_it: impl FnOnce(&mut Sources)) -> Vec<String> {
    let (mut sources, before) = AS_IS.clone();
    break_it(&mut sources);
    let mut after = faults(&sources).expect("readable");
    after.retain(|fault| !before.contains(fault));
    after
}

#[track_caller]
fn holds(faults: &[String], wanted: &str) {
    assert!(
        faults.iter().any(|f| f.contains(wanted)),
        "'{wanted}' is not among {faults:?}"
    );
}

#[test]
fn a_screen_that_one_phone_does_not_draw() {
    holds(
        &noticed(|s| {
            change(
                s.kotlin_screens.values_mut(),
                "is Screen.Tell ->",
                "else ->",
            )
        }),
        "screen Tell is drawn by no branch",
    );
    holds(
        &noticed(|s| change(s.kotlin_screens.values_mut(), "fun Tell(", "fun Told(")),
        "no function Tell",
    );
    holds(
        &noticed(|s| change(s.swift_model.values_mut(), "case .tell(", "case .told(")),
        "screen Tell becomes no state",
    );
    holds(
        &noticed(|s| change(s.swift_views.values_mut(), "case .tell(", "case .told(")),
        "screen Tell is shown by no view",
    );
}

#[test]
fn a_screen_that_neither_phone_draws_yet() {
    let found = noticed(|s| {
        change(
            s.view.values_mut(),
            "    Home { home: HomeScreen },",
            "    Home { home: HomeScreen },\n    Parked { home: HomeScreen },",
        );
    });
    holds(&found, "screen Parked is drawn by no branch");
    holds(&found, "screen Parked becomes no state");
    holds(&found, "screen Parked is shown by no view");
}

#[test]
fn a_field_that_one_phone_does_not_show() {
    holds(
        &noticed(|s| change(s.kotlin_screens.values_mut(), ".sinceMs", ".since")),
        "field since_ms is shown on iOS and not on Android",
    );
    holds(
        &noticed(|s| change(s.swift_model.values_mut(), ".nominalUm", ".nominal")),
        "field nominal_um is shown on Android and not on iOS",
    );
}

#[test]
fn an_act_that_one_phone_cannot_send() {
    holds(
        &noticed(|s| {
            change(
                s.kotlin_screens.values_mut(),
                "Act.HandlerAnswer(",
                "Act.HandlerSaid(",
            );
        }),
        "act HandlerAnswer cannot be sent on Android",
    );
    holds(
        &noticed(|s| change(s.swift_model.values_mut(), ".chipTyped(", ".chipKeyed(")),
        "act ChipTyped cannot be sent on iOS",
    );
    let found = noticed(|s| {
        s.acts = s.acts.replace(
            "    BookAgrees,\n",
            "    BookAgrees,\n    /// New.\n    ParkDog,\n",
        )
    });
    holds(&found, "act ParkDog cannot be sent on Android");
    holds(&found, "act ParkDog cannot be sent on iOS");
}

#[test]
fn a_phone_that_sends_no_offers() {
    holds(
        &noticed(|s| {
            change(
                s.kotlin_screens.values_mut(),
                "send(offer.act)",
                "send(act)",
            )
        }),
        "sends no offer's act",
    );
    holds(
        &noticed(|s| change(s.swift_model.values_mut(), "tap(offer.act)", "tap(act)")),
        "makes no tap of an offer's act",
    );
}

/// What happened once: a key renamed for Android, and Swift's own tests the first to fail.
#[test]
fn a_key_renamed_for_one_phone() {
    let found = noticed(|s| {
        change(
            s.kotlin_screens.values_mut(),
            "\"pin.close\"",
            "\"pin.shut\"",
        );
        change(s.words.values_mut(), "\"ui.pin.close\"", "\"ui.pin.shut\"");
    });
    holds(&found, "says ui.pin.close, for which there are no words");
    holds(&found, "ui.pin.shut is not said on iOS");
}

#[test]
fn a_key_that_one_phone_does_not_say() {
    holds(
        &noticed(|s| {
            change(
                s.swift_model.values_mut(),
                "\"ui.pin.close\"",
                "\"ui.pin.back\"",
            )
        }),
        "ui.pin.close is not said on iOS",
    );
    holds(
        &noticed(|s| {
            change(
                s.kotlin_screens.values_mut(),
                "\"pin.close\"",
                "\"pin.back\"",
            )
        }),
        "ui.pin.close is not said on Android",
    );
    holds(
        &noticed(|s| {
            change(
                s.words.values_mut(),
                "\"ui.opening\":",
                "\"ui.new\": \"New\", \"ui.opening\":",
            )
        }),
        "ui.new is said on neither phone",
    );
}

#[test]
fn a_key_without_words() {
    holds(
        &noticed(|s| {
            change(
                s.session.values_mut(),
                "\"notice.pin_set\"",
                "\"notice.pin_is_set\"",
            )
        }),
        "says notice.pin_is_set, for which there are no words",
    );
    // Put together at run time, none could be found.
    holds(
        &noticed(|s| {
            change(
                s.swift_model.values_mut(),
                "\"ui.pin.close\"",
                "\"ui.pin.\\(close)\"",
            )
        }),
        "together: write the keys out",
    );
}

#[test]
fn a_language_that_one_phone_does_not_offer() {
    holds(
        &noticed(|s| {
            change(
                s.kotlin_screens.values_mut(),
                "    FRENCH(\"fr\");",
                "    ;",
            )
        }),
        "Android's enum Language lacks fr",
    );
    holds(
        &noticed(|s| change(s.swift_model.values_mut(), "    case german = \"de\"\n", "")),
        "iOS's enum Language lacks de",
    );
    holds(
        &noticed(|s| s.ios_project = s.ios_project.replace(", \"fr\"", "")),
        "project.toml lacks fr",
    );
    holds(
        &noticed(|s| drop(s.words.remove("de"))),
        "Android's enum Language has de, but there is no bindings/words/de.json",
    );
    holds(
        &noticed(|s| drop(s.words.insert("nl".into(), s.words["en"].clone()))),
        "iOS's enum Language lacks nl",
    );
}

#[test]
fn words_that_are_not_whole() {
    let german = |from: &'static str, to: &'static str| {
        noticed(move |s| change(s.words.get_mut("de"), from, to))
    };
    holds(
        &german("\"title.home\":", "\"title.house\":"),
        "de.json lacks title.home",
    );
    holds(
        &german("\"title.home\":", "\"title.house\":"),
        "de.json has title.house",
    );
    holds(&german("{from}", "{von}"), "window.between fills in");
    let french = noticed(|s| {
        change(
            s.words.get_mut("fr"),
            "{count} chien attend",
            "Un chien attend",
        );
        change(s.words.get_mut("fr"), "\u{a0}?", " ?");
    });
    holds(
        &french,
        "notice.office_out_of_reach.one is said of 0 as well",
    );
    holds(&french, "title.venue needs a no-break space");
    holds(
        &german("one-is-1", "one-is-2"),
        "no phone knows the plural rule 'one-is-2'",
    );
    holds(
        &german(
            "\"ui.chip.times.count\": \"count\"",
            "\"ui.chip.times.count\": \"n\"",
        ),
        "must name count",
    );
}

#[test]
fn a_colour_that_differs() {
    holds(
        &noticed(|s| {
            change(
                s.swift_model.values_mut(),
                "0xFFC61A, 0x0A1410",
                "0xFFC61B, 0x0A1410",
            )
        }),
        "is FFC61A on Android, FFC61B on iOS",
    );
}

#[test]
fn an_exception_that_is_none_any_more() {
    holds(
        &noticed(|s| {
            change(
                s.swift_model.values_mut(),
                "\"ui.opening\"",
                "\"ui.opening\", \"ui.more\"",
            )
        }),
        "ui.more on iOS is no exception any more",
    );
}
