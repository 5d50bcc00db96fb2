//! `setup`: the change from job to job on a machine.

use super::plan::ModeArg;
use super::rank::Format;
use super::{Exit, World, inquiry, machine};
use crate::matching::setups;
use crate::model::shop::State;
use crate::report::setup as report;
use std::path::PathBuf;

/// Set up a machine from one job to another, or show every change of a family of jobs
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  turnwright setup parts/valve-spool.turn parts/drive-shaft.turn --machine gang-20\n  turnwright setup now parts/valve-spool.turn --machine gang-20\n  turnwright setup --matrix parts/cortex-screw.turn parts/valve-spool.turn --machine tilt-32"
)]
pub(super) struct Args {
    /// The job before and the job after, as part specs; `now` before stands for what the shop file says is there.
    /// With --matrix all jobs
    #[arg(required = true, value_name = "PART")]
    parts: Vec<PathBuf>,
    /// The machine, by its name
    #[arg(long, value_name = "NAME")]
    machine: String,
    /// Every change of all jobs given
    #[arg(long)]
    matrix: bool,
    /// The way of holding the bar [default: the best one for each job]
    #[arg(long, value_enum, value_name = "MODE")]
    mode: Option<ModeArg>,
    #[command(flatten)]
    from: inquiry::From,
    /// How the answer is printed
    #[arg(long, value_enum, default_value = "table", value_name = "FORMAT")]
    format: Format,
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let now = !args.matrix && args.parts.first().is_some_and(|p| p.as_os_str() == "now");
    let files: Vec<PathBuf> = args.parts.iter().skip(usize::from(now)).cloned().collect();
    if files.is_empty() {
        return Err(world.unable("no job is named to set up for: give its part spec after `now`"));
    }
    let inquiry = inquiry::read(world, &files, &args.from)?;
    let machine = machine::named(world, &inquiry.machines, &args.machine)?;
    let mode = machine::mode(world, machine, args.mode)?;
    let style = world.style();
    let unplanned = |world: &mut World, name: &str| {
        world.unable(format!("`{name}` cannot be planned on `{}`; `plan` gives the reason", machine.name))
    };
    if args.matrix {
        let found = setups::matrix(&inquiry.parts, machine, mode, &inquiry.shop);
        let told = report::matrix(machine, &inquiry.parts, &found);
        match args.format {
            Format::Table => world.say(&report::matrix_text(&told, style)),
            Format::Json => world.say_json(&told)?,
            Format::Csv => world.say(&report::matrix_csv(&told)),
        }
        return Ok(if told.refused.is_empty() { Exit::Fine } else { Exit::Findings });
    }
    // The same file twice is the same job twice.
    let same = !now && files.len() == 2 && inquiry.parts.len() == 1;
    let wanted = if now || same { 1 } else { 2 };
    if inquiry.parts.len() != wanted {
        let told = format!(
            "error: a change has one job before and one after, here are {} in the files; --matrix shows all changes of many",
            inquiry.parts.len() + usize::from(now)
        );
        world.complain(&told);
        return Err(Exit::Unable);
    }
    let (from, states): (report::Before, Vec<State>) = if now {
        let there = inquiry.shop.machines.get(&machine.name).map(|m| m.now.clone());
        let states = there.unwrap_or_else(|| vec![State::default()]);
        (report::Before::Now { machines: states.len() }, states)
    } else {
        let before = &inquiry.parts[0];
        let found = setups::to_job(before, machine, mode, &inquiry.shop, &State::default());
        let found = found.ok_or_else(|| unplanned(world, &before.name))?;
        (report::Before::Job { name: before.name.clone(), possible: found.is_possible() }, vec![found.left.state])
    };
    let to = &inquiry.parts[wanted - 1];
    let changes = states.iter().enumerate();
    let changes = changes.filter_map(|(i, s)| Some((i, setups::to_job(to, machine, mode, &inquiry.shop, s)?)));
    let best = changes.reduce(|best, next| if next.1.setup.total < best.1.setup.total { next } else { best });
    let (number, found) = best.ok_or_else(|| unplanned(world, &to.name))?;
    let told = report::change(machine, &inquiry.shop, &from, number, to, &found);
    match args.format {
        Format::Table => world.say(&report::change_text(&told, style)),
        Format::Json => world.say_json(&told)?,
        Format::Csv => world.say(&report::change_csv(&told)),
    }
    Ok(if told.possible { Exit::Fine } else { Exit::Findings })
}
