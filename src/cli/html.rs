//! `--html FILE`: the answer as a page.

use crate::lang::Sources;
use crate::model::Part;
use crate::report::drawing::Source;

/// Parts with the texts that they were read from, as their drawings need them.
pub(super) fn drawn<'a>(parts: &'a [Part], sources: &'a Sources) -> Vec<(&'a Part, Source<'a>)> {
    let source = |part: &Part| {
        let name = sources.name(part.place.file);
        let file = name.rsplit(['/', '\\']).next().unwrap_or(name);
        Source { file, text: sources.text(part.place.file).unwrap_or_default() }
    };
    parts.iter().map(|part| (part, source(part))).collect()
}
