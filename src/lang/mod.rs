//! The spec language: text in, model and diagnostics out.

pub mod clauses;
pub mod diagnostic;
pub mod format;
pub mod geometry;
pub mod inquiries;
pub mod records;
pub mod render;
mod resolve;
pub mod schema;
pub mod shop;
pub mod sources;
pub mod syntax;
pub mod values;

pub use diagnostic::{Diagnostic, Severity};
pub use resolve::threads::{Sizes as ThreadSizes, sizes_of as thread_sizes};
pub use sources::Sources;

use crate::model::{Machine, Part};
use std::cell::RefCell;

/// Everything that a set of files declares, and what is wrong with them.
#[derive(Debug, Default)]
pub struct Reading {
    pub parts: Vec<Part>,
    pub machines: Vec<Machine>,
    /// In the order of files and places.
    pub diagnostics: Vec<Diagnostic>,
}

/// Reads spec files together. A broken declaration hides no other; all faults are told in one run.
pub fn read(sources: &Sources) -> Reading {
    let mut diagnostics = Vec::new();
    let files: Vec<syntax::File> = sources
        .iter()
        .filter(|(_, name, _)| is_spec(name))
        .map(|(number, _, text)| syntax::parse(number, text, &mut diagnostics))
        .collect();
    // Lines with signs that mean nothing, in the order of the text: what else seems wrong in them follows from that.
    let broken: Vec<(u32, u32, u32)> = diagnostics
        .iter()
        .filter(|d| matches!(d.code, "strange-sign" | "open-title"))
        .filter_map(|d| {
            let number = sources.iter().filter(|(_, name, _)| is_spec(name)).position(|(n, _, _)| n == d.place.file)?;
            let lines = &files.get(number)?.lines;
            let line = &lines[lines.partition_point(|l| l.start <= d.place.start).checked_sub(1)?];
            Some((d.place.file, line.start, line.end))
        })
        .collect();
    let found_in_text = diagnostics.len();
    let out = RefCell::new(diagnostics);
    let resolved = resolve::all(&files, &out);
    let mut diagnostics = out.into_inner();
    let later = diagnostics.split_off(found_in_text);
    diagnostics.extend(later.into_iter().filter(|d| {
        let before = broken.partition_point(|(file, start, _)| (*file, *start) <= (d.place.file, d.place.start));
        !broken[..before].last().is_some_and(|(file, _, end)| *file == d.place.file && d.place.start <= *end)
    }));
    // Words of another file cannot be drawn beside the fault, so the remedy says where they stand.
    for d in &mut diagnostics {
        for other in d.others.iter().filter(|o| o.place.file != d.place.file) {
            let (line, _) = sources.line_column(other.place);
            let there = format!("{}: {} line {line}", other.text, sources.name(other.place.file));
            d.help = Some(d.help.take().map_or(there.clone(), |h| format!("{h}; {there}")));
        }
    }
    diagnostics.sort_by(|a, b| a.place.cmp(&b.place).then(a.code.cmp(b.code)));
    diagnostics.dedup();
    let diagnostics = at_most(diagnostics);
    Reading { parts: resolved.parts, machines: resolved.machines, diagnostics }
}

/// How many faults of one file are told: a reader mends the first and reads again.
pub const MOST_FAULTS: usize = 500;

/// The first faults of each file; where there are more, that is said.
fn at_most(diagnostics: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let mut kept: Vec<Diagnostic> = Vec::new();
    let (mut file, mut count) = (None, 0);
    for d in diagnostics {
        if file != Some(d.place.file) {
            (file, count) = (Some(d.place.file), 0);
        }
        count += 1;
        if count <= MOST_FAULTS {
            kept.push(d);
        } else if count == MOST_FAULTS + 1 {
            let message = format!("this file has more than {MOST_FAULTS} faults; the others are not told");
            kept.push(
                Diagnostic::error("too-many-faults", d.place, message).help("mend these first, then read it again"),
            );
        }
    }
    kept
}

/// Files of the language; a shop file is read by [`shop`].
fn is_spec(name: &str) -> bool {
    !(name.ends_with(".yaml") || name.ends_with(".yml"))
}
