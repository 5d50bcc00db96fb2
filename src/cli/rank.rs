//! `rank`: machines and modes for a part, best first, with reasons.

use super::{Exit, World, html, inquiry};
use crate::matching::{By, fit, rank};
use crate::report::answer::{FitAnswer, RankAnswer, answer};
use crate::report::page::{self, Case, Kind};
use crate::report::rank::Detail;
use crate::report::{self, csv};
use clap::ValueEnum;
use std::path::PathBuf;

/// Rank machines and modes for a part, with setup time, cycle time, cost and reasons in numbers
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: turnwright rank parts/anchor-screw.turn --quantity 2000")]
pub(super) struct Args {
    /// Part specs, or folders of them
    #[arg(required = true, value_name = "PART")]
    parts: Vec<PathBuf>,
    #[command(flatten)]
    from: inquiry::From,
    /// Order quantity that decides the order of the rows [default: the first of the part's own]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=1_000_000_000))]
    quantity: Option<u64>,
    /// What orders the rows
    #[arg(long, value_enum, default_value = "cost", value_name = "FIGURE")]
    by: ByArg,
    /// Print every finding, not only the deciding ones
    #[arg(long)]
    all_reasons: bool,
    /// Search for each refused row what would make it fit, verified by planning again, cheapest first
    #[arg(long)]
    fit: bool,
    /// How the answer is printed
    #[arg(long, value_enum, default_value = "table", value_name = "FORMAT")]
    format: Format,
    /// Also write the answer as a page with the drawing of each part, for a browser or a printer
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
}

/// How an answer is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    Table,
    Json,
    Csv,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum ByArg {
    Cost,
    Setup,
    Cycle,
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let inquiry = inquiry::read(world, &args.parts, &args.from)?;
    let by = match args.by {
        ByArg::Cost => By::Cost,
        ByArg::Setup => By::Setup,
        ByArg::Cycle => By::Cycle,
    };
    let answers: Vec<RankAnswer> = inquiry
        .parts
        .iter()
        .map(|part| {
            let ranking = rank(part, &inquiry.machines, &inquiry.shop, args.quantity, by);
            let mut told = answer(part, &inquiry.machines, &inquiry.shop, &ranking, by);
            if args.fit {
                for (row, said) in ranking.rows.iter().zip(&mut told.rows) {
                    let machine = &inquiry.machines[row.machine];
                    let found = fit::fits(part, machine, &inquiry.shop, row, ranking.quantity);
                    said.fits = found.iter().map(FitAnswer::from).collect();
                }
            }
            told
        })
        .collect();
    if let Some(path) = &args.html {
        html::check(world, path, &inquiry.sources)?;
        let case = |((part, source), answer)| Case { part, source, answer };
        let cases: Vec<Case> = html::drawn(&inquiry).into_iter().zip(&answers).map(case).collect();
        world.write(path, &page::html(&cases, Kind::Ranking))?;
    }
    let style = world.style();
    match args.format {
        Format::Table => {
            let detail = if args.all_reasons { Detail::All } else { Detail::Deciding };
            for (i, a) in answers.iter().enumerate() {
                if i > 0 {
                    world.say("\n");
                }
                world.say(&report::rank::text(a, detail, args.fit, style));
            }
        }
        Format::Json => world.say_json(&answers)?,
        Format::Csv => world.say(&csv::ranking(&answers)),
    }
    Ok(if answers.iter().all(RankAnswer::anything_fits) { Exit::Fine } else { Exit::Findings })
}
