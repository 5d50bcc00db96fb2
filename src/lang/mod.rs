//! The spec language: text in, model and diagnostics out.

pub mod clauses;
pub mod diagnostic;
pub mod format;
pub mod geometry;
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
    let out = RefCell::new(diagnostics);
    let resolved = resolve::all(&files, &out);
    let mut diagnostics = out.into_inner();
    diagnostics.sort_by(|a, b| a.place.cmp(&b.place).then(a.code.cmp(b.code)));
    diagnostics.dedup();
    Reading { parts: resolved.parts, machines: resolved.machines, diagnostics }
}

/// Files of the language; a shop file is read by [`shop`].
fn is_spec(name: &str) -> bool {
    !(name.ends_with(".yaml") || name.ends_with(".yml"))
}
