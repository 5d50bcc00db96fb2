//! `lookup`: what a table says, with its source.

use super::{Exit, World};
use crate::lang;
use crate::quantity::Length;
use crate::quantity::measure::Dimension;
use crate::quantity::units;
use crate::report::lookup::{self, Answer, ThreadAsked};
use crate::tables::materials;
use clap::{Subcommand, ValueEnum};

/// Look up a thread, a fit, a material or bar, with the source of every figure
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples: turnwright lookup thread M8x1 6g; lookup fit 25 h7; lookup material 303; lookup bar 11.3"
)]
pub(super) struct Args {
    #[command(subcommand)]
    what: What,
    /// How the answer is printed
    #[arg(long, global = true, value_enum, default_value = "table", value_name = "FORMAT")]
    format: Format,
}

#[derive(Debug, Subcommand)]
enum What {
    /// A thread by its designation: M8x1, 1/4-20 UNC 2A, Tr 8x1.5, G 1/2, HA 3.5
    Thread {
        #[arg(required = true, value_name = "DESIGNATION")]
        words: Vec<String>,
    },
    /// A size in mm with an ISO 286 class: 25 h7, or 1in H8
    Fit {
        #[arg(value_name = "SIZE")]
        size: String,
        #[arg(value_name = "CLASS")]
        class: String,
    },
    /// A material by key, standard number or other name
    Material {
        #[arg(required = true, value_name = "NAME")]
        words: Vec<String>,
    },
    /// Bar for a diameter in mm, or with its unit
    Bar {
        #[arg(value_name = "DIAMETER")]
        size: String,
    },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    Table,
    Json,
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let answer = match find(&args.what) {
        Ok(answer) => answer,
        Err(words) => {
            world.complain(&format!("error: {words}"));
            return Err(Exit::Findings);
        }
    };
    match args.format {
        Format::Table => {
            let style = world.style();
            world.say(&lookup::text(&answer, style));
        }
        Format::Json => world.say_json(&answer)?,
    }
    Ok(Exit::Fine)
}

fn find(what: &What) -> Result<Answer, String> {
    match what {
        What::Thread { words } => {
            let sizes = lang::thread_sizes(&words.join(" ")).map_err(|d| {
                let help = d.help.map(|h| format!("; {h}")).unwrap_or_default();
                format!("{}{help}", d.message)
            })?;
            lookup::thread(&ThreadAsked {
                designation: &sizes.designation,
                form: &sizes.form,
                class: sizes.class.as_deref(),
                major: sizes.major,
                minor_external: sizes.minor_external,
                minor_internal: sizes.minor_internal,
                pitch: sizes.pitch,
                provisional: sizes.provisional,
            })
            .map_err(|e| e.to_string())
        }
        What::Fit { size, class } => lookup::fit(length(size)?, class).map_err(|e| e.to_string()),
        What::Material { words } => {
            let name = words.join(" ");
            match materials::find(&name) {
                Some(m) => Ok(lookup::material(&m)),
                None => Err(match materials::nearest(&name) {
                    Some(near) => format!("no material `{name}` in the table; did you mean `{near}`?"),
                    None => format!("no material `{name}` in the table"),
                }),
            }
        }
        What::Bar { size } => lookup::bar(length(size)?).map_err(|e| e.to_string()),
    }
}

/// A length in mm, or with its unit glued to it: `25`, `3/8in`.
fn length(text: &str) -> Result<Length, String> {
    let wrong = || format!("`{text}` is no size; write mm, or a unit behind the number such as `3/8in`");
    let (number, factor) = match lang::values::split_glued(text) {
        Some((number, unit)) => {
            let meaning = units::meaning(unit).filter(|m| m.dimension == Dimension::LENGTH).ok_or_else(wrong)?;
            (number, meaning.factor)
        }
        None => (text, 1.0),
    };
    let value = lang::values::number(number).filter(|v| *v > 0.0).ok_or_else(wrong)?;
    Ok(Length::mm(value * factor))
}
