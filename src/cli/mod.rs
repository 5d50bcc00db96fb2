//! Words in, words out: the command line. Nothing is computed here. Only this floor touches files and the environment.

mod batch;
mod buy;
mod calibrate;
mod check;
mod explain;
mod fmt;
mod html;
mod inquiry;
mod lookup;
mod machine;
mod mix;
mod mode;
mod plan;
mod quote;
mod quotes;
mod rank;
mod schema;
mod setup;
mod why;
mod world;

use clap::{Parser, Subcommand, ValueEnum};
use std::ffi::OsString;
use std::process::ExitCode;

pub use world::World;

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// Fine.
    Fine,
    /// Findings: a spec has errors, or nothing fits.
    Findings,
    /// Could not run: wrong usage, an unreadable file, a spec that cannot be planned.
    Unable,
}

impl Exit {
    /// The code that the process ends with.
    pub fn code(self) -> u8 {
        match self {
            Exit::Fine => 0,
            Exit::Findings => 1,
            Exit::Unable => 2,
        }
    }
}

/// When output is coloured.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum ColorChoice {
    /// On a terminal, unless NO_COLOR is set
    #[default]
    Auto,
    /// In files and pipes as well
    Always,
    /// Not even on a terminal
    Never,
}

#[derive(Debug, Parser)]
#[command(
    name = "turnwright",
    version,
    about = "Which machine turns this part, in which mode, with which attachments, and why",
    after_help = "Example: turnwright rank parts/anchor-screw.turn\n\nExit codes: 0 fine, 1 findings or nothing fits, 2 could not run.",
    max_term_width = 100
)]
struct Cli {
    /// When to colour the output
    #[arg(long, global = true, value_enum, default_value = "auto", value_name = "WHEN")]
    color: ColorChoice,
    /// Columns of the output [default: the terminal's, else 100]
    #[arg(long, global = true, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(40..=400))]
    width: Option<u16>,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Check(check::Args),
    Fmt(fmt::Args),
    Rank(rank::Args),
    Mode(mode::Args),
    Plan(plan::Args),
    Quote(quote::Args),
    Quotes(quotes::Args),
    Mix(mix::Args),
    Buy(buy::Args),
    Setup(setup::Args),
    Calibrate(calibrate::Args),
    Why(why::Args),
    Explain(explain::Args),
    Lookup(lookup::Args),
    Schema(schema::Args),
}

/// Runs the program on the process's own arguments and streams.
pub fn main() -> ExitCode {
    let mut out = std::io::stdout().lock();
    let mut err = std::io::stderr().lock();
    let mut world = World::process(&mut out, &mut err);
    let exit = run(std::env::args_os(), &mut world);
    ExitCode::from(exit.code())
}

/// Runs a command line: the first argument is the program's name.
pub fn run(args: impl IntoIterator<Item = OsString>, world: &mut World) -> Exit {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(e) => return usage(&e, world),
    };
    world.set(cli.color, cli.width);
    let exit = match cli.command {
        Command::Check(args) => check::run(&args, world),
        Command::Fmt(args) => fmt::run(&args, world),
        Command::Rank(args) => rank::run(&args, world),
        Command::Mode(args) => mode::run(&args, world),
        Command::Plan(args) => plan::run(&args, world),
        Command::Quote(args) => quote::run(&args, world),
        Command::Quotes(args) => quotes::run(&args, world),
        Command::Mix(args) => mix::run(&args, world),
        Command::Buy(args) => buy::run(&args, world),
        Command::Setup(args) => setup::run(&args, world),
        Command::Calibrate(args) => calibrate::run(&args, world),
        Command::Why(args) => why::run(&args, world),
        Command::Explain(args) => explain::run(&args, world),
        Command::Lookup(args) => lookup::run(&args, world),
        Command::Schema(args) => schema::run(&args, world),
    };
    match world.trouble() {
        Some(exit) => exit,
        None => exit.unwrap_or_else(|e| e),
    }
}

/// Help and version are answers; anything else is wrong usage.
fn usage(e: &clap::Error, world: &mut World) -> Exit {
    use clap::error::ErrorKind::{DisplayHelp, DisplayVersion};
    let text = e.render();
    if matches!(e.kind(), DisplayHelp | DisplayVersion) {
        world.say(&text.to_string());
        return Exit::Fine;
    }
    world.complain(text.to_string().trim_end());
    Exit::Unable
}
