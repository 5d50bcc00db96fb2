//! Drawing diagnostics: with the source and the words underlined, as one line, or as data.

use super::diagnostic::{Diagnostic, Severity};
use super::sources::Sources;
use crate::model::figure::Place;
use annotate_snippets::{AnnotationKind, Group, Level, Patch, Renderer, Snippet};
use serde::Serialize;

/// A diagnostic drawn with its source, words underlined, remedy below.
pub fn drawn(d: &Diagnostic, sources: &Sources, color: bool) -> String {
    let level = match d.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let text = sources.text(d.place.file).unwrap_or_default();
    let within = |p: Place| {
        let end = (p.end as usize).min(text.len());
        (p.start as usize).min(end)..end
    };
    let mut snippet = Snippet::source(text)
        .path(sources.name(d.place.file))
        .annotation(label(AnnotationKind::Primary.span(within(d.place)), &d.label));
    for other in d.others.iter().filter(|o| o.place.file == d.place.file) {
        snippet = snippet.annotation(label(AnnotationKind::Context.span(within(other.place)), &other.text));
    }
    let mut groups = vec![level.primary_title(d.message.as_str()).id(d.code).element(snippet)];
    if let Some(help) = &d.help {
        match &d.fix {
            Some(fix) => groups.push(
                Level::HELP.secondary_title(help.as_str()).element(
                    Snippet::source(text)
                        .path(sources.name(fix.place.file))
                        .patch(Patch::new(within(fix.place), fix.text.as_str())),
                ),
            ),
            None => groups.push(Group::with_title(Level::HELP.secondary_title(help.as_str()))),
        }
    }
    let renderer = if color { Renderer::styled() } else { Renderer::plain() };
    renderer.render(&groups)
}

fn label<'a>(annotation: annotate_snippets::Annotation<'a>, text: &'a str) -> annotate_snippets::Annotation<'a> {
    if text.is_empty() { annotation } else { annotation.label(text) }
}

/// A diagnostic as one line: file, line, column, code, message, remedy.
pub fn short(d: &Diagnostic, sources: &Sources) -> String {
    let (line, column) = sources.line_column(d.place);
    let help = d.help.as_ref().map(|h| format!("; {h}")).unwrap_or_default();
    format!("{}:{line}:{column}: {}[{}]: {}{help}", sources.name(d.place.file), d.severity.word(), d.code, d.message)
}

/// A diagnostic as data.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Data {
    pub severity: Severity,
    pub code: &'static str,
    pub message: String,
    pub file: String,
    pub line: usize,
    pub column: usize,
    /// Bytes of the underlined words, the end not included.
    pub start: u32,
    pub end: u32,
    pub words: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub help: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub replacement: Option<String>,
}

/// A diagnostic as data.
pub fn data(d: &Diagnostic, sources: &Sources) -> Data {
    let (line, column) = sources.line_column(d.place);
    Data {
        severity: d.severity,
        code: d.code,
        message: d.message.clone(),
        file: sources.name(d.place.file).to_owned(),
        line,
        column,
        start: d.place.start,
        end: d.place.end,
        words: sources.words(d.place).to_owned(),
        help: d.help.clone(),
        replacement: d.fix.as_ref().map(|f| f.text.clone()),
    }
}
