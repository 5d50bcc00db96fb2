//! The one layout of specs: two blanks a brace, keywords and names in columns, one blank within a clause and two between
//! clauses. Nothing is lost: comments, blank lines, and every number as it was written.

use super::Diagnostic;
use super::schema::{Context, Shape};
use super::syntax::{self, Item, Kind, Line};

/// Lays a text out.
///
/// # Errors
/// The faults that keep it from being read; the text is then to be left as it is.
pub fn format(text: &str) -> Result<String, Vec<Diagnostic>> {
    let mut faults = Vec::new();
    let file = syntax::parse(0, text, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    let laid_out = lay_out(&file.lines);
    // Read again and compared before anything is written: the layout may change blanks and nothing else.
    let mut again = Vec::new();
    let other = syntax::parse(0, &laid_out, &mut again);
    let same = again.is_empty() && words(&file.lines).eq(words(&other.lines));
    debug_assert!(same, "the layout changed more than blanks");
    Ok(if same { laid_out } else { text.to_owned() })
}

/// What must not change: the items and comments in order.
fn words<'l>(lines: &'l [Line<'l>]) -> impl Iterator<Item = &'l str> {
    lines.iter().flat_map(|l| l.items.iter().map(|i| i.text).chain(l.comment.map(str::trim_end)))
}

/// A line taken apart for layout.
struct Laid {
    depth: usize,
    /// Columns that line up with those of the lines beside it: keyword, name.
    columns: Vec<String>,
    rest: String,
    comment: String,
}

fn lay_out(lines: &[Line]) -> String {
    let mut depth = 0_usize;
    let mut context = None;
    let mut statement: Option<&'static super::schema::Statement> = None;
    let mut rows: Vec<Option<Laid>> = Vec::new();
    for line in lines {
        let comment = line.comment.map(str::trim_end).unwrap_or_default().to_owned();
        if line.items.is_empty() {
            if comment.is_empty() {
                rows.push(None);
            } else {
                rows.push(Some(Laid { depth, columns: Vec::new(), rest: String::new(), comment }));
            }
            continue;
        }
        let closes_first = line.items.iter().take_while(|i| i.kind == Kind::CloseBrace).count();
        let own_depth = depth.saturating_sub(closes_first);
        if depth == 0 {
            context = match line.items[0].text {
                "part" | "family" => Some(Context::Part),
                "machine" => Some(Context::Machine),
                "material" => Some(Context::Material),
                _ => None,
            };
        }
        if depth == 1 {
            statement = context.and_then(|c| c.find(line.items[0].text));
        }
        let (columns, rest) = match (depth, statement) {
            (1, Some(s)) if closes_first == 0 => columns(&line.items, s),
            _ => (Vec::new(), join(&line.items, if depth >= 2 { statement } else { None })),
        };
        rows.push(Some(Laid { depth: own_depth, columns, rest, comment }));
        for item in &line.items {
            match item.kind {
                Kind::OpenBrace => depth += 1,
                Kind::CloseBrace => depth = depth.saturating_sub(1),
                _ => {}
            }
        }
    }
    print(&rows)
}

/// Splits a statement into its keyword, its name, and the rest.
fn columns(items: &[Item], s: &'static super::schema::Statement) -> (Vec<String>, String) {
    let named =
        matches!(s.head, Shape::MaybeName | Shape::Name) || s.word == "thread" || matches!(s.head, Shape::Word(_));
    let name = items.get(1).filter(|i| {
        named
            && i.kind == Kind::Word
            && !s.clauses.iter().any(|c| c.word == i.text)
            && !super::values::begins_number(**i)
    });
    match name {
        Some(name) => (vec![items[0].text.to_owned(), name.text.to_owned()], join(&items[2..], Some(s))),
        None => (vec![items[0].text.to_owned()], join(&items[1..], Some(s))),
    }
}

/// Items with one blank between them, two before each clause of the statement.
fn join(items: &[Item], statement: Option<&'static super::schema::Statement>) -> String {
    let mut out = String::new();
    // Arithmetic stands in parentheses only; outside them a sign belongs to its number.
    let mut depth = 0_usize;
    for (i, item) in items.iter().enumerate() {
        match item.kind {
            Kind::OpenParen => depth += 1,
            Kind::CloseParen => depth = depth.saturating_sub(1),
            _ => {}
        }
        if i > 0 {
            let before = items[i - 1].kind;
            let clause = statement.is_some_and(|s| {
                item.kind == Kind::Word && s.clauses.iter().any(|c| c.word == item.text && begins_clause(items, i))
            });
            let tight = matches!(item.kind, Kind::Comma | Kind::CloseParen | Kind::CloseBracket | Kind::Colon)
                || matches!(before, Kind::OpenParen | Kind::OpenBracket | Kind::PlusMinus)
                || (matches!(before, Kind::Minus | Kind::Plus) && (depth == 0 || !operator(items, i - 1)));
            if !tight {
                out.push_str(if clause && before != Kind::OpenBrace { "  " } else { " " });
            }
        }
        out.push_str(item.text);
    }
    out
}

/// A word that could begin a clause and does not follow a comma or another clause's word that takes it.
fn begins_clause(items: &[Item], i: usize) -> bool {
    items.get(i - 1).is_none_or(|before| before.kind != Kind::Comma)
}

/// A sign between two values is an operator; before a value it is its sign.
fn operator(items: &[Item], at: usize) -> bool {
    at > 0 && matches!(items[at - 1].kind, Kind::Number | Kind::Word | Kind::CloseParen)
}

fn print(rows: &[Option<Laid>]) -> String {
    let mut out = String::new();
    let mut i = 0;
    let mut blank = true;
    while i < rows.len() {
        let Some(_) = &rows[i] else {
            // One blank line between lines, none at the head.
            if !blank {
                out.push('\n');
                blank = true;
            }
            i += 1;
            continue;
        };
        let run: Vec<&Laid> = rows[i..].iter().map_while(Option::as_ref).collect();
        i += run.len();
        blank = false;
        print_run(&run, &mut out);
    }
    while out.ends_with("\n\n") {
        out.pop();
    }
    out
}

/// Consecutive lines: keywords line up with keywords, names with names, trailing comments with each other.
fn print_run(run: &[&Laid], out: &mut String) {
    let width = |text: &str| text.chars().count();
    let column = |n: usize| run.iter().filter_map(|l| l.columns.get(n)).map(|t| width(t)).max().unwrap_or(0);
    let named = run.iter().any(|l| l.columns.len() > 1);
    let (keyword, name) = (column(0), column(1));
    let mut texts = Vec::with_capacity(run.len());
    for l in run {
        let mut text = "  ".repeat(l.depth);
        if let Some(k) = l.columns.first() {
            text.push_str(k);
            let more = l.columns.len() > 1 || !l.rest.is_empty();
            if more {
                text.push_str(&" ".repeat(keyword - width(k) + 2));
            }
            match l.columns.get(1) {
                Some(n) => {
                    text.push_str(n);
                    if !l.rest.is_empty() {
                        text.push_str(&" ".repeat(name - width(n) + 2));
                    }
                }
                None if named && !l.rest.is_empty() && has_clauses_only(l) => text.push_str(&" ".repeat(name + 2)),
                None => {}
            }
        }
        text.push_str(&l.rest);
        texts.push(text);
    }
    let comments = run.iter().zip(&texts).filter(|(l, t)| !l.comment.is_empty() && !t.trim().is_empty());
    let column = comments.map(|(_, t)| width(t)).max().unwrap_or(0);
    for (l, text) in run.iter().zip(&texts) {
        let mut line = text.trim_end().to_owned();
        if !l.comment.is_empty() {
            if line.is_empty() {
                line = "  ".repeat(l.depth);
            } else {
                line.push_str(&" ".repeat(column.saturating_sub(width(&line)) + 2));
            }
            line.push_str(&l.comment);
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
}

/// A feature without a name: its clauses line up with those of named ones beside it.
fn has_clauses_only(l: &Laid) -> bool {
    let statement = l.columns.first().and_then(|w| Context::Part.find(w));
    statement.is_some_and(|s| s.head == Shape::MaybeName)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_hug_their_numbers_and_operators_do_not() {
        let text = "units mm\nlet a = (3 mm - 1 mm)\nmachine m \"m\" {\n  carrier tilt { angle -5 .. 110 deg }\n  price 3 EUR installed +18 %\n}\n";
        let laid_out = format(text).unwrap();
        for words in ["(3 mm - 1 mm)", "angle -5 .. 110 deg", "installed +18 %"] {
            assert!(laid_out.contains(words), "{laid_out}");
        }
    }

    #[test]
    fn layout_is_idempotent_and_keeps_comments() {
        let text = "units mm\n\n\n# head\npart a \"t\" {   # why\n material 303\n  turn shank dia 5 h8 z 0..3\n turn x2   dia 6   z 3 .. 4 # tail\n}\n";
        let once = format(text).unwrap();
        assert_eq!(once, format(&once).unwrap());
        assert!(once.contains("  turn      shank  dia 5 h8  z 0 .. 3\n"), "{once}");
        assert!(once.contains("# tail") && once.contains("# why") && once.contains("# head"));
    }
}
