//! `plan`: the operation sheet of a part on a machine.

use super::rank::Format;
use super::{Exit, World, html, inquiry, machine};
use crate::matching::worth::{with_owned, worth};
use crate::matching::{By, rank, ranking};
use crate::model::machine::{Machine, ModeKind};
use crate::model::{Part, Shop};
use crate::report::answer::answer;
use crate::report::page::{self, Job};
use crate::report::sheet::{self, SheetAnswer, csv};
use crate::report::workbook;
use clap::ValueEnum;
use std::path::PathBuf;

/// Plan a part on a machine: operation sheet, timeline, tools in their places, setup
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: turnwright plan parts/valve-spool.turn --machine gang-20 --alternatives")]
pub(super) struct Args {
    /// Part specs, or folders of them
    #[arg(required = true, value_name = "PART")]
    parts: Vec<PathBuf>,
    /// The machine, by its name
    #[arg(long, value_name = "NAME")]
    machine: String,
    /// The way of holding the bar [default: the best one]
    #[arg(long, value_enum, value_name = "MODE")]
    mode: Option<ModeArg>,
    /// Plan as if one more of this attachment of the machine were at hand; may be given again
    #[arg(long = "option", value_name = "NAME")]
    options: Vec<String>,
    /// Show for each feature the ways not taken, and why
    #[arg(long)]
    alternatives: bool,
    /// Show the job without and with this attachment; without a name, each attachment of the machine
    #[arg(long, value_name = "NAME", num_args = 0..=1, default_missing_value = "")]
    compare: Option<String>,
    #[command(flatten)]
    from: inquiry::From,
    /// Order quantity [default: the first of the part's own]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=1_000_000_000))]
    quantity: Option<u64>,
    /// How the sheet is printed
    #[arg(long, value_enum, default_value = "table", value_name = "FORMAT")]
    format: Format,
    /// Also write the sheet as a page with the drawing of each part, for a browser or a printer
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
    /// Also write the answer as a workbook for a spreadsheet
    #[arg(long, value_name = "FILE")]
    xlsx: Option<PathBuf>,
}

/// A way of holding the bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum ModeArg {
    Guided,
    Collet,
    Supported,
}

impl ModeArg {
    pub(super) fn kind(self) -> ModeKind {
        match self {
            ModeArg::Guided => ModeKind::Guided,
            ModeArg::Collet => ModeKind::Collet,
            ModeArg::Supported => ModeKind::Supported,
        }
    }
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let inquiry = inquiry::read(world, &args.parts, &args.from)?;
    let machine = machine::named(world, &inquiry.machines, &args.machine)?;
    let mode = machine::mode(world, machine, args.mode)?;
    let mut shop = inquiry.shop.clone();
    for name in &args.options {
        machine::option(world, machine, name)?;
        let owned = shop.machines.get(&machine.name).and_then(|m| m.owned.get(name)).copied().unwrap_or(0);
        shop = with_owned(&shop, machine, name, owned.saturating_add(1));
    }
    let compared: Vec<usize> = match args.compare.as_deref() {
        None => Vec::new(),
        Some("") => (0..machine.options.len()).collect(),
        Some(name) => vec![machine::option(world, machine, name)?],
    };
    let mut sheets = Vec::new();
    for part in &inquiry.parts {
        match one(args, part, machine, mode, &shop, &compared) {
            Ok(sheet) => sheets.push(sheet),
            Err(words) => {
                return Err(world.unable(format!("`{}` cannot be planned on `{}`: {words}", part.name, machine.name)));
            }
        }
    }
    if let Some(path) = &args.html {
        let job = |((part, source), sheet)| Job { part, source, sheet };
        let jobs: Vec<Job> = html::drawn(&inquiry.parts, &inquiry.sources).into_iter().zip(&sheets).map(job).collect();
        world.write_answer(path, page::jobs(&jobs).as_bytes(), &inquiry.sources)?;
    }
    if let Some(path) = &args.xlsx {
        world.write_workbook(path, workbook::plan(&sheets), &inquiry.sources)?;
    }
    let style = world.style();
    match args.format {
        Format::Table => {
            for (i, s) in sheets.iter().enumerate() {
                if i > 0 {
                    world.say("\n");
                }
                world.say(&sheet::text::text(s, style));
            }
        }
        Format::Json => world.say_json(&sheets)?,
        Format::Csv => sheets.iter().for_each(|s| world.say(&csv::sheet(s))),
    }
    Ok(if sheets.iter().all(SheetAnswer::possible) { Exit::Fine } else { Exit::Findings })
}

/// The sheet of one part, or why there is none.
fn one(
    args: &Args,
    part: &Part,
    machine: &Machine,
    mode: Option<ModeKind>,
    shop: &Shop,
    compared: &[usize],
) -> Result<SheetAnswer, String> {
    let machines = std::slice::from_ref(machine);
    let mut ranking = rank(part, machines, shop, args.quantity, By::Cost);
    ranking.rows.retain(|r| mode.is_none_or(|m| m == r.mode));
    let Some(row) = ranking.rows.first() else {
        return Err(ranking
            .failed
            .first()
            .map_or_else(|| "no way of holding it".to_owned(), |(_, _, e)| e.to_string()));
    };
    let told = answer(part, machines, shop, &ranking, By::Cost);
    let mut sheet = sheet::sheet(part, machine, row, &told, 0);
    if args.alternatives {
        let found = ranking::alternatives(part, machine, shop, &ranking, row, By::Cost).map_err(|e| e.to_string())?;
        sheet.alternatives = sheet::alternative_lines(part, &found);
    }
    let value = |option: &usize| sheet::worth_answer(&worth(part, machine, mode, shop, *option, args.quantity));
    sheet.worth = compared.iter().map(value).collect();
    Ok(sheet)
}
