//! `schema`: the published shape of each answer's JSON.

use super::{Exit, World};
use crate::report::answer::RankAnswer;
use crate::report::buy::BuyAnswer;
use crate::report::calibration::CalibrationAnswer;
use crate::report::explain::RuleAnswer;
use crate::report::lookup;
use crate::report::mix::MixAnswer;
use crate::report::quote::{QuoteAnswer, SoldQuote};
use crate::report::register::{Difference, Kept};
use crate::report::schema::schema;
use crate::report::setup::{ChangeAnswer, MatrixAnswer};
use crate::report::sheet::SheetAnswer;
use crate::report::why::{BeforeAnswer, WhyAnswer};
use clap::ValueEnum;

/// Print the JSON Schema of an answer
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: turnwright schema quote")]
pub(super) struct Args {
    /// The answer
    #[arg(value_enum, value_name = "ANSWER")]
    answer: Answer,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Answer {
    /// Of `rank` and `mode`
    Ranking,
    Plan,
    /// Of `quote` for the shop
    Quote,
    /// Of `quote --reader customer`
    Sold,
    /// Of `setup` from job to job
    Setup,
    /// Of `setup --matrix`
    Matrix,
    /// Of `why` for one machine
    Why,
    /// Of `why` for two machines
    Before,
    /// Of `explain`
    Rule,
    Lookup,
    Mix,
    Buy,
    /// Of `quotes list`
    Quotes,
    /// Of `quotes compare`
    Differences,
    /// Of `calibrate`
    Calibration,
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let shape = match args.answer {
        Answer::Ranking => schema::<Vec<RankAnswer>>(),
        Answer::Plan => schema::<Vec<SheetAnswer>>(),
        Answer::Quote => schema::<Vec<QuoteAnswer>>(),
        Answer::Sold => schema::<Vec<SoldQuote>>(),
        Answer::Setup => schema::<ChangeAnswer>(),
        Answer::Matrix => schema::<MatrixAnswer>(),
        Answer::Why => schema::<Vec<WhyAnswer>>(),
        Answer::Before => schema::<Vec<BeforeAnswer>>(),
        Answer::Rule => schema::<RuleAnswer>(),
        Answer::Lookup => schema::<lookup::Answer>(),
        Answer::Mix => schema::<MixAnswer>(),
        Answer::Buy => schema::<BuyAnswer>(),
        Answer::Quotes => schema::<Vec<Kept>>(),
        Answer::Differences => schema::<Vec<Difference>>(),
        Answer::Calibration => schema::<CalibrationAnswer>(),
    };
    world.say_json(&shape)?;
    Ok(Exit::Fine)
}
