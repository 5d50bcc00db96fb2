//! From text to statements: items with their places, lines kept, broken pieces reported and passed over.

use super::diagnostic::Diagnostic;
use crate::model::figure::Place;
use pest::Parser;

/// Largest file that is read.
pub const LARGEST: usize = 1 << 20;

mod grammar {
    //! The grammar knows shapes only.
    #![allow(missing_docs, reason = "made by the grammar")]

    /// The parser made from `grammar/turn.pest`.
    #[derive(pest_derive::Parser)]
    #[grammar = "../grammar/turn.pest"]
    pub(super) struct Turn;
}

use grammar::{Rule, Turn};

/// What an item is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Word,
    Number,
    Text,
    Deviations,
    PlusMinus,
    Range,
    OpenBrace,
    CloseBrace,
    OpenParen,
    CloseParen,
    OpenBracket,
    CloseBracket,
    Comma,
    Bar,
    Equals,
    Colon,
    Star,
    Slash,
    Plus,
    Minus,
}

/// One item of a line.
#[derive(Clone, Copy, Debug)]
pub struct Item<'s> {
    pub kind: Kind,
    pub text: &'s str,
    pub place: Place,
}

impl Item<'_> {
    /// Whether it is this word.
    pub fn is_word(&self, word: &str) -> bool {
        self.kind == Kind::Word && self.text == word
    }
}

/// A line of the file as the formatter needs it.
#[derive(Clone, Debug, Default)]
pub struct Line<'s> {
    pub items: Vec<Item<'s>>,
    pub comment: Option<&'s str>,
    /// Holds something that is no item: kept as it is.
    pub broken: bool,
    pub start: u32,
    pub end: u32,
}

/// A statement: its word, what follows, and what stands in its braces.
#[derive(Clone, Debug)]
pub struct Statement<'s> {
    pub word: Item<'s>,
    pub args: Vec<Item<'s>>,
    /// Items within the braces, line ends forgotten.
    pub block: Vec<Item<'s>>,
    pub place: Place,
}

impl<'s> Statement<'s> {
    /// Everything after the word: arguments, then the block.
    pub fn items(&self) -> impl Iterator<Item = Item<'s>> + '_ {
        self.args.iter().chain(&self.block).copied()
    }
}

/// A declaration: `part NAME "title" { … }`, or a line of its own such as `units mm`.
#[derive(Clone, Debug)]
pub struct Declaration<'s> {
    pub word: Item<'s>,
    pub head: Vec<Item<'s>>,
    pub body: Vec<Statement<'s>>,
    pub has_body: bool,
    pub place: Place,
}

/// A file in lines and declarations.
#[derive(Clone, Debug, Default)]
pub struct File<'s> {
    pub lines: Vec<Line<'s>>,
    pub declarations: Vec<Declaration<'s>>,
}

/// Reads a file. What is broken is reported and passed over; the rest is there.
pub fn parse<'s>(file: u32, text: &'s str, out: &mut Vec<Diagnostic>) -> File<'s> {
    if text.len() > LARGEST {
        let place = Place { file, start: 0, end: 0 };
        let size = text.len() as f64 / 1_048_576.0;
        out.push(
            Diagnostic::error(
                "file-too-large",
                place,
                format!("this file has {size:.1} MiB; specs up to 1 MiB are read"),
            )
            .help("split it: one file for each part or machine reads well"),
        );
        return File::default();
    }
    let lines = lines(file, text, out);
    let declarations = declarations(&lines, out);
    File { lines, declarations }
}

fn kind_of(rule: Rule) -> Option<Kind> {
    Some(match rule {
        Rule::word => Kind::Word,
        Rule::number => Kind::Number,
        Rule::string => Kind::Text,
        Rule::deviations => Kind::Deviations,
        Rule::plus_minus => Kind::PlusMinus,
        Rule::range => Kind::Range,
        Rule::open_brace => Kind::OpenBrace,
        Rule::close_brace => Kind::CloseBrace,
        Rule::open_paren => Kind::OpenParen,
        Rule::close_paren => Kind::CloseParen,
        Rule::open_bracket => Kind::OpenBracket,
        Rule::close_bracket => Kind::CloseBracket,
        Rule::comma => Kind::Comma,
        Rule::limit_bar => Kind::Bar,
        Rule::equals => Kind::Equals,
        Rule::colon => Kind::Colon,
        Rule::star => Kind::Star,
        Rule::slash => Kind::Slash,
        Rule::plus => Kind::Plus,
        Rule::minus => Kind::Minus,
        _ => return None,
    })
}

fn lines<'s>(file: u32, text: &'s str, out: &mut Vec<Diagnostic>) -> Vec<Line<'s>> {
    let mut lines = Vec::new();
    let Ok(pairs) = Turn::parse(Rule::file, text) else {
        // The grammar takes any text: junk is an item too.
        out.push(
            Diagnostic::error("unreadable", Place { file, start: 0, end: 0 }, "this file cannot be read as a spec")
                .help("a spec is plain text in UTF-8"),
        );
        return lines;
    };
    let mut last_junk_end = 0;
    for pair in pairs.flat_map(pest::iterators::Pair::into_inner).filter(|p| p.as_rule() == Rule::line) {
        let span = pair.as_span();
        let mut line = Line { start: span.start() as u32, end: span.end() as u32, ..Line::default() };
        for item in pair.into_inner() {
            let span = item.as_span();
            let place = Place { file, start: span.start() as u32, end: span.end() as u32 };
            match item.as_rule() {
                Rule::comment => line.comment = Some(span.as_str()),
                Rule::open_string => {
                    line.broken = true;
                    out.push(
                        Diagnostic::error("open-title", place, "this title has no closing quote")
                            .help("a title stands between double quotes on one line; an inch is written `in`"),
                    );
                    // The brace that the title has swallowed still opens the declaration.
                    if span.as_str().trim_end().ends_with('{') {
                        let at = place.start + span.as_str().trim_end().len() as u32 - 1;
                        let place = Place { start: at, end: at + 1, ..place };
                        line.items.push(Item { kind: Kind::OpenBrace, text: "{", place });
                    }
                }
                Rule::junk => {
                    line.broken = true;
                    // A run of strange signs is one fault.
                    if last_junk_end != place.start {
                        let sign = span.as_str();
                        out.push(junk(sign, place));
                    }
                    last_junk_end = place.end;
                }
                rule => {
                    if let Some(kind) = kind_of(rule) {
                        line.items.push(Item { kind, text: span.as_str(), place });
                    }
                }
            }
        }
        lines.push(line);
    }
    lines
}

fn junk(sign: &str, place: Place) -> Diagnostic {
    let name = match sign {
        s if s.chars().any(char::is_control) => "a control character".to_owned(),
        s => format!("`{s}`"),
    };
    let d = Diagnostic::error("strange-sign", place, format!("{name} means nothing here"));
    match sign {
        ";" => d.help("a statement ends at the end of its line; take the semicolon out").fix(""),
        "ø" | "Ø" | "⌀" => d.help("write `dia` before a diameter").fix("dia "),
        "'" => d.help("a title stands between double quotes").fix("\""),
        "–" | "—" | "−" => d.help("use the plain hyphen").fix("-"),
        "×" => d.help("write the letter x between two sizes").fix("x"),
        "“" | "”" | "„" => d.help("use the plain double quote").fix("\""),
        "≤" => d.help("write `max` before or after the size").fix("max "),
        "≥" => d.help("write `min` before or after the size").fix("min "),
        _ => d.help("take it out, or put it behind a `#` as a comment"),
    }
}

fn open_brace(d: &Declaration) -> Diagnostic {
    let message = format!("the braces of this `{}` are not closed", d.word.text);
    Diagnostic::error("open-brace", d.word.place, message).help("add `}` on a line of its own after its last statement")
}

/// Groups lines into declarations and their statements by braces.
fn declarations<'s>(lines: &[Line<'s>], out: &mut Vec<Diagnostic>) -> Vec<Declaration<'s>> {
    let mut grouped = Grouping { out, done: Vec::new(), open: None, statement: None, depth: 0 };
    for line in lines {
        grouped.line(line);
    }
    grouped.finish()
}

struct Grouping<'s, 'o> {
    out: &'o mut Vec<Diagnostic>,
    done: Vec<Declaration<'s>>,
    /// The declaration whose braces are open.
    open: Option<Declaration<'s>>,
    /// The statement that is being read: within its line or within its braces.
    statement: Option<Statement<'s>>,
    depth: u32,
}

impl<'s> Grouping<'s, '_> {
    fn line(&mut self, line: &Line<'s>) {
        self.close_before(line);
        for item in &line.items {
            self.item(*item);
        }
        // A statement ends at the end of its line unless a brace of its own is open.
        if self.depth <= 1 {
            self.end_statement();
        }
        if self.depth == 0 {
            self.end_declaration();
        }
    }

    /// A declaration that begins while another's braces are open shows where the closing brace is missing.
    fn close_before(&mut self, line: &Line<'s>) {
        let begins = line.items.first().filter(|i| matches!(i.text, "part" | "family" | "machine" | "material"));
        let opens = line.items.iter().any(|i| i.kind == Kind::OpenBrace);
        if self.depth == 0 || begins.is_none() || !opens {
            return;
        }
        if let Some(d) = &self.open {
            self.out.push(open_brace(d));
        }
        self.depth = 0;
        self.end_statement();
        self.end_declaration();
    }

    fn item(&mut self, item: Item<'s>) {
        match item.kind {
            Kind::OpenBrace => {
                self.depth += 1;
                match (self.depth, self.open.as_mut()) {
                    (1, Some(d)) => d.has_body = true,
                    (2, Some(_)) if self.statement.is_some() => {}
                    (depth, _) => {
                        let words =
                            if depth > 2 { "braces inside a statement's braces" } else { "a brace that opens nothing" };
                        self.out.push(
                            Diagnostic::error("stray-brace", item.place, words)
                                .help("a brace opens a declaration, or the clauses of one statement within it"),
                        );
                    }
                }
            }
            Kind::CloseBrace => {
                if self.depth == 0 {
                    self.out.push(
                        Diagnostic::error("stray-brace", item.place, "this brace closes nothing")
                            .help("take it out")
                            .fix(""),
                    );
                    return;
                }
                self.depth -= 1;
                if let Some(s) = self.statement.as_mut() {
                    s.place.end = item.place.end;
                }
                if let Some(d) = self.open.as_mut() {
                    d.place.end = item.place.end;
                }
                if self.depth == 1 || self.depth == 0 {
                    self.end_statement();
                }
                if self.depth == 0 {
                    self.end_declaration();
                }
            }
            _ => self.plain(item),
        }
    }

    fn plain(&mut self, item: Item<'s>) {
        match (self.depth, self.open.as_mut(), self.statement.as_mut()) {
            (0, None, _) => {
                self.open = Some(Declaration {
                    word: item,
                    head: Vec::new(),
                    body: Vec::new(),
                    has_body: false,
                    place: item.place,
                });
            }
            (0, Some(d), _) => {
                d.head.push(item);
                d.place.end = item.place.end;
            }
            (_, Some(_), None) => {
                self.statement = Some(Statement { word: item, args: Vec::new(), block: Vec::new(), place: item.place });
            }
            (1, Some(_), Some(s)) => {
                s.args.push(item);
                s.place.end = item.place.end;
            }
            (_, _, Some(s)) => {
                s.block.push(item);
                s.place.end = item.place.end;
            }
            (_, None, None) => {}
        }
    }

    fn end_statement(&mut self) {
        if let (Some(s), Some(d)) = (self.statement.take(), self.open.as_mut()) {
            d.body.push(s);
        }
    }

    fn end_declaration(&mut self) {
        if let Some(d) = self.open.take() {
            self.done.push(d);
        }
    }

    fn finish(mut self) -> Vec<Declaration<'s>> {
        if self.depth > 0
            && let Some(d) = &self.open
        {
            self.out.push(open_brace(d));
        }
        self.end_statement();
        self.end_declaration();
        self.done
    }
}
