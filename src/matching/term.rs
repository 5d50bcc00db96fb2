//! The terms of a rule's formula: a symbol, what it means, its figure, and where that comes from.

use super::finding::Figure;
use crate::model::figure::Place;
use crate::tables::thresholds;

/// Where a number comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Origin {
    /// The part's spec, where it has a place there.
    Part(Option<Place>),
    /// The machine's spec, where it has a place there.
    Machine(Option<Place>),
    /// The threshold of that name: the table's, or the shop's own.
    Threshold(&'static str),
    /// A table of the program, named in words.
    Table(&'static str),
    /// The plan, and by what it comes to the figure.
    Plan(&'static str),
    /// A number of the rule itself, and its ground.
    Rule(&'static str),
}

/// One symbol of a formula.
#[derive(Clone, Debug, PartialEq)]
pub struct Term {
    /// As the formula writes it.
    pub symbol: &'static str,
    pub meaning: &'static str,
    /// In words where the figure is not stated.
    pub figure: Figure,
    pub origin: Origin,
}

impl Term {
    /// A figure of the part's spec.
    pub fn part(
        symbol: &'static str,
        meaning: &'static str,
        figure: impl Into<Figure>,
        at: impl Into<Option<Place>>,
    ) -> Term {
        Term { symbol, meaning, figure: figure.into(), origin: Origin::Part(at.into()) }
    }

    /// A figure of the machine's spec.
    pub fn machine(
        symbol: &'static str,
        meaning: &'static str,
        figure: impl Into<Figure>,
        at: impl Into<Option<Place>>,
    ) -> Term {
        Term { symbol, meaning, figure: figure.into(), origin: Origin::Machine(at.into()) }
    }

    /// A threshold in force, by its name in the table, which says what it means.
    pub fn threshold(symbol: &'static str, figure: impl Into<Figure>, name: &'static str) -> Term {
        let meaning = thresholds::all().iter().find(|e| e.name == name).map_or("", |e| e.what.as_str());
        Term { symbol, meaning, figure: figure.into(), origin: Origin::Threshold(name) }
    }

    /// A figure of a table.
    pub fn table(symbol: &'static str, meaning: &'static str, figure: impl Into<Figure>, table: &'static str) -> Term {
        Term { symbol, meaning, figure: figure.into(), origin: Origin::Table(table) }
    }

    /// A figure of the plan.
    pub fn plan(symbol: &'static str, meaning: &'static str, figure: impl Into<Figure>, by: &'static str) -> Term {
        Term { symbol, meaning, figure: figure.into(), origin: Origin::Plan(by) }
    }

    /// A number of the rule itself.
    pub fn rule(symbol: &'static str, meaning: &'static str, figure: impl Into<Figure>, ground: &'static str) -> Term {
        Term { symbol, meaning, figure: figure.into(), origin: Origin::Rule(ground) }
    }
}
