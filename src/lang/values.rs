//! Numbers with units, sizes with tolerances, ranges: the values that clauses hold.

use super::diagnostic::Diagnostic;
use super::syntax::{Item, Kind};
use crate::model::figure::Place;
use crate::quantity::measure::{CombineError, Dimension, Measure, Quantity};
use crate::quantity::units;
use std::collections::BTreeMap;

/// How deep parentheses may nest.
const DEEPEST: u32 = 64;

/// The words of a file that numbers depend on: its unit of length and its named values.
#[derive(Clone, Debug, Default)]
pub struct Scope {
    /// Factor of a bare number into mm, where the file has a `units` line.
    pub bare: Option<(f64, &'static str)>,
    pub named: BTreeMap<String, Measure>,
}

/// A number as it was read.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    pub measure: Measure,
    pub place: Place,
    /// Digits after the point as written: `1.00` has two; a fraction none.
    pub decimals: u8,
    /// Without a unit.
    pub bare: bool,
}

/// A row of items that is read from left to right.
#[derive(Clone, Copy, Debug)]
pub struct Cursor<'a, 's> {
    pub items: &'a [Item<'s>],
    pub at: usize,
    /// Where a missing value would stand.
    pub after: Place,
}

impl<'a, 's> Cursor<'a, 's> {
    /// From the first item.
    pub fn new(items: &'a [Item<'s>], after: Place) -> Cursor<'a, 's> {
        Cursor { items, at: 0, after }
    }
    /// The item to be read next.
    pub fn peek(&self) -> Option<Item<'s>> {
        self.items.get(self.at).copied()
    }
    /// Takes the next item.
    pub fn advance(&mut self) -> Option<Item<'s>> {
        let item = self.peek()?;
        self.at += 1;
        Some(item)
    }
    /// Takes the next item where it is of this kind.
    pub fn take(&mut self, kind: Kind) -> Option<Item<'s>> {
        self.peek().filter(|i| i.kind == kind)?;
        self.advance()
    }
    /// Takes the next item where it is this word.
    pub fn take_word(&mut self, word: &str) -> Option<Item<'s>> {
        self.peek().filter(|i| i.is_word(word))?;
        self.advance()
    }
    /// The place of the next item, or just behind the last one.
    pub fn place(&self) -> Place {
        self.peek().map_or_else(
            || self.items.last().map_or(self.after, |i| Place { start: i.place.end, ..i.place }),
            |i| i.place,
        )
    }
}

/// The value of a number's text: `10_000`, `.3125`, `3/8`, `1-1/4`. Nothing for a fraction of nought.
pub fn number(text: &str) -> Option<f64> {
    let text: String = text.chars().filter(|c| *c != '_').collect();
    let fraction = |t: &str| -> Option<f64> {
        let (a, b) = t.split_once('/')?;
        let (a, b): (f64, f64) = (a.parse().ok()?, b.parse().ok()?);
        (b != 0.0).then(|| a / b)
    };
    let value = match text.split_once('-') {
        Some((whole, rest)) => whole.parse::<f64>().ok()? + fraction(rest)?,
        None if text.contains('/') => fraction(&text)?,
        None => text.parse::<f64>().ok()?,
    };
    value.is_finite().then_some(value)
}

fn decimals(text: &str) -> u8 {
    text.split_once('.').map_or(0, |(_, d)| u8::try_from(d.len()).unwrap_or(u8::MAX))
}

/// Splits a number glued to what follows: `8mm`, `12h7`, `45°`.
pub fn split_glued(text: &str) -> Option<(&str, &str)> {
    let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '_' || c == '/'))?;
    let (head, tail) = text.split_at(end);
    (number(head).is_some() && !tail.is_empty()).then_some((head, tail))
}

/// An ISO 286 class such as `h8`, `H7`, `js6`.
pub fn is_fit_class(text: &str) -> bool {
    let letters = text.trim_end_matches(|c: char| c.is_ascii_digit());
    let digits = &text[letters.len()..];
    let known =
        ["a", "b", "c", "d", "e", "f", "g", "h", "j", "js", "k", "m", "n", "p", "r", "s", "t", "u", "v", "x", "y", "z"];
    let one_case = letters.chars().all(char::is_uppercase) || letters.chars().all(char::is_lowercase);
    !digits.is_empty()
        && digits.parse::<u8>().is_ok_and(|g| (1..=18).contains(&g))
        && one_case
        && known.contains(&letters.to_lowercase().as_str())
}

/// Something numeric begins here.
pub fn begins_number(item: Item) -> bool {
    match item.kind {
        Kind::Number | Kind::OpenParen | Kind::Minus | Kind::Plus => true,
        Kind::Word => {
            split_glued(item.text).is_some_and(|(_, tail)| units::meaning(tail).is_some() || is_fit_class(tail))
        }
        _ => false,
    }
}

/// Reads one number with its unit, or an expression in parentheses, or a named value.
///
/// # Errors
/// A diagnostic that says what was expected.
pub fn reading(c: &mut Cursor, scope: &Scope, wanted: &str) -> Result<Reading, Diagnostic> {
    let sign = c.take(Kind::Minus).or_else(|| c.take(Kind::Plus));
    let negative = sign.is_some_and(|s| s.kind == Kind::Minus);
    let Some(item) = c.peek() else {
        return Err(missing(c.place(), wanted));
    };
    let mut read = match item.kind {
        Kind::Number => {
            c.advance();
            let value = number(item.text).ok_or_else(|| not_a_number(item))?;
            with_unit(c, item.place, value, decimals(item.text))
        }
        Kind::OpenParen => {
            c.advance();
            let measure = sum(c, scope, 0)?;
            let end = close_paren(c, item.place)?;
            let place = Place { end: end.end, ..item.place };
            let mut read = Reading { measure, place, decimals: 3, bare: measure.dimension == Dimension::NONE };
            if read.bare {
                read = with_unit(c, place, measure.value, 3);
            }
            read
        }
        Kind::Word => {
            if let Some(measure) = scope.named.get(item.text) {
                c.advance();
                Reading {
                    measure: *measure,
                    place: item.place,
                    decimals: 3,
                    bare: measure.dimension == Dimension::NONE,
                }
            } else if let Some((head, tail)) = split_glued(item.text) {
                let value = number(head).ok_or_else(|| not_a_number(item))?;
                match units::meaning(tail) {
                    Some(meaning) => {
                        c.advance();
                        Reading { measure: meaning.of(value), place: item.place, decimals: decimals(head), bare: false }
                    }
                    None if is_fit_class(tail) => {
                        // The class is left to be read by the size.
                        let place = Place { end: item.place.start + head.len() as u32, ..item.place };
                        Reading { measure: Measure::bare(value), place, decimals: decimals(head), bare: true }
                    }
                    None => return Err(unknown_unit(item, head.len(), tail, None)),
                }
            } else {
                return Err(missing(item.place, wanted).label(format!("expected {wanted}")));
            }
        }
        _ => return Err(missing(item.place, wanted)),
    };
    if negative {
        read.measure = read.measure.negated();
        read.place.start = sign.map_or(read.place.start, |s| s.place.start);
    }
    Ok(read)
}

fn not_a_number(item: Item) -> Diagnostic {
    Diagnostic::error("not-a-number", item.place, format!("`{}` is not a number", item.text))
        .help("a fraction needs a bottom other than 0")
}

fn missing(place: Place, wanted: &str) -> Diagnostic {
    Diagnostic::error("missing-value", place, format!("{wanted} is missing here"))
}

fn unknown_unit(item: Item, skip: usize, unit: &str, wanted: Option<Dimension>) -> Diagnostic {
    let place = Place { start: item.place.start + skip as u32, ..item.place };
    let d = Diagnostic::error("unknown-unit", place, format!("`{unit}` is not a unit"));
    match units::suggestion(unit, wanted) {
        Some(near) => d.help(format!("did you mean `{near}`?")).fix(near),
        None => d.help("`mm`, `um`, `in`, `deg`, `rpm`, `kW`, `N.m`, `bar`, `min` and their like are units"),
    }
}

/// A unit after a number, where there is one.
fn with_unit(c: &mut Cursor, place: Place, value: f64, decimals: u8) -> Reading {
    if let Some(unit) = c.peek().filter(|i| i.kind == Kind::Word && i.place.start <= place.end + 1)
        && let Some(meaning) = units::meaning(unit.text)
    {
        // `in` is a unit and a word of the language (`yearly 24_000 in 12 lots`): before a number it is the word.
        let counts = unit.text == "in" && c.items.get(c.at + 1).is_some_and(|i| i.kind == Kind::Number);
        if !counts {
            c.advance();
            let place = Place { end: unit.place.end, ..place };
            return Reading { measure: meaning.of(value), place, decimals, bare: false };
        }
    }
    Reading { measure: Measure::bare(value), place, decimals, bare: true }
}

fn close_paren(c: &mut Cursor, open: Place) -> Result<Place, Diagnostic> {
    match c.take(Kind::CloseParen) {
        Some(close) => Ok(close.place),
        None => Err(Diagnostic::error("open-parenthesis", open, "this parenthesis is not closed").help("add `)`")),
    }
}

fn combine(e: CombineError, place: Place) -> Diagnostic {
    Diagnostic::error("arithmetic", place, e.to_string())
        .help("both sides of + and - must be of one kind; within parentheses a bare number has no unit")
}

/// Bare lengths in an expression are in the file's unit only where they stand beside a length; so they stay bare here.
fn sum(c: &mut Cursor, scope: &Scope, depth: u32) -> Result<Measure, Diagnostic> {
    let place = c.place();
    if depth > DEEPEST {
        return Err(Diagnostic::error("too-deep", place, format!("parentheses nest deeper than {DEEPEST}"))
            .help("name a part of it with `let`"));
    }
    let mut total = product(c, scope, depth)?;
    while let Some(op) = c.take(Kind::Plus).or_else(|| c.take(Kind::Minus)) {
        let right = product(c, scope, depth)?;
        let right = if op.kind == Kind::Minus { right.negated() } else { right };
        total = total.plus(right).map_err(|e| combine(e, op.place))?;
    }
    Ok(total)
}

fn product(c: &mut Cursor, scope: &Scope, depth: u32) -> Result<Measure, Diagnostic> {
    let mut total = factor(c, scope, depth)?;
    while let Some(op) = c.take(Kind::Star).or_else(|| c.take(Kind::Slash)) {
        let right = factor(c, scope, depth)?;
        let result = if op.kind == Kind::Star { total.times(right) } else { total.over(right) };
        total = result.map_err(|e| combine(e, op.place))?;
    }
    Ok(total)
}

fn factor(c: &mut Cursor, scope: &Scope, depth: u32) -> Result<Measure, Diagnostic> {
    if let Some(open) = c.take(Kind::OpenParen) {
        let inner = sum(c, scope, depth + 1)?;
        close_paren(c, open.place)?;
        return Ok(inner);
    }
    if let Some(name) = c.peek().filter(|i| i.kind == Kind::Word && !begins_number(*i))
        && !scope.named.contains_key(name.text)
    {
        return Err(Diagnostic::error("unknown-name", name.place, format!("no `let` names `{}`", name.text))
            .help(format!("write `let {} = …` above, or a number with its unit", name.text)));
    }
    // Within parentheses a sign that glued two numbers is read as written: `3 -2` is a difference.
    reading(c, scope, "a number").map(|r| r.measure)
}

/// A quantity from a reading: a bare number is a length in the unit of the file and nothing else.
///
/// # Errors
/// A diagnostic that names both dimensions, or shows the corrected text.
pub fn quantity<Q: Quantity>(read: Reading, scope: &Scope, words: &str) -> Result<Q, Diagnostic> {
    let mut measure = read.measure;
    if read.bare && Q::DIMENSION == Dimension::LENGTH {
        match scope.bare {
            Some((factor, _)) => {
                measure = Measure { value: measure.value * factor, dimension: Dimension::LENGTH, currency: None }
            }
            None => {
                return Err(Diagnostic::error(
                    "no-units",
                    read.place,
                    "a bare number is a length only after a `units` line",
                )
                .help("write the unit, or `units mm` at the head of the file")
                .fix(format!("{words} mm")));
            }
        }
    } else if read.bare && Q::DIMENSION != Dimension::NONE {
        let example = units::UNITS.iter().find(|u| u.dimension == Q::DIMENSION).map_or("EUR", |u| u.symbol);
        return Err(Diagnostic::error(
            "missing-unit",
            read.place,
            format!("`{words}` needs a unit: {} is wanted here", Q::DIMENSION),
        )
        .help(format!("for example `{words} {example}`"))
        .fix(format!("{words} {example}")));
    }
    if Q::DIMENSION == Dimension::LENGTH && measure.value.abs() < 1e6 {
        // To a picometre: the same size in mm and in inches is the same number, on the same side of every limit.
        measure.value = (measure.value * 1e9).round() / 1e9;
    }
    Q::from_measure(measure).map_err(|found| {
        Diagnostic::error(
            "wrong-dimension",
            read.place,
            format!("`{words}` is {found}, but {} is wanted here", Q::DIMENSION),
        )
        .help(match units::UNITS.iter().find(|u| u.dimension == Q::DIMENSION) {
            Some(u) => format!("units of {} are written like `{}`", Q::DIMENSION, u.symbol),
            None => format!("{} is wanted", Q::DIMENSION),
        })
    })
}
