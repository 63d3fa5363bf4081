//! Packs as a club's secretary gets them wrong, one file each in tests/packs/bad: what is said names the
//! line, the reason and what to write instead, and nothing else is complained of.

use crate::support::here;
use standsquare_measuring::cli::rules_check;

/// File, line, clause, part of the reason, part of what to do; once for each fault of the file.
const SAID: &[(&str, u32, &str, &str, &str)] = &[
    (
        "limit-without-quotes",
        13,
        "up_to",
        "'35 cm' is text without quotes",
        "write up_to = \"35 cm\"",
    ),
    (
        "decimal-comma",
        13,
        "category[small].up_to",
        "behind a comma",
        "as the message says",
    ),
    (
        "curly-quotes",
        13,
        "up_to",
        "round ones",
        "write straight ones: up_to = \"35 cm\"",
    ),
    (
        "limit-without-unit",
        13,
        "category[small].up_to",
        "no unit of mm, cm or in",
        "as the message says",
    ),
    (
        "centimetres-as-bare-number",
        13,
        "category[small].up_to",
        "bare number is millimetres",
        "up_to = \"35 cm\"",
    ),
    (
        "centimetres-as-bare-number",
        18,
        "category[medium].up_to",
        "bare number is millimetres",
        "up_to = \"43 cm\"",
    ),
    (
        "range-instead-of-limit",
        18,
        "category[medium].up_to",
        "it is a range: write one length",
        "as the message says",
    ),
    (
        "date-day-first",
        8,
        "valid_from",
        "'01.03.2026' is not a day",
        "year first, as in valid_from = 2026-01-31",
    ),
    (
        "yes-for-true",
        7,
        "demo",
        "'yes' is not known",
        "write demo = true",
    ),
    (
        "single-brackets",
        15,
        "(file)",
        "heading 'category' stands twice",
        "[[category]] for each item",
    ),
    (
        "tallest-first",
        10,
        "category[large].up_to",
        "only the highest category has no upper limit",
        "rising order",
    ),
    (
        "tallest-first",
        22,
        "category[small].up_to",
        "a taller dog would have no category",
        "add a category above",
    ),
    (
        "name-as-id",
        5,
        "pack.id",
        "'Hollin Vale' is not an id",
        "small letters, digits and hyphens",
    ),
    (
        "misspelt-key",
        45,
        "procedure[hoops].placings.maximun",
        "unknown field `maximun`",
        "write `maximum` if that is meant",
    ),
    (
        "words-for-a-choice",
        46,
        "procedure[hoops].placings.flat",
        "`one-settles` or `majority`",
        "names listed",
    ),
    (
        "number-in-words",
        44,
        "needed",
        "'three' is text without quotes",
        "number in digits",
    ),
    (
        "number-in-quotes",
        44,
        "procedure[hoops].placings.needed",
        "expected a whole number",
        "without quotes",
    ),
    (
        "exact-limit-goes-up",
        11,
        "limits.at_limit",
        "limit of 'small' goes up, but a flat hoop can't show",
        "touching = \"over\"",
    ),
    (
        "exact-limit-goes-up",
        11,
        "limits.at_limit",
        "limit of 'medium' goes up, but a flat hoop can't show",
        "touching = \"over\"",
    ),
    (
        "hoop-of-another-size",
        34,
        "gauge[hoop-43].height",
        "no category has its limit at 420 mm",
        "correct the height",
    ),
    (
        "hoop-of-another-size",
        43,
        "procedure[hoops].placings",
        "no hoop of 430 mm tells 'medium'",
        "add a hoop",
    ),
    (
        "window-back-to-front",
        55,
        "measures.window.to",
        "ends (12 months) before it starts (24 months)",
        "longer span",
    ),
    (
        "key-under-the-wrong-heading",
        56,
        "measures.window.differ",
        "unknown field `differ`",
        "the heading it belongs to",
    ),
    (
        "no-gauges",
        1,
        "gauge",
        "missing field `gauge`",
        "add it: [[gauge]]",
    ),
    (
        "window-as-a-range",
        54,
        "measures.window.from",
        "'12-24 months' is not a span of time",
        "as the message says",
    ),
    (
        "fewer-placings-than-needed",
        45,
        "procedure[hoops].placings.maximum",
        "can't hold 3 valid ones",
        "at least as many as needed",
    ),
];

#[test]
fn each_slip_is_answered_with_line_reason_and_what_to_write() {
    let mut files = 0;
    let mut wrong = Vec::new();
    for entry in std::fs::read_dir(here().join("tests/packs/bad")).expect("the folder") {
        let path = entry.expect("an entry").path();
        let stem = path
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        let name = format!("{stem}.toml");
        let said = rules_check(&name, &std::fs::read_to_string(&path).expect("a pack"));
        files += 1;
        let wanted: Vec<_> = SAID.iter().filter(|row| row.0 == stem).collect();
        let start = format!("{name}: refused, {} to put right\n", wanted.len());
        let mut right = said.status == 1 && !wanted.is_empty();
        // The faults of bare centimetres are followed by those of the hoops that then fit nothing.
        right &= said.text.starts_with(&start) || stem == "centimetres-as-bare-number";
        for (_, line, clause, reason, fix) in wanted {
            let head = format!("{name}:line {line}: {clause}: ");
            let mut lines = said
                .text
                .lines()
                .skip_while(|l| !(l.starts_with(&head) && l.contains(reason)));
            right &= lines.next().is_some();
            right &= lines
                .next()
                .is_some_and(|l| l.starts_with("  to do: ") && l.contains(fix));
        }
        if !right {
            wrong.push(said.text);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(
        files >= 15
            && SAID.iter().all(|row| here()
                .join(format!("tests/packs/bad/{}.toml", row.0))
                .exists())
    );
}
