//! The shape of each answer's JSON, as a JSON Schema (draft 2020-12).

use super::answer::RankAnswer;
use super::buy::BuyAnswer;
use super::calibration::CalibrationAnswer;
use super::explain::RuleAnswer;
use super::lookup;
use super::mix::MixAnswer;
use super::quote::{QuoteAnswer, SoldQuote};
use super::register::{Difference, Kept};
use super::setup::{ChangeAnswer, MatrixAnswer};
use super::sheet::SheetAnswer;
use super::why::{BeforeAnswer, WhyAnswer};
use schemars::Schema;
use schemars::generate::SchemaSettings;

/// An answer whose JSON has a published shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// Of `rank` and `mode`.
    Ranking,
    Plan,
    /// Of `quote` for the shop.
    Quote,
    /// Of `quote` for a customer.
    Sold,
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
    Mix,
    Buy,
    /// Of `quotes list`.
    Quotes,
    /// Of `quotes compare`.
    Differences,
    /// Of `calibrate`.
    Calibration,
}

/// The schema of an answer, as it is written: what may be left out is not demanded.
pub fn schema(of: Of) -> Schema {
    let shapes = SchemaSettings::draft2020_12().for_serialize().into_generator();
    match of {
        Of::Ranking => shapes.into_root_schema_for::<Vec<RankAnswer>>(),
        Of::Plan => shapes.into_root_schema_for::<Vec<SheetAnswer>>(),
        Of::Quote => shapes.into_root_schema_for::<Vec<QuoteAnswer>>(),
        Of::Sold => shapes.into_root_schema_for::<Vec<SoldQuote>>(),
        Of::Setup => shapes.into_root_schema_for::<ChangeAnswer>(),
        Of::Matrix => shapes.into_root_schema_for::<MatrixAnswer>(),
        Of::Why => shapes.into_root_schema_for::<Vec<WhyAnswer>>(),
        Of::Before => shapes.into_root_schema_for::<Vec<BeforeAnswer>>(),
        Of::Rule => shapes.into_root_schema_for::<RuleAnswer>(),
        Of::Lookup => shapes.into_root_schema_for::<lookup::Answer>(),
        Of::Mix => shapes.into_root_schema_for::<MixAnswer>(),
        Of::Buy => shapes.into_root_schema_for::<BuyAnswer>(),
        Of::Quotes => shapes.into_root_schema_for::<Vec<Kept>>(),
        Of::Calibration => shapes.into_root_schema_for::<CalibrationAnswer>(),
        Of::Differences => shapes.into_root_schema_for::<Vec<Difference>>(),
    }
}
