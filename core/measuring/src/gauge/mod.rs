//! How sure a verdict is: go/no-go gauge statistics, hoop checks, practice.
//!
//! Nothing here decides a category: [`crate::judge()`] does that, and the numbers here say how
//! often it comes out right. A placing's spread and bias come from the body's own data or from
//! the body itself, never from us. Every estimate carries how much it rests on, and below a stated
//! minimum nothing is said. See `core/measuring/docs/gauge.md`.

pub mod agreement;
pub mod changes;
pub mod drift;
pub mod hoop;
mod model;
pub mod normal;
pub mod pooled;
pub mod practice;
pub mod probit;
mod profile;
mod proportion;
pub mod risk;
mod ways;
mod year;

pub use model::{ModelFault, Placer};
pub use probit::{Cell, Estimate, Fit, FitFault, fit};
pub use profile::profile;
pub use proportion::{Least, Share, TooFew, share};
pub use ways::{Odds, Ways, Worth, hoops_alone, worth};
pub use year::{Known, OfMeasurer, Report, Year};
