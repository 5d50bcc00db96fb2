//! `rank`: machines and modes for a part, best first, with reasons.

use super::batch::{self, Job, JsonList};
use super::inquiry::{self, Inquiry};
use super::{Exit, World, html};
use crate::matching::{By, fit, rank};
use crate::model::Part;
use crate::report::answer::{FitAnswer, RankAnswer, answer};
use crate::report::page::{self, Case, Kind};
use crate::report::rank::Detail;
use crate::report::workbook;
use crate::report::{self, csv};
use clap::ValueEnum;
use std::path::PathBuf;

/// Rank machines and modes for a part, with setup time, cycle time, cost and reasons in numbers
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: turnwright rank parts/anchor-screw.turn --quantity 2000")]
pub(super) struct Args {
    /// Part specs, folders of them, or sheets of inquiries as CSV or XLSX
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
    /// Also write the answer as a workbook for a spreadsheet
    #[arg(long, value_name = "FILE")]
    xlsx: Option<PathBuf>,
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
    let batch = batch::read(world, &args.parts, &args.from)?;
    if args.html.is_some() && batch.has_lines() {
        return Err(world.unable("a page shows the parts of specs; name the specs instead of the sheet"));
    }
    let by = match args.by {
        ByArg::Cost => By::Cost,
        ByArg::Setup => By::Setup,
        ByArg::Cycle => By::Cycle,
    };
    let work = |inquiry: &Inquiry, job: &Job| -> Vec<RankAnswer> {
        let of = |part| RankAnswer { reference: job.reference.clone(), ..ranked(args, inquiry, part, job, by) };
        job.parts.iter().map(of).collect()
    };
    let style = world.style();
    let detail = if args.all_reasons { Detail::All } else { Detail::Deciding };
    let (mut list, mut told, mut fine) = (JsonList::default(), 0, true);
    let mut shown: (Vec<Part>, Vec<RankAnswer>) = Default::default();
    if args.format == Format::Csv {
        world.say(&csv::head());
    }
    let (sound, inquiry) = batch.answer(world, work, |world, _, job, answers| {
        for answer in &answers {
            match args.format {
                Format::Table => {
                    if told > 0 {
                        world.say("\n");
                    }
                    world.say(&report::rank::text(answer, detail, args.fit, style));
                }
                Format::Json => list.add(world, answer)?,
                Format::Csv => world.say(&csv::ranking(answer)),
            }
            told += 1;
            fine &= answer.anything_fits();
        }
        if args.html.is_some() || args.xlsx.is_some() {
            shown.0.extend(job.parts);
            shown.1.extend(answers);
        }
        Ok(())
    })?;
    if args.format == Format::Json {
        list.end(world);
    }
    if let Some(path) = &args.xlsx {
        world.write_workbook(path, workbook::ranking(&shown.1), &inquiry.sources)?;
    }
    if let Some(path) = &args.html {
        let case = |((part, source), answer)| Case { part, source, answer };
        let cases: Vec<Case> = html::drawn(&shown.0, &inquiry.sources).into_iter().zip(&shown.1).map(case).collect();
        world.write_answer(path, page::html(&cases, Kind::Ranking).as_bytes(), &inquiry.sources)?;
    }
    Ok(if fine && sound { Exit::Fine } else { Exit::Findings })
}

fn ranked(args: &Args, inquiry: &Inquiry, part: &Part, job: &Job, by: By) -> RankAnswer {
    let ranking = rank(part, &inquiry.machines, &inquiry.shop, job.quantity.or(args.quantity), by);
    let mut told = answer(part, &inquiry.machines, &inquiry.shop, &ranking, by);
    if args.fit {
        for (row, said) in ranking.rows.iter().zip(&mut told.rows) {
            let machine = &inquiry.machines[row.machine];
            let found = fit::fits(part, machine, &inquiry.shop, row, ranking.quantity);
            said.fits = found.iter().map(FitAnswer::from).collect();
        }
    }
    told
}
