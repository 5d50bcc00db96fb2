//! `buy`: which machine or attachment pays for the work of a mix.

use super::inquiry::{self, Inquiry};
use super::mix::{self, ChanceArg};
use super::rank::Format;
use super::{Exit, World, machine};
use crate::fleet::buy::base::Asked;
use crate::fleet::buy::sets::Judge;
use crate::fleet::buy::study::{Wish, study};
use crate::fleet::buy::{Choices, Item, Outlook, Terms};
use crate::fleet::solver::{Options, Watch};
use crate::model::Machine;
use crate::quantity::Money;
use crate::report::buy as report;
use crate::report::page;
use crate::report::workbook;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Steps of the search for each plan: a study makes hundreds of plans.
const STEPS: u64 = 200;

/// Weigh machines and attachments against the best that can be done without buying
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: turnwright buy parts/mix.yaml --candidate machines/candidates")]
pub(super) struct Args {
    /// The jobs, as YAML, CSV or XLSX; the specs of their parts lie beside it
    #[arg(value_name = "MIX")]
    mix: PathBuf,
    #[command(flatten)]
    from: inquiry::From,
    /// A machine that could be bought: its spec, a folder of specs, or the name of a machine of which one more could be
    #[arg(long, value_name = "MACHINE", num_args = 1..)]
    candidate: Vec<String>,
    /// An attachment that could be bought, MACHINE:NAME or MACHINE:NAME:COUNT [default: each one of owned machines that changes something]
    #[arg(long, value_name = "MACHINE:NAME", num_args = 1..)]
    option: Vec<String>,
    /// Things bought together, at most
    #[arg(long, value_name = "N", default_value_t = 2, value_parser = clap::value_parser!(u8).range(1..=6))]
    most: u8,
    /// A machine that goes when another one comes
    #[arg(long, value_name = "MACHINE")]
    replace: Option<String>,
    /// What may be spent, in the currency of the shop
    #[arg(long, value_name = "AMOUNT", allow_hyphen_values = true)]
    budget: Option<String>,
    /// Jobs at least as sure as this
    #[arg(long, value_enum, default_value = "hoped", value_name = "CHANCE")]
    chance: ChanceArg,
    /// Seed of the draws and of the search
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Draws of volumes and prices; 0 for none
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = clap::value_parser!(u32).range(0..=100_000))]
    draws: u32,
    /// Seconds after which the search is cut: a safety stop, the same seed gives the same answer
    #[arg(long, value_name = "SECONDS", default_value = "600", value_parser = clap::value_parser!(u64).range(1..=86_400))]
    time: u64,
    /// Also write the answer as a page for a browser or a printer
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
    /// Also write the answer as a workbook for a spreadsheet
    #[arg(long, value_name = "FILE")]
    xlsx: Option<PathBuf>,
    /// How the answer is printed
    #[arg(long, value_enum, default_value = "table", value_name = "FORMAT")]
    format: Format,
}

/// Whether a candidate is named by where its spec lies, and not by its own name.
fn is_path(candidate: &str) -> bool {
    let path = Path::new(candidate);
    path.is_file() || path.is_dir() || candidate.contains(['/', '\\']) || candidate.ends_with(".turn")
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let budget = args.budget.as_deref();
    let specs: Vec<PathBuf> = args.candidate.iter().filter(|c| is_path(c)).map(PathBuf::from).collect();
    let asked = mix::read(world, &args.mix, &args.from, &specs)?;
    let Inquiry { machines, shop, .. } = &asked.inquiry;
    let budget = budget.map(|b| amount(b, shop.currency.code())).transpose().map_err(|e| world.unable(e))?;
    let terms = Terms::of(shop).map_err(|e| world.unable(e))?;
    let named = |world: &mut World, name: &str| {
        machine::named(world, machines, name).map(|m: &Machine| machines.iter().position(|o| std::ptr::eq(o, m)))
    };
    let replaced = match &args.replace {
        Some(name) => {
            let found = named(world, name)?;
            if !shop.machines.contains_key(name) {
                return Err(world.unable(format!("the shop has no `{name}` that could go: name one of its machines")));
            }
            found
        }
        None => None,
    };
    let jobs = asked.jobs(args.chance.chance());
    let choices = Choices::new(jobs, machines, shop, asked.mix.years, replaced);
    let mut items = Vec::new();
    for candidate in &args.candidate {
        let found = match is_path(candidate) {
            true => declared(world, &asked.inquiry, candidate)?,
            false => named(world, candidate)?.into_iter().collect(),
        };
        for machine in found.into_iter().map(|machine| Item::Machine { machine }) {
            if !items.contains(&machine) {
                items.push(machine);
            }
        }
    }
    let base = choices.floor(&[]).map_err(|e| world.unable(e))?;
    let useful = choices.useful_options(&base);
    for option in &args.option {
        items.extend(wanted(world, machines, option, &useful)?);
    }
    let closely = items.clone();
    if args.option.is_empty() {
        items.extend(&useful);
    }
    let numbers = choices.jobs();
    let elapsed = world.stopwatch();
    let options = Options {
        seed: args.seed,
        steps: STEPS,
        // The plans are many, and each is made on one core.
        threads: NonZeroUsize::MIN,
        gap: 1e-4,
        watch: Watch {
            interrupted: Some(world.interruption()),
            elapsed: Some(&elapsed),
            limit: Some(Duration::from_secs(args.time)),
        },
    };
    let judge = Judge {
        choices: &choices,
        asked: Asked { jobs: &numbers, years: asked.mix.years, terms: &terms, options: &options },
        outlook: Outlook::plain(numbers.len()),
    };
    let wish = Wish {
        items: &items,
        closely: &closely,
        most: usize::from(args.most),
        budget,
        seed: args.seed,
        draws: args.draws as usize,
    };
    let study = study(&judge, &wish).map_err(|e| world.unable(e))?;
    let told = report::answer(&judge, &wish, &study, &without_price(&choices));
    if let Some(path) = &args.html {
        world.write_answer(path, page::buy(&told).as_bytes(), &asked.inquiry.sources)?;
    }
    if let Some(path) = &args.xlsx {
        world.write_workbook(path, workbook::buy(&told), &asked.inquiry.sources)?;
    }
    match args.format {
        Format::Table => world.say(&report::text(&told, world.style())),
        Format::Json => world.say_json(&told)?,
        Format::Csv => world.say(&report::csv(&told)),
    }
    Ok(if told.pays() && !asked.faults { Exit::Fine } else { Exit::Findings })
}

/// The machines that a spec, or those of a folder, declare.
fn declared(world: &mut World, inquiry: &Inquiry, path: &str) -> Result<Vec<usize>, Exit> {
    let files = world.turn_files(Path::new(path))?;
    let of = |m: &Machine| files.iter().any(|f| f.display().to_string() == inquiry.sources.name(m.place.file));
    let found: Vec<usize> = (0..inquiry.machines.len()).filter(|m| of(&inquiry.machines[*m])).collect();
    if found.is_empty() {
        let words = format!("no machine in `{path}`: a machine spec begins with `machine NAME \"title\" {{`");
        return Err(world.unable(words));
    }
    Ok(found)
}

/// An attachment by its words: as many as are said, else the numbers that change something.
fn wanted(world: &mut World, machines: &[Machine], words: &str, useful: &[Item]) -> Result<Vec<Item>, Exit> {
    let mut pieces = words.split(':');
    let (Some(name), Some(attachment)) = (pieces.next(), pieces.next()) else {
        return Err(world.unable(format!("`{words}` names no attachment of a machine: write `gang-20:angle-head`")));
    };
    let count = match (pieces.next(), pieces.next()) {
        (None, _) => None,
        (Some(count), None) => Some(count.parse::<u32>().ok().filter(|c| (1..=100).contains(c)).ok_or_else(|| {
            world.unable(format!("`{count}` is no number of attachments: write `{name}:{attachment}:2`"))
        })?),
        (Some(_), Some(_)) => return Err(world.unable(format!("`{words}` has one colon too many"))),
    };
    let spec = machine::named(world, machines, name)?;
    let option = machine::option(world, spec, attachment)?;
    let machine = machines.iter().position(|m| std::ptr::eq(m, spec)).unwrap_or_default();
    let known = useful
        .iter()
        .copied()
        .filter(|i| matches!(i, Item::Option { machine: m, option: o, .. } if *m == machine && *o == option));
    let known: Vec<Item> = if count.is_some() { Vec::new() } else { known.collect() };
    Ok(if known.is_empty() { vec![Item::Option { machine, option, count: count.unwrap_or(1) }] } else { known })
}

/// Attachments of owned machines that cannot be weighed.
fn without_price(choices: &Choices) -> Vec<String> {
    let owned = (0..choices.machines().len()).filter(|m| choices.is_owned(*m)).map(|m| &choices.machines()[m]);
    let silent = owned.flat_map(|m| m.options.iter().filter(|o| o.price.is_none()).map(|o| (&m.name, &o.name)));
    silent.map(|(m, o)| format!("`{o}` on `{m}` is left out: its spec states no price")).collect()
}

/// `300_000`, `300_000 EUR`.
fn amount(text: &str, currency: &str) -> Result<Money, String> {
    let bare = text.trim().trim_end_matches(currency).trim_end();
    let digits: String = bare.chars().filter(|c| !matches!(c, '_' | ',')).collect();
    match digits.parse::<f64>() {
        Ok(units) if units.is_finite() && units > 0.0 && units <= 1e12 => Ok(Money::units(units)),
        _ => Err(format!("`{text}` is no budget: write an amount above nothing, such as `300_000 {currency}`")),
    }
}
