//! How a finding was reckoned: its formula, the same with its numbers, and where each of them comes from.

use super::answer::FigureAnswer;
use super::text::{Style, hanging, unbroken};
use crate::matching::algebra::{self, Comparison};
use crate::matching::term::{Origin, Term};
use crate::matching::{Figure, Finding};
use crate::model::Shop;
use crate::model::figure::Place;
use crate::tables::thresholds;
use schemars::JsonSchema;
use serde::Serialize;

/// What says where a place in the sources is: `file:line`.
pub type At<'a> = &'a dyn Fn(Place) -> String;

/// A term of a formula.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TermAnswer {
    pub symbol: &'static str,
    pub meaning: &'static str,
    pub figure: FigureAnswer,
    /// `part`, `machine`, `threshold`, `shop`, `table`, `plan` or `rule`.
    pub origin: &'static str,
    /// The place `file:line`, the name of the threshold or table, by what the plan comes to it.
    pub from: String,
}

/// A formula with its numbers.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Reckoning {
    pub formula: &'static str,
    /// The formula with figures for its symbols, what its sides come to, and how they then stand to each other.
    pub reckoned: String,
    pub terms: Vec<TermAnswer>,
}

/// How a finding was reckoned, where it carries its terms.
pub fn reckoning(f: &Finding, at: At, shop: &Shop) -> Option<Reckoning> {
    let formula = f.formula?;
    let c = Comparison::of(formula)?;
    let kind = if f.offered.value().is_some() { &f.offered } else { &f.asked };
    let name = c.name.map(|n| format!("{n} = ")).unwrap_or_default();
    let (left, right) = (side(c.left, &f.terms, kind), side(c.right, &f.terms, kind));
    let reckoned = format!("{name}{left} {} {right}", relation(&c, &f.terms));
    let terms = f.terms.iter().map(|t| term(t, at, shop)).collect();
    Some(Reckoning { formula, reckoned, terms })
}

/// How the two sides stand to each other: what is asked of them, or its contrary where they miss it.
fn relation<'a>(c: &Comparison<'a>, terms: &[Term]) -> &'a str {
    let (Some(left), Some(right)) = (algebra::value(c.left, terms), algebra::value(c.right, terms)) else {
        return c.relation;
    };
    // Sums of decimals miss a limit that they meet by their last bit.
    let near = 1e-9 * left.abs().max(right.abs());
    match c.relation {
        "<=" if left > right + near => ">",
        ">=" if left < right - near => "<",
        holds => holds,
    }
}

/// A side with its numbers, and what it comes to where that is not plain to see.
fn side(side: &str, terms: &[Term], kind: &Figure) -> String {
    let numbers = algebra::with_numbers(side, terms);
    match algebra::value(side, terms).filter(|_| !algebra::is_plain(side)) {
        Some(value) => format!("{numbers} = {}", kind.like(value)),
        None => numbers,
    }
}

fn term(t: &Term, at: At, shop: &Shop) -> TermAnswer {
    let at = |place: Option<Place>, spec: &str| place.map_or_else(|| spec.to_owned(), at);
    let (origin, from) = match t.origin {
        Origin::Part(place) => ("part", at(place, "the part's spec")),
        Origin::Machine(place) => ("machine", at(place, "the machine's spec")),
        Origin::Threshold(name) if shop.thresholds.contains_key(name) => ("shop", name.to_owned()),
        Origin::Threshold(name) => ("threshold", name.to_owned()),
        Origin::Table(name) => ("table", name.to_owned()),
        Origin::Plan(by) => ("plan", by.to_owned()),
        Origin::Rule(ground) => ("rule", ground.to_owned()),
    };
    TermAnswer { symbol: t.symbol, meaning: t.meaning, figure: (&t.figure).into(), origin, from }
}

impl TermAnswer {
    /// Where it comes from, in words.
    fn source(&self) -> String {
        match self.origin {
            "part" | "machine" => self.from.clone(),
            "shop" => format!("threshold {} of the shop's file", self.from),
            "threshold" => {
                let entry = thresholds::all().iter().find(|e| e.name == self.from);
                format!("threshold {}, {}", self.from, entry.map_or("", |e| e.source.as_str()))
            }
            "table" => format!("table of {}", self.from),
            "plan" => format!("plan: {}", self.from),
            _ => format!("the rule's own: {}", self.from),
        }
    }
}

/// The formula, its numbers, and its terms beneath each other, as text; what was told before of the same rule is not told
/// again.
pub fn text(r: &Reckoning, before: &[&Reckoning], indent: &str, style: Style) -> String {
    let width = usize::from(style.width);
    let deeper = format!("{indent}  ");
    let line = |words: &str| format!("{}\n", hanging(indent, &deeper, &unbroken(words), width));
    let mut out = String::new();
    let same: Vec<_> = before.iter().filter(|b| b.formula == r.formula).collect();
    if same.is_empty() {
        out.push_str(&line(r.formula));
    }
    out.push_str(&line(&r.reckoned));
    let widest = |of: &dyn Fn(&TermAnswer) -> usize| r.terms.iter().map(of).max().unwrap_or(0);
    let symbols = widest(&|t| t.symbol.chars().count());
    let figures = widest(&|t| t.figure.text.chars().count());
    for t in r.terms.iter().filter(|t| !same.iter().any(|b| b.terms.contains(t))) {
        let head = format!("{indent}  {:symbols$}  {:>figures$}  ", t.symbol, t.figure.text);
        let rest = " ".repeat(head.chars().count());
        let words = hanging(&head, &rest, &format!("{} · {}", t.meaning, t.source()), width);
        out.push_str(&style.dim(&words));
        out.push('\n');
    }
    out
}
