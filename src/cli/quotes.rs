//! `quotes`: the register of kept quotes.

use super::{Exit, World};
use crate::lang::Sources;
use crate::register::{Entry, Register, RegisterError};
use crate::report::register::{self as report, Kept};
use clap::{Subcommand, ValueEnum};
use std::fs;
use std::path::{Path, PathBuf};

/// List, show, compare and export the quotes that `quote --save` kept
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  turnwright quotes list\n  turnwright quotes compare 3f2a 91bc")]
pub(super) struct Args {
    /// The register
    #[arg(long, global = true, value_name = "FILE", default_value = DEFAULT)]
    register: PathBuf,
    #[command(subcommand)]
    command: Command,
}

/// The register where none is named.
pub(super) const DEFAULT: &str = "quotes.sqlite";

#[derive(Debug, Subcommand)]
enum Command {
    /// All quotes, the newest first
    List {
        /// How the list is printed
        #[arg(long, value_enum, default_value = "table", value_name = "FORMAT")]
        format: ListFormat,
    },
    /// A quote as it was told
    Show {
        /// The identity, or its first letters
        #[arg(value_name = "QUOTE")]
        quote: String,
        /// How the quote is printed
        #[arg(long, value_enum, default_value = "table", value_name = "FORMAT")]
        format: ShowFormat,
    },
    /// Where two quotes differ
    Compare {
        /// The identity of one, or its first letters
        #[arg(value_name = "QUOTE")]
        first: String,
        /// The identity of the other
        #[arg(value_name = "OTHER")]
        second: String,
        /// How the differences are printed
        #[arg(long, value_enum, default_value = "table", value_name = "FORMAT")]
        format: ShowFormat,
    },
    /// The specs, the shop file and the answer of a quote, as files
    Export {
        /// The identity, or its first letters
        #[arg(value_name = "QUOTE")]
        quote: String,
        /// A folder, which is made where it is missing
        #[arg(value_name = "FOLDER")]
        folder: PathBuf,
    },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum ListFormat {
    Table,
    Json,
    Csv,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum ShowFormat {
    Table,
    Json,
}

/// Opens a register to write to.
///
/// # Errors
/// [`Exit::Unable`], told to the user.
pub(super) fn open(world: &mut World, path: &Path) -> Result<Register, Exit> {
    Register::open(path).map_err(|e| unable(world, path, &e))
}

/// Opens a register to read from it, as it stands where nothing can be written and no log beside it holds what was written
/// last.
fn read(path: &Path) -> Result<Register, RegisterError> {
    let mut log = path.as_os_str().to_owned();
    log.push("-wal");
    let opened = Register::open(path);
    match (opened, fs::metadata(log)) {
        (Err(RegisterError::Sqlite(_)), log) if !log.as_ref().is_ok_and(|log| log.len() > 0) => {
            Register::as_it_stands(path)
        }
        (opened, _) => opened,
    }
}

fn unable(world: &mut World, path: &Path, e: &RegisterError) -> Exit {
    world.unable(format!("the register `{}`: {e}", path.display()))
}

/// Keeps a quote and says so.
///
/// # Errors
/// [`Exit::Unable`], told to the user.
pub(super) fn keep(world: &mut World, register: &mut Register, path: &Path, entry: &Entry) -> Result<(), Exit> {
    let new = register.save(entry).map_err(|e| unable(world, path, &e))?;
    let word = if new { "kept" } else { "was kept before" };
    world.complain(&format!("quote {} {word} in `{}`", entry.identity, path.display()));
    Ok(())
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    if !args.register.is_file() {
        return Err(world.unable(format!(
            "there is no register `{}`: `quote --save` begins one, --register names another",
            args.register.display()
        )));
    }
    let register = read(&args.register).map_err(|e| unable(world, &args.register, &e))?;
    let find = |world: &mut World, begin: &str| register.find(begin).map_err(|e| unable(world, &args.register, &e));
    match &args.command {
        Command::List { format } => {
            let found = register.list().map_err(|e| unable(world, &args.register, &e))?;
            let kept: Vec<Kept> = found.into_iter().map(kept).collect();
            match format {
                ListFormat::Table => world.say(&report::list(&kept, world.style())),
                ListFormat::Json => world.say_json(&kept)?,
                ListFormat::Csv => world.say(&report::csv(&kept)),
            }
        }
        Command::Show { quote, format } => {
            let entry = find(world, quote)?;
            match format {
                ShowFormat::Table => world.say(&entry.printed),
                ShowFormat::Json => world.say(&format!("{}\n", entry.answer)),
            }
        }
        Command::Compare { first, second, format } => {
            let (a, b) = (find(world, first)?, find(world, second)?);
            let (x, y) = (data(world, &a)?, data(world, &b)?);
            let differences = report::compare(&x, &y);
            match format {
                ShowFormat::Table => {
                    world.say(&report::comparison([&a.identity, &b.identity], &differences, world.style()));
                }
                ShowFormat::Json => world.say_json(&differences)?,
            }
        }
        Command::Export { quote, folder } => {
            let entry = find(world, quote)?;
            export(world, &entry, folder)?;
        }
    }
    Ok(Exit::Fine)
}

fn kept(e: Entry) -> Kept {
    let Entry { identity, saved, issued, customer, reference, currency, total, parts, .. } = e;
    Kept { identity, saved, issued, customer, reference, parts, total, currency }
}

fn data(world: &mut World, e: &Entry) -> Result<serde_json::Value, Exit> {
    serde_json::from_str(&e.answer)
        .map_err(|fault| world.unable(format!("the answer of quote {} is no JSON: {fault}", e.identity)))
}

/// Every text under its own name without folders, two of one name told apart by a number; the answer as `quote.json`.
fn export(world: &mut World, e: &Entry, folder: &Path) -> Result<(), Exit> {
    world.make_folder(folder)?;
    let mut names: Vec<String> = Vec::new();
    let none = Sources::default();
    for (name, text) in &e.texts {
        let own = name.rsplit(['/', '\\']).next().unwrap_or(name).to_owned();
        let taken = names.iter().filter(|n| **n == own).count();
        let file = if taken == 0 { own.clone() } else { format!("{taken}-{own}") };
        names.push(own);
        world.write_answer(&folder.join(file), text.as_bytes(), &none)?;
    }
    world.write_answer(&folder.join("quote.json"), e.answer.as_bytes(), &none)?;
    world.write_answer(&folder.join("quote.txt"), e.printed.as_bytes(), &none)?;
    let words = format!("{} files of quote {} in `{}`", e.texts.len() + 2, e.identity, folder.display());
    world.complain(&words);
    Ok(())
}
