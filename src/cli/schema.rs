//! `schema`: the published shape of each answer's JSON.

use super::{Exit, World};
use crate::report::schema::{Of, schema};
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
    let of = match args.answer {
        Answer::Ranking => Of::Ranking,
        Answer::Plan => Of::Plan,
        Answer::Quote => Of::Quote,
        Answer::Sold => Of::Sold,
        Answer::Setup => Of::Setup,
        Answer::Matrix => Of::Matrix,
        Answer::Why => Of::Why,
        Answer::Before => Of::Before,
        Answer::Rule => Of::Rule,
        Answer::Lookup => Of::Lookup,
        Answer::Mix => Of::Mix,
        Answer::Buy => Of::Buy,
        Answer::Quotes => Of::Quotes,
        Answer::Differences => Of::Differences,
        Answer::Calibration => Of::Calibration,
    };
    world.say_json(&schema(of))?;
    Ok(Exit::Fine)
}
