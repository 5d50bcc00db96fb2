//! Turnwright reads plain-text specs of turned parts and bar lathes and answers: which machine, in which mode, with which
//! attachments, why, how long to set up, how long a piece takes and what it costs.
//!
//! The floors of the house, each using only those below it, are listed in DEVELOPERS.md and checked by `tests/tidy.rs`.

pub mod calibration;
pub mod cli;
pub mod costing;
pub mod fleet;
pub mod formulas;
pub mod lang;
pub mod matching;
pub mod model;
pub mod planning;
pub mod quantity;
pub mod register;
pub mod report;
pub mod tables;
