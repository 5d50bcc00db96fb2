//! `fmt`: the one layout of specs.

use super::{Exit, World};
use crate::lang::{Sources, format};
use std::path::PathBuf;

/// Lay spec files out in the one way: lossless, and the same when done twice
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: turnwright fmt --check parts machines")]
pub(super) struct Args {
    /// Spec files or folders of them; `-` reads the standard input and writes to the standard output
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Change nothing; say which files would change
    #[arg(long)]
    check: bool,
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let mut exit = Exit::Fine;
    for path in &args.files {
        for file in world.turn_files(path)? {
            let text = world.read(&file)?;
            let stdin = file.as_os_str() == "-";
            let mut sources = Sources::default();
            let number = sources.add(&file.display().to_string(), text);
            let text = sources.text(number).unwrap_or_default().to_owned();
            let laid_out = match format::format(&text) {
                Ok(laid_out) => laid_out,
                Err(faults) => {
                    world.tell(&sources, &faults);
                    world.complain(&format!("`{}` was left as it is: mend the faults first", file.display()));
                    exit = Exit::Findings;
                    if stdin && !args.check {
                        world.say(&text);
                    }
                    continue;
                }
            };
            match (args.check, stdin) {
                (true, _) if laid_out != text => {
                    world.say(&format!("{}\n", file.display()));
                    exit = Exit::Findings;
                }
                (false, true) => world.say(&laid_out),
                (false, false) if laid_out != text => world.write(&file, laid_out.as_bytes())?,
                _ => {}
            }
        }
    }
    Ok(exit)
}
