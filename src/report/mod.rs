//! One result, many printers. An answer is a plain serialisable structure: JSON is the structure itself, and the tables
//! for people are printed from it, so a change of layout cannot change the data.

pub mod answer;
pub mod buy;
pub mod calibration;
mod corrections;
pub mod csv;
pub mod drawing;
pub mod explain;
pub mod lookup;
pub mod mix;
pub mod mode;
pub mod page;
pub mod quote;
pub mod rank;
pub mod reason;
pub mod reckoning;
pub mod register;
pub mod schema;
pub mod setup;
pub mod sheet;
pub(crate) mod svg;
pub mod text;
pub mod why;
pub mod workbook;

/// The number of the JSON layout. Fields may be added under the same number; removing or renaming one raises it.
pub const SCHEMA: u32 = 1;
