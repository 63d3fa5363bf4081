//! The shape of a rule pack's TOML. Each struct is a table of the file, each field a key; the
//! published JSON Schema says the same. What the numbers must satisfy together is in `check`.

mod care;
mod limits;
mod measures;
mod people;
mod procedures;
mod sureness;

pub use care::*;
pub use limits::*;
pub use measures::*;
pub use people::*;
pub use procedures::*;
pub use sureness::*;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::dates::pack_date;
use crate::pack::read::table;

/// The pack format that this core writes. Older ones stay readable.
pub const FORMAT: u32 = 1;

/// A whole rule pack as written.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PackDoc {
    /// The format's version: 1.
    pub format: u32,
    /// Whose rules these are and when they hold.
    pub pack: About,
    /// What holds for all categories.
    #[serde(default)]
    pub limits: Limits,
    /// Height categories, lowest first.
    pub category: Vec<Category>,
    /// Gauges that may be used.
    pub gauge: Vec<Gauge>,
    /// How hoops are read.
    #[serde(default)]
    pub hoops: Hoops,
    /// Who measures.
    pub measurers: Measurers,
    /// How a category is found at the table.
    pub procedure: Vec<Procedure>,
    /// How many measures, when, and what becomes of differing ones.
    pub measures: Measures,
    /// What a measure at which age is worth; none: any age.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub age: Vec<AgeBand>,
    /// What happens below the youngest age, or where the date of birth is not known.
    #[serde(default)]
    pub age_rules: AgeRules,
    /// Zones near a limit with rules of their own.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub border: Vec<Border>,
    /// When independent measurers find different categories.
    #[serde(default)]
    pub disagreement: Disagreement,
    /// Measuring again by a panel; none: not provided for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remeasure: Option<Remeasure>,
    /// Measuring for one event only; none: not provided for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub event_measure: Option<EventMeasure>,
    /// The same dog again on one day, and attempts broken off.
    #[serde(default)]
    pub again: Again,
    /// Which dog it is.
    #[serde(default)]
    pub identity: Identity,
    /// How the dog stands.
    #[serde(default)]
    pub stance: Stance,
    /// What it stands on.
    #[serde(default)]
    pub surface: Surface,
    /// The order of the steps before the placings.
    #[serde(default)]
    pub steps: Steps,
    /// What the record book must hold.
    #[serde(default)]
    pub book: Book,
    /// How long records are kept.
    #[serde(default)]
    pub records: Records,
    /// What the body knows of how its placings scatter; none: nothing is said of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sureness: Option<Sureness>,
}

table!(PackDoc {
    format,
    pack,
    limits = Limits::default(),
    category,
    gauge,
    hoops = Hoops::default(),
    measurers,
    procedure,
    measures,
    age = Vec::new(),
    age_rules = AgeRules::default(),
    border = Vec::new(),
    disagreement = Disagreement::default(),
    remeasure = None,
    event_measure = None,
    again = Again::default(),
    identity = Identity::default(),
    stance = Stance::default(),
    surface = Surface::default(),
    steps = Steps::default(),
    book = Book::default(),
    records = Records::default(),
    sureness = None,
});

/// Whose rules these are and when they hold.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct About {
    /// A short name without spaces, the same over all editions.
    pub id: String,
    /// Which edition of the rules, as the body calls it.
    pub edition: String,
    /// The name shown.
    pub name: String,
    /// The first day on which they hold.
    #[serde(with = "pack_date")]
    #[cfg_attr(test, schemars(with = "NaiveDate"))]
    pub valid_from: NaiveDate,
    /// The last day on which they hold; none: until further notice.
    #[serde(
        default,
        with = "pack_date::option",
        skip_serializing_if = "Option::is_none"
    )]
    #[cfg_attr(test, schemars(with = "Option<NaiveDate>"))]
    pub valid_to: Option<NaiveDate>,
    /// Where the rules are published.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// Invented rules for showing the app: everything made under them says 'demo, not official'.
    #[serde(default)]
    pub demo: bool,
}

table!(About { id, edition, name, valid_from, valid_to = None, source = None, demo = false });
