//! Single values of a shop file: a number with its unit, a percentage, a count.

use crate::lang::Diagnostic;
use crate::model::Place;
use crate::quantity::measure::{Currency, Dimension, Measure, Quantity};
use crate::quantity::units::{Meaning, meaning, suggestion};

/// Words that stand at a place.
#[derive(Clone, Copy, Debug)]
pub(in crate::lang) struct Words<'a> {
    pub(in crate::lang) text: &'a str,
    pub(in crate::lang) place: Place,
}

impl<'a> Words<'a> {
    /// The last of them.
    fn last(&self, tail: &'a str) -> Words<'a> {
        let start = self.place.end.saturating_sub(u32::try_from(tail.len()).unwrap_or(0));
        Words { text: tail, place: Place { start, ..self.place } }
    }
}

/// The number that a text is: digits with `_` between them, decimals, a fraction or a mixed fraction, and a sign.
fn number(text: &str) -> Option<f64> {
    let (sign, text) = match text.strip_prefix('-') {
        Some(rest) => (-1.0, rest),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    let plain = |t: &str| -> Option<f64> {
        let digits = t.replace('_', "");
        let sound = digits.chars().all(|c| c.is_ascii_digit() || c == '.')
            && digits.chars().any(|c| c.is_ascii_digit())
            && !t.starts_with('_')
            && !t.ends_with('_');
        sound.then(|| digits.parse().ok()).flatten()
    };
    let value = match text.split_once('/') {
        None => plain(text)?,
        Some((over, under)) => {
            let (whole, over) = over.split_once('-').map_or(Some((0.0, over)), |(w, o)| Some((plain(w)?, o)))?;
            let under = plain(under).filter(|u| *u > 0.0)?;
            whole + plain(over)? / under
        }
    };
    value.is_finite().then_some(sign * value)
}

/// Where the number ends and its unit begins.
fn split(text: &str) -> (&str, &str) {
    let end = text
        .char_indices()
        .find(|(i, c)| {
            let numeric = c.is_ascii_digit() || matches!(c, '.' | '_' | '/') || *c == '-' || *c == '+' && *i == 0;
            !numeric
        })
        .map_or(text.len(), |(i, _)| i);
    (text[..end].trim_end(), text[end..].trim())
}

/// A measure whose unit is said. `example` shows how the value is written.
pub(super) fn measure(words: Words, wanted: Dimension, example: &str) -> Result<Measure, Diagnostic> {
    let (digits, unit) = split(words.text);
    let Some(value) = number(digits) else {
        let what = if words.text.is_empty() { "nothing" } else { words.text };
        return Err(Diagnostic::error("not-a-number", words.place, format!("`{what}` does not begin with a number"))
            .help(format!("write {wanted}, such as `{example}`")));
    };
    if unit.is_empty() {
        return Err(Diagnostic::error("missing-unit", words.place, format!("`{}` has no unit", words.text))
            .help(format!("{wanted} is expected here: write `{digits} {}`", unit_of(example))));
    }
    let piece = words.last(unit);
    let Some(found) = meaning(unit) else {
        let help = match suggestion(unit, Some(wanted)) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("write {wanted}, such as `{example}`"),
        };
        return Err(Diagnostic::error("unknown-unit", piece.place, format!("`{unit}` is not a unit")).help(help));
    };
    if found.dimension != wanted {
        return Err(wrong_dimension(words, found, wanted, example));
    }
    Ok(found.of(value))
}

fn wrong_dimension(words: Words, found: Meaning, wanted: Dimension, example: &str) -> Diagnostic {
    let message = format!("`{}` is {}, but {wanted} is expected", words.text, found.dimension);
    Diagnostic::error("wrong-dimension", words.place, message).help(format!("write it like `{example}`"))
}

fn unit_of(example: &str) -> &str {
    split(example).1
}

/// A quantity of its type.
pub(in crate::lang) fn quantity<Q: Quantity>(words: Words, example: &str) -> Result<Q, Diagnostic> {
    let measure = measure(words, Q::DIMENSION, example)?;
    Q::from_measure(measure).map_err(|found| {
        Diagnostic::error("wrong-dimension", words.place, format!("`{}` is {found}", words.text))
            .help(format!("write it like `{example}`"))
    })
}

/// An amount of money in the shop's currency.
pub(super) fn money<Q: Quantity>(words: Words, currency: Option<Currency>, example: &str) -> Result<Q, Diagnostic> {
    let measure = measure(words, Q::DIMENSION, example)?;
    if let (Some(own), Some(found)) = (currency, measure.currency)
        && own != found
    {
        let unit = words.last(split(words.text).1);
        let (own, found) = (own.code(), found.code());
        return Err(Diagnostic::error(
            "wrong-currency",
            unit.place,
            format!("`{}` is in {found}, but the shop counts in {own}", words.text),
        )
        .help(format!("turn it into {own} at your own rate; the program knows no exchange rates")));
    }
    quantity(words, example)
}

/// A bare number.
pub(super) fn bare(words: Words, example: &str) -> Result<f64, Diagnostic> {
    let (digits, unit) = split(words.text);
    match number(digits) {
        Some(value) if unit.is_empty() => Ok(value),
        Some(_) => {
            let message = format!("`{}` has a unit, but a bare number is expected", words.text);
            Err(Diagnostic::error("wrong-dimension", words.place, message).help(format!("write it like `{example}`")))
        }
        None => Err(Diagnostic::error("not-a-number", words.place, format!("`{}` is not a number", words.text))
            .help(format!("write it like `{example}`"))),
    }
}

/// A whole number from nought.
pub(super) fn count(words: Words, example: &str) -> Result<u32, Diagnostic> {
    let value = bare(words, example)?;
    if !(0.0..=1e6).contains(&value) || value.fract() != 0.0 {
        return Err(Diagnostic::error("out-of-range", words.place, format!("`{}` is not a count", words.text))
            .help(format!("write a whole number from 0, such as `{example}`")));
    }
    Ok(value as u32)
}

/// Refuses a value outside its bounds; `said` is how the bounds read.
pub(super) fn within(words: Words, value: f64, low: f64, high: f64, said: &str) -> Result<(), Diagnostic> {
    if value >= low && value <= high {
        return Ok(());
    }
    Err(Diagnostic::error("out-of-range", words.place, format!("`{}` is out of range", words.text))
        .help(format!("expected {said}")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{HourRate, Length, Time};

    fn words(text: &str) -> Words<'_> {
        Words { text, place: Place { file: 0, start: 10, end: 10 + text.len() as u32 } }
    }

    #[test]
    fn numbers_are_read_as_a_drawing_writes_them() {
        assert_eq!(number("3_400"), Some(3400.0));
        assert_eq!(number("1-1/4"), Some(1.25));
        assert_eq!(number("3/8"), Some(0.375));
        assert_eq!(number(".5"), Some(0.5));
        assert_eq!(number("-2"), Some(-2.0));
        for bad in ["", "x", "1.2.3", "_1", "1_", "1/0", "-", "."] {
            assert_eq!(number(bad), None, "{bad}");
        }
    }

    #[test]
    fn the_unit_is_found_with_and_without_a_space() {
        assert_eq!(quantity::<Length>(words("12 mm"), "12 mm"), Ok(Length::mm(12.0)));
        assert_eq!(quantity::<Length>(words("12mm"), "12 mm"), Ok(Length::mm(12.0)));
        assert_eq!(quantity::<Length>(words("3/4 in"), "12 mm"), Ok(Length::inch(0.75)));
        assert_eq!(quantity::<Time>(words("8 min"), "8 min"), Ok(Time::minutes(8.0)));
        let fault = quantity::<Length>(words("12 MM"), "12 mm").err().map(|d| (d.code, d.place.start, d.help));
        assert_eq!(fault, Some(("unknown-unit", 13, Some("did you mean `mm`?".to_owned()))));
    }

    #[test]
    fn money_stays_in_the_shops_currency() {
        let own = Some(Currency(*b"EUR"));
        assert_eq!(money::<HourRate>(words("64 EUR/h"), own, "64 EUR/h"), Ok(HourRate::per_hour(64.0)));
        let code = |text| money::<HourRate>(words(text), own, "64 EUR/h").err().map(|d| d.code);
        assert_eq!(code("64 CHF/h"), Some("wrong-currency"));
        assert_eq!(code("64 EUR"), Some("wrong-dimension"));
        assert_eq!(code("64"), Some("missing-unit"));
        assert_eq!(code("much"), Some("not-a-number"));
    }
}
