//! `check`: every fault of the files given, in one run.

use super::{Exit, World};
use crate::lang::{self, Sources, render};
use clap::ValueEnum;
use serde::Serialize;
use std::collections::BTreeSet;
use std::path::PathBuf;

/// Tell every fault of spec files, with the words underlined and the remedy
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: turnwright check parts/anchor-screw.turn machines")]
pub(super) struct Args {
    /// Spec files, folders of them, or shop files (.yaml); `-` reads the standard input
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// How faults are told
    #[arg(long, value_enum, default_value = "table", value_name = "FORMAT")]
    format: Format,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    /// Drawn with the source
    Table,
    /// One line each
    Short,
    Json,
}

#[derive(Serialize)]
struct Answer {
    schema: u32,
    files: usize,
    errors: usize,
    warnings: usize,
    faults: Vec<render::Data>,
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let mut sources = Sources::default();
    let mut shops = Vec::new();
    let mut seen = BTreeSet::new();
    for path in &args.files {
        for file in world.turn_files(path)? {
            // A file named twice, or by itself and by its folder, is one file.
            if !seen.insert(file.clone()) {
                continue;
            }
            let text = world.read(&file)?;
            let number = sources.add(&file.display().to_string(), text);
            if file.extension().is_some_and(|e| e == "yaml" || e == "yml") {
                shops.push(number);
            }
        }
    }
    let mut reading = lang::read(&sources);
    for number in shops {
        let text = sources.text(number).unwrap_or_default();
        let found = if reading.machines.is_empty() {
            lang::shop::read_shop(number, text)
        } else {
            lang::shop::read_shop_with(number, text, &reading.machines)
        };
        reading.diagnostics.extend(found.1);
    }
    reading.diagnostics.sort_by_key(|d| d.place);
    let errors = reading.diagnostics.iter().filter(|d| d.is_error()).count();
    let warnings = reading.diagnostics.len() - errors;
    let style = world.style();
    match args.format {
        Format::Table => {
            for d in &reading.diagnostics {
                world.say(&format!("{}\n\n", render::drawn(d, &sources, style.color)));
            }
            world.say(&format!("{}\n", summary(sources.iter().count(), errors, warnings)));
        }
        Format::Short => {
            for d in &reading.diagnostics {
                world.say(&format!("{}\n", render::short(d, &sources)));
            }
        }
        Format::Json => {
            let answer = Answer {
                schema: crate::report::SCHEMA,
                files: sources.iter().count(),
                errors,
                warnings,
                faults: reading.diagnostics.iter().map(|d| render::data(d, &sources)).collect(),
            };
            world.say_json(&answer)?;
        }
    }
    Ok(if errors > 0 { Exit::Findings } else { Exit::Fine })
}

fn summary(files: usize, errors: usize, warnings: usize) -> String {
    let count = |n: usize, word: &str| format!("{n} {word}{}", if n == 1 { "" } else { "s" });
    format!("{}: {}, {}", count(files, "file"), count(errors, "error"), count(warnings, "warning"))
}
