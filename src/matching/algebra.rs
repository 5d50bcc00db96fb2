//! The one-line algebra of the rules' formulas: read, reckoned out, and written with numbers for symbols.

use super::term::Term;
use std::iter::Peekable;
use std::str::CharIndices;

/// A formula taken apart: `name = left relation right`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Comparison<'a> {
    /// What the left side is called, where it has a name of its own.
    pub name: Option<&'a str>,
    pub left: &'a str,
    /// `<=` or `>=`.
    pub relation: &'a str,
    pub right: &'a str,
}

impl<'a> Comparison<'a> {
    /// Takes a formula apart; nothing where it compares nothing.
    pub fn of(formula: &'a str) -> Option<Comparison<'a>> {
        let (at, relation) = ["<=", ">="].iter().find_map(|r| Some((formula.find(r)?, *r)))?;
        let (left, right) = (formula[..at].trim(), formula[at + relation.len()..].trim());
        let (name, left) = match left.split_once('=') {
            Some((name, left)) => (Some(name.trim()), left.trim()),
            None => (None, left),
        };
        Some(Comparison { name, left, relation, right })
    }
}

/// A side of a formula reckoned out with its terms; nothing where it is no algebra, or a term of it has no number.
pub fn value(side: &str, terms: &[Term]) -> Option<f64> {
    let mut reader = Reader { words: words(side)?.into_iter().peekable(), terms };
    let value = reader.sum()?;
    (reader.words.next().is_none() && value.is_finite()).then_some(value)
}

/// Whether a side is no more than one symbol or number.
pub fn is_plain(side: &str) -> bool {
    words(side).is_some_and(|w| w.len() == 1)
}

/// A side with the figures of its terms for their symbols; a symbol whose figure is not stated stays.
pub fn with_numbers(side: &str, terms: &[Term]) -> String {
    let Some(words) = words(side) else { return side.to_owned() };
    let mut out = String::new();
    let mut written = 0;
    for (i, (at, word)) in words.iter().enumerate() {
        out.push_str(&side[written..*at]);
        written = at + word.len();
        match terms.iter().find(|t| t.symbol == *word).filter(|t| t.figure.value().is_some()) {
            None => out.push_str(word),
            Some(term) => {
                let text = term.figure.to_string();
                // A power is of the figure, not of its unit.
                let raised = words.get(i + 1).is_some_and(|(_, next)| *next == "^");
                let apart = text.starts_with('-') && words.len() > 1 || raised && text.contains(' ');
                out.push_str(&if apart { format!("({text})") } else { text });
            }
        }
    }
    out.push_str(&side[written..]);
    out
}

/// Symbols, numbers and signs, each with its place.
fn words(side: &str) -> Option<Vec<(usize, &str)>> {
    let mut found = Vec::new();
    let mut letters = side.char_indices().peekable();
    while let Some((at, c)) = letters.next() {
        let end = match c {
            ' ' => continue,
            'a'..='z' | 'A'..='Z' => run(&mut letters, side, |c| c.is_ascii_alphanumeric() || c == '_'),
            '0'..='9' => run(&mut letters, side, |c| c.is_ascii_digit() || c == '.'),
            '+' | '-' | '/' | '^' | '(' | ')' | ',' => at + 1,
            _ => return None,
        };
        found.push((at, &side[at..end]));
    }
    Some(found)
}

/// The end of a run of letters.
fn run(letters: &mut Peekable<CharIndices>, side: &str, more: impl Fn(char) -> bool) -> usize {
    while letters.next_if(|(_, c)| more(*c)).is_some() {}
    letters.peek().map_or(side.len(), |(at, _)| *at)
}

/// Reads by descent: sums of products of powers.
struct Reader<'a> {
    words: Peekable<std::vec::IntoIter<(usize, &'a str)>>,
    terms: &'a [Term],
}

impl Reader<'_> {
    fn takes(&mut self, sign: &str) -> bool {
        self.words.next_if(|(_, w)| *w == sign).is_some()
    }

    fn sum(&mut self) -> Option<f64> {
        let mut sum = if self.takes("-") { -self.product()? } else { self.product()? };
        loop {
            if self.takes("+") {
                sum += self.product()?;
            } else if self.takes("-") {
                sum -= self.product()?;
            } else {
                return Some(sum);
            }
        }
    }

    fn product(&mut self) -> Option<f64> {
        let mut product = self.power()?;
        loop {
            if self.takes("x") {
                product *= self.power()?;
            } else if self.takes("/") {
                product /= self.power()?;
            } else {
                return Some(product);
            }
        }
    }

    fn power(&mut self) -> Option<f64> {
        let base = self.atom()?;
        if self.takes("^") { Some(libm::pow(base, self.power()?)) } else { Some(base) }
    }

    fn atom(&mut self) -> Option<f64> {
        let (_, word) = self.words.next()?;
        if word == "(" {
            let inside = self.sum()?;
            return self.takes(")").then_some(inside);
        }
        if let Some(term) = self.terms.iter().find(|t| t.symbol == word) {
            return term.figure.value();
        }
        if self.takes("(") {
            let mut of = vec![self.sum()?];
            while self.takes(",") {
                of.push(self.sum()?);
            }
            return if self.takes(")") { function(word, &of) } else { None };
        }
        if word == "pi" { Some(std::f64::consts::PI) } else { word.parse().ok() }
    }
}

/// A function of the algebra; angles in degrees.
fn function(name: &str, of: &[f64]) -> Option<f64> {
    Some(match (name, of) {
        ("min", [first, rest @ ..]) => rest.iter().copied().fold(*first, f64::min),
        ("max", [first, rest @ ..]) => rest.iter().copied().fold(*first, f64::max),
        ("sqrt", [a]) => a.sqrt(),
        // A quotient that is whole but for its last bit is whole.
        ("floor", [a]) => libm::floor(a + 1e-9),
        ("sin", [a]) => libm::sin(a.to_radians()),
        ("cos", [a]) => libm::cos(a.to_radians()),
        ("tan", [a]) => libm::tan(a.to_radians()),
        ("atan", [a]) => libm::atan(*a).to_degrees(),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::Figure;
    use crate::quantity::Length;

    fn terms() -> Vec<Term> {
        vec![
            Term::part("a", "", Length::mm(12.0), None),
            Term::part("b_max", "", Length::um(-5.0), None),
            Term::part("c", "", 3_u32, None),
            Term::part("d", "", None::<Length>, None),
        ]
    }

    #[test]
    fn sums_products_powers_and_functions() {
        let of = |side: &str| value(side, &terms());
        assert_eq!(of("1 + 2 x 3 - 4 / 2"), Some(5.0));
        assert_eq!(of("(1 + 2) x 3 ^ 2"), Some(27.0));
        assert_eq!(of("8 / 2 / 2"), Some(2.0));
        assert_eq!(of("2 - 1 - 1"), Some(0.0));
        assert_eq!(of("-a / c"), Some(-4.0));
        assert_eq!(of("a + b_max"), Some(11.995));
        assert_eq!(of("min(a, 4, c) + max(c, 1)"), Some(6.0));
        assert_eq!(of("sqrt(3^2 + 4^2)"), Some(5.0));
        assert_eq!(of("floor(0.3 / 0.1)"), Some(3.0));
        assert!((of("sin(30) + cos(60) + tan(45) + atan(1)").unwrap_or(0.0) - 47.0).abs() < 1e-12);
        for wrong in ["", "a b_max", "a +", "(a", "e", "d", "sqrt(1, 2)", "a ? c", "1 / 0", "a x d", "min()"] {
            assert_eq!(of(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn a_formula_is_taken_apart_and_written_with_its_numbers() {
        let named = Comparison::of("Cp = a / c >= 1.33");
        assert_eq!(named, Some(Comparison { name: Some("Cp"), left: "a / c", relation: ">=", right: "1.33" }));
        let plain = Comparison::of("a <= min(b, c)");
        assert_eq!(plain, Some(Comparison { name: None, left: "a", relation: "<=", right: "min(b, c)" }));
        assert_eq!(Comparison::of("a + b"), None);
        assert_eq!(with_numbers("sqrt(a^2 + c^2) - d x b_max", &terms()), "sqrt((12 mm)^2 + 3^2) - d x (-5 um)");
        assert_eq!(with_numbers("b_max", &terms()), "-5 um");
        assert!(is_plain("a") && is_plain("12.5") && !is_plain("-a") && !is_plain("a x c"));
        assert_eq!(Figure::Length(Length::mm(1.0)).like(2.5), Figure::Length(Length::mm(2.5)));
    }
}
