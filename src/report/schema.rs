//! The shape of each answer's JSON, as a JSON Schema (draft 2020-12).

use super::answer::RankAnswer;
use super::explain::RuleAnswer;
use super::lookup;
use super::quote::QuoteAnswer;
use super::register::{Difference, Kept};
use super::setup::{ChangeAnswer, MatrixAnswer};
use super::sheet::SheetAnswer;
use super::why::{BeforeAnswer, WhyAnswer};
use schemars::{Schema, schema_for};

/// An answer whose JSON has a published shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// Of `rank` and `mode`.
    Ranking,
    Plan,
    Quote,
    /// Of `setup` from job to job.
    Setup,
    /// Of `setup --matrix`.
    Matrix,
    /// Of `why` for one machine.
    Why,
    /// Of `why` for two machines.
    Before,
    Rule,
    Lookup,
    /// Of `quotes list`.
    Quotes,
    /// Of `quotes compare`.
    Differences,
}

/// The schema of an answer.
pub fn schema(of: Of) -> Schema {
    match of {
        Of::Ranking => schema_for!(Vec<RankAnswer>),
        Of::Plan => schema_for!(Vec<SheetAnswer>),
        Of::Quote => schema_for!(Vec<QuoteAnswer>),
        Of::Setup => schema_for!(ChangeAnswer),
        Of::Matrix => schema_for!(MatrixAnswer),
        Of::Why => schema_for!(Vec<WhyAnswer>),
        Of::Before => schema_for!(BeforeAnswer),
        Of::Rule => schema_for!(RuleAnswer),
        Of::Lookup => schema_for!(lookup::Answer),
        Of::Quotes => schema_for!(Vec<Kept>),
        Of::Differences => schema_for!(Vec<Difference>),
    }
}
