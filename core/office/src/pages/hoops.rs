//! Hoops: how each stands, its checks, and what one that failed leaves in doubt.

use chrono::NaiveDate;
use maud::{Markup, html};
use standsquare_measuring::RulePack;
use standsquare_measuring::gauge::hoop::{
    Affected, Finding, HoopCheck, Standing, UsedIn, affected, check_hoop, standing,
};
use standsquare_sync::roster::Hoop;

use super::{Looker, moment, page, scrolled};
use crate::hoops::{NotedCheck, Placed};
use crate::state::OfficeState;

fn stands(s: Standing) -> &'static str {
    match s {
        Standing::Good => "Good",
        Standing::Overdue => "Its check is overdue",
        Standing::Doubtful => "Doubtful: check it with a finer instrument",
        Standing::Bad => "Failed: not to be used",
        Standing::Unchecked => "No check is on record here",
    }
}

fn found(f: Finding) -> &'static str {
    match f {
        Finding::Pass => "Pass",
        Finding::Fail => "Fail",
        Finding::Doubtful => "Doubtful",
    }
}

fn checks(noted: &[NotedCheck]) -> Vec<HoopCheck> {
    noted.iter().map(|n| n.check.clone()).collect()
}

/// How a hoop stands today, in words.
fn in_words(pack: &RulePack, noted: &[NotedCheck], today: NaiveDate) -> String {
    match standing(pack, &checks(noted), today) {
        Ok(s) => stands(s).to_owned(),
        Err(why) => why.to_string(),
    }
}

/// Every hoop of the roster.
pub fn hoops(
    office: &OfficeState,
    looker: &Looker,
    pack: &RulePack,
    all: &[(Hoop, Vec<NotedCheck>)],
    today: NaiveDate,
) -> Markup {
    let table = html! {
        table {
            caption { "Hoops in the roster" }
            thead { tr {
                th scope="col" { "Number" } th scope="col" { "Gauge" } th scope="col" { "Stands" }
                th scope="col" { "Last check" } th scope="col" { "Next check due" }
            } }
            tbody {
                @for (hoop, noted) in all {
                    @let last = noted.iter().max_by_key(|n| (n.check.on, n.nth));
                    @let due = last.and_then(|n| check_hoop(pack, &n.check).ok()?.due);
                    tr {
                        th scope="row" { a href={ "/hoops/" (hoop.id) } { (hoop.serial) } }
                        td { (hoop.gauge) }
                        td { (in_words(pack, noted, today)) }
                        td { @if let Some(n) = last { (n.check.on) } @else { (hoop.checked) " (roster)" } }
                        td { @if let Some(due) = due { (due) } }
                    }
                }
            }
        }
    };
    let content = html! {
        (scrolled("Hoops", &table))
        p { "A check gives the inside height at three points against a traceable rule or gauge block. It passes where every point lies within the tolerance made smaller by the instrument's uncertainty, fails where one lies outside the tolerance made larger by it, and is doubtful in between (the decision rule of ISO 14253-1)." }
    };
    page(office, looker, "Hoops", &content)
}

/// What the newest check that did not pass leaves in doubt.
pub fn in_doubt<'a>(
    pack: &RulePack,
    noted: &[NotedCheck],
    uses: &'a [UsedIn<Placed>],
) -> Option<(HoopCheck, Affected<'a, Placed>)> {
    let last = noted.iter().max_by_key(|n| (n.check.on, n.nth))?;
    let result = check_hoop(pack, &last.check).ok()?;
    if result.finding == Finding::Pass {
        return None;
    }
    let found = affected(pack, &last.check, &checks(noted), uses).ok()?;
    Some((last.check.clone(), found))
}

/// One hoop.
pub fn hoop(
    office: &OfficeState,
    looker: &Looker,
    pack: &RulePack,
    hoop: &Hoop,
    noted: &[NotedCheck],
    uses: &[UsedIn<Placed>],
    today: NaiveDate,
) -> Markup {
    let content = html! {
        p { strong { (in_words(pack, noted, today)) } }
        p { "Placed in " (uses.len()) " measures on record." }
        (listed(pack, noted))
        @if let Some((check, doubt)) = in_doubt(pack, noted, uses) { (doubtful(hoop, &check, &doubt)) }
        (form(looker, hoop, noted.len()))
        p { a href="/hoops" { "All hoops" } }
    };
    page(office, looker, &format!("Hoop {}", hoop.serial), &content)
}

fn listed(pack: &RulePack, noted: &[NotedCheck]) -> Markup {
    let table = html! {
        table {
            caption { "Checks, newest first" }
            thead { tr {
                th scope="col" { "Day" } th scope="col" { "Left, middle, right" }
                th scope="col" { "Uncertainty (k = 2)" } th scope="col" { "Instrument" }
                th scope="col" { "Finding" } th scope="col" { "Off by" } th scope="col" { "Noted" }
            } }
            tbody {
                @for n in noted.iter().rev() {
                    @let result = check_hoop(pack, &n.check);
                    tr {
                        th scope="row" { (n.check.on) }
                        td.number { @for h in n.check.heights { (mm(h)) " " } "mm" }
                        td.number { (mm(n.check.uncertainty)) " mm" }
                        td { (n.check.instrument) }
                        @match result {
                            Ok(r) => {
                                td { (found(r.finding)) @if r.too_coarse { "; this instrument can prove no pass" } }
                                td.number { (mm(r.lowest)) " to " (mm(r.highest)) " mm" }
                            }
                            Err(why) => { td colspan="2" { (why) } }
                        }
                        td { (n.name) ", " (moment(n.noted_ms, 0)) " UTC" }
                    }
                }
            }
        }
    };
    html! { @if noted.is_empty() { p { "None is on record here." } } @else { (scrolled("Checks", &table)) } }
}

fn mm(length: standsquare_measuring::Length) -> String {
    format!("{}", length.micrometres() as f64 / 1_000.0)
}

fn doubtful(hoop: &Hoop, check: &HoopCheck, doubt: &Affected<'_, Placed>) -> Markup {
    let turned = |u: &UsedIn<Placed>| doubt.could_turn.iter().any(|t| std::ptr::eq(*t, u));
    let table = html! {
        table {
            caption { "Measures since the last good check" }
            thead { tr {
                th scope="col" { "Day" } th scope="col" { "Dog" } th scope="col" { "Chip" }
                th scope="col" { "This hoop said" } th scope="col" { "Could it be the other way" }
            } }
            tbody {
                @for u in &doubt.all {
                    tr {
                        th scope="row" { (u.on) }
                        td { a href={ "/measures/" (hex::encode(u.measure.head)) } { (u.measure.dog) } }
                        td { (u.measure.chip) }
                        td { (said(u.within)) }
                        td { @if turned(u) { strong.care { "Yes" } } @else { "No" } }
                    }
                }
            }
        }
    };
    html! {
        h2 { "In doubt since the check of " (check.on) }
        p {
            @match doubt.since {
                Some(since) => { "Last good check: " (since) ". " }
                None => { "No good check is on record. " }
            }
            (doubt.all.len()) " measures were made with it since; " (doubt.could_turn.len())
            " of them this fault could have turned."
        }
        (scrolled("Measures in doubt", &table))
        p { a href={ "/hoops/" (hoop.id) "/affected.csv" } { "The same as CSV" } }
    }
}

/// What a hoop said of a dog.
pub fn said(within: Option<bool>) -> &'static str {
    match within {
        Some(true) => "within",
        Some(false) => "over",
        None => "settled nothing",
    }
}

fn form(looker: &Looker, hoop: &Hoop, so_far: usize) -> Markup {
    let Some((worker, word)) = looker.worker.as_ref().zip(looker.form_word.as_ref()) else {
        return html! {};
    };
    if !worker.role.may_train() {
        return html! {};
    }
    html! {
        form.card method="post" action={ "/hoops/" (hoop.id) } {
            h2 { "Note a check" }
            input type="hidden" name="word" value=(word);
            input type="hidden" name="nth" value=(so_far + 1);
            label for="day" { "On which day" }
            input #day name="day" type="date" required;
            @for (name, label) in [("left", "Inside height at the left, mm"), ("middle", "In the middle, mm"), ("right", "At the right, mm")] {
                label for=(name) { (label) }
                input id=(name) name=(name) inputmode="decimal" autocomplete="off" required;
            }
            label for="uncertainty" { "The instrument's expanded uncertainty (k = 2) from its certificate, mm" }
            input #uncertainty name="uncertainty" inputmode="decimal" autocomplete="off" required;
            label for="instrument" { "The instrument and its certificate" }
            input #instrument name="instrument" maxlength="200" autocomplete="off" required;
            button type="submit" { "Note it" }
        }
    }
}
