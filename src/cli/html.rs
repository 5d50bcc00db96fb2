//! `--html FILE`: the answer as a page.

use super::inquiry::Inquiry;
use super::{Exit, World};
use crate::lang::Sources;
use crate::model::Part;
use crate::report::drawing::Source;
use std::path::Path;

/// Whether a page can be written there.
///
/// # Errors
/// [`Exit::Unable`], told to the user, for a folder and for a file that the answer was read from.
pub(super) fn check(world: &mut World, path: &Path, sources: &Sources) -> Result<(), Exit> {
    if path.is_dir() {
        world.complain(&format!(
            "error: `{}` is a folder: name a file in it, such as `{}`",
            path.display(),
            path.join("answer.html").display()
        ));
        return Err(Exit::Unable);
    }
    // A slip of the keyboard must not cost a spec.
    if sources.iter().any(|(_, name, _)| Path::new(name) == path) {
        world
            .complain(&format!("error: `{}` was read for this answer: name another file for the page", path.display()));
        return Err(Exit::Unable);
    }
    Ok(())
}

/// Every part of an inquiry with the text that it was read from, as its drawing needs it.
pub(super) fn drawn(inquiry: &Inquiry) -> Vec<(&Part, Source<'_>)> {
    let source = |part: &Part| {
        let name = inquiry.sources.name(part.place.file);
        let file = name.rsplit(['/', '\\']).next().unwrap_or(name);
        Source { file, text: inquiry.sources.text(part.place.file).unwrap_or_default() }
    };
    inquiry.parts.iter().map(|part| (part, source(part))).collect()
}
