//! `calibrate`: correction factors from records of orders that were made.

use super::rank::Format;
use super::{Exit, World, batch, inquiry};
use crate::calibration::{calibrate, estimate};
use crate::lang;
use crate::lang::inquiries::Kind;
use crate::lang::records::{self, Sheet};
use crate::lang::shop as shop_file;
use crate::model::Part;
use crate::model::record::Record;
use crate::report::calibration as report;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Fit correction factors to records of orders that were made, and write them to the shop file
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Columns, named by the first line: part, machine, mode, day, order, quantity, family, member;\nactual cycle, actual setup, actual setup: guide bushing (or another standard time), stoppages;\nthe same as estimated …, else the program's own plan gives them. A unit in brackets serves the\nwhole column: actual cycle [s].\n\nExample: turnwright calibrate parts/records.csv"
)]
pub(super) struct Args {
    /// The sheet of records, `.csv` or `.xlsx`; part specs that it names lie beside it
    #[arg(value_name = "RECORDS")]
    records: PathBuf,
    /// Write the factors to the shop file; its other keys and comments stay
    #[arg(long)]
    write: bool,
    #[command(flatten)]
    from: inquiry::From,
    /// How the answer is printed
    #[arg(long, value_enum, default_value = "table", value_name = "FORMAT")]
    format: Format,
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let inquiry = inquiry::read_any(world, &[], &args.from)?;
    let name = args.records.display().to_string();
    let bytes = world.bytes_of(&args.records, batch::LARGEST_SHEET).map_err(|words| world.unable(words))?;
    let kind = batch::kind(&args.records).unwrap_or(Kind::Csv);
    let read = records::read(kind, &bytes, &inquiry.machines);
    let sheet = read.map_err(|e| world.unable(format!("`{name}` cannot be read as records: {e}")))?;
    for column in &sheet.passed_over {
        world.complain(&format!("warning: {name}, {column}"));
    }
    for fault in &sheet.faults {
        world.complain(&format!("error: {name}, {fault}"));
    }
    let Sheet { records, mut faults, .. } = sheet;
    let mut estimator = Estimator { inquiry: &inquiry, specs: BTreeMap::new(), folder: args.records.parent() };
    let shop = estimate::as_it_was(&inquiry.shop);
    let mut counted = Vec::new();
    for mut record in records {
        match estimator.complete(world, &mut record, &shop) {
            Ok(lacking) => {
                if !lacking.is_empty() {
                    world.complain(&format!(
                        "warning: {name}, row {}: the plan has no {}; fill in its `estimated setup: …` to count it",
                        record.row,
                        lacking.join(", ")
                    ));
                }
                counted.push(record);
            }
            Err((message, help)) => {
                let fault = lang::inquiries::Fault { row: record.row, message, help };
                world.complain(&format!("error: {name}, {fault}"));
                faults.push(fault);
            }
        }
    }
    let found = calibrate(&counted).map_err(|e| world.unable(e.to_string()))?;
    let factors = found.factors();
    let count = (counted.len(), faults.len());
    let mut answer = report::answer(&inquiry.shop.name, &name, &found, count, shop_file::block(&factors));
    if args.write && !factors.is_empty() {
        let path = args.from.shop_file();
        let text = world.read(&path)?;
        let shown = path.display().to_string();
        let written = shop_file::with_calibration(&text, &factors)
            .map_err(|e| world.unable(format!("`{shown}` is left as it is: {e}")))?;
        world.write(&path, written.as_bytes())?;
        answer.written = Some(shown);
    }
    match args.format {
        Format::Table => {
            let style = world.style();
            world.say(&report::text(&answer, style));
        }
        Format::Json => world.say_json(&answer)?,
        Format::Csv => world.say(&report::csv(&answer)),
    }
    Ok(if faults.is_empty() && !counted.is_empty() { Exit::Fine } else { Exit::Findings })
}

/// Takes from plans what records leave out; each spec is read once.
struct Estimator<'a> {
    inquiry: &'a inquiry::Inquiry,
    specs: BTreeMap<String, Result<Vec<Part>, String>>,
    folder: Option<&'a Path>,
}

impl Estimator<'_> {
    /// Completes a record; gives the elements that stand in no estimate.
    ///
    /// # Errors
    /// What is wrong, and the remedy.
    fn complete(
        &mut self,
        world: &mut World,
        record: &mut Record,
        shop: &crate::model::Shop,
    ) -> Result<Vec<String>, (String, String)> {
        let Some(spec) = record.spec().map(str::to_owned) else { return Ok(Vec::new()) };
        if !self.specs.contains_key(&spec) {
            let parts = self.parts(world, &spec);
            self.specs.insert(spec.clone(), parts);
        }
        let parts = match &self.specs[&spec] {
            Ok(parts) => parts,
            Err(words) => {
                return Err((words.clone(), "name a spec beside the sheet that `check` finds sound".to_owned()));
            }
        };
        let names = || parts.iter().map(|p| p.name.as_str()).collect::<Vec<_>>().join(", ");
        let part = match (&record.member, parts.as_slice()) {
            (None, [only]) => only,
            (None, _) => {
                let message = format!("`{spec}` holds {} parts and none is named", parts.len());
                return Err((message, format!("write one of them in the column `member`: {}", names())));
            }
            (Some(member), _) => match parts.iter().find(|p| p.name == *member) {
                Some(part) => part,
                None => return Err((format!("`{spec}` holds no part `{member}`"), format!("it holds {}", names()))),
            },
        };
        let Some(machine) = self.inquiry.machines.iter().find(|m| m.name == record.machine) else {
            return Err((format!("no machine is called `{}`", record.machine), "correct the name".to_owned()));
        };
        estimate::fill_in(record, part, machine, shop)
            .map_err(|words| (words, "fill in the estimates that the order was made by".to_owned()))
    }

    /// The parts of a spec beside the sheet, read with what the machines' folder declares.
    fn parts(&self, world: &mut World, spec: &str) -> Result<Vec<Part>, String> {
        let file = self.folder.unwrap_or(Path::new("")).join(spec);
        let text = world.text_of(&file)?;
        let sources = batch::beside(&file, text, &batch::shared(&self.inquiry.sources));
        let parts = batch::of_first(&sources).map_err(|diagnostics| {
            world.tell(&sources, &diagnostics);
            format!("the spec `{spec}` has faults")
        })?;
        if parts.is_empty() { Err(format!("`{spec}` holds no part")) } else { Ok(parts) }
    }
}
