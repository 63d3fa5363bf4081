//! Reasons as keys with arguments. The words live on the platforms; the English here is for
//! `cargo xtask rules try` and for developers.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::dates::Span;
use crate::ids::{CategoryId, GaugeId, MeasurerId};
use crate::interval::HeightInterval;
use crate::length::Length;

/// An argument of a reason.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(tag = "kind", content = "value", rename_all = "kebab-case")]
pub enum Arg {
    /// Words as they were entered.
    Text(String),
    /// A length.
    Length(Length),
    /// What is known of a height.
    Interval(HeightInterval),
    /// A day.
    Date(NaiveDate),
    /// A number of things.
    Count(u32),
    /// A span of time.
    Span(Span),
    /// A category.
    Category(CategoryId),
    /// A gauge.
    Gauge(GaugeId),
    /// A measurer.
    Measurer(MeasurerId),
}

macro_rules! from {
    ($($type:ty => $name:ident),*) => {$(
        impl From<$type> for Arg {
            fn from(value: $type) -> Arg {
                Arg::$name(value)
            }
        }
    )*};
}
from!(
    String => Text, Length => Length, HeightInterval => Interval, NaiveDate => Date, u32 => Count,
    Span => Span, CategoryId => Category, GaugeId => Gauge, MeasurerId => Measurer
);

impl fmt::Display for Arg {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Arg::Text(x) => f.write_str(x),
            Arg::Length(x) => x.fmt(f),
            Arg::Interval(x) => x.fmt(f),
            Arg::Date(x) => x.fmt(f),
            Arg::Count(x) => x.fmt(f),
            Arg::Span(x) => x.fmt(f),
            Arg::Category(x) => x.fmt(f),
            Arg::Gauge(x) => x.fmt(f),
            Arg::Measurer(x) => x.fmt(f),
        }
    }
}

/// Why something is so: a key for the platforms' words, arguments, and the clause of the pack that
/// it comes from. Where measurers work independently, a reason about what one of them saw carries
/// the argument `by` as well.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Reason {
    /// One of [`KEYS`].
    pub key: Cow<'static, str>,
    /// The arguments that the words need, by name.
    #[serde(default)]
    pub args: BTreeMap<Cow<'static, str>, Arg>,
    /// The clause of the pack, such as `procedure[hoops].placings.needed`.
    pub clause: String,
}

/// Something to point out on the return: a reason that the office reads.
pub type Flag = Reason;

impl Reason {
    /// A reason without arguments yet.
    pub(crate) fn new(key: &'static str, clause: impl Into<String>) -> Self {
        debug_assert!(KEYS.iter().any(|k| k.key == key), "no such key: {key}");
        Reason {
            key: Cow::Borrowed(key),
            args: BTreeMap::new(),
            clause: clause.into(),
        }
    }

    /// With an argument.
    pub(crate) fn with(mut self, name: &'static str, value: impl Into<Arg>) -> Self {
        self.args.insert(Cow::Borrowed(name), value.into());
        self
    }

    /// In English, for developers and `rules try`.
    pub fn english(&self) -> String {
        let Some(key) = KEYS.iter().find(|k| k.key == self.key) else {
            return self.key.to_string();
        };
        let mut text = key.english.to_owned();
        for (name, value) in &self.args {
            text = text.replace(&format!("{{{name}}}"), &value.to_string());
        }
        text
    }
}

/// A key with the arguments its words may use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key {
    /// The key.
    pub key: &'static str,
    /// The arguments' names.
    pub args: &'static [&'static str],
    /// English words with `{name}` where an argument goes.
    pub english: &'static str,
}

macro_rules! keys {
    ($($key:literal ($($arg:literal),*) $english:literal)*) => {
        /// Every key this crate gives, for the platforms' words files to be checked against.
        pub const KEYS: &[Key] = &[$(Key { key: $key, args: &[$($arg),*], english: $english }),*];
    };
}

keys! {
    // What was seen.
    "flat-within" ("gauge", "height") "base flat on {gauge} ({height}): within"
    "never-flat-over" ("gauge", "height", "count") "not flat on {gauge} ({height}) in {count} valid placings: over"
    "majority-within" ("gauge", "height", "count") "most of {count} valid placings flat on {gauge} ({height}): within"
    "majority-over" ("gauge", "height", "count") "most of {count} valid placings not flat on {gauge} ({height}): over"
    "placings-void" ("count") "{count} placings or readings don't count"
    "after-settled" ("gauge", "count") "{count} further placings of {gauge} after it was settled don't count"
    "near-limit" ("gauge") "mixed valid placings on {gauge}: near the limit"
    "contradiction" ("one", "other") "what was seen contradicts itself: {one}, but also {other}"
    "too-many-placings" ("gauge", "count") "no result on {gauge} after {count} placings"
    "readings-decide" ("height", "count") "{count} valid readings give {height}"
    "readings-stop-early" ("height", "count") "{count} readings agree and are clear of every limit: {height}"
    "last-reading-decides" ("height", "count") "after {count} readings the last one decides: {height}"
    "readings-undecided" ("count") "{count} readings leave it undecided"
    "readings-differ" () "the readings lie in different categories"
    "no-single-mode" () "no reading comes most often"
    "doubt-goes-on" ("text") "there is a doubt: it goes on with the procedure '{text}'"
    "judged-by-eye" ("category") "placed in {category} by eye, unmeasured"
    "by-eye-not-allowed" ("category") "these rules don't let a dog be placed in {category} by eye"
    "category-found" ("category", "height") "{height}: {category}"
    "impasse-higher" ("category") "no result: the higher category left, {category}"
    "impasse-lower" ("category") "no result: the lower category left, {category}"
    "impasse-not-today" () "no result: not measured today"
    "impasse-refer" ("category") "no result: the body decides; today {category}"
    // Measurers.
    "measurers-differ" ("measurer", "category") "{measurer} found {category}"
    "measurers-differ-today" ("category") "the measurers differ; today {category}"
    "measurers-outvoted" ("category", "count") "{count} measurers found {category}"
    "measurers-refer" () "the measurers differ: the body decides"
    "measurers-stand" ("category") "the measurers differ: {category} stands"
    "more-measurers-needed" ("count", "needed") "{count} measurers at the table, {needed} needed"
    "leading-measurer-needed" ("count", "needed") "{count} leading measurers at the table, {needed} needed"
    "tie-own-dog" ("measurer") "{measurer} may not measure their own dog"
    "tie-household" ("measurer") "the dog lives in {measurer}'s household"
    "tie-bred" ("measurer") "{measurer} bred the dog"
    "tie-trains" ("measurer") "{measurer} trains the dog or its handler"
    "tie-same-club" ("measurer") "{measurer} belongs to the handler's club or federation"
    "measurer-dissents" ("measurer") "{measurer} is not satisfied with the result"
    "measurer-dissents-for" ("measurer", "category") "{measurer} holds {category} to be right"
    "same-measurer-again" ("measurer") "{measurer} made an earlier measure of this dog"
    "unknown-measurer" ("measurer") "{measurer} is not at the table: what they entered does not count"
    "measurer-twice-running" ("measurer") "{measurer} made two readings in a row"
    // The dog.
    "too-young" ("from") "the dog may be measured from {from}"
    "birth-unknown" () "the date of birth is not known"
    "birth-after-today" ("date") "the date of birth {date} lies in the future"
    "no-chip" () "no chip was found"
    "identified-otherwise" ("text") "identified by {text}"
    "same-day-again" ("date") "the dog was already measured today ({date})"
    "placed-before" ("date", "gauge", "flat", "not_flat", "void") "on {date} {gauge} was placed: {flat} flat, {not_flat} not flat, {void} void"
    "read-before" ("date", "gauge", "text", "void") "on {date} {gauge} was read: {text}; {void} void"
    "earlier-in-future" ("date") "an earlier measure is dated {date}, after today"
    "unknown-category" ("category") "an earlier measure's category {category} is not one of this pack"
    "too-many-attempts" ("count", "needed") "{count} attempts were broken off, at most {needed} are allowed"
    "not-today" ("text") "not today: {text}"
    // Gauges and rules.
    "gauge-not-checked" ("gauge") "no check of {gauge} is on record"
    "gauge-check-overdue" ("gauge", "date") "the check of {gauge} was due on {date}"
    "gauge-out-of-tolerance" ("gauge", "height") "{gauge} was {height} at its last check: out of tolerance"
    "unknown-gauge" ("gauge") "{gauge} is not a gauge of this procedure: what it showed does not count"
    "rules-not-in-force" ("date") "these rules do not hold on {date}"
    // Measures.
    "first-measure" () "first measure"
    "second-measure" () "second measure"
    "further-measure" ("count") "measure {count}"
    "second-too-early" ("from", "to") "too early for the second measure: from {from} to {to}"
    "second-in-window" ("from", "to") "in the window of the second measure: {from} to {to}"
    "second-late" ("from", "to") "late for the second measure: it was due from {from} to {to}"
    "already-definitive" ("category") "the dog's category is already definitive: {category}"
    "equal-measures" ("category", "count", "needed") "{count} equal measures of {needed} needed: {category}"
    "one-suffices" ("category") "one measure suffices for {category}"
    "on-request" ("category", "count") "at the handler's request {count} measures suffice for {category}"
    "one-older-needed" ("span") "one measure must be made at {span} or older"
    "measures-differ" ("category", "date") "the measure of {date} found {category}"
    "differ-refer" ("category") "the measures differ: the body decides; today {category}"
    "differ-further" ("category") "the measures differ: a further measure decides; today {category}"
    "differ-decided" ("category", "count") "{count} equal measures decide: {category}"
    "differ-lower" ("category") "the measures differ: the lower counts, {category}"
    "differ-higher" ("category") "the measures differ: the higher counts, {category}"
    "differ-latest" ("category") "the measures differ: the latest counts, {category}"
    "border-settles" () "the special procedure settles the category"
    "for-this-event" () "measured for this event only"
    "event-not-provided" () "these rules know no measure for one event only"
    "panel-too-young" ("from") "a panel may remeasure the dog from {from}"
    "age-counts" () "at this age the measure counts"
    "age-provisional" ("to") "at this age the measure is good until {to}"
    "age-definitive" () "at this age the measure is definitive"
    "age-event-only" () "at this age the measure is good for this event only"
    "border-zone" ("category") "near the limit of {category}: special rules apply"
    "provisional-until" ("date") "good until {date}"
    "this-event-only" () "good for this event only"
    "definitive" () "definitive"
    "referred" () "the body decides"
    "panel-changes" ("category", "count", "needed") "{count} of the panel found {category}, {needed} needed: changed"
    "panel-keeps" ("category", "needed") "fewer than {needed} of the panel found one other category: it stays {category}"
    "panel-not-provided" () "these rules know no remeasuring by a panel"
    "panel-nothing-to-change" () "there is no earlier measure for a panel to change"
    "panel-too-often" ("count") "the dog was already remeasured {count} times"
    "may-also-run" ("category") "may also run in {category}"
    // For the handler.
    "tell-category" ("category") "your dog's category today is {category}"
    "tell-second-window" ("from", "to") "the second measure is due from {from} to {to}"
    "tell-definitive" ("category") "the category {category} is definitive"
    "tell-until" ("date") "it is good until {date}"
    "tell-event-only" () "it is good for this event only"
    "tell-referred" () "the body decides and will write to you"
    "tell-further" () "a further measure is needed"
    "tell-by-organiser" () "the organiser will tell you"
    "tell-by-office" () "the office will tell you"
    "tell-not-today" () "your dog was not measured today; bring it again"
    // The record book.
    "book-missing" ("text") "the record book lacks the entry '{text}'"
    "book-differs" ("text", "one", "other") "{text}: the book says {one}, the office {other}"
    "book-measure-unknown" ("date") "the book shows a measure of {date} that the office does not know"
    "book-measure-lacking" ("date", "category") "the office knows a measure of {date} ({category}) that the book lacks"
    "book-measure-differs" ("date", "one", "other") "measure of {date}: the book says {one}, the office {other}"
    "book-measure-undated" () "a measure in the book has no date"
    "book-measure-no-category" ("date") "the measure of {date} in the book has no category"
    "book-measure-bad-category" ("date", "text") "the measure of {date} in the book names '{text}', which is no category of these rules"
    "book-measure-unsigned" ("date", "count", "needed") "the measure of {date} carries {count} signatures, {needed} are needed"
    "book-measure-future" ("date") "the book shows a measure of {date}, after today"
    "book-measure-before-birth" ("date") "the book shows a measure of {date}, before the dog was born"
    "book-born-future" ("date") "the book's date of birth {date} lies in the future"
    "book-measures-disordered" ("date") "the measures in the book are not in order of date: {date}"
    "book-measure-twice" ("date") "the book shows two measures of {date}"
    "book-chip-differs" ("one", "other") "chip: the book says {one}, the reader {other}"
    // What to do about it.
    "do-handler-completes" () "ask the handler to complete it in ink before the dog is measured"
    "do-point-out" () "measure, and point it out on the return"
    "do-not-measure" () "do not measure; the handler asks the office to put it right"
    "do-ask-office" () "measure, keep both entries, and let the office decide"
    "do-write-in" () "write the entry into the book from what the office knows, both measurers signing it"
    "do-ask-handler" () "ask the handler which is right, note it, and point it out on the return"
    "do-come-back" ("from", "to") "do not measure; tell the handler to come from {from} to {to}"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_is_once_and_names_its_arguments() {
        for (i, k) in KEYS.iter().enumerate() {
            assert!(!KEYS[..i].iter().any(|o| o.key == k.key), "{} twice", k.key);
            let used = k.english.matches('{').count();
            for arg in k.args {
                assert!(
                    k.english.contains(&format!("{{{arg}}}")),
                    "{}: {arg}",
                    k.key
                );
            }
            assert_eq!(used, k.args.len(), "{}", k.key);
        }
    }

    #[test]
    fn english_fills_in_the_arguments() {
        let r = Reason::new("flat-within", "x")
            .with("gauge", GaugeId::from("hoop-35"))
            .with("height", Length::from_mm(350));
        assert_eq!(r.english(), "base flat on hoop-35 (350 mm): within");
        let text = serde_json::to_string(&r).unwrap();
        assert_eq!(serde_json::from_str::<Reason>(&text).unwrap(), r);
    }
}
