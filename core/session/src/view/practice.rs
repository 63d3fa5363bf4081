//! The screens of practice and own figures.

use super::Text;
use super::parts::{SignSeat, StopChoice};
use crate::act::PlacingSeen;
use serde::{Deserialize, Serialize};

record! {
    /// Screen: who practises, or looks at their own figures.
    pub struct PracticeScreen {
        /// To choose from.
        people: Vec<StopChoice>,
    }

    /// Screen: one person's own figures, from this phone's records alone.
    pub struct OwnScreen {
        /// Their name.
        name: String,
        /// That there is nothing yet.
        empty: Option<Text>,
        /// Figures in words.
        figures: Vec<Text>,
        /// Charts.
        charts: Vec<Chart>,
    }

    /// A control chart, as data. Numbers are thousandths of a unit.
    pub struct Chart {
        /// Which.
        id: String,
        /// What it shows.
        title: Text,
        /// The same in words, all together.
        said: Text,
        /// Lower end of the scale.
        from: i32,
        /// Upper end of the scale.
        to: i32,
        /// What the upper end means.
        top: Text,
        /// What the lower end means.
        bottom: Text,
        /// Where the middle line lies.
        middle: i32,
        /// Oldest first.
        points: Vec<ChartPoint>,
        /// Why there are none.
        silence: Option<Text>,
    }

    /// One point of a chart.
    pub struct ChartPoint {
        /// Its day, ISO.
        day: String,
        /// What is drawn.
        value: i32,
        /// Lower control limit.
        low: i32,
        /// Upper control limit.
        high: i32,
        /// Whether it lies outside the limits.
        outside: bool,
    }

    /// Screen: one placing of a drill. The trainer holds the phone and sets the model dog; who
    /// practises does not see it.
    pub struct DrillScreen {
        /// Who practises.
        name: String,
        /// The hoop's label.
        hoop: String,
        /// This placing's number, from 1.
        number: u32,
        /// How many there are.
        of: u32,
        /// The height to set the model to, micrometres.
        set_to_um: i64,
    }

    /// One placing of a drill, after it.
    pub struct FeedbackLine {
        /// Its number, from 1.
        number: u32,
        /// The model's height, micrometres.
        height_um: i64,
        /// What was seen.
        seen: PlacingSeen,
        /// Whether that was right; absent where it counts for nothing.
        right: Option<bool>,
    }

    /// Screen: how a drill went, and who signs the record of it.
    pub struct FeedbackScreen {
        /// Who practised.
        name: String,
        /// How many were right.
        right: Text,
        /// Every placing.
        lines: Vec<FeedbackLine>,
        /// What the signature is for, or that it is there.
        who_signs: Text,
        /// Trainers who can sign on this phone.
        seats: Vec<SignSeat>,
        /// Fewest digits.
        min_digits: u32,
        /// Most digits.
        max_digits: u32,
    }

    /// Screen: what a trainee would have found. It shows nothing of what the measurers found.
    pub struct ShadowScreen {
        /// The trainee's name.
        name: String,
        /// To choose from.
        categories: Vec<StopChoice>,
    }
}
