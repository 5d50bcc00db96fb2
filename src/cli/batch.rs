//! Many inquiries in one run: parts of specs, and lines of sheets. They are answered on all cores and told in their order; a
//! broken line is told with its row and takes nothing from the others. What is read and answered at once is a share of fixed
//! size, so that the memory does not grow with the number of lines.

use super::inquiry::{self, From, Inquiry};
use super::{Exit, World};
use crate::lang::inquiries::{self, Kind};
use crate::lang::{self, Diagnostic, Sources};
use crate::model::Part;
use crate::model::ask::Ask;
use rayon::prelude::*;
use std::path::{Path, PathBuf};

/// So many inquiries are in hand at once.
const AT_ONCE: usize = 64;
/// Sheets up to this size are read.
pub(super) const LARGEST_SHEET: u64 = 64 << 20;

/// Parts that belong together, as they are asked for.
#[derive(Debug)]
pub(super) struct Job {
    /// One part, or the members of a family.
    pub(super) parts: Vec<Part>,
    pub(super) quantity: Option<u64>,
    pub(super) reference: Option<String>,
    /// The texts of its specs, where a line of a sheet names it; else they are those of the inquiry.
    pub(super) sources: Option<Sources>,
}

/// A job before its spec is read.
enum Pending {
    Parts(Vec<Part>),
    Line { sheet: PathBuf, ask: Ask },
    Broken(String),
}

/// A line with its spec as text.
enum Loaded {
    Job(Job),
    Text { place: String, ask: Ask, sources: Sources },
    Broken(String),
}

/// Why a line has no answer.
enum Fault {
    Words(String),
    Spec { place: String, sources: Sources, diagnostics: Vec<Diagnostic> },
}

/// All that was asked.
pub(super) struct Batch {
    pub(super) inquiry: Inquiry,
    pending: Vec<Pending>,
    /// The files beside the machines that declare materials: a line's spec may name those.
    shared: Vec<(String, String)>,
}

/// Reads parts, machines, the shop and the lines of sheets.
///
/// # Errors
/// The exit where nothing can be answered.
pub(super) fn read(world: &mut World, paths: &[PathBuf], from: &From) -> Result<Batch, Exit> {
    let (sheets, specs): (Vec<PathBuf>, Vec<PathBuf>) = paths.iter().cloned().partition(|p| kind(p).is_some());
    let mut inquiry = match sheets.is_empty() {
        true => inquiry::read(world, &specs, from)?,
        false => inquiry::read_any(world, &specs, from)?,
    };
    let mut pending = Vec::new();
    let mut parts = std::mem::take(&mut inquiry.parts).into_iter().peekable();
    while let Some(part) = parts.next() {
        let mut family = vec![part];
        while let Some(next) = parts.next_if(|p| p.is_of_family(&family[0])) {
            family.push(next);
        }
        pending.push(Pending::Parts(family));
    }
    for sheet in sheets {
        pending.extend(lines(world, &sheet)?);
    }
    let shared = shared(&inquiry.sources);
    Ok(Batch { inquiry, pending, shared })
}

/// The files beside the machines that declare materials, by name: the spec of a line may name those.
pub(super) fn shared(sources: &Sources) -> Vec<(String, String)> {
    let declares = |text: &str| text.lines().any(|l| l.trim_start().starts_with("material "));
    let texts = sources.iter().filter(|(_, _, text)| declares(text) && !text.contains("\npart "));
    texts.map(|(_, name, text)| (name.to_owned(), text.to_owned())).collect()
}

/// What kind of sheet a path is by its name.
pub(super) fn kind(path: &Path) -> Option<Kind> {
    let extension = path.extension()?.to_str()?.to_lowercase();
    match extension.as_str() {
        "csv" => Some(Kind::Csv),
        "xlsx" => Some(Kind::Workbook),
        _ => None,
    }
}

fn lines(world: &mut World, sheet: &Path) -> Result<Vec<Pending>, Exit> {
    let bytes = world.bytes_of(sheet, LARGEST_SHEET).map_err(|words| world.unable(words))?;
    let read = inquiries::read(kind(sheet).unwrap_or(Kind::Csv), &bytes);
    let lines = read.map_err(|e| world.unable(format!("`{}` cannot be read as inquiries: {e}", sheet.display())))?;
    let line = |line| match line {
        Ok(ask) => Pending::Line { sheet: sheet.to_owned(), ask },
        Err(fault) => Pending::Broken(format!("error: {}, {fault}", sheet.display())),
    };
    Ok(lines.into_iter().map(line).collect())
}

impl Batch {
    /// Whether lines of a sheet are among what was asked.
    pub(super) fn has_lines(&self) -> bool {
        self.pending.iter().any(|p| !matches!(p, Pending::Parts(_)))
    }

    /// Answers every job on all cores and hands the answers over in the order asked. Gives whether every line was sound, and
    /// the inquiry without its parts.
    ///
    /// # Errors
    /// The exit of whoever takes the answers.
    pub(super) fn answer<T: Send>(
        self,
        world: &mut World,
        work: impl Fn(&Inquiry, &Job) -> T + Sync,
        mut then: impl FnMut(&mut World, &Inquiry, Job, T) -> Result<(), Exit>,
    ) -> Result<(bool, Inquiry), Exit> {
        let Batch { inquiry, pending, shared } = self;
        let progress = world.progress(pending.len());
        let mut sound = true;
        let mut pending = pending.into_iter();
        loop {
            let share: Vec<Loaded> = pending.by_ref().take(AT_ONCE).map(|p| load(world, p, &shared)).collect();
            if share.is_empty() {
                break;
            }
            let answered: Vec<Result<(Job, T), Fault>> = share
                .into_par_iter()
                .map(|loaded| {
                    let job = resolve(loaded)?;
                    let answer = work(&inquiry, &job);
                    progress.inc(1);
                    Ok((job, answer))
                })
                .collect();
            for answer in answered {
                match answer {
                    Ok((job, answer)) => progress.suspend(|| then(world, &inquiry, job, answer))?,
                    Err(fault) => {
                        sound = false;
                        progress.suspend(|| tell(world, &fault));
                    }
                }
            }
        }
        progress.finish_and_clear();
        Ok((sound, inquiry))
    }
}

/// Reads the file that a line names, beside its sheet.
fn load(world: &mut World, pending: Pending, shared: &[(String, String)]) -> Loaded {
    let (sheet, ask) = match pending {
        Pending::Parts(parts) => return Loaded::Job(Job { parts, quantity: None, reference: None, sources: None }),
        Pending::Broken(words) => return Loaded::Broken(words),
        Pending::Line { sheet, ask } => (sheet, ask),
    };
    let place = format!("{}, row {}", sheet.display(), ask.row);
    let file = sheet.parent().unwrap_or(Path::new("")).join(&ask.part);
    match world.text_of(&file) {
        Err(words) => Loaded::Broken(format!("error: {place}: {words}")),
        Ok(text) => Loaded::Text { place, ask, sources: beside(&file, text, shared) },
    }
}

/// The spec of a line with what the machines' folder declares.
pub(super) fn beside(file: &Path, text: String, shared: &[(String, String)]) -> Sources {
    let mut sources = Sources::default();
    sources.add(&file.display().to_string(), text);
    shared.iter().for_each(|(name, text)| {
        sources.add(name, text.clone());
    });
    sources
}

/// The parts of the first of some sources.
///
/// # Errors
/// Everything told, where an error is among it.
pub(super) fn of_first(sources: &Sources) -> Result<Vec<Part>, Vec<Diagnostic>> {
    let lang::Reading { mut parts, diagnostics, .. } = lang::read(sources);
    if diagnostics.iter().any(Diagnostic::is_error) {
        return Err(diagnostics);
    }
    parts.retain(|p| p.place.file == 0);
    Ok(parts)
}

/// The job of a line, or what is wrong with its spec.
fn resolve(loaded: Loaded) -> Result<Job, Fault> {
    let (place, ask, sources) = match loaded {
        Loaded::Job(job) => return Ok(job),
        Loaded::Broken(words) => return Err(Fault::Words(words)),
        Loaded::Text { place, ask, sources } => (place, ask, sources),
    };
    let mut parts = match of_first(&sources) {
        Ok(parts) => parts,
        Err(diagnostics) => return Err(Fault::Spec { place, sources, diagnostics }),
    };
    if parts.is_empty() {
        let words = format!("error: {place}: `{}` holds no part; name the file of a part's spec", ask.part);
        return Err(Fault::Words(words));
    }
    for part in &mut parts {
        part.due = ask.due.clone().or(part.due.take());
    }
    Ok(Job { parts, quantity: ask.quantity, reference: ask.reference, sources: Some(sources) })
}

fn tell(world: &mut World, fault: &Fault) {
    match fault {
        Fault::Words(words) => world.complain(words),
        Fault::Spec { place, sources, diagnostics } => {
            world.complain(&format!("error: {place}: its spec has faults"));
            world.tell(sources, diagnostics);
        }
    }
}

/// Answers as one list of JSON, each written as soon as it is there.
#[derive(Debug, Default)]
pub(super) struct JsonList {
    begun: bool,
}

impl JsonList {
    /// Adds an answer.
    ///
    /// # Errors
    /// [`Exit::Unable`] where it cannot be written as JSON.
    pub(super) fn add(&mut self, world: &mut World, answer: &impl serde::Serialize) -> Result<(), Exit> {
        let text = world.as_json(answer)?;
        world.say(if self.begun { ",\n" } else { "[\n" });
        self.begun = true;
        let lines: Vec<String> = text.lines().map(|l| format!("  {l}")).collect();
        world.say(&lines.join("\n"));
        Ok(())
    }

    /// Ends the list.
    pub(super) fn end(self, world: &mut World) {
        world.say(if self.begun { "\n]\n" } else { "[]\n" });
    }
}
