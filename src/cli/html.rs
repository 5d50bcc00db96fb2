//! `--html FILE`: the answer as a page.

use super::inquiry::Inquiry;
use super::{Exit, World};
use crate::report::answer::RankAnswer;
use crate::report::drawing::Source;
use crate::report::page::{self, Case, Kind};
use std::path::Path;

/// Writes the answers to all parts of an inquiry as one page.
///
/// # Errors
/// [`Exit::Unable`], told to the user, where the file cannot be written.
pub(super) fn write(
    world: &mut World,
    path: &Path,
    inquiry: &Inquiry,
    answers: &[RankAnswer],
    kind: Kind,
) -> Result<(), Exit> {
    if path.is_dir() {
        world.complain(&format!(
            "error: `{}` is a folder: name a file in it, such as `{}`",
            path.display(),
            path.join("answer.html").display()
        ));
        return Err(Exit::Unable);
    }
    // A slip of the keyboard must not cost a spec.
    if inquiry.sources.iter().any(|(_, name, _)| Path::new(name) == path) {
        world
            .complain(&format!("error: `{}` was read for this answer: name another file for the page", path.display()));
        return Err(Exit::Unable);
    }
    let cases: Vec<Case> = inquiry
        .parts
        .iter()
        .zip(answers)
        .map(|(part, answer)| {
            let name = inquiry.sources.name(part.place.file);
            let file = name.rsplit(['/', '\\']).next().unwrap_or(name);
            let text = inquiry.sources.text(part.place.file).unwrap_or_default();
            Case { part, source: Source { file, text }, answer }
        })
        .collect();
    world.write(path, page::html(&cases, kind).as_bytes())
}
