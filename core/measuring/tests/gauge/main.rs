//! Checks of the gauge statistics from outside, in one program.

mod engine;
mod hoops;
mod oracles;
mod practice;
mod published;
mod risks;
mod simulation;
mod support;
mod year;
