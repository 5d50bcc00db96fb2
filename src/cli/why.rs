//! `why`: the reasons of one machine down to their sources, or one machine before another term by term.

use super::plan::ModeArg;
use super::{Exit, World, inquiry, machine};
use crate::matching::ranking::reckoned;
use crate::matching::{By, Row, rank};
use crate::model::figure::Place;
use crate::report::answer::{RowAnswer, answer};
use crate::report::why;
use clap::ValueEnum;
use std::path::PathBuf;

/// Walk the reasons for a machine from the verdict to the numbers and their sources; or, with two machines, say why one
/// stands before the other
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  turnwright why parts/valve-spool.turn fixed-65\n  turnwright why parts/valve-spool.turn gang-20 switch-36"
)]
pub(super) struct Args {
    /// A part spec
    #[arg(value_name = "PART")]
    part: PathBuf,
    /// The machine, by its name
    #[arg(value_name = "MACHINE")]
    machine: String,
    /// Another machine to compare it with
    #[arg(value_name = "OTHER")]
    other: Option<String>,
    /// The way of holding the bar [default: of one machine all, of two the best of each]
    #[arg(long, value_enum, value_name = "MODE")]
    mode: Option<ModeArg>,
    #[command(flatten)]
    from: inquiry::From,
    /// Order quantity [default: the first of the part's own]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=1_000_000_000))]
    quantity: Option<u64>,
    /// How the answer is printed
    #[arg(long, value_enum, default_value = "table", value_name = "FORMAT")]
    format: Format,
}

/// How the reasons are printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    Table,
    Json,
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let inquiry = inquiry::read(world, std::slice::from_ref(&args.part), &args.from)?;
    let mut machines = vec![machine::named(world, &inquiry.machines, &args.machine)?.clone()];
    if let Some(other) = &args.other {
        machines.push(machine::named(world, &inquiry.machines, other)?.clone());
    }
    let mode = machine::mode(world, &machines[0], args.mode)?;
    let style = world.style();
    let sources = &inquiry.sources;
    let at = |place: Place| format!("{}:{}", sources.name(place.file), sources.line_column(place).0);
    let mut data = Vec::new();
    let mut out = String::new();
    for part in &inquiry.parts {
        let mut ranking = rank(part, &machines, &inquiry.shop, args.quantity, By::Cost);
        ranking.rows.retain(|r| mode.is_none_or(|m| m == r.mode));
        let told = answer(part, &machines, &inquiry.shop, &ranking, By::Cost);
        let pairs: Vec<(&Row, &RowAnswer)> = ranking.rows.iter().zip(&told.rows).collect();
        if args.other.is_none() {
            for (row, told_row) in &pairs {
                let findings = reckoned(part, &machines[row.machine], &inquiry.shop, row);
                let answer = why::why(part, told_row, &findings, &at, &inquiry.shop);
                out.push_str(&why::text(&answer, style));
                out.push('\n');
                data.push(serde_json::to_value(&answer));
            }
            continue;
        }
        let best = |machine: usize| pairs.iter().find(|(r, _)| r.machine == machine);
        let (Some(a), Some(b)) = (best(0), best(1)) else {
            let words = format!("error: `{}` cannot be planned on both machines that way", part.name);
            world.complain(&words);
            return Err(Exit::Unable);
        };
        // The rows stand in the order of the ranking: the earlier one is the better.
        let place = |row: &RowAnswer| told.rows.iter().position(|r| std::ptr::eq(r, row));
        let (first, second) = if place(a.1) <= place(b.1) { (a, b) } else { (b, a) };
        let answer = why::before(&told, first.1, second.1, first.0.is_like(second.0));
        out.push_str(&why::before_text(&answer, style));
        data.push(serde_json::to_value(&answer));
    }
    match args.format {
        Format::Table => world.say(&out),
        Format::Json => {
            let values: Vec<serde_json::Value> = data.into_iter().filter_map(Result::ok).collect();
            world.say_json(&values)?;
        }
    }
    Ok(Exit::Fine)
}
