//! From statements to the model: one arm for each statement.

mod features;
mod machine;
mod material;
mod part;
mod sizes;
pub(super) mod threads;

use super::clauses::{self, Clauses};
use super::diagnostic::Diagnostic;
use super::schema::{Context, DECLARATIONS};
use super::syntax::{Declaration, File, Item, Kind, Statement};
use super::values::{self, Cursor, Scope};
use crate::model::figure::Place;
use crate::model::{Machine, Part};
use crate::tables::materials::Material;
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Everything that the files declare.
#[derive(Debug, Default)]
pub(super) struct Resolved {
    pub parts: Vec<Part>,
    pub machines: Vec<Machine>,
}

/// What declarations of all files share.
struct Shared<'c> {
    materials: BTreeMap<String, Arc<Material>>,
    /// Names of the machines that are read in the same run.
    machines: BTreeSet<String>,
    out: &'c RefCell<Vec<Diagnostic>>,
}

/// Resolves all files together: a machine may be like one in another file.
pub(super) fn all(files: &[File], out: &RefCell<Vec<Diagnostic>>) -> Resolved {
    let scopes: Vec<Scope> = files.iter().map(|f| scope(f, out)).collect();
    let mut shared = Shared { materials: BTreeMap::new(), machines: BTreeSet::new(), out };
    let mut names: BTreeMap<(&str, String), Place> = BTreeMap::new();
    let mut machines: BTreeMap<String, (usize, &Declaration)> = BTreeMap::new();
    let mut resolved = Resolved::default();
    for (i, file) in files.iter().enumerate() {
        for d in &file.declarations {
            let Some(name) = declared_name(d, out) else { continue };
            let kind = match d.word.text {
                "family" => "part",
                word => word,
            };
            if let Some(first) = names.get(&(kind, name.text.to_owned())) {
                let message = format!("the {kind} `{}` is declared twice", name.text);
                report(
                    out,
                    Diagnostic::error("declared-twice", name.place, message)
                        .also(*first, "first here")
                        .help("give one of them another name"),
                );
                continue;
            }
            names.insert((kind, name.text.to_owned()), name.place);
            match d.word.text {
                "material" => {
                    if let Some(m) = material::resolve(d, name, &scopes[i], out) {
                        shared.materials.insert(name.text.to_owned(), Arc::new(m));
                    }
                }
                "machine" => {
                    machines.insert(name.text.to_owned(), (i, d));
                    shared.machines.insert(name.text.to_owned());
                }
                _ => {}
            }
        }
    }
    for (i, file) in files.iter().enumerate() {
        for d in &file.declarations {
            match d.word.text {
                "part" | "family" => resolved.parts.extend(part::resolve(d, &scopes[i], &shared)),
                "machine" => resolved.machines.extend(machine::resolve(d, &machines, &scopes, out)),
                _ => {}
            }
        }
    }
    resolved
}

pub(super) fn report(out: &RefCell<Vec<Diagnostic>>, d: Diagnostic) {
    out.borrow_mut().push(d);
}

/// The `units` line and the `let`s of a file; declarations with unknown words are reported here.
fn scope(file: &File, out: &RefCell<Vec<Diagnostic>>) -> Scope {
    let mut scope = Scope::default();
    let mut units_at: Option<Place> = None;
    for d in &file.declarations {
        match d.word.text {
            "units" => {
                if let Some(first) = units_at {
                    let d = Diagnostic::error("units-twice", d.place, "this file has two `units` lines")
                        .also(first, "first here");
                    report(out, d.help("one file, one unit; write the other unit at its numbers"));
                }
                units_at = Some(d.place);
                match d.head.first().map(|i| i.text) {
                    Some("mm") => scope.bare = Some((1.0, "mm")),
                    Some("in") => scope.bare = Some((25.4, "in")),
                    _ => {
                        let place = clauses::span(&d.head, d.word.place);
                        report(
                            out,
                            Diagnostic::error("units-line", place, "a `units` line says `mm` or `in`")
                                .help("write `units mm` or `units in`"),
                        );
                    }
                }
                if let Some(extra) = d.head.get(1) {
                    report(
                        out,
                        Diagnostic::error("left-over", extra.place, "nothing takes this")
                            .help("write `units mm` or `units in`"),
                    );
                }
            }
            "let" => named(d, &mut scope, out),
            "part" | "family" | "machine" | "material" => {}
            word => {
                let place = d.word.place;
                let message = format!("a file does not know `{word}`");
                let near = clauses::suggestion(word, DECLARATIONS.iter().copied());
                let in_part = Context::Part.find(word).is_some() || Context::Machine.find(word).is_some();
                let diagnostic = Diagnostic::error("unknown-declaration", place, message);
                report(
                    out,
                    match near {
                        Some(near) => diagnostic.help(format!("did you mean `{near}`?")).fix(near),
                        None if in_part => {
                            diagnostic.help(format!("`{word}` stands inside the braces of a part or a machine"))
                        }
                        None => {
                            diagnostic.help("a file holds `part`, `family`, `machine`, `material`, `units` and `let`")
                        }
                    },
                );
            }
        }
    }
    scope
}

fn named(d: &Declaration, scope: &mut Scope, out: &RefCell<Vec<Diagnostic>>) {
    let mut c = Cursor::new(&d.head, d.word.place);
    let name = c.take(Kind::Word);
    let equals = c.take(Kind::Equals);
    let (Some(name), Some(_)) = (name, equals) else {
        let place = clauses::span(&d.head, d.word.place);
        report(
            out,
            Diagnostic::error("let-line", place, "a `let` names a value").help("for example `let wall = 0.8 mm`"),
        );
        return;
    };
    match values::reading(&mut c, scope, "a value") {
        Ok(read) => {
            if let Some(extra) = c.peek() {
                let d = Diagnostic::error("left-over", extra.place, "nothing takes this");
                report(out, d.help("arithmetic stands in parentheses: `let reach = (3 * 12 mm + 2 mm)`"));
            }
            if scope.named.insert(name.text.to_owned(), read.measure).is_some() {
                let message = format!("the value `{}` is named twice", name.text);
                let d = Diagnostic::error("declared-twice", name.place, message);
                report(out, d.help("give one of them another name"));
            }
        }
        Err(d) => {
            report(out, if d.help.is_some() { d } else { d.help("for example `let wall = 0.8 mm`") });
        }
    }
}

/// The name of a declaration that has one.
fn declared_name<'s>(d: &Declaration<'s>, out: &RefCell<Vec<Diagnostic>>) -> Option<Item<'s>> {
    if !matches!(d.word.text, "part" | "family" | "machine" | "material") {
        return None;
    }
    match d.head.first().filter(|i| i.kind == Kind::Word) {
        Some(name) => {
            if !d.has_body && !d.head.iter().any(|i| i.is_word("like")) {
                let message = format!("the {} `{}` has no braces", d.word.text, name.text);
                report(
                    out,
                    Diagnostic::error("no-body", name.place, message).help(format!(
                        "write `{} {} \"title\" {{` and `}}` around its statements",
                        d.word.text, name.text
                    )),
                );
            }
            beyond_title(d, out);
            Some(*name)
        }
        None => {
            let message = format!("this {} has no name", d.word.text);
            report(
                out,
                Diagnostic::error("no-name", d.word.place, message)
                    .help(format!("write `{} NAME \"title\" {{`", d.word.text)),
            );
            None
        }
    }
}

/// Reports what a declaration's line has beyond its name, its title and what its kind takes.
fn beyond_title(d: &Declaration, out: &RefCell<Vec<Diagnostic>>) {
    let mut rest = &d.head[1..];
    if d.word.text == "family" {
        // The parameter and its values are read, and their faults told, with the family.
        let close = rest.iter().position(|i| i.kind == Kind::CloseParen);
        rest = close.map_or(&[], |at| &rest[at + 1..]);
    }
    if rest.first().is_some_and(|i| i.kind == Kind::Text) {
        rest = &rest[1..];
    }
    if d.word.text == "machine" && rest.first().is_some_and(|i| i.is_word("like")) {
        rest = rest.get(2..).unwrap_or_default();
        if rest.first().is_some_and(|i| i.is_word("with")) {
            rest = &rest[1..];
        }
        // The title may stand before or behind the machine that it is like.
        if rest.first().is_some_and(|i| i.kind == Kind::Text) {
            rest = &rest[1..];
        }
    }
    if !rest.is_empty() {
        let place = clauses::span(rest, d.word.place);
        let help = format!("write `{} {} \"title\" {{`", d.word.text, d.head[0].text);
        report(out, Diagnostic::error("left-over", place, "nothing takes this").help(help));
    }
}

/// The title of a declaration: the text after its name, or the name itself.
pub(super) fn title(d: &Declaration) -> String {
    let text = d.head.iter().find(|i| i.kind == Kind::Text);
    let name = d.head.first().map_or("", |i| i.text);
    text.map_or_else(|| name.to_owned(), |t| clauses::unquoted(t.text).to_owned())
}

/// The statements of a body, split by the schema; unknown ones are reported, and ones that stand twice.
pub(super) fn statements<'s, 'c>(
    body: &[Statement<'s>],
    context: Context,
    scope: &'c Scope,
    out: &'c RefCell<Vec<Diagnostic>>,
) -> Vec<Clauses<'s, 'c>> {
    let mut found: Vec<Clauses> = Vec::new();
    for s in body {
        let Some(schema) = context.find(s.word.text).filter(|_| s.word.kind == Kind::Word) else {
            // Beyond what is told of a file, looking for what was meant is lost time.
            if out.borrow().len() <= 4 * super::MOST_FAULTS {
                report(out, unknown_statement(s.word, context));
            }
            continue;
        };
        let clauses = Clauses::split(s, schema, scope, out);
        if !schema.repeats
            && let Some(first) = found.iter().find(|f| f.schema.word == schema.word)
        {
            let message = format!("`{}` stands twice in this {}", schema.word, context.word());
            report(
                out,
                Diagnostic::error("repeated-statement", s.word.place, message)
                    .also(first.word, "first here")
                    .help("take one out"),
            );
            continue;
        }
        found.push(clauses);
    }
    found
}

fn unknown_statement(word: Item, context: Context) -> Diagnostic {
    let message = format!("a {} does not know `{}`", context.word(), word.text);
    let d = Diagnostic::error("unknown-statement", word.place, message);
    let words = context.statements().map(|s| s.word);
    match clauses::suggestion(word.text, words) {
        Some(near) => d.help(format!("did you mean `{near}`?")).fix(near),
        None => d.help(format!(
            "every line of a {} begins with one of its words, such as `{}`",
            context.word(),
            match context {
                Context::Part => "turn",
                Context::Machine => "carrier",
                Context::Material => "density",
            }
        )),
    }
}
