//! `mix`: a year's work on the machines of the shop.

use super::inquiry::{self, Inquiry};
use super::rank::Format;
use super::{Exit, World, batch};
use crate::fleet::mix::sequence::{Ordered, sequence};
use crate::fleet::mix::{Hours, Work, plan, routes, usual_steps};
use crate::fleet::solver::{Options, Watch};
use crate::lang::Diagnostic;
use crate::lang::shop::{MixText, nearest};
use crate::model::Part;
use crate::model::mix::{Chance, Mix, MixJob};
use crate::report::mix as report;
use crate::report::page;
use crate::report::workbook;
use clap::ValueEnum;
use jiff::civil::Date;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Moves of a lot for each step of the assignment.
const STEPS_OF_SEQUENCE: u64 = 100;
/// The share of the time that the assignment may take where the lots are put in order as well.
const TIME_OF_PLAN: f64 = 0.75;

/// Decide which machine makes which job of a year, in which mode, what is bought out or lost, and why
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: turnwright mix parts/mix.yaml")]
pub(super) struct Args {
    /// The jobs, as YAML, CSV or XLSX; the specs of their parts lie beside it
    #[arg(value_name = "MIX")]
    mix: PathBuf,
    #[command(flatten)]
    from: inquiry::From,
    /// Jobs at least as sure as this
    #[arg(long, value_enum, default_value = "hoped", value_name = "CHANCE")]
    chance: ChanceArg,
    /// Seconds after which the search is cut: a safety stop, the same steps give the same answer
    #[arg(long, value_name = "SECONDS", default_value = "60", value_parser = clap::value_parser!(u64).range(1..=86_400))]
    time: u64,
    /// Distance from the best, in percent, at which to stop; 0 goes on to the proof
    #[arg(long, value_name = "PERCENT", default_value_t = 0.01, value_parser = share)]
    gap: f64,
    /// Effort of the search [default: 2000, or 5 for each job]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=100_000_000))]
    steps: Option<u64>,
    /// Seed of the search
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Put the lots of each machine in order: setups by what ran before, each lot on its day
    #[arg(long)]
    sequence: bool,
    /// The day on which the mix begins, for dates instead of numbers of days
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::quote::day)]
    start: Option<Date>,
    /// Also write the order of the lots as a calendar after RFC 5545
    #[arg(long, value_name = "FILE", requires = "start")]
    ics: Option<PathBuf>,
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

/// How sure a job is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum ChanceArg {
    Booked,
    Likely,
    Hoped,
}

impl ChanceArg {
    pub(super) fn chance(self) -> Chance {
        match self {
            ChanceArg::Booked => Chance::Booked,
            ChanceArg::Likely => Chance::Likely,
            ChanceArg::Hoped => Chance::Hoped,
        }
    }
}

fn share(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(percent) if (0.0..=100.0).contains(&percent) => Ok(percent),
        _ => Err(format!("`{text}` is no percentage from 0 to 100")),
    }
}

/// A mix with its parts, machines and shop.
pub(super) struct Asked {
    pub(super) inquiry: Inquiry,
    pub(super) mix: Mix,
    /// A job had a fault, and was left out.
    pub(super) faults: bool,
}

impl Asked {
    /// The jobs at least as sure as this, each with its part.
    pub(super) fn jobs(&self, chance: Chance) -> Vec<(&MixJob, &Part)> {
        let part = |job: &MixJob| named(&self.inquiry, &job.part.value);
        self.mix.jobs.iter().filter(|j| j.chance <= chance).filter_map(|j| Some((j, part(j)?))).collect()
    }
}

/// The part of a job: by its name, or by the file of its spec beside or below the mix.
fn named<'a>(inquiry: &'a Inquiry, name: &str) -> Option<&'a Part> {
    let in_file = |p: &&Part| Path::new(inquiry.sources.name(p.place.file)).ends_with(name);
    inquiry.parts.iter().find(|p| p.name == name).or_else(|| inquiry.parts.iter().find(in_file))
}

/// Reads a mix and all that it names, with `more` specs. A job with a fault is told and left out.
///
/// # Errors
/// The exit where nothing can be answered.
pub(super) fn read(world: &mut World, path: &Path, from: &inquiry::From, more: &[PathBuf]) -> Result<Asked, Exit> {
    let beside = match path.parent() {
        Some(folder) if folder.as_os_str().is_empty() => Path::new("."),
        Some(folder) => folder,
        None => Path::new("."),
    };
    let name = path.display().to_string();
    let text = text(world, path, &name)?;
    // Of the specs in folders below the mix those that its jobs name: `hoped/long-shaft.turn`.
    let below = text.parts().filter(|part| part.contains('/')).map(|part| beside.join(part)).filter(|p| p.is_file());
    let specs: Vec<PathBuf> = std::iter::once(beside.to_owned()).chain(below).chain(more.iter().cloned()).collect();
    let mut inquiry = inquiry::read_any(world, &specs, from)?;
    let (mix, mut found) = text.read(&name, inquiry.shop.currency, &mut inquiry.sources);
    if let Some(mix) = &mix {
        found.extend(unknown(mix, &inquiry));
    }
    world.tell(&inquiry.sources, &found);
    let Some(mut mix) = mix else { return Err(Exit::Unable) };
    // A job that named the file of its spec is told by the name of its part.
    for job in &mut mix.jobs {
        if let Some(part) = named(&inquiry, &job.part.value) {
            job.part.value.clone_from(&part.name);
        }
    }
    let lost = |job: &MixJob| found.iter().any(|d| d.is_error() && d.place.file == job.place.file && within(d, job));
    mix.jobs.retain(|job| !lost(job));
    if mix.jobs.is_empty() {
        return Err(world.unable(format!("`{name}` holds no job without a fault")));
    }
    Ok(Asked { inquiry, mix, faults: found.iter().any(Diagnostic::is_error) })
}

/// The mix as a tree.
fn text(world: &mut World, path: &Path, name: &str) -> Result<MixText, Exit> {
    let bytes = world.bytes_of(path, batch::LARGEST_SHEET).map_err(|words| world.unable(words))?;
    let text = match batch::kind(path) {
        Some(kind) => MixText::sheet(kind, &bytes).map_err(|e| format!("`{name}` cannot be read as a mix: {e}")),
        None => String::from_utf8(bytes)
            .map(MixText::yaml)
            .map_err(|_| format!("`{name}` is not UTF-8 text; save it as UTF-8")),
    };
    text.map_err(|words| world.unable(words))
}

fn within(d: &Diagnostic, job: &MixJob) -> bool {
    let places = std::iter::once(job.part.place).chain(job.validated_on.iter().map(|v| v.place));
    places.into_iter().any(|p| p.start <= d.place.start && d.place.end <= p.end)
}

/// Parts and machines that nobody knows.
fn unknown(mix: &Mix, inquiry: &Inquiry) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    let parts: Vec<&str> = inquiry.parts.iter().map(|p| p.name.as_str()).collect();
    let machines: Vec<&str> = inquiry.machines.iter().map(|m| m.name.as_str()).collect();
    for job in &mix.jobs {
        if named(inquiry, &job.part.value).is_none() {
            let message = format!("no part beside the mix is called `{}`", job.part.value);
            let help = nearest(&job.part.value, &parts, "part");
            found.push(Diagnostic::error("unknown-part", job.part.place, message).help(help));
        }
        for on in job.validated_on.iter().filter(|on| !machines.contains(&on.value.as_str())) {
            let message = format!("no machine is called `{}`", on.value);
            let help = nearest(&on.value, &machines, "machine");
            found.push(Diagnostic::error("unknown-machine", on.place, message).help(help));
        }
    }
    found
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let asked = read(world, &args.mix, &args.from, &[])?;
    let Inquiry { machines, shop, .. } = &asked.inquiry;
    let hours = Hours::of(machines, shop, asked.mix.years).map_err(|e| world.unable(e.to_string()))?;
    let jobs = asked.jobs(args.chance.chance());
    let routed = routes(&jobs, machines, shop, asked.mix.years);
    let work: Vec<Work> = jobs.iter().zip(&routed).map(|((job, _), routed)| Work { job, routed }).collect();
    let elapsed = world.stopwatch();
    let steps = args.steps.unwrap_or_else(|| usual_steps(&work));
    let in_order = args.sequence || args.ics.is_some();
    let limit = Duration::from_secs(args.time);
    let options = Options {
        seed: args.seed,
        steps,
        threads: std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN),
        gap: args.gap / 100.0,
        watch: Watch {
            interrupted: Some(world.interruption()),
            elapsed: Some(&elapsed),
            limit: Some(if in_order { limit.mul_f64(TIME_OF_PLAN) } else { limit }),
        },
    };
    let planned = plan(&work, hours, shop.currency, &options).map_err(|e| world.unable(e.to_string()))?;
    let mut told = report::answer(shop, machines, asked.mix.years, &work, &planned);
    if in_order {
        let of = |((job, part), routed)| Ordered { job, part, routed };
        let ordered: Vec<Ordered> = jobs.iter().copied().zip(&routed).map(of).collect();
        let watch = Watch { limit: Some(limit), ..options.watch };
        let options = Options { steps: steps.saturating_mul(STEPS_OF_SEQUENCE), watch, ..options };
        let found = sequence(&ordered, machines, shop, &planned, asked.mix.years, &options);
        let names: Vec<&MixJob> = jobs.iter().map(|j| j.0).collect();
        told.sequence = report::sequenced(&found, machines, &names, &planned, asked.mix.years, args.start);
    }
    if let (Some(path), Some(start)) = (&args.ics, args.start) {
        world.write_answer(path, report::calendar(&told, start).as_bytes(), &asked.inquiry.sources)?;
    }
    if let Some(path) = &args.html {
        world.write_answer(path, page::mix(&told).as_bytes(), &asked.inquiry.sources)?;
    }
    if let Some(path) = &args.xlsx {
        world.write_workbook(path, workbook::mix(&told), &asked.inquiry.sources)?;
    }
    match args.format {
        Format::Table => world.say(&report::text(&told, world.style())),
        Format::Json => world.say_json(&told)?,
        Format::Csv => world.say(&report::csv(&told)),
    }
    Ok(if told.is_whole() && !asked.faults { Exit::Fine } else { Exit::Findings })
}
