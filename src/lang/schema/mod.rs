//! The one table of the language: every statement with its clauses, what each holds, whether it must be there, a line of
//! doc and an example. Checking, did-you-mean, the formatter's order of clauses and the reference are driven by it.

mod features;
mod machine;
mod part;

use crate::quantity::measure::Dimension;

/// What a clause, or the head of a statement, holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// Nothing: the word speaks.
    Flag,
    /// A quantity of this dimension.
    Quantity(Dimension),
    /// A range of it, either end may be open; one number is its upper end.
    Range(Dimension),
    /// A length with its tolerance.
    Size,
    /// Two sizes with `..` between them.
    SizePair,
    /// A stretch along z.
    Zone,
    /// A whole number.
    Count,
    /// Whole numbers with commas.
    Counts,
    /// A number without a unit.
    Number,
    /// One of these words.
    Word(&'static [&'static str]),
    /// A name.
    Name,
    /// A name that may be left out.
    MaybeName,
    /// Names with commas; `all` for every one.
    Names,
    /// An IT grade such as `h8`.
    Grade,
    /// A roughness, `Ra` unless `Rz` is written.
    Finish,
    /// Two lengths with `x` between them.
    Pair,
    /// A text in quotes or words to the next clause.
    Text,
    /// A text that is told to the reader: nothing is reckoned from it.
    Told,
    /// Read by the statement itself.
    Own(&'static str),
}

impl Shape {
    /// What it holds, in the words of a message.
    pub fn words(self) -> String {
        match self {
            Shape::Flag => "nothing".to_owned(),
            Shape::Quantity(d) => d.to_string(),
            Shape::Range(d) => {
                format!("a range of {}", d.to_string().trim_start_matches("a ").trim_start_matches("an "))
            }
            Shape::Size => "a length with its tolerance".to_owned(),
            Shape::SizePair => "two diameters such as `5.5 .. 2.6`".to_owned(),
            Shape::Zone => "a stretch such as `0 .. 12`".to_owned(),
            Shape::Count => "a whole number".to_owned(),
            Shape::Counts => "whole numbers".to_owned(),
            Shape::Number => "a number".to_owned(),
            Shape::Word(words) => words.iter().map(|w| format!("`{w}`")).collect::<Vec<_>>().join(" or "),
            Shape::Name | Shape::MaybeName => "a name".to_owned(),
            Shape::Names => "names".to_owned(),
            Shape::Grade => "a grade such as `h8`".to_owned(),
            Shape::Finish => "a roughness such as `0.8 um`".to_owned(),
            Shape::Pair => "two lengths such as `10 x 10`".to_owned(),
            Shape::Text | Shape::Told => "a text".to_owned(),
            Shape::Own(words) => words.to_owned(),
        }
    }
}

/// A clause of a statement.
#[derive(Clone, Copy, Debug)]
pub struct Clause {
    pub word: &'static str,
    pub shape: Shape,
    pub needed: bool,
    /// Told to the reader as a remark: nothing is reckoned from it.
    pub told: bool,
    pub doc: &'static str,
}

/// A statement.
#[derive(Clone, Copy, Debug)]
pub struct Statement {
    pub word: &'static str,
    /// What stands between the word and the first clause.
    pub head: Shape,
    pub clauses: &'static [Clause],
    /// May it stand more than once.
    pub repeats: bool,
    pub doc: &'static str,
    pub example: &'static str,
}

/// A clause that must be there.
pub(super) const fn need(word: &'static str, shape: Shape, doc: &'static str) -> Clause {
    Clause { word, shape, needed: true, told: false, doc }
}
/// A clause that may be there.
pub(super) const fn may(word: &'static str, shape: Shape, doc: &'static str) -> Clause {
    Clause { word, shape, needed: false, told: false, doc }
}
/// A clause that may be there and goes to the reader as a remark.
pub(super) const fn told(word: &'static str, shape: Shape, doc: &'static str) -> Clause {
    Clause { word, shape, needed: false, told: true, doc }
}
/// A word that speaks by itself.
pub(super) const fn flag(word: &'static str, doc: &'static str) -> Clause {
    Clause { word, shape: Shape::Flag, needed: false, told: false, doc }
}

/// What may stand in a declaration.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Context {
    Part,
    Machine,
    Material,
}

impl Context {
    /// The statements of it, in the order in which a reader expects them.
    pub fn statements(self) -> impl Iterator<Item = &'static Statement> + Clone {
        let (a, b): (&[Statement], &[Statement]) = match self {
            Context::Part => (part::STATEMENTS, features::STATEMENTS),
            Context::Machine => (machine::STATEMENTS, &[]),
            Context::Material => (part::MATERIAL, &[]),
        };
        a.iter().chain(b)
    }

    /// The statement of a word.
    pub fn find(self, word: &str) -> Option<&'static Statement> {
        self.statements().find(|s| s.word == word)
    }

    /// The word of the declaration.
    pub fn word(self) -> &'static str {
        match self {
            Context::Part => "part",
            Context::Machine => "machine",
            Context::Material => "material",
        }
    }
}

/// Whether a statement is one of a feature.
pub fn is_feature(statement: &Statement) -> bool {
    features::STATEMENTS.iter().any(|s| s.word == statement.word)
}

/// Words that begin a line of a file.
pub const DECLARATIONS: &[&str] = &["part", "family", "machine", "material", "units", "let"];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_entry_has_doc_and_example_and_words_are_unique() {
        for context in [Context::Part, Context::Machine, Context::Material] {
            let mut seen = std::collections::BTreeSet::new();
            for s in context.statements() {
                assert!(seen.insert(s.word), "{} twice", s.word);
                assert!(!s.doc.is_empty() && s.example.starts_with(s.word), "{}", s.word);
                let mut words = std::collections::BTreeSet::new();
                for c in s.clauses {
                    assert!(words.insert(c.word), "{} {} twice", s.word, c.word);
                    assert!(!c.doc.is_empty(), "{} {}", s.word, c.word);
                }
            }
        }
    }
}
