//! Rules judge plans; a ranking orders machines and modes by what they cost, with the reasons in numbers.

pub mod algebra;
pub mod cautions;
pub mod finding;
pub mod fit;
mod geometry;
pub mod quoting;
pub mod ranking;
pub mod remarks;
pub mod rules;
pub mod setups;
pub mod term;
pub mod worth;

pub use finding::{Figure, Finding, Verdict};
pub use ranking::{By, Ranking, Row, Standing, rank};
