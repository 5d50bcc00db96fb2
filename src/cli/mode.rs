//! `mode`: the modes of one machine side by side.

use super::rank::Format;
use super::{Exit, World, html, inquiry, machine};
use crate::matching::{By, Verdict, rank};
use crate::report::answer::{RankAnswer, answer};
use crate::report::page::{self, Case, Kind};
use crate::report::workbook;
use crate::report::{self, csv};
use std::path::PathBuf;

/// Compare the modes of one machine for a part: slenderness, capability, stock, roundness, runout, changeover, cost
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: turnwright mode parts/port-collar.turn --machine switch-36")]
pub(super) struct Args {
    /// Part specs, or folders of them
    #[arg(required = true, value_name = "PART")]
    parts: Vec<PathBuf>,
    /// The machine, by its name
    #[arg(long, value_name = "NAME")]
    machine: String,
    #[command(flatten)]
    from: inquiry::From,
    /// Order quantity that the rows are compared at [default: the first of the part's own]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=1_000_000_000))]
    quantity: Option<u64>,
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

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let inquiry = inquiry::read(world, &args.parts, &args.from)?;
    let machine = machine::named(world, &inquiry.machines, &args.machine)?.clone();
    let machines = std::slice::from_ref(&machine);
    let answers: Vec<RankAnswer> = inquiry
        .parts
        .iter()
        .map(|part| {
            let ranking = rank(part, machines, &inquiry.shop, args.quantity, By::Cost);
            answer(part, machines, &inquiry.shop, &ranking, By::Cost)
        })
        .collect();
    if let Some(path) = &args.html {
        let case = |((part, source), answer)| Case { part, source, answer };
        let cases: Vec<Case> =
            html::drawn(&inquiry.parts, &inquiry.sources).into_iter().zip(&answers).map(case).collect();
        world.write_answer(path, page::html(&cases, Kind::Modes).as_bytes(), &inquiry.sources)?;
    }
    if let Some(path) = &args.xlsx {
        world.write_workbook(path, workbook::ranking(&answers), &inquiry.sources)?;
    }
    let style = world.style();
    match args.format {
        Format::Table => {
            for (i, a) in answers.iter().enumerate() {
                if i > 0 {
                    world.say("\n");
                }
                world.say(&report::mode::text(a, &args.machine, style));
            }
        }
        Format::Json => world.say_json(&answers)?,
        Format::Csv => {
            world.say(&csv::head());
            answers.iter().for_each(|a| world.say(&csv::ranking(a)));
        }
    }
    let possible = answers.iter().all(|a| a.rows.iter().any(|r| r.verdict != Verdict::Refused));
    Ok(if possible { Exit::Fine } else { Exit::Findings })
}
