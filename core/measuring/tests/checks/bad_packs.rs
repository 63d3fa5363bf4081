//! A bad pack is refused with the line, the clause, the reason and the fix. Each row changes one
//! thing in a good pack.

use crate::support::*;
use standsquare_measuring::*;

/// The faults of a pack after replacing one text in it, which must be there.
fn faults(base: &str, from: &str, to: &str) -> (String, Vec<PackFault>) {
    let files = pack_files();
    let (_, good) = files.iter().find(|(n, _)| n == base).expect("a pack");
    assert!(good.contains(from), "{base} lacks {from}");
    let text = good.replacen(from, to, 1);
    let faults = RulePack::parse(&text).err().unwrap_or_default();
    (text, faults)
}

struct Row {
    base: &'static str,
    from: &'static str,
    to: &'static str,
    /// A text in the line that the fault must point at.
    line: &'static str,
    clause: &'static str,
    reason: &'static str,
    fix: &'static str,
}

macro_rules! rows {
    ($($base:literal: $from:literal => $to:literal; $line:literal, $clause:literal: $reason:literal; $fix:literal)*) => {
        &[$(Row { base: $base, from: $from, to: $to, line: $line, clause: $clause, reason: $reason, fix: $fix }),*]
    };
}

const ROWS: &[Row] = rows! {
    // Shape.
    "larkmere": "format = 1" => "format = "; "format =", "format": "nothing stands"; "write the value"
    "larkmere": "format = 1" => "format = 2"; "format = 2", "format": "not known"; "newer version"
    "larkmere": "demo = true" => "demos = true"; "demos", "pack.demos": "unknown field"; "write `demo` if"
    "larkmere": "demo = true" => "demo = 3"; "demo = 3", "pack.demo": "invalid type"; "as the message says"
    "larkmere": "id = \"larkmere\"\n" => ""; "[pack]", "pack": "missing field `id`"; "add it"
    "larkmere": "valid_from = 2026-01-01" => "valid_from = 2026-02-30"; "2026-02-30", "valid_from": "not a day"; "year first"
    "larkmere": "valid_from = 2026-01-01" => "valid_from = \"1 Jan\""; "1 Jan", "pack.valid_from": "2026-01-31"; "as the message says"
    "larkmere": "valid_from = 2026-01-01" => "valid_from = 2026-01-01T10:00:00"; "valid_from", "pack.valid_from": "2026-01-31"; "as the message says"
    "larkmere": "up_to = \"35 cm\"" => "up_to = \"35\""; "\"35\"", "category[small].up_to": "no unit"; "as the message says"
    "larkmere": "up_to = \"35 cm\"" => "up_to = 35.5"; "35.5", "category[small].up_to": "length"; "as the message says"
    "larkmere": "from = \"12 months\"" => "from = \"12\""; "\"12\"", "measures.window.from": "span of time"; "as the message says"
    "larkmere": "late = \"flagged\"" => "late = \"perhaps\""; "perhaps", "measures.window.late": "unknown variant"; "names listed"
    "larkmere": "work = \"together\"\n" => ""; "[measurers]", "measurers": "missing field `work`"; "add it"
    "larkmere": "[limits]" => "[limits"; "[limits", "(file)": "heading can't be read"; "write [name]"
    "larkmere": "[limits]" => "limits are"; "limits are", "(file)": "neither a heading nor key"; "# in front of a remark"
    "larkmere": "edition = \"2026\"" => "edition = \"2026"; "edition = \"2026", "edition": "quotes are not closed"; "edition = \"…\""
    "larkmere": "edition = \"2026\"" => "edition = \"2026\"\nedition = \"2027\""; "2027", "edition": "same key stands twice"; "leave one"
    "larkmere": "edition = \"2026\"" => "edition = ?"; "edition = ?", "edition": "quoted"; "so that the file is TOML"
    "larkmere": "edition = \"2026\"" => "edition two = \"2026\""; "edition two", "(file)": "quotes are not closed"; "edition two"
    "larkmere": "edition = \"2026\"" => "edition = 2026"; "edition = 2026", "pack.edition": "expected a string"; "in quotes"
    "larkmere": "edition = \"2026\"" => "edition = # of 2026"; "# of 2026", "edition": "nothing stands"; "write the value"
    "larkmere": "edition = \"2026\"" => "edition = 2026a # new"; "2026a", "edition": "'2026a' is text without quotes"; "edition = \"2026a\""
    "larkmere": "demo = true" => "demo = No"; "demo = No", "demo": "'No' is not known"; "demo = false"
    "larkmere": "valid_from = 2026-01-01" => "valid_from = 1/3/2026"; "1/3/2026", "valid_from": "'1/3/2026' is not a day"; "2026-01-31"
    "larkmere": "valid_from = 2026-01-01" => "valid_from = 1/3"; "1/3", "valid_from": "'1/3' is text"; "in digits"
    "larkmere": "valid_from = 2026-01-01" => "valid_from = 1/3/20261"; "20261", "valid_from": "text without quotes"; "in digits"
    "larkmere": "valid_from = 2026-01-01" => "valid_from = 1//2026"; "1//2026", "valid_from": "text without quotes"; "in digits"
    "larkmere": "valid_from = 2026-01-01" => "valid_from = 1/March/2026"; "March", "valid_from": "text without quotes"; "in digits"
    "larkmere": "format = 1\n" => ""; "Larkmere", "format": "missing field `format`"; "format = …"
    "larkmere": "[measures]\n" => "[measure]\n"; "[measure]", "measure": "unknown field `measure`"; "write `measures` if"
    "larkmere": "[[procedure]]" => "[procedure]"; "[procedure]", "procedure": "invalid type: table, expected a list"; "[[name]]"
    "larkmere": "demo = true" => "demo = \"true\""; "demo = \"true\"", "pack.demo": "expected true or false"; "without quotes"
    "larkmere": "maximum = 8" => "maxinun = 8"; "maxinun", "procedure[hoops].placings.maxinun": "unknown field"; "write `maximum` if"
    "larkmere": "maximum = 8" => "madinun = 8"; "madinun", "procedure[hoops].placings.madinun": "unknown field"; "names listed, move"
    "larkmere": "flat = \"one-settles\"" => "flat = \"one-setles\""; "one-setles", "procedure[hoops].placings.flat": "unknown variant"; "write `one-settles` if"
    "larkmere": "flat = \"one-settles\"" => "fxta = \"one-settles\""; "fxta", "procedure[hoops].placings.fxta": "unknown field"; "names listed, move"
    "larkmere": "needed = 3" => "needed = -3"; "needed = -3", "procedure[hoops].placings.needed": "a whole number, 0 or more"; "as the message says"
    "larkmere": "up_to = \"35 cm\"" => "up_to = 99"; "up_to = 99", "category[small].up_to": "lower than any dog"; "up_to = \"99 cm\""
    // About.
    "larkmere": "id = \"larkmere\"" => "id = \"Lark Mere\""; "Lark Mere", "pack.id": "not an id"; "small letters"
    "larkmere": "name = \"Larkmere Agility League\"" => "name = \" \""; "name = \" \"", "pack.name": "empty"; "name that people read"
    "larkmere": "edition = \"2026\"" => "edition = \"\""; "edition", "pack.edition": "empty"; "name that people read"
    "larkmere": "valid_from = 2026-01-01" => "valid_from = 2026-01-01\nvalid_to = 2025-12-31"; "valid_to", "pack.valid_to": "end before they begin"; "on or after"
    // Categories.
    "larkmere": "up_to = \"43 cm\"" => "up_to = \"34 cm\""; "34 cm", "category[medium].up_to": "gap or overlap"; "in order"
    "larkmere": "up_to = \"43 cm\"" => "up_to = \"35 cm\""; "up_to = \"35 cm\"", "category[medium].up_to": "gap or overlap"; "in order"
    "larkmere": "up_to = \"35 cm\"" => "up_to = 0"; "up_to = 0", "category[small].up_to": "gap or overlap"; "in order"
    "larkmere": "up_to = \"43 cm\"\n" => ""; "[[category]]", "category[medium].up_to": "never be reached"; "rising order"
    "larkmere": "label = \"Large\"" => "label = \"Large\"\nup_to = \"60 cm\""; "60 cm", "category[large].up_to": "taller dog"; "leave up_to out"
    "larkmere": "label = \"Large\"" => "label = \"Large\"\nat_limit = \"stays\""; "at_limit", "category[large].at_limit": "no limit"; "leave at_limit out"
    "larkmere": "label = \"Large\"" => "label = \"\""; "label = \"\"", "category[large].label": "empty"; "name that people read"
    "larkmere": "id = \"large\"" => "id = \"small\""; "id = \"small\"", "category[small].id": "twice"; "own id"
    "larkmere": "id = \"large\"" => "id = \"Lärge\""; "Lärge", "category[Lärge].id": "not an id"; "small letters"
    "larkmere": "label = \"Small\"" => "label = \"Small\"\nmay_also_run_in = [\"tiny\"]"; "may_also_run_in", "category[small].may_also_run_in": "'tiny' is not another"; "other categories"
    "larkmere": "label = \"Small\"" => "label = \"Small\"\nmay_also_run_in = [\"small\"]"; "may_also_run_in", "category[small].may_also_run_in": "'small' is not another"; "other categories"
    "larkmere": "measures_needed = 1" => "measures_needed = 0"; "measures_needed = 0", "category[large].measures_needed": "not between 1 and 9"; "from 1 to 9"
    "larkmere": "measures_needed = 1" => "measures_on_request = 10"; "measures_on_request", "category[large].measures_on_request": "not between 1 and 9"; "from 1 to 9"
    "larkmere": "measures_needed = 1" => "measurers_needed = 10"; "measurers_needed", "category[large].measurers_needed": "not between 1 and 9"; "from 1 to 9"
    // Gauges.
    "larkmere": "height = \"35 cm\"" => "height = \"36 cm\""; "36 cm", "gauge[hoop-35].height": "nothing uses this hoop"; "leave the hoop out"
    "larkmere": "height = \"35 cm\"\n" => ""; "[[gauge]]", "gauge[hoop-35].height": "needs its inside height"; "height = \"35 cm\""
    "larkmere": "height = \"35 cm\"" => "height = \"43 cm\""; "height = \"43 cm\"", "gauge[hoop-43].height": "same height"; "leave one out"
    "larkmere": "label = \"Hoop 35\"" => "label = \"\""; "label = \"\"", "gauge[hoop-35].label": "empty"; "name that people read"
    "larkmere": "id = \"hoop-43\"" => "id = \"hoop-35\""; "hoop-35", "gauge[hoop-35].id": "twice"; "own id"
    "akc": "kind = \"scale\"" => "kind = \"scale\"\nheight = \"35 cm\""; "height", "gauge[scale].height": "no fixed height"; "leave height out"
    "larkmere": "touching = \"within\"" => "touching = \"over\""; "at_limit", "limits.at_limit": "would count as over"; "touching = \"within\""
    "larkmere": "at_limit = \"stays\"" => "at_limit = \"goes-up\""; "at_limit", "limits.at_limit": "can't show that it is not exactly there"; "touching = \"over\""
    "fci": "touching = \"over\"" => "touching = \"within\""; "at_limit", "limits.at_limit": "can't show"; "readings"
    "larkmere": "label = \"Small\"" => "label = \"Small\"\nat_limit = \"goes-up\""; "goes-up", "category[small].at_limit": "can't show"; "touching = \"over\""
    // Measurers.
    "larkmere": "needed = 2\nwork" => "needed = 0\nwork"; "needed = 0", "measurers.needed": "not between 1 and 9"; "from 1 to 9"
    "larkmere": "needed = 2\nwork" => "needed = 2\nleading = 3\nwork"; "leading", "measurers.leading": "not between 0 and 2"; "from 0 to 2"
    "fci": "needed = 2 " => "alternate = true\nneeded = 1 "; "alternate", "measurers.alternate": "take turns"; "needed = 2"
    "fei": "needed = 2 " => "alternate = true\nneeded = 2 "; "alternate", "measurers.alternate": "take turns"; "together"
    "larkmere": "then = \"refer\"" => "then = \"one-more-measurer\""; "one-more-measurer", "disagreement.then": "outvoted"; "independently"
    // Procedures.
    "larkmere": "[[procedure]]\nid = \"hoops\"" => "[[procedure]]\nid = \"other\""; "procedure = \"hoops\"", "measures.procedure": "no procedure 'hoops'"; "name the id"
    "larkmere": "needed = 3" => "needed = 0"; "needed = 0", "procedure[hoops].placings.needed": "not between 1 and 99"; "from 1 to 99"
    "larkmere": "maximum = 8" => "maximum = 2"; "maximum = 2", "procedure[hoops].placings.maximum": "could never end well"; "at least as many"
    "larkmere": "maximum = 8" => "maximum = 1000"; "maximum = 1000", "procedure[hoops].placings.maximum": "1000"; "at most 999"
    "wao": "needed = 3 " => "needed = 4 "; "needed = 4", "procedure[hoops].placings.needed": "no majority"; "odd"
    "larkmere": "reposition = \"after-each\"" => "reposition = { after = [0, 1] }"; "after = [0", "procedure[hoops].reposition": "counts from 1"; "0 out"
    "larkmere": "reposition = \"after-each\"" => "gauges = [\"hoop-35\"]"; "placings]", "procedure[hoops].placings": "could never end"; "add a hoop"
    "larkmere": "reposition = \"after-each\"" => "gauges = [\"hoop-35\", \"hoop-43\", \"stick\"]"; "stick", "procedure[hoops].gauges": "'stick' is not a gauge"; "hoops for placings"
    "larkmere": "reposition = \"after-each\"" => "in_doubt = \"hoops\""; "in_doubt", "procedure[hoops].in_doubt": "never end"; "no in_doubt"
    "larkmere": "reposition = \"after-each\"" => "in_doubt = \"stick\""; "in_doubt", "procedure[hoops].in_doubt": "no procedure 'stick'"; "name the id"
    "larkmere": "[procedure.placings]\nneeded = 3\nmaximum = 8\nflat = \"one-settles\"\norder = \"smallest-first\"" => ""; "[[procedure]]", "procedure[hoops]": "either placings or readings"; "one of the two"
    "switzerland": "id = \"three\" " => "in_doubt = \"team\"\nid = \"three\" "; "in_doubt = \"three\"", "procedure[team].in_doubt": "never end"; "no in_doubt"
    "switzerland": "[[procedure]]\nid = \"readings\"" => "[[procedure]]\nin_doubt = \"three\"\nid = \"readings\""; "in_doubt = \"three\"", "procedure[readings].in_doubt": "one kind follow"; "once"
    "akc": "needed = 1                               # form\nmaximum" => "needed = 0\nmaximum"; "needed = 0", "procedure[readings].readings.needed": "not between 1 and 99"; "from 1 to 99"
    "akc": "maximum = 1 " => "maximum = 0 "; "maximum = 0", "procedure[readings].readings.maximum": "less than needed"; "at least as many"
    "akc": "most_in_all = 9 " => "most_in_all = 0 "; "most_in_all = 0", "procedure[readings].readings.most_in_all": "less than maximum"; "at least maximum"
    "akc": "step = \"1/16 in\"" => "step = 0"; "step = 0", "procedure[readings].readings.step": "more than nothing"; "1 mm"
    "akc": "step = \"1/16 in\"" => "step = 101"; "step = 101", "procedure[readings].readings.step": "at most 10 cm"; "1 mm"
    "akc": "decide = \"mean\"" => "decide = \"mode\""; "decide", "procedure[readings].readings.decide": "no mode"; "more readings"
    "akc": "decide = \"mean\"" => "stop_early = { after = 2, clear_by = 10 }\ndecide = \"mean\""; "stop_early", "procedure[readings].readings.stop_early.after": "not between 1 and 1"; "from 1 to 1"
    "akc": "kind = \"scale\"" => "height = \"11 in\"\nkind = \"hoop\""; "[procedure.readings]", "procedure[readings].readings": "no scale"; "kind = \"scale\""
    // Border zones, panels, events.
    "finland": "limits = [\"i\"]" => "limits = [\"l\"]"; "limits = [", "border[0].limits": "'l' is not a category with"; "below the limit"
    "finland": "below = \"1 cm\"                           # M (the width of the zone is a reading of \"48 cm border dogs\")\nabove = \"1 cm\"" => "below = 0\nabove = 0"; "below = 0", "border[0].below": "zone is empty"; "below or above"
    "finland": "measures_needed = 3 " => "# "; "[[border]]", "border[0]": "changes nothing"; "measures_needed"
    "finland": "measures_needed = 3 " => "measures_needed = 12 "; "measures_needed = 12", "border[0].measures_needed": "not between 1 and 9"; "from 1 to 9"
    "finland": "measures_needed = 3 " => "measurers_needed = 12 "; "measurers_needed = 12", "border[0].measurers_needed": "not between 1 and 9"; "from 1 to 9"
    "finland": "measures_needed = 3 " => "settles = true\nmeasures_needed = 3 "; "settles", "border[0].settles": "no procedure"; "name its procedure"
    "switzerland": "procedure = \"team\"" => "procedure = \"club\""; "club", "border[0].procedure": "no procedure 'club'"; "name the id"
    "sweden": "to_change = 3" => "to_change = 4"; "to_change = 4", "remeasure.to_change": "not between 1 and 3"; "from 1 to 3"
    "sweden": "panel = 3" => "panel = 0"; "panel = 0", "remeasure.panel": "not between 1 and 9"; "from 1 to 9"
    "sweden": "panel = 3" => "procedure = \"x\"\npanel = 3"; "procedure = \"x\"", "remeasure.procedure": "no procedure 'x'"; "name the id"
    "akc": "measurers = 1" => "measurers = 0"; "measurers = 0", "event_measure.measurers": "not between 1 and 9"; "from 1 to 9"
    // Times.
    "larkmere": "to = \"24 months\"" => "to = \"11 months\""; "11 months", "measures.window.to": "before it starts"; "longer span"
    "larkmere": "needed = 2\nmeanwhile" => "needed = 0\nmeanwhile"; "needed = 0", "measures.needed": "not between 1 and 9"; "from 1 to 9"
    "akc": "to = \"24 months\"" => "to = \"14 months\""; "14 months", "age[0].to": "before it begins"; "higher age"
    "akc": "from = \"24 months\"" => "from = \"25 months\""; "25 months", "age[1].from": "gap or overlap"; "where the one before ends"
    "akc": "from = \"24 months\"" => "from = \"23 months\""; "23 months", "age[1].from": "gap or overlap"; "where the one before ends"
    "akc": "to = \"24 months\" " => "# "; "[[age]]", "age[0].to": "only the last band"; "next band begins"
    "akc": "worth = \"counts\"" => "worth = \"provisional\""; "worth = \"provisional\"", "age[1].worth": "until when"; "good_for"
    "akc": "worth = \"counts\"" => "good_for = \"1 year\"\nworth = \"counts\""; "good_for", "age[1].good_for": "only a provisional"; "leave good_for out"
    "akc": "worth = \"counts\"" => "except = [\"25\"]\nworth = \"counts\""; "except", "age[1].except": "no category '25'"; "ids of categories"
    "larkmere": "order = [\"papers\", " => "order = ["; "order = [\"handler\"", "steps.order": "must come once"; "papers, handler"
    "larkmere": "order = [\"papers\", " => "order = [\"handler\", "; "order = [\"handler\", \"handler\"", "steps.order": "must come once"; "papers, handler"
    "larkmere": "[[\"handler\", \"chip\"]]" => "[[\"papers\", \"chip\"]]"; "may_swap", "steps.may_swap": "only neighbours"; "follow one another"
    "larkmere": "[[\"handler\", \"chip\"]]" => "[[\"handler\", \"chop\"]]"; "chop", "steps.may_swap[0][1]": "unknown variant `chop`"; "write `chip` if"
    "larkmere": "attempts = 3" => "attempts = 0"; "attempts = 0", "again.attempts": "not between 1 and 99"; "from 1 to 99"
    "larkmere": "max_tilt_centidegrees = 100" => "max_tilt_centidegrees = 4501"; "4501", "surface.max_tilt_centidegrees": "not between 1 and 4500"; "from 1 to 4500"
    "larkmere": "must_have = [" => "signatures = 10\nmust_have = ["; "signatures", "book.signatures": "not between 0 and 9"; "from 0 to 9"
    "larkmere": "must_have = [" => "must_have = [\"breed\", "; "should_have", "book.should_have": "must_have as well"; "each entry once"
    "fci": "alternatives = [\"tattoo\"]" => "alternatives = [\" \"]"; "alternatives", "identity.alternatives": "no name"; "tattoo"
};

#[test]
fn each_fault_names_line_clause_reason_and_fix() {
    let mut wrong = Vec::new();
    for row in ROWS {
        let (text, found) = faults(row.base, row.from, row.to);
        let line_of = |f: &PackFault| {
            text.lines()
                .nth(f.line as usize - 1)
                .unwrap_or("")
                .to_owned()
        };
        let right = |f: &PackFault| {
            f.clause == row.clause
                && f.reason.contains(row.reason)
                && f.fix.contains(row.fix)
                && line_of(f).contains(row.line)
        };
        if !found.iter().any(right) {
            let shown: Vec<String> = found
                .iter()
                .map(|f| format!("{f} | {}", line_of(f)))
                .collect();
            let asked = format!("{} ({}): {}; {}", row.clause, row.line, row.reason, row.fix);
            wrong.push(format!(
                "{} {:?}: asked {asked}, got {shown:#?}",
                row.base, row.to
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn what_is_missing_points_at_the_end_and_all_faults_come_at_once() {
    let text = LARKMERE
        .replacen("to = \"24 months\"", "to = \"1 month\"", 1)
        .replacen("maximum = 8", "maximum = 1", 1)
        .replacen("height = \"43 cm\"", "height = \"44 cm\"", 1);
    let found = RulePack::parse(&text).unwrap_err();
    let clauses: Vec<&str> = found.iter().map(|f| f.clause.as_str()).collect();
    assert_eq!(
        clauses,
        [
            "gauge[hoop-43].height",
            "procedure[hoops].placings.maximum",
            "procedure[hoops].placings",
            "measures.window.to",
        ]
    );
    let without = LARKMERE.replacen(
        "[hoops]\ninterval_from = \"nominal\"\ntouching = \"within\"\n",
        "",
        1,
    );
    assert!(RulePack::parse(&without).is_ok());
    let up = without.replacen("[limits]\nat_limit = \"stays\"\n", "", 1);
    assert!(RulePack::parse(&up).is_ok(), "stays is the default");
    let up = up.replacen(
        "label = \"Small\"",
        "label = \"Small\"\nat_limit = \"goes-up\"",
        1,
    );
    assert_eq!(
        RulePack::parse(&up).unwrap_err()[0].clause,
        "category[small].at_limit"
    );
}

#[test]
fn the_largest_numbers_allowed_are_allowed() {
    for (base, from, to) in [
        ("larkmere", "maximum = 8", "maximum = 3"),
        ("larkmere", "maximum = 8", "maximum = 999"),
        ("larkmere", "attempts = 3", "attempts = 99"),
        (
            "larkmere",
            "max_tilt_centidegrees = 100",
            "max_tilt_centidegrees = 4500",
        ),
        ("larkmere", "to = \"24 months\"", "to = \"12 months\""),
        ("larkmere", "needed = 3", "needed = 1"),
        ("larkmere", "measures_needed = 1", "measures_needed = 9"),
        (
            "larkmere",
            "valid_from = 2026-01-01",
            "valid_from = 2026-01-01\nvalid_to = 2026-01-01",
        ),
        (
            "larkmere",
            "valid_from = 2026-01-01",
            "valid_from = \"2026-01-01\"",
        ),
        (
            "larkmere",
            "[[\"handler\", \"chip\"]]",
            "[[\"chip\", \"handler\"]]",
        ),
        ("larkmere", "must_have = [", "signatures = 9\nmust_have = ["),
        ("akc", "most_in_all = 9 ", "most_in_all = 1 "),
        ("akc", "most_in_all = 9 ", "most_in_all = 999 "),
        ("akc", "step = \"1/16 in\"", "step = 100"),
        (
            "akc",
            "decide = \"mean\"",
            "stop_early = { after = 1, clear_by = 10 }\ndecide = \"mean\"",
        ),
        ("sweden", "to_change = 3", "to_change = 1"),
    ] {
        let (_, found) = faults(base, from, to);
        assert_eq!(found, [], "{base}: {to}");
    }
}

#[test]
fn a_pack_with_no_category_or_a_huge_one_is_refused() {
    let start = LARKMERE.find("[[category]]").unwrap();
    let end = LARKMERE.find("[[gauge]]").unwrap();
    let none = format!("category = []\n{}{}", &LARKMERE[..start], &LARKMERE[end..]);
    let found = RulePack::parse(&none).unwrap_err();
    assert!(
        found.iter().any(|f| f.clause == "category" && f.line == 1),
        "{found:#?}"
    );
    let many: String = (1..=41)
        .map(|i| format!("[[category]]\nid = \"c{i}\"\nlabel = \"c\"\nup_to = {i}\n"))
        .collect();
    let many = format!("{}{many}{}", &LARKMERE[..start], &LARKMERE[start..]);
    let found = RulePack::parse(&many).unwrap_err();
    assert!(
        found.iter().any(|f| f.reason.contains("1 to 40")),
        "{found:#?}"
    );
    let huge = format!("{LARKMERE}\n# {}", "x".repeat(LARGEST_PACK));
    let found = RulePack::parse(&huge).unwrap_err();
    assert!(found[0].reason.contains("larger than"), "{found:#?}");
    let just = format!(
        "{LARKMERE}#{}",
        "x".repeat(LARGEST_PACK - LARKMERE.len() - 1)
    );
    assert_eq!(just.len(), LARGEST_PACK);
    assert!(RulePack::parse(&just).is_ok());
}

#[test]
fn a_bad_pack_does_not_come_in_as_json_either() {
    let mut value = serde_json::to_value(pack("larkmere")).unwrap();
    value["procedure"][0]["placings"]["maximum"] = 1.into();
    let error = serde_json::from_value::<RulePack>(value)
        .unwrap_err()
        .to_string();
    assert!(
        error.contains("procedure[hoops].placings.maximum"),
        "{error}"
    );
}

#[test]
fn a_fault_is_shown_in_one_place() {
    let (_, found) = faults("larkmere", "attempts = 3", "attempts = 0");
    let text = found[0].to_string();
    assert!(text.starts_with("line "), "{text}");
    assert!(
        text.contains("again.attempts: 0 is not between 1 and 99\n  to do: write"),
        "{text}"
    );
}
